//! The next flight to be read.

use crate::next_flight::axis::Axis;
use crate::next_flight::{Lie, Shape};
use crate::quantities::show::{fixed, three_figures};
use crate::report::next_report::NextReport;
use crate::report::page::Page;

/// A shape in words, no more surely than it is known.
#[must_use]
pub(super) fn shape_words(shape: &Shape, axes: &[Axis]) -> String {
    match shape {
        Shape::Flat => {
            "No slope is seen: within this region the scores do not follow the composition \
                        beyond the scatter of the panel. That is not to say there is none."
                .to_owned()
        }
        Shape::Unclear => {
            "There is a slope, and its best place is open: a ridge, a saddle, or too few \
                           waters yet."
                .to_owned()
        }
        Shape::Placed(lies) => {
            let placed: Vec<String> =
                axes.iter().zip(lies).filter_map(|(axis, lie)| lie_words(axis, *lie)).collect();
            let open = axes.iter().zip(lies).filter(|(_, lie)| **lie == Lie::Open);
            let open: Vec<String> = open.map(|(axis, _)| axis.of.label()).collect();
            let open = if open.is_empty() {
                String::new()
            } else {
                format!(" In {} no best place is seen.", open.join(" and "))
            };
            format!("The best lies {}.{open}", placed.join("; "))
        }
    }
}

/// Where the best lies on an axis; nothing where it is open.
fn lie_words(axis: &Axis, lie: Lie) -> Option<String> {
    let label = axis.of.label();
    match lie {
        Lie::Open => None,
        Lie::Inside(at) => {
            let [low, middle, high] = at.map(|place| axis.value(place));
            let [low, high] = [low, high].map(three_figures);
            Some(format!("near {label} {} (80 %: {low} to {high})", axis.words(middle)))
        }
        Lie::End { upper, share } => {
            let (end, at) = if upper { ("upper", axis.high) } else { ("lower", axis.low) };
            // There is nothing below none of it.
            let beyond = if upper || at > 0.0 { " or beyond (--between widens it)" } else { "" };
            let share = fixed(100.0 * share, 0);
            Some(format!("at the {end} end in {label}, {}{beyond} ({share} %)", axis.words(at)))
        }
    }
}

impl NextReport {
    /// The page.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        match (&self.of, self.tasted.is_empty()) {
            (Some(of), false) => {
                page.say(format!("What the sessions say of {of}"));
                self.show_tasted(&mut page);
            }
            _ => page.say("No session was scored or ranked and revealed yet."),
        }
        for left_out in &self.left_out {
            page.say(format!("Not counted: {left_out}."));
        }
        let region: Vec<String> = self
            .axes
            .iter()
            .map(|a| {
                let [low, high] = [a.low, a.high].map(three_figures);
                format!("{} {low} to {high} {}", a.name, a.unit)
            })
            .collect();
        page.say(format!(
            "Region: {}. The shelf can make {} of {} waters tried there.",
            region.join(", "),
            self.in_reach,
            self.tried
        ));
        page.say(self.shape.clone().unwrap_or_else(|| {
            "Too little is known for a surface over these: the waters are spread through the region."
                .to_owned()
        }));
        page.say(match self.reason {
            "spread" => "Next, far from each other and from what was tasted:",
            "learn" => "Next, where they tell most, of what may still be the best:",
            _ => "Next, what promises most above the best so far, and then what tells most:",
        });
        self.show_next(&mut page);
        if let Some(reference) = &self.reference {
            page.say(format!(
                "and {reference} again: it ties the new scores to the old ones. Serve one cup of it \
                 twice, hidden."
            ));
        }
        page.say(
            "This follows from the scores of this panel alone: a guess worth tasting, not a finding.",
        );
        page
    }

    fn show_tasted(&self, page: &mut Page) {
        let heads = self.heads(&["water"], &[self.scores, "s.e."]);
        for session in &self.sessions {
            page.say(format!("{session}:"));
            let own = self.tasted.iter().filter(|t| t.session == *session);
            let rows = own.map(|t| {
                let mut row = vec![t.water.clone()];
                row.extend(t.at.iter().map(|value| three_figures(*value)));
                row.push(fixed(t.score, 2));
                row.push(fixed(t.standard_error, 2));
                row
            });
            page.show(&heads, rows.collect());
        }
    }

    fn show_next(&self, page: &mut Page) {
        let rows = self.waters.iter().enumerate().map(|(n, water)| {
            let mut row = vec![(n + 1).to_string()];
            row.extend(water.at.iter().map(|value| three_figures(*value)));
            if let (Some(mean), Some(sd)) = (water.above_mean, water.standard_deviation) {
                row.push(format!("{mean:+.2}"));
                row.push(fixed(sd, 2));
            }
            row.extend(water.beats_best.map(|p| format!("{} %", fixed(100.0 * p, 0))));
            row
        });
        let expects = self.waters.iter().any(|w| w.above_mean.is_some());
        let last: &[&str] = if expects { &["expected", "s.d.", "beats all"] } else { &[] };
        let heads = self.heads(&["water"], last);
        page.show(&heads, rows.collect());
        if expects {
            page.say(
                "expected: above the mean of the waters tasted; beats all: the chance that it is \
                 better than every one of them.",
            );
        }
    }

    /// Heads with the axes in the middle.
    fn heads(&self, before: &[&str], after: &[&str]) -> Vec<String> {
        let axes = self.axes.iter().map(|a| a.name.clone());
        let before = before.iter().map(|head| (*head).to_owned());
        before.chain(axes).chain(after.iter().map(|head| (*head).to_owned())).collect()
    }
}
