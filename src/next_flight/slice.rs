//! What is expected along the first two axes, the others held where most is expected.

use serde::Serialize;

use crate::next_flight::Expected;

/// A slice of the surface, in the units of its axes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SurfaceSlice {
    /// Values of the first axis.
    pub columns: Vec<f64>,
    /// Values of the second one.
    pub rows: Vec<f64>,
    /// Where the other axes are held.
    pub held: Vec<f64>,
    /// Row by row: what is expected above the mean of the waters tasted; nothing out of reach.
    pub above_mean: Vec<Vec<Option<f64>>>,
    /// Its standard deviation at the same places.
    pub standard_deviation: Vec<Vec<Option<f64>>>,
}

impl SurfaceSlice {
    /// The slice of a surface of so many levels; `value` is what a place from 0 to 1 means on an axis.
    /// Nothing without two axes.
    #[must_use]
    pub fn new(
        surface: &[(Vec<f64>, Expected)],
        levels: u32,
        value: &dyn Fn(usize, f64) -> f64,
    ) -> Option<Self> {
        let steps = f64::from(levels.checked_sub(1).filter(|steps| *steps > 0)?);
        // A water is made near its place of the grid, not on it.
        let level = |at: f64| (at * steps).round();
        let hoped = |e: &Expected| e.desirability.0;
        let (best, _) = surface.iter().max_by(|a, b| hoped(&a.1).total_cmp(&hoped(&b.1)))?;
        let others = best.get(2..)?;
        let at = |column: f64, row: f64| -> Option<&Expected> {
            let found = surface.iter().find(|(at, _)| {
                let mut places = at.iter().map(|a| level(*a));
                let is_here = places.next().is_some_and(|a| same(a, column))
                    && places.next().is_some_and(|a| same(a, row));
                is_here && places.zip(others).all(|(a, held)| same(a, level(*held)))
            });
            found.map(|(_, expected)| expected)
        };
        let grid = |pick: fn(&Expected) -> f64| -> Vec<Vec<Option<f64>>> {
            let row = |row: u32| {
                let one = |column: u32| at(f64::from(column), f64::from(row)).map(pick);
                (0..levels).map(one).collect()
            };
            (0..levels).map(row).collect()
        };
        let values = |axis: usize| (0..levels).map(|n| value(axis, f64::from(n) / steps)).collect();
        Some(Self {
            columns: values(0),
            rows: values(1),
            held: (2..).zip(others).map(|(axis, at)| value(axis, *at)).collect(),
            above_mean: grid(|e| e.above_mean),
            standard_deviation: grid(|e| e.standard_deviation),
        })
    }
}

/// Levels are whole numbers.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.5
}
