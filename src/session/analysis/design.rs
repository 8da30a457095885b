//! The fixed part of the mixed model: columns for waters, places and what was tasted before.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the columns were made with"
)]

use nalgebra::DMatrix;

use crate::session::analysis::{Observation, ScoreTable};

/// Cups that must be left to judge by after an order or carry-over term is taken in. Our choice:
/// below it the term would cost the comparison of waters more than it could explain.
pub const LEFT_TO_JUDGE: usize = 15;

/// Share of a column that must be its own. Our choice: rounding of counts leaves 1e-15; what is
/// really there leaves at least one part in the number of cups.
const OWN_SHARE: f64 = 1e-9;

/// A term beside the waters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExtraTerm {
    /// The place on the tray.
    Order,
    /// The water tasted just before.
    CarryOver,
}

/// Whether a term is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Wanted {
    /// No.
    #[default]
    No,
    /// When the design can carry it.
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
    /// It is confounded with the waters, the tasters or the other terms in this design.
    NotSeparable,
    /// Too few cups would be left to judge by, or too few that repeat a water at a taster.
    TooFewCups,
    /// Repeated cups got the same scores wherever they stood, so it cannot have mattered.
    RepeatsExact,
}

/// What became of a term.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TermStatus {
    /// It is in the model, with so many degrees of freedom.
    In(usize),
    /// It is not.
    Out(LeftOutBecause),
}

/// The columns of the model, by rows: most entries are zero and are not kept.
pub(crate) struct Columns {
    /// For each observation its columns that are not zero.
    pub(crate) rows: Vec<Vec<(usize, f64)>>,
    /// How many columns there are.
    pub(crate) count: usize,
    /// The waters that were scored, by place in the table: the first columns.
    pub(crate) waters: Vec<usize>,
    /// Columns of the order term.
    pub(crate) order: Vec<usize>,
    /// Columns of the carry-over term.
    pub(crate) carry_over: Vec<usize>,
    /// Columns of the tasters but the last, who is minus their sum; none where tasters are no blocks.
    pub(crate) tasters: Vec<usize>,
    /// Whether the waters can all be compared with each other.
    pub(crate) connected: bool,
    /// Levels of the order term: one for each of its columns, and the last, which is minus their sum.
    pub(crate) places: Vec<usize>,
    /// Levels of the carry-over term.
    pub(crate) before: Vec<usize>,
    /// What became of the order term.
    pub(crate) order_fate: TermStatus,
    /// What became of the carry-over term.
    pub(crate) carry_over_fate: TermStatus,
    /// Whether there are cups enough to test the terms; means are corrected for them all the same.
    pub(crate) terms_can_be_tested: bool,
    /// Share of the spread of the scores that columns and tasters leave unexplained.
    pub(crate) unexplained: f64,
}

/// What a row has of a term: its level, when it is recorded.
type LevelOf = fn(&Observation) -> Option<usize>;

impl Columns {
    /// Columns for a table. Waters have a column each; places and waters before are coded as
    /// deviations from their mean, so that the effect of a water's column is its mean over all
    /// places and all waters before. With `blocks` each taster has a column as well, so that waters
    /// are compared within tasters; tasters are coded in the same way.
    pub(crate) fn of(table: &ScoreTable, order: Wanted, carry_over: Wanted, blocks: bool) -> Self {
        let waters = levels_of(&table.rows, |row| Some(row.water));
        let place: LevelOf = |row| (row.position > 0).then_some(row.position);
        let before: LevelOf = |row| row.previous;
        let mut taken = Taken::start(&table.rows, &waters);
        let (order_fate, order) = taken.offer(order, place);
        let (carry_over_fate, carry_over) = taken.offer(carry_over, before);
        let terms_can_be_tested = taken.repeats_carry(taken.count - waters.len());
        let (unexplained, compared) = taken.unexplained(waters.len());
        let tasters = if blocks { taken.take_tasters() } else { Vec::new() };
        let (rows, count) = (taken.rows, taken.count);
        Self {
            rows,
            count,
            // Within tasters only differences of waters are seen: one fewer than there are waters.
            connected: !blocks || compared + 1 == waters.len(),
            waters,
            order,
            carry_over,
            tasters,
            places: levels_of(&table.rows, place),
            before: levels_of(&table.rows, before),
            order_fate,
            carry_over_fate,
            terms_can_be_tested,
            unexplained,
        }
    }
}

/// Tasters who gave a score.
pub(crate) fn tasters_in(rows: &[Observation]) -> usize {
    levels_of(rows, |row| Some(row.taster)).len()
}

/// The different levels of a term, in ascending order.
fn levels_of(rows: &[Observation], level: LevelOf) -> Vec<usize> {
    let mut levels: Vec<usize> = rows.iter().filter_map(level).collect();
    levels.sort_unstable();
    levels.dedup();
    levels
}

/// The columns taken so far.
struct Taken<'a> {
    observations: &'a [Observation],
    tasters: usize,
    /// Columns of the waters, which come first.
    waters: usize,
    rows: Vec<Vec<(usize, f64)>>,
    count: usize,
}

impl<'a> Taken<'a> {
    fn start(observations: &'a [Observation], waters: &[usize]) -> Self {
        let column = |row: &Observation| waters.binary_search(&row.water).unwrap_or(0);
        let rows = observations.iter().map(|row| vec![(column(row), 1.0)]).collect();
        let (tasters, waters) = (tasters_in(observations), waters.len());
        Self { observations, tasters, waters, rows, count: waters }
    }

