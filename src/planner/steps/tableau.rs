//! A dense tableau with a bounded dual simplex: what a branch and bound on small programs needs.
//!
//! The whole tableau is kept (some ten rows, some fifty columns), so a node is a copy of it with
//! one bound moved, and a few pivots later its optimum. All bounds are finite, so that each column
//! at the bound that its cost prefers is dual feasible from the start and there is no first phase.
//! While it runs, [`Tableau::value`] never falls and never exceeds the optimum: it can be cut
//! off at any step. What it says is taken as a hint: proofs are made of its multipliers. Method: dual simplex with bounded variables and flips of bounds between
//! pivots (Koberstein, "The Dual Simplex Method, Techniques for a fast and stable
//! implementation", 2005, chapter 3; from memory).
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one tableau")]

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum End {
    /// The optimum.
    Optimal,
    /// No values keep all rows and bounds; this row of the tableau says why.
    Infeasible(usize),
    /// The value has passed the one that would still be of use.
    CutOff,
    /// The limit of steps: the value is a bound, and not the optimum.
    Stalled,
}

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    Basic,
    Lower,
    Upper,
}

/// Our choice of numerical tolerances. Rows are in units of their own miss, so a bound overstepped
/// by 1e-9 is kept, and an entry below 1e-9 is rounding and no pivot.
pub(crate) const KEPT: f64 = 1e-9;
const PIVOT: f64 = 1e-9;
/// Our choice: more steps than this (or twenty a row) are a cycle; many times what is usual.
const MOST_STEPS: usize = 400;

/// Rows, columns and bounds of a program, with the first basis.
#[derive(Debug, Clone, Default)]
pub(crate) struct Columns {
    /// Entries by row.
    pub(crate) rows: Vec<Vec<f64>>,
    /// Right-hand sides.
    pub(crate) rhs: Vec<f64>,
    /// The first basis: for each row a column with this entry in it and none elsewhere, which
    /// costs nothing.
    pub(crate) first: Vec<Option<(usize, f64)>>,
    /// Costs.
    pub(crate) costs: Vec<f64>,
    /// Lower bounds, all finite.
    pub(crate) lower: Vec<f64>,
    /// Upper bounds.
    pub(crate) upper: Vec<f64>,
}

/// A tableau at some basis.
#[derive(Debug, Default)]
pub(crate) struct Tableau {
    columns: usize,
    entries: Vec<f64>,
    reduced: Vec<f64>,
    basic_values: Vec<f64>,
    basis: Vec<usize>,
    stand: Vec<Stand>,
    pub(crate) lower: Vec<f64>,
    pub(crate) upper: Vec<f64>,
    /// The value of the dual solution at hand: a bound from below, the optimum at the end.
    pub(crate) value: f64,
    flips: Vec<usize>,
}

impl Clone for Tableau {
    fn clone(&self) -> Self {
        let mut copy = Self::default();
        copy.clone_from(self);
        copy
    }

    /// Copies into the room that is already there.
    fn clone_from(&mut self, other: &Self) {
        self.columns = other.columns;
        self.entries.clone_from(&other.entries);
        self.reduced.clone_from(&other.reduced);
        self.basic_values.clone_from(&other.basic_values);
        self.basis.clone_from(&other.basis);
        self.stand.clone_from(&other.stand);
        self.lower.clone_from(&other.lower);
        self.upper.clone_from(&other.upper);
        self.value = other.value;
    }
}

impl Tableau {
    /// The tableau of a program at its first basis.
    pub(crate) fn new(program: &Columns) -> Self {
        let n = program.costs.len();
        let m = program.rows.len();
        let resting = |cost: &f64| if *cost < 0.0 { Stand::Upper } else { Stand::Lower };
        let mut tableau = Self {
            columns: n,
            entries: Vec::with_capacity(m * n),
            reduced: program.costs.clone(),
            basic_values: Vec::with_capacity(m),
            basis: Vec::with_capacity(m),
            stand: program.costs.iter().map(resting).collect(),
            lower: program.lower.clone(),
            upper: program.upper.clone(),
            value: 0.0,
            flips: Vec::new(),
        };
        let first: Vec<(usize, f64)> = program.first.iter().flatten().copied().collect();
        for (j, _) in &first {
            tableau.stand[*j] = Stand::Basic;
        }
        let at = |tableau: &Self, j: usize| match tableau.stand[j] {
            Stand::Basic => 0.0,
            Stand::Lower => program.lower[j],
            Stand::Upper => program.upper[j],
        };
        for ((row, rhs), (basic, entry)) in program.rows.iter().zip(&program.rhs).zip(&first) {
            let scale = 1.0 / entry;
            tableau.basis.push(*basic);
            tableau.entries.extend(row.iter().map(|v| v * scale));
            let resting: f64 = row.iter().enumerate().map(|(j, v)| v * at(&tableau, j)).sum();
            tableau.basic_values.push((rhs - resting) * scale);
        }
        tableau.value = (0..n).map(|j| program.costs[j] * at(&tableau, j)).sum();
        tableau
    }

