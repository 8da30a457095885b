//! What a surface looks like, said no more surely than it is known.
#![expect(clippy::indexing_slicing, reason = "tables with one place per axis or candidate")]

use nalgebra::DMatrix;

use crate::next_flight::{Evidence, Weighed};
use crate::numerics::{count, ends};

/// Where the best water lies, as far as the scores tell.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// The evidence is for no slope.
    Flat,
    /// The evidence for a slope, or against it, is worth no more than a bare mention.
    Undecided,
    /// There is a slope, and the best may lie anywhere: a ridge, a saddle or too few waters.
    Unclear,
    /// The best is placed on one axis at least: where, on each of them.
    Placed(Vec<OptimumPlace>),
}

/// Where the best lies on one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum OptimumPlace {
    /// Inside: 10 %, 50 % and 90 % of where the drawn surfaces are best, 0 to 1.
    Inside([f64; 3]),
    /// At or beyond an end.
    End {
        /// Whether it is the upper one.
        upper: bool,
        /// Share of the drawn surfaces that are best there.
        share: f64,
    },
    /// No place is better than another as far as is seen.
    Open,
}

/// Share of drawn surfaces that must be best at an end for an edge: our choice.
const AT_AN_END: f64 = 0.5;

/// How near an end counts as there, as a part of what the shelf reaches on an axis: our choice.
const END: f64 = 0.1;

/// Widest middle 80 % for a best inside, as a part of what the shelf reaches on an axis: our choice. A
/// best that wanders through more than half of it is not found.
const FOUND_WITHIN: f64 = 0.5;

/// The shape of surfaces: `values` are those of the candidates (rows), each column a surface that
/// follows the composition.
#[must_use]
pub fn shape(evidence: &Evidence, values: &DMatrix<f64>, candidates: &[Vec<f64>]) -> Shape {
    match evidence.weighed() {
        Weighed::Flat => return Shape::Flat,
        Weighed::Open => return Shape::Undecided,
        Weighed::Slope => {}
    }
    let best: Vec<&Vec<f64>> = values
        .column_iter()
        .filter_map(|column| {
            let rated = column.iter().zip(candidates);
            rated.max_by(|a, b| a.0.total_cmp(b.0)).map(|(_, candidate)| candidate)
        })
        .collect();
    let axes = candidates.first().map_or(0, Vec::len);
    let lies: Vec<OptimumPlace> = (0..axes)
        .map(|axis| {
            let (low, high) = ends(candidates.iter().map(|c| c[axis])).unwrap_or_default();
            optimum(best.iter().map(|b| b[axis]).collect(), low, high)
        })
        .collect();
    if lies.iter().all(|optimum| *optimum == OptimumPlace::Open) {
        Shape::Unclear
    } else {
        Shape::Placed(lies)
    }
}

/// Where drawn surfaces are best on one axis that candidates fill from `low` to `high`.
fn optimum(mut places: Vec<f64>, low: f64, high: f64) -> OptimumPlace {
    let reach = high - low;
    if places.is_empty() || reach <= 0.0 {
        return OptimumPlace::Open;
    }
    places.sort_by(f64::total_cmp);
    for upper in [false, true] {
        let there =
            |x: &&f64| if upper { **x > high - END * reach } else { **x < low + END * reach };
        let share = count(places.iter().filter(there).count()) / count(places.len());
        if share > AT_AN_END {
            return OptimumPlace::End { upper, share };
        }
    }
    let at = [10, 50, 90].map(|percent| places[(places.len() - 1) * percent / 100]);
    let [least, _, most] = at;
    if most - least <= FOUND_WITHIN * reach { OptimumPlace::Inside(at) } else { OptimumPlace::Open }
}
