//! The problem of one water, stated in equivalents, with the trade's names beside its rows.
//!
//! Sets: stocks j, base waters k, rows i (one per goal; up to four for a ratio).
//!
//! Columns, all per litre of finished water:
//! * `u_j ≥ 0`, meq/L of stock j. Its dose is `u_j / strength_j` mL/L.
//! * `0 ≤ y_k ≤ at_most_k`, share of base water k.
//! * per row: `0 ≤ n1_i, p1_i ≤ tolerance_i`, the miss inside tolerance, below and above;
//!   `n2_i, p2_i ≥ 0`, the miss beyond it; `s_i`, the place inside the wanted band.
//!
//! Rows:
//! * volume: `Σ u_j / (1000·strength_j) + Σ y_k = 1`;
//! * goals: `form_i(u, y) + n1_i + n2_i − p1_i − p2_i − s_i = reference_i`.
//!
//! Limits, written down only where doses would break them:
//! * all stocks together: `Σ u_j / strength_j ≤ L` mL per litre of finished water;
//! * dissolved solids: `Σ solids_j·u_j + Σ solids_k·y_k ≤ S` mg/L.
//!
//! Doses that are added to a litre of base water are the same problem, since every column is per
//! litre of finished water. Only what counts per litre of base water, `Σ y_k` of the finished one,
//! is another row: the limit of stocks is then `Σ u_j / strength_j ≤ L·Σ y_k`, and a share of base
//! water `y_k ≤ at_most_k·Σ y_l`.
//!
//! A salt is neutral and its ions stand in whole-number proportion, so per equivalent the
//! coefficients of `u` are 0 and 1: no rounding makes the rows nearly singular.
//!
//! Stages, each fixing the ones before: (0, on request) the largest weighted miss beyond
//! tolerance; (1) the weighted sum of misses beyond tolerance; (2) that of misses inside
//! tolerance; (3…) the preference.
//!
//! Above 400 lines: one statement of columns, limits, rows and what they cost.

use crate::chemistry::{Composition, Conserved, ConservedSet};
use crate::flight::{BaseShare, Convention, DoseLimits, Flight, Goal, Preference, Subject, Target};
use crate::stock::Stock;
use crate::water::Measure;

/// Coefficients on the conserved totals.
pub type Form = [f64; Conserved::ALL.len()];

/// What can be poured: the columns that all targets of a flight share.
#[derive(Debug, Clone, PartialEq)]
pub struct PourableColumns {
    /// Stocks: what one milliequivalent brings, and the millilitres that hold it.
    pub stocks: Vec<(Composition, f64)>,
    /// Base waters: what one litre brings, and the largest share.
    pub base: Vec<(Composition, f64)>,
    /// Price of a millilitre of each stock; empty or 0 where none is known.
    pub price_per_ml: Vec<f64>,
    /// Price of a litre of each base water; empty or 0 where none is known.
    pub base_price_per_l: Vec<f64>,
    /// Doses first, or added to a litre.
    pub convention: Convention,
    /// What no doses may exceed.
    pub limits: DoseLimits,
}

impl Default for PourableColumns {
    /// Nothing at all, without limits.
    fn default() -> Self {
        Self {
            stocks: Vec::new(),
            base: Vec::new(),
            price_per_ml: Vec::new(),
            base_price_per_l: Vec::new(),
            convention: Convention::MadeUpToALitre,
            limits: DoseLimits::NONE,
        }
    }
}

/// Which stages are wanted beyond the misses.
#[derive(Debug, Clone, Default)]
pub struct Priorities {
    /// Make the largest weighted miss least before the sum.
    pub largest_first: bool,
    /// Costs of the preference stages: per meq/L of each stock, per share of each base water.
    pub preference: Vec<(Vec<f64>, Vec<f64>)>,
}

/// What a [`HardRow`] keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitKind {
    /// The volume of all stocks.
    Stocks,
    /// The dissolved solids.
    DissolvedSolids,
    /// The share of one base water.
    Share,
}

/// A row that doses keep whatever they miss: its value is at most `most`.
#[derive(Debug, Clone, PartialEq)]
pub struct HardRow {
    /// What it is about.
    pub of: LimitKind,
    /// Coefficients on meq/L of each stock.
    pub on_stocks: Vec<f64>,
    /// Coefficients on the share of each base water.
    pub on_base: Vec<f64>,
    /// What the value may be at most.
    pub most: f64,
}

impl HardRow {
    /// The value of doses.
    #[must_use]
    pub fn value(&self, meq_per_l: &[f64], shares: &[f64]) -> f64 {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        dot(&self.on_stocks, meq_per_l) + dot(&self.on_base, shares)
    }

    /// Whether doses stay within it, but for `part` of its size.
    #[must_use]
    pub fn keeps(&self, meq_per_l: &[f64], shares: &[f64], part: f64) -> bool {
        self.value(meq_per_l, shares) <= self.most + part * self.size()
    }