    /// The multipliers of the rows that the reduced costs stand for.
    pub(crate) fn multipliers(&self, program: &Columns, into: &mut Vec<f64>) {
        let of = |(j, entry): &(usize, f64)| (program.costs[*j] - self.reduced_cost(*j)) / entry;
        into.clear();
        into.extend(program.first.iter().flatten().map(of));
    }

    /// The multipliers that row `r` is a sum of the rows with, or its negative.
    pub(crate) fn combination(&self, program: &Columns, r: usize, sign: f64, into: &mut Vec<f64>) {
        let row = self.row(r);
        into.clear();
        into.extend(program.first.iter().flatten().map(|(j, entry)| sign * row[*j] / entry));
    }

    fn row(&self, r: usize) -> &[f64] {
        &self.entries[r * self.columns..(r + 1) * self.columns]
    }

    /// The value of a column.
    pub(crate) fn at(&self, j: usize) -> f64 {
        match self.stand[j] {
            Stand::Lower => self.lower[j],
            Stand::Upper => self.upper[j],
            Stand::Basic => self
                .basis
                .iter()
                .position(|b| *b == j)
                .map_or(self.lower[j], |r| self.basic_values[r]),
        }
    }

    /// The row in which a column is basic.
    pub(crate) fn row_of(&self, j: usize) -> Option<usize> {
        if self.stand[j] == Stand::Basic { self.basis.iter().position(|b| *b == j) } else { None }
    }

    /// Reduced cost of a column that is not basic.
    pub(crate) fn reduced_cost(&self, j: usize) -> f64 {
        if self.stand[j] == Stand::Basic { 0.0 } else { self.reduced[j] }
    }

    /// Narrows the bounds of a column; one that stands at a moved bound moves along.
    pub(crate) fn narrow(&mut self, j: usize, lower: f64, upper: f64) {
        let before = self.at(j);
        self.lower[j] = lower;
        self.upper[j] = upper;
        if self.stand[j] == Stand::Basic {
            return;
        }
        let now = self.at(j);
        self.shift(j, now - before);
    }

    /// A column off the basis moves by `by`.
    fn shift(&mut self, j: usize, by: f64) {
        if by == 0.0 {
            return;
        }
        self.value += self.reduced[j] * by;
        for (r, value) in self.basic_values.iter_mut().enumerate() {
            *value -= self.entries[r * self.columns + j] * by;
        }
    }

    fn bounds_of(&self, r: usize) -> (f64, f64) {
        let j = self.basis[r];
        (self.lower[j], self.upper[j])
    }

    /// Whether column `j` may enter to move the basic column of a row up (or down): the gain per
    /// unit, and the ratio that decides who comes first.
    fn candidate(&self, row: &[f64], j: usize, up: bool) -> Option<(f64, f64)> {
        let entry = row[j];
        // A column at its lower bound can only rise, one at its upper only fall.
        let helps = match self.stand[j] {
            Stand::Basic => false,
            Stand::Lower => (entry < 0.0) == up,
            Stand::Upper => (entry > 0.0) == up,
        };
        if !helps || entry.abs() <= PIVOT || self.lower[j] >= self.upper[j] {
            return None;
        }
        Some((entry.abs(), self.reduced[j].abs() / entry.abs()))
    }

    /// How far the reduced costs may move along row `r` before one of them is none, when its basic
    /// column must move up (or down).
    pub(crate) fn dual_step(&self, r: usize, up: bool) -> f64 {
        let row = self.row(r);
        (0..self.columns)
            .filter_map(|j| self.candidate(row, j, up))
            .map(|(_, ratio)| ratio)
            .fold(f64::INFINITY, f64::min)
    }