    /// Takes a term in if it is wanted and can be carried.
    fn offer(&mut self, wanted: Wanted, level: LevelOf) -> (TermStatus, Vec<usize>) {
        let out = |why| (TermStatus::Out(why), Vec::new());
        if wanted == Wanted::No {
            return out(LeftOutBecause::NotWanted);
        }
        let levels = levels_of(self.observations, level);
        let Some((last, coded)) = levels.split_last().filter(|(_, coded)| !coded.is_empty()) else {
            return out(LeftOutBecause::NothingRecorded);
        };
        let first = self.count;
        let rows = self.coded(level, (coded, *last));
        let count = first + coded.len();
        let new: Vec<usize> = (first..count).collect();
        let mut left = Elimination::of(&rows, count, self.observations);
        (0..first).for_each(|column| {
            left.take(column);
        });
        if !new.iter().all(|&column| left.take(column)) {
            return out(LeftOutBecause::NotSeparable);
        }
        let spent = count + self.tasters.saturating_sub(1);
        let few = rows.len() < spent + LEFT_TO_JUDGE || !self.repeats_carry(count - self.waters);
        if wanted == Wanted::IfCarried && few {
            return out(LeftOutBecause::TooFewCups);
        }
        (self.rows, self.count) = (rows, count);
        (TermStatus::In(new.len()), new)
    }

    /// Whether so many columns of terms can be tested. Where cups are repeated the error of a cup is found from
    /// the repeats; with hardly more of them than columns it comes out as nothing for some scores, and then
    /// anything differs. Without repeats there is one error, found from all cups.
    fn repeats_carry(&self, columns: usize) -> bool {
        let mut cells: Vec<(usize, usize)> =
            self.observations.iter().map(|row| (row.taster, row.water)).collect();
        cells.sort_unstable();
        cells.dedup();
        let repeats = self.observations.len() - cells.len();
        repeats == 0 || repeats >= columns + LEFT_TO_JUDGE
    }

    /// The share of the spread of the scores that stays unexplained within tasters, and how many of
    /// the `waters` have something of their own there.
    fn unexplained(&self, waters: usize) -> (f64, usize) {
        let mut left = Elimination::of(&self.rows, self.count, self.observations);
        let own: Vec<bool> = (0..self.count).map(|column| left.take(column)).collect();
        let compared = own.iter().take(waters).filter(|own| **own).count();
        let total = left.whole[self.count];
        let rest = left.within[(self.count, self.count)];
        (if total > 0.0 { (rest / total).max(0.0) } else { 0.0 }, compared)
    }

    /// Gives each taster a column.
    fn take_tasters(&mut self) -> Vec<usize> {
        let levels = levels_of(self.observations, |row| Some(row.taster));
        let Some((last, coded)) = levels.split_last() else { return Vec::new() };
        let first = self.count;
        self.rows = self.coded(|row| Some(row.taster), (coded, *last));
        self.count += coded.len();
        (first..self.count).collect()
    }

    /// The rows with a column more for each of the coded levels, of which the last is minus their sum.
    fn coded(&self, level: LevelOf, (coded, last): (&[usize], usize)) -> Vec<Vec<(usize, f64)>> {
        let first = self.count;
        let mut rows = self.rows.clone();
        for (row, observation) in rows.iter_mut().zip(self.observations) {
            match level(observation) {
                Some(at) if at == last => row.extend((0..coded.len()).map(|k| (first + k, -1.0))),
                Some(at) => row.extend(coded.binary_search(&at).map(|k| (first + k, 1.0))),
                None => {}
            }
        }
        rows
    }
}

/// Products of all columns, and of the scores as the last, within tasters, from which columns are
/// taken away one after the other.
struct Elimination {
    within: DMatrix<f64>,
    /// Square of each column as it was.
    whole: Vec<f64>,
}

impl Elimination {
    fn of(rows: &[Vec<(usize, f64)>], count: usize, observations: &[Observation]) -> Self {
        let centre = observations.iter().map(|row| row.value).sum::<f64>()
            / crate::numerics::count(observations.len().max(1));
        let tasters = observations.iter().map(|row| row.taster).max().map_or(0, |most| most + 1);
        let mut within: DMatrix<f64> = DMatrix::zeros(count + 1, count + 1);
        let mut sums: DMatrix<f64> = DMatrix::zeros(tasters, count + 1);
        let mut cups = vec![0.0_f64; tasters];
        for (row, observation) in rows.iter().zip(observations) {
            let score = [(count, observation.value - centre)];
            cups[observation.taster] += 1.0;
            for &(i, a) in row.iter().chain(&score) {
                sums[(observation.taster, i)] += a;
                for &(j, b) in row.iter().chain(&score) {
                    within[(i, j)] += a * b;
                }
            }
        }
        let whole = within.diagonal().iter().copied().collect();
        // Taking each taster's mean away is the same as a column for each taster.
        for (mut row, cups) in sums.row_iter_mut().zip(&cups) {
            row /= cups.max(1.0).sqrt();
        }
        within -= sums.tr_mul(&sums);
        Self { within, whole }
    }

    /// Takes a column away from all others; false when it has nothing of its own.
    fn take(&mut self, column: usize) -> bool {
        let own = self.within[(column, column)];
        if own <= OWN_SHARE * self.whole[column] {
            return false;
        }
        let along = self.within.column(column).into_owned();
        self.within.ger(-1.0 / own, &along, &along, 1.0);
        true
    }
}