    /// Size of its numbers.
    #[must_use]
    pub fn size(&self) -> f64 {
        self.on_base.iter().fold(self.most.abs(), |size, c| size.max(c.abs()))
    }
}

/// One row of the program: a linear form with its band, tolerance and rates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The linear form.
    pub form: Form,
    /// The edge of the band that deviations are counted from.
    pub reference: f64,
    /// How far below the reference the band reaches: 0 or −∞.
    pub slack_low: f64,
    /// How far above the reference the band reaches: 0, the width, or +∞.
    pub slack_high: f64,
    /// Misses up to this count as inside; +∞ for a row that has no outside.
    pub tolerance: f64,
    /// Cost of one native unit of miss, in units of miss times the weight.
    pub rate: f64,
}

impl Row {
    /// A row from the edges of its band (either may be infinite, not both).
    #[must_use]
    pub fn band(form: Form, low: f64, high: f64, tolerance: f64, rate: f64) -> Self {
        let (reference, slack_low, slack_high) =
            if low.is_finite() { (low, 0.0, high - low) } else { (high, f64::NEG_INFINITY, 0.0) };
        Self { form, reference, slack_low, slack_high, tolerance, rate }
    }

    /// Miss of a value of the form: its distance from the band.
    #[must_use]
    pub fn miss(&self, value: f64) -> f64 {
        let above = value - (self.reference + self.slack_high);
        let below = self.reference + self.slack_low - value;
        above.max(below).max(0.0)
    }

    /// Cost of a value in the first stages: beyond tolerance, inside tolerance.
    #[must_use]
    pub fn costs(&self, value: f64) -> (f64, f64) {
        let miss = self.miss(value);
        let inside = miss.min(self.tolerance);
        (self.rate * (miss - inside), self.rate * inside)
    }
}

impl PourableColumns {
    /// The columns of a shelf and its base waters.
    #[must_use]
    pub fn new(stocks: &[Stock], base: &[BaseShare]) -> Self {
        Self {
            stocks: stocks
                .iter()
                .map(|s| (s.recipe().salt.composition_per_meq(), 1.0 / s.meq_per_ml().value()))
                .collect(),
            base: base.iter().map(|b| (b.water.composition, b.at_most.value())).collect(),
            price_per_ml: stocks
                .iter()
                .map(|s| s.price_per_ml().map_or(0.0, |price| price.per_base))
                .collect(),
            base_price_per_l: base
                .iter()
                .map(|b| b.water.price_per_ml.unwrap_or_default() * 1000.0)
                .collect(),
            ..Self::default()
        }
    }

    /// The same as a flight pours them: in its convention, within its limits.
    #[must_use]
    pub fn of(flight: &Flight, stocks: &[Stock]) -> Self {
        Self {
            convention: flight.convention,
            limits: flight.limits,
            ..Self::new(stocks, &flight.base)
        }
    }

    /// Dissolved solids of every stock, mg per meq, and of every base water, mg/L.
    fn solids(&self) -> (Vec<f64>, Vec<f64>) {
        let of = |(c, _): &(Composition, f64)| Measure::DissolvedSolids.of(c);
        (self.stocks.iter().map(of).collect(), self.base.iter().map(of).collect())
    }

    /// The base waters, the one with the least dissolved solids first.
    #[must_use]
    pub fn leanest_first(&self) -> Vec<usize> {
        let (_, solids) = self.solids();
        let mut order: Vec<usize> = (0..self.base.len()).collect();
        let of = |k: &usize| solids.get(*k).copied().unwrap_or_default();
        order.sort_by(|a, b| of(a).total_cmp(&of(b)));
        order
    }

    /// The dissolved solids allowed, mg/L: as stated, or what the leanest mixture of the base waters
    /// has already.
    #[must_use]
    pub fn most_solids(&self) -> f64 {
        let (_, solids) = self.solids();
        let (mut room, mut least) = (1.0_f64, 0.0);
        for k in self.leanest_first() {
            let share = self.base.get(k).map_or(0.0, |(_, at_most)| at_most.min(room));
            least += share * solids.get(k).copied().unwrap_or_default();
            room -= share;
        }
        self.limits.dissolved_solids_mg_per_l.max(least)
    }

