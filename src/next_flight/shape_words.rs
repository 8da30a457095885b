//! The shape of a surface in words, no more surely than it is known.

use crate::next_flight::{Axis, OptimumPlace, Shape};
use crate::quantities::show::{fixed, three_figures};

/// A shape in words.
#[must_use]
pub(crate) fn shape_words(shape: &Shape, axes: &[Axis]) -> String {
    match shape {
        Shape::Flat => "No slope is found in this region. That is not to say there is none.".to_owned(),
        Shape::Undecided => {
            "Whether there is a slope in this region is open: none is found yet, which is not to say there is none."
                .to_owned()
        }
        Shape::Unclear => {
            "There is a slope, and its best place is open: a ridge, a saddle, or too few \
                           waters yet."
                .to_owned()
        }
        Shape::Placed(lies) => {
            let placed: Vec<String> =
                axes.iter().zip(lies).filter_map(|(axis, optimum)| optimum_words(axis, *optimum)).collect();
            let open = axes.iter().zip(lies).filter(|(_, optimum)| **optimum == OptimumPlace::Open);
            let open: Vec<String> = open.map(|(axis, _)| axis.of.label()).collect();
            let open = if open.is_empty() {
                String::new()
            } else {
                format!(" In {} no best place is found.", open.join(" and "))
            };
            format!("The best lies {}.{open}", placed.join("; "))
        }
    }
}

/// Where the best lies on an axis; nothing where it is open.
fn optimum_words(axis: &Axis, optimum: OptimumPlace) -> Option<String> {
    let label = axis.of.label();
    match optimum {
        OptimumPlace::Open => None,
        OptimumPlace::Inside(at) => {
            let [low, middle, high] = at.map(|place| axis.value(place));
            let [low, high] = [low, high].map(three_figures);
            Some(format!("near {label} {} (80 %: {low} to {high})", axis.words(middle)))
        }
        OptimumPlace::End { upper, share } => {
            let (end, at) = if upper { ("upper", axis.high) } else { ("lower", axis.low) };
            // There is nothing below none of it.
            let beyond = if upper || at > 0.0 { " or beyond (--between widens it)" } else { "" };
            let share = fixed(100.0 * share, 0);
            Some(format!("at the {end} end in {label}, {}{beyond} ({share} %)", axis.words(at)))
        }
    }
}