    /// How much the optimum rises at least when the basic column of row `r` must move up (or
    /// down) by `by`: the first step of the dual simplex and no more (Tomlin 1971, from memory).
    pub(crate) fn penalty(&self, r: usize, up: bool, by: f64) -> f64 {
        self.dual_step(r, up) * by
    }

    /// Runs to the optimum, or until the value passes `cutoff`. Bounds overstepped by `kept` are
    /// kept.
    pub(crate) fn minimise(&mut self, cutoff: f64, kept: f64) -> End {
        for _ in 0..MOST_STEPS.max(20 * self.basis.len()) {
            if self.value > cutoff {
                return End::CutOff;
            }
            let mut worst = None;
            let mut largest = kept;
            for r in 0..self.basis.len() {
                let (low, high) = self.bounds_of(r);
                let value = self.basic_values[r];
                let outside = (low - value).max(value - high);
                if outside > largest {
                    largest = outside;
                    worst = Some((r, value < low));
                }
            }
            let Some((r, up)) = worst else { return End::Optimal };
            if !self.step(r, up, kept) {
                return End::Infeasible(r);
            }
        }
        End::Stalled
    }

    /// Brings the basic column of row `r` to the bound it oversteps; false when nothing can.
    fn step(&mut self, r: usize, up: bool, kept: f64) -> bool {
        let (low, high) = self.bounds_of(r);
        let bound = if up { low } else { high };
        let mut missing = (bound - self.basic_values[r]).abs();
        let mut flips = std::mem::take(&mut self.flips);
        flips.clear();
        let entering = loop {
            let row = self.row(r);
            let mut best: Option<(usize, f64, f64)> = None;
            for j in 0..self.columns {
                let Some((size, ratio)) = self.candidate(row, j, up) else { continue };
                if flips.contains(&j) {
                    continue;
                }
                // Between equal ratios the larger pivot rounds less.
                let better = best.is_none_or(|(_, most, least)| {
                    ratio < least - KEPT * least || (ratio <= least + KEPT * least && size > most)
                });
                if better {
                    best = Some((j, size, ratio));
                }
            }
            let Some((j, size, _)) = best else { break None };
            let reach = size * (self.upper[j] - self.lower[j]);
            if reach >= missing {
                break Some(j);
            }
            missing -= reach;
            flips.push(j);
        };
        // Columns that all moved to their other bound may have brought it there but for rounding.
        if entering.is_none() && (flips.is_empty() || missing > kept) {
            self.flips = flips;
            return false;
        }
        for &j in &flips {
            let range = self.upper[j] - self.lower[j];
            let by = if self.stand[j] == Stand::Lower { range } else { -range };
            self.stand[j] = if self.stand[j] == Stand::Lower { Stand::Upper } else { Stand::Lower };
            self.shift(j, by);
        }
        self.flips = flips;
        let Some(q) = entering else { return true };
        let by = (self.basic_values[r] - bound) / self.entries[r * self.columns + q];
        let value = self.at(q) + by;
        self.shift(q, by);
        let out = self.basis[r];
        self.stand[out] = if up { Stand::Lower } else { Stand::Upper };
        self.pivot(r, q);
        self.basic_values[r] = value;
        true
    }

    fn pivot(&mut self, r: usize, q: usize) {
        let n = self.columns;
        let scale = 1.0 / self.entries[r * n + q];
        let (before, rest) = self.entries.split_at_mut(r * n);
        let (row, after) = rest.split_at_mut(n);
        for v in row.iter_mut() {
            *v *= scale;
        }
        for other in before.chunks_exact_mut(n).chain(after.chunks_exact_mut(n)) {
            let factor = other[q];
            if factor != 0.0 {
                for (v, p) in other.iter_mut().zip(&*row) {
                    *v -= factor * p;
                }
                other[q] = 0.0;
            }
        }
        let factor = self.reduced[q];
        if factor != 0.0 {
            for (v, p) in self.reduced.iter_mut().zip(&*row) {
                *v -= factor * p;
            }
            self.reduced[q] = 0.0;
        }
        self.stand[q] = Stand::Basic;
        self.basis[r] = q;
    }
}