    /// The rows that doses keep whatever they miss.
    #[must_use]
    pub fn hard_rows(&self) -> Vec<HardRow> {
        let mut rows = Vec::new();
        let added = self.convention == Convention::AddedToALitre;
        let nothing = || vec![0.0; self.stocks.len()];
        let stocks = self.limits.stocks_ml_per_l;
        if stocks.is_finite() {
            let ml = self.stocks.iter().map(|(_, ml)| *ml).collect();
            let per_base = if added { -stocks } else { 0.0 };
            rows.push(HardRow {
                of: LimitKind::Stocks,
                on_stocks: ml,
                on_base: vec![per_base; self.base.len()],
                most: if added { 0.0 } else { stocks },
            });
        }
        let solids = self.most_solids();
        if solids.is_finite() {
            let (on_stocks, on_base) = self.solids();
            rows.push(HardRow { of: LimitKind::DissolvedSolids, on_stocks, on_base, most: solids });
        }
        for (k, (_, at_most)) in self.base.iter().enumerate() {
            if added && *at_most < 1.0 {
                let of = (0..self.base.len()).map(|l| if l == k { 1.0 } else { 0.0 } - at_most);
                rows.push(HardRow {
                    of: LimitKind::Share,
                    on_stocks: nothing(),
                    on_base: of.collect(),
                    most: 0.0,
                });
            }
        }
        rows
    }

    /// Coefficients of every row on stocks and base waters, in the order: volume, goals, hard rows.
    /// All solvers read the program from here.
    #[must_use]
    pub(crate) fn coefficients(&self, rows: &[Row], hard: &[HardRow]) -> Vec<Vec<f64>> {
        let columns = || self.stocks.iter().chain(&self.base);
        let volume = self.stocks.iter().map(|(_, ml_per_meq)| ml_per_meq / 1000.0);
        let mut all: Vec<Vec<f64>> = vec![volume.chain(self.base.iter().map(|_| 1.0)).collect()];
        all.extend(rows.iter().map(|row| columns().map(|(c, _)| c.dot(&row.form)).collect()));
        all.extend(hard.iter().map(|row| [row.on_stocks.as_slice(), &row.on_base].concat()));
        all
    }

    /// Costs of a preference, one list per stage: per meq/L of each stock, per share of each
    /// base water.
    #[must_use]
    pub fn preference_costs(&self, preference: Preference) -> Vec<(Vec<f64>, Vec<f64>)> {
        let volume = (self.stocks.iter().map(|(_, ml)| *ml).collect(), vec![0.0; self.base.len()]);
        let sodium = || {
            let of = |c: &Composition| Measure::Sodium.of(c);
            (
                self.stocks.iter().map(|(c, _)| of(c)).collect(),
                self.base.iter().map(|(c, _)| of(c)).collect(),
            )
        };
        match preference {
            Preference::LeastCost => {
                // A stock is water for the most part. It counts as dear as the dearest base water, so
                // that no salt is poured for the sake of the water that it comes in.
                let dearest_per_l =
                    self.base_price_per_l.iter().fold(0.0_f64, |most, p| most.max(*p));
                let meq = self.stocks.iter().enumerate().map(|(j, (_, ml_per_meq))| {
                    let salt = self.price_per_ml.get(j).copied().unwrap_or_default();
                    (salt + dearest_per_l / 1000.0) * ml_per_meq
                });
                let share = |k: usize| self.base_price_per_l.get(k).copied().unwrap_or_default();
                vec![(meq.collect(), (0..self.base.len()).map(share).collect()), volume]
            }
            // The number of stocks is no linear cost: it is chosen around the stages.
            Preference::LeastVolume | Preference::FewestStocks => vec![volume],
            Preference::LeastSodium => vec![sodium(), volume],
        }
    }
}

/// What all rows together are missed by, weighted, in units of miss.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deviations {
    /// The largest beyond tolerance.
    pub largest: f64,
    /// All beyond tolerance.
    pub beyond: f64,
    /// All inside tolerance.
    pub inside: f64,
}

impl Deviations {
    /// Those of rows with these values.
    #[must_use]
    pub fn of<'a>(rows: impl Iterator<Item = (&'a Row, f64)>) -> Self {
        rows.fold(Self::default(), |sum, (row, value)| {
            let (beyond, inside) = row.costs(value);
            Self {
                largest: sum.largest.max(beyond),
                beyond: sum.beyond + beyond,
                inside: sum.inside + inside,
            }
        })
    }
}

/// Appends the rows of a target's goals.
pub fn push_rows(target: &Target, rows: &mut Vec<Row>) {
    for goal in &target.goals {
        push_goal(goal, target, rows);
    }
}

fn push_goal(goal: &Goal, target: &Target, rows: &mut Vec<Row>) {
    match goal.subject {
        Subject::Measure(measure) => rows.push(Row::band(
            *measure.coefficients(),
            goal.band.low(),
            goal.band.high(),
            goal.tolerance,
            goal.weight / goal.miss_unit,
        )),
        Subject::Ratio { of, to, of_factor, to_factor } => {
            let denominator = size_of(to, target);
            push_ratio(goal, (of, to), to_factor / of_factor, denominator, rows);
        }
    }
}

