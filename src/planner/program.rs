//! The problem of one water, stated in equivalents, with the trade's names beside its rows.
//!
//! Sets: stocks j, base waters k, rows i (one per goal; two or three for a ratio).
//!
//! Columns, all per litre of finished water:
//! * `u_j ≥ 0`, meq/L of stock j. Its dose is `u_j / strength_j` mL/L.
//! * `0 ≤ y_k ≤ at_most_k`, share of base water k.
//! * per row: `0 ≤ n1_i, p1_i ≤ tolerance_i`, the miss inside tolerance, below and above;
//!   `n2_i, p2_i ≥ 0`, the miss beyond it; `s_i`, the place inside the wished band.
//!
//! Rows:
//! * volume: `Σ u_j / (1000·strength_j) + Σ y_k = 1`;
//! * goals: `form_i(u, y) + n1_i + n2_i − p1_i − p2_i − s_i = reference_i`.
//!
//! A salt is neutral and its ions stand in whole-number proportion, so per equivalent the
//! coefficients of `u` are 0 and 1: no rounding makes the rows nearly singular.
//!
//! Stages, each fixing the ones before: (0, on request) the largest weighted miss beyond
//! tolerance; (1) the weighted sum of misses beyond tolerance; (2) that of misses inside
//! tolerance; (3…) the preference.

use crate::chemistry::{Composition, Conserved, ConservedSet};
use crate::shelf::Stock;
use crate::waters::{BaseShare, Goal, Measure, Preference, Subject, Target};

/// Coefficients on the conserved totals.
pub type Form = [f64; Conserved::ALL.len()];

/// What can be poured: the columns that all targets of a flight share.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pourable {
    /// Stocks: what one milliequivalent brings, and the millilitres that hold it.
    pub stocks: Vec<(Composition, f64)>,
    /// Base waters: what one litre brings, and the largest share.
    pub base: Vec<(Composition, f64)>,
    /// Price of a millilitre of each stock; empty or 0 where none is known.
    pub price_per_ml: Vec<f64>,
    /// Price of a litre of each base water; empty or 0 where none is known.
    pub base_price_per_l: Vec<f64>,
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

impl Pourable {
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
        }
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
                let meq = self.stocks.iter().enumerate().map(|(j, (_, ml_per_meq))| {
                    self.price_per_ml.get(j).copied().unwrap_or_default() * ml_per_meq
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

/// Appends the rows of a target's goals.
pub fn push_rows(target: &Target, rows: &mut Vec<Row>) {
    for goal in &target.goals {
        match goal.subject {
            Subject::Measure(measure) => rows.push(Row::band(
                measure.coefficients(),
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
}

/// Rows of a target with its tolerances as part of the bands: beyond them or not, nothing else.
pub(super) fn edges(target: &Target) -> Vec<Row> {
    let mut rows = Vec::new();
    push_rows(target, &mut rows);
    rows.into_iter()
        .filter(|row| row.tolerance.is_finite())
        .map(|row| {
            let low = row.reference + row.slack_low - row.tolerance;
            let high = row.reference + row.slack_high + row.tolerance;
            Row::band(row.form, low, high, 0.0, row.rate)
        })
        .collect()
}

/// A total that a row counts and that nobody measured of a base water that may be used: there is no
/// coefficient to state the row with. Sums of masses count silica where it is known and go without
/// it where not; rows without an outside, which only draw, are drawn by the estimate.
pub(super) fn not_measured(pourable: &Pourable, rows: &[Row]) -> Option<Conserved> {
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
/// A third row, with no outside, draws `near` goals to `a = r·b` in the second stage. Misses are
/// counted in the tolerance times the size that the denominator is wished to have.
fn push_ratio(
    goal: &Goal,
    (of, to): (Measure, Measure),
    scale: f64,
    denominator: f64,
    rows: &mut Vec<Row>,
) {
    let form = |ratio: f64| {
        let mut form = of.coefficients();
        for (a, b) in form.iter_mut().zip(to.coefficients()) {
            *a -= ratio * scale * b;
        }
        form
    };
    let rate = goal.weight / (goal.miss_unit * scale * denominator);
    let (low, high) = (goal.band.low(), goal.band.high());
    let centred = (high - low).abs() < f64::EPSILON;
    if centred && goal.tolerance <= 0.0 {
        rows.push(Row::band(form(low), 0.0, 0.0, 0.0, rate));
        return;
    }
    if low.is_finite() {
        let edge = (low - goal.tolerance).max(0.0);
        rows.push(Row::band(form(edge), 0.0, f64::INFINITY, 0.0, rate));
    }
    if high.is_finite() {
        rows.push(Row::band(form(high + goal.tolerance), f64::NEG_INFINITY, 0.0, 0.0, rate));
    }
    if centred {
        rows.push(Row::band(form(low), 0.0, 0.0, f64::INFINITY, rate));
    }
}

/// The size that a target wishes a measure to have: that of its own goal, or 1 native unit.
fn size_of(measure: Measure, target: &Target) -> f64 {
    target
        .goals
        .iter()
        .find(|g| g.subject == Subject::Measure(measure))
        .map(|g| g.band.size())
        .filter(|size| *size > 0.0)
        .unwrap_or(1.0)
}
