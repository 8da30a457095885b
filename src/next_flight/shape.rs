//! What a surface looks like, said no more surely than it is known.
#![expect(clippy::indexing_slicing, reason = "tables with one place per axis or candidate")]

use nalgebra::DMatrix;

use crate::next_flight::surface::Surface;

/// Where the best water lies, as far as the scores tell.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// No slope is seen beyond the scatter of the panel.
    Flat,
    /// The best lies at or beyond an end of an axis.
    Edge {
        /// Number of the axis.
        axis: usize,
        /// Whether it is its upper end.
        upper: bool,
        /// Share of the drawn surfaces that are best there.
        share: f64,
    },
    /// There is a slope, and the best may lie anywhere: a ridge, a saddle or too few waters.
    Unclear,
    /// The best lies inside: the middle 80 % of the drawn surfaces, on each axis.
    Maximum {
        /// 10 %, 50 % and 90 % of where the drawn surfaces are best, 0 to 1, on each axis.
        at: Vec<[f64; 3]>,
    },
}

/// ln of the evidence below which a surface counts as flat: our choice, a factor of e.
const FLAT_BELOW: f64 = 1.0;

/// Share of drawn surfaces that must be best at an end for an edge: our choice.
const AT_AN_END: f64 = 0.5;

/// How near an end counts as there, as a part of the region: our choice, one step of the coarsest
/// grid of candidates.
const END: f64 = 0.1;

/// Widest middle 80 % on every axis, as a part of the region, for a maximum: our choice. A best water
/// that wanders through more than half of the region is not found yet.
const FOUND_WITHIN: f64 = 0.5;

/// The shape of a surface from its draws at the candidates (one surface in each column, rows from
/// `first` on).
#[must_use]
pub fn shape(
    surface: &Surface,
    draws: &DMatrix<f64>,
    first: usize,
    candidates: &[Vec<f64>],
) -> Shape {
    if surface.log_evidence_against_flat() < FLAT_BELOW || candidates.is_empty() {
        return Shape::Flat;
    }
    let best: Vec<&Vec<f64>> = draws
        .column_iter()
        .filter_map(|column| {
            let rated = column.iter().skip(first).zip(candidates);
            rated.max_by(|a, b| a.0.total_cmp(b.0)).map(|(_, candidate)| candidate)
        })
        .collect();
    let count = as_number(best.len().max(1));
    let axes = candidates.first().map_or(0, Vec::len);
    let mut edge: Option<Shape> = None;
    let mut most = AT_AN_END;
    for axis in 0..axes {
        let low = candidates.iter().map(|c| c[axis]).fold(f64::INFINITY, f64::min);
        let high = candidates.iter().map(|c| c[axis]).fold(f64::NEG_INFINITY, f64::max);
        for upper in [false, true] {
            let there = |c: &&&Vec<f64>| {
                if upper { c[axis] > high - END } else { c[axis] < low + END }
            };
            let share = as_number(best.iter().filter(there).count()) / count;
            if share > most {
                most = share;
                edge = Some(Shape::Edge { axis, upper, share });
            }
        }
    }
    if let Some(edge) = edge {
        return edge;
    }
    let at: Vec<[f64; 3]> = (0..axes)
        .map(|axis| {
            let mut values: Vec<f64> = best.iter().map(|b| b[axis]).collect();
            values.sort_by(f64::total_cmp);
            [10, 50, 90].map(|percent| values[(values.len() - 1) * percent / 100])
        })
        .collect();
    if at.iter().all(|[low, _, high]| high - low <= FOUND_WITHIN) {
        Shape::Maximum { at }
    } else {
        Shape::Unclear
    }
}

#[expect(clippy::cast_precision_loss, reason = "a count of draws is far below 2^53")]
fn as_number(count: usize) -> f64 {
    count as f64
}