/// Rows of a target with its tolerances as part of the bands: beyond them or not, nothing else.
pub(crate) fn edges(target: &Target) -> Vec<Row> {
    target.goals.iter().flat_map(|goal| edges_of(goal, target)).collect()
}

/// Those of one of its goals.
pub(crate) fn edges_of(goal: &Goal, target: &Target) -> Vec<Row> {
    let mut rows = Vec::new();
    push_goal(goal, target, &mut rows);
    rows.into_iter()
        .filter(|row| row.tolerance.is_finite())
        .map(|row| {
            let low = row.reference + row.slack_low - row.tolerance;
            let high = row.reference + row.slack_high + row.tolerance;
            Row::band(row.form, low, high, 0.0, row.rate)
        })
        .collect()
}

/// Of the second stage, what rows without an outside count that stands beyond tolerance: a ratio is drawn
/// to its goal over the whole of its miss.
pub(crate) fn drawn_from_beyond(target: &Target, water: &Composition) -> f64 {
    let of = |goal: &Goal| {
        let mut rows = Vec::new();
        push_goal(goal, target, &mut rows);
        let cost = |row: &Row| {
            let (beyond, inside) = row.costs(water.dot(&row.form));
            beyond + inside
        };
        let sum = |is_drawn: bool| -> f64 {
            let of = rows.iter().filter(|row| row.tolerance.is_infinite() == is_drawn);
            of.map(cost).sum()
        };
        sum(false).min(sum(true))
    };
    target.goals.iter().filter(|goal| matches!(goal.subject, Subject::Ratio { .. })).map(of).sum()
}

/// A total that a row counts and that nobody measured of a base water that may be used: there is no
/// coefficient to state the row with. Sums of masses count silica where it is known and go without
/// it where not; rows without an outside, which only draw, are drawn by the estimate.
pub(crate) fn not_measured(pourable: &PourableColumns, rows: &[Row]) -> Option<Conserved> {
    let used = pourable.base.iter().filter(|(_, at_most)| *at_most > 0.0);
    let unknown = used.fold(ConservedSet::NONE, |all, (water, _)| all.union(water.not_measured()));
    let counted = |row: &Row| -> ConservedSet {
        let of = Conserved::ALL.into_iter().zip(row.form).filter(|(_, weight)| weight.abs() > 0.0);
        let of: Vec<Conserved> = of.map(|(c, _)| c).collect();
        let is_sum = of.len() > 1;
        of.into_iter().filter(|c| !(is_sum && *c == Conserved::SiO2)).collect()
    };
    if unknown.is_empty() {
        return None;
    }
    let firm = rows.iter().filter(|row| row.tolerance.is_finite());
    firm.flat_map(|row| unknown.iter().filter(move |c| counted(row).contains(*c))).next()
}

/// A ratio `a : b` within `r ± Δ` is linear at its edges: `a ≥ (r − Δ)·b` and `a ≤ (r + Δ)·b`.
/// Where it has a tolerance, further rows without an outside draw it to the goal itself in the
/// second stage: `a = r·b` for `near`, `a ≥ r·b` for `at least`, `a ≤ r·b` for `at most`. Misses
/// are counted in the tolerance times the size that the denominator should have.
fn push_ratio(
    goal: &Goal,
    (of, to): (Measure, Measure),
    scale: f64,
    denominator: f64,
    rows: &mut Vec<Row>,
) {
    let form = |ratio: f64| {
        let mut form = *of.coefficients();
        for (a, b) in form.iter_mut().zip(to.coefficients()) {
            *a -= ratio * scale * b;
        }
        form
    };
    let rate = goal.weight / (goal.miss_unit * scale * denominator);
    let (low, high) = (goal.band.low(), goal.band.high());
    let endless = f64::INFINITY;
    let mut push = |ratio: f64, low: f64, high: f64, tolerance: f64| {
        rows.push(Row::band(form(ratio), low, high, tolerance, rate));
    };
    if low >= high && goal.tolerance <= 0.0 {
        push(low, 0.0, 0.0, 0.0);
        return;
    }
    if low.is_finite() {
        push((low - goal.tolerance).max(0.0), 0.0, endless, 0.0);
    }
    if high.is_finite() {
        push(high + goal.tolerance, -endless, 0.0, 0.0);
    }
    if goal.tolerance <= 0.0 {
        return;
    }
    if low >= high {
        push(low, 0.0, 0.0, endless);
        return;
    }
    if low.is_finite() {
        push(low, 0.0, endless, endless);
    }
    if high.is_finite() {
        push(high, -endless, 0.0, endless);
    }
}

/// The size that a target wants a measure to have: that of its own goal, or 1 native unit.
fn size_of(measure: Measure, target: &Target) -> f64 {
    target
        .goals
        .iter()
        .find(|g| g.subject == Subject::Measure(measure))
        .map(|g| g.band.size())
        .filter(|size| *size > 0.0)
        .unwrap_or(1.0)
}
