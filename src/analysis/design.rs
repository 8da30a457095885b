//! The fixed part of the mixed model: columns for waters, places and what was tasted before.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the columns were made with"
)]

use nalgebra::DMatrix;

use super::table::{Observation, ScoreTable};

/// Cups that must be left to judge by after an order or carry-over term is taken in. Our choice:
/// below it the term would cost the comparison of waters more than it could explain.
pub const LEFT_TO_JUDGE: usize = 15;

/// Share of a column that must be its own. Our choice: rounding of counts leaves 1e-15; what is
/// really there leaves at least one part in the number of cups.
const OWN_SHARE: f64 = 1e-9;

/// A term beside the waters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extra {
    /// The place on the tray.
    Order,
    /// The water tasted just before.
    CarryOver,
}

/// Whether a term is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Wanted {
    /// No.
    No,
    /// When the design can carry it.
    #[default]
    IfCarried,
    /// Whenever it can be estimated at all.
    Yes,
}

/// Why a term is not in the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOutBecause {
    /// Nobody asked for it.
    NotWanted,
    /// Places or the waters before are not recorded, or are all the same.
    NothingRecorded,
    /// It cannot be told apart from the waters, the tasters or the other terms in this design.
    NotSeparable,
    /// Too few cups would be left to judge by.
    TooFewCups,
    /// Repeated cups got the same scores wherever they stood, so it cannot have mattered.
    RepeatsExact,
}

/// What became of a term.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It is in the model, with so many degrees of freedom.
    In(usize),
    /// It is not.
    Out(LeftOutBecause),
}

/// The columns of the model.
pub(super) struct Columns {
    /// A row for each observation.
    pub(super) x: DMatrix<f64>,
    /// The waters that were scored, by place in the table: the first columns.
    pub(super) waters: Vec<usize>,
    /// Columns of the order term.
    pub(super) order: Vec<usize>,
    /// Columns of the carry-over term.
    pub(super) carry_over: Vec<usize>,
    /// What became of the order term.
    pub(super) order_fate: Fate,
    /// What became of the carry-over term.
    pub(super) carry_over_fate: Fate,
}

impl Columns {
    /// Columns for a table. Waters have a column each; places and waters before are coded as
    /// deviations from their mean, so that the effect of a water's column is its mean over all
    /// places and all waters before.
    pub(super) fn of(table: &ScoreTable, order: Wanted, carry_over: Wanted) -> Self {
        let rows = &table.rows;
        let waters: Vec<usize> = (0..table.waters.len())
            .filter(|&water| rows.iter().any(|row| row.water == water))
            .collect();
        let mut columns: Vec<Vec<f64>> = waters
            .iter()
            .map(|&water| rows.iter().map(|row| f64::from(u8::from(row.water == water))).collect())
            .collect();
        let tasters = tasters_in(rows);
        let mut take = |wanted, levels: &dyn Fn(&Observation) -> Option<usize>| {
            let (fate, new) = decide(wanted, &columns, rows, levels, tasters);
            let first = columns.len();
            columns.extend(new);
            (fate, (first..columns.len()).collect::<Vec<usize>>())
        };
        let place = |row: &Observation| (row.position > 0).then_some(row.position);
        let (order_fate, order) = take(order, &place);
        let (carry_over_fate, carry_over) = take(carry_over, &|row| row.previous);
        let x = DMatrix::from_fn(rows.len(), columns.len(), |i, j| columns[j][i]);
        Self { x, waters, order, carry_over, order_fate, carry_over_fate }
    }
}

/// Tasters who gave a score.
pub(super) fn tasters_in(rows: &[Observation]) -> usize {
    let mut tasters: Vec<usize> = rows.iter().map(|row| row.taster).collect();
    tasters.sort_unstable();
    tasters.dedup();
    tasters.len()
}

/// Whether a term comes in, and its columns.
fn decide(
    wanted: Wanted,
    before: &[Vec<f64>],
    rows: &[Observation],
    level: &dyn Fn(&Observation) -> Option<usize>,
    tasters: usize,
) -> (Fate, Vec<Vec<f64>>) {
    let out = |why| (Fate::Out(why), Vec::new());
    if wanted == Wanted::No {
        return out(LeftOutBecause::NotWanted);
    }
    let mut levels: Vec<usize> = rows.iter().filter_map(level).collect();
    levels.sort_unstable();
    levels.dedup();
    let Some((last, coded)) = levels.split_last().filter(|(_, coded)| !coded.is_empty()) else {
        return out(LeftOutBecause::NothingRecorded);
    };
    let deviation = |row: &Observation, of: usize| match level(row) {
        Some(at) if at == of => 1.0,
        Some(at) if at == *last => -1.0,
        _ => 0.0,
    };
    let new: Vec<Vec<f64>> =
        coded.iter().map(|&of| rows.iter().map(|row| deviation(row, of)).collect()).collect();
    if !separable(before, &new, rows) {
        return out(LeftOutBecause::NotSeparable);
    }
    let spent = before.len() + new.len() + tasters.saturating_sub(1);
    if wanted == Wanted::IfCarried && rows.len() < spent + LEFT_TO_JUDGE {
        return out(LeftOutBecause::TooFewCups);
    }
    (Fate::In(new.len()), new)
}

/// Whether new columns lie outside the space of the old ones, of the tasters, and of each other.
fn separable(before: &[Vec<f64>], new: &[Vec<f64>], rows: &[Observation]) -> bool {
    // Taking each taster's mean away is the same as a column for each taster.
    let mut basis: Vec<Vec<f64>> = Vec::new();
    for (place, column) in before.iter().chain(new).enumerate() {
        let mut own = centred(column, rows);
        let whole = dot(column, column);
        for unit in &basis {
            let share = dot(&own, unit);
            for (value, along) in own.iter_mut().zip(unit) {
                *value -= share * along;
            }
        }
        let left = dot(&own, &own);
        if left > OWN_SHARE * whole {
            basis.push(own.iter().map(|value| value / left.sqrt()).collect());
        } else if place >= before.len() {
            return false;
        }
    }
    true
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// A column less its mean within each taster.
fn centred(column: &[f64], rows: &[Observation]) -> Vec<f64> {
    let tasters = rows.iter().map(|row| row.taster).max().map_or(0, |most| most + 1);
    let mut sums = vec![(0.0, 0.0); tasters];
    for (row, value) in rows.iter().zip(column) {
        sums[row.taster].0 += value;
        sums[row.taster].1 += 1.0;
    }
    let mean = |row: &Observation| sums[row.taster].0 / sums[row.taster].1;
    rows.iter().zip(column).map(|(row, value)| value - mean(row)).collect()
}
