//! A bounded primal simplex for small programs, with lexicographic stages.
//!
//! Made for programs of some ten rows and fifty columns of which thousands are solved one after
//! the other: a dense inverse, and loops without branches where every step passes. Method:
//! revised simplex with bounded variables (Chvátal, "Linear Programming", 1983, chapters 7 and
//! 8; from memory). A stage is fixed for the next ones by freezing every column whose reduced
//! cost is not zero: the columns left free span exactly the optimal face, so no cap row and no
//! slack is needed.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

use crate::planner::lp::matrix::{Matrix, Numbers, Objective, invert};

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ending {
    /// No column can improve the objective.
    Optimal,
    /// The objective falls without end.
    Unbounded,
    /// The limit of iterations was reached.
    Stalled,
}

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Basic,
    Lower,
    Upper,
    /// Nonbasic, and unable to move: it has no range, or an earlier stage fixed it.
    Frozen,
}

impl Place {
    /// A column at its lower bound gains by rising when its reduced cost is negative, one at its
    /// upper bound by falling when it is positive; the others do not move.
    fn sign(self) -> f64 {
        match self {
            Place::Lower => -1.0,
            Place::Upper => 1.0,
            Place::Basic | Place::Frozen => 0.0,
        }
    }

    /// Where a column stands at a bound.
    fn resting(numbers: &Numbers, j: usize, at_lower: bool) -> Self {
        if numbers.lower[j] >= numbers.upper[j] {
            Place::Frozen
        } else if at_lower {
            Place::Lower
        } else {
            Place::Upper
        }
    }
}

/// Our choice of numerical tolerances. Rows are in meq/L with coefficients near 1, so a pivot
/// below 1e-9 is rounding, a step below 1e-13 is no progress, and a reduced cost below 1e-10 of
/// the largest cost is zero. Moving them by a factor of a hundred changes no tested answer.
const PIVOT: f64 = 1e-9;
const STEP: f64 = 1e-13;
const REDUCED_COST: f64 = 1e-10;
/// Reduced costs within this factor of the border are looked at again after a fresh
/// factorisation. Exact columns have none there; heavy weights on contradicting goals may.
const DOUBT: f64 = 1e4;
/// Steps without progress before the rule that cannot cycle takes over (Bland 1977).
const TIME_LIMIT: usize = 20;

/// The state of a run; kept between programs so that nothing is allocated twice.
#[derive(Debug, Clone, Default)]
pub(crate) struct Simplex {
    place: Vec<Place>,
    /// By place: what turns a reduced cost into the gain of moving the column.
    sign: Vec<f64>,
    /// Values of all columns.
    pub(crate) values: Vec<f64>,
    basis: Vec<usize>,
    /// Bounds and values of the basic columns, in the order of the basis.
    low: Vec<f64>,
    high: Vec<f64>,
    now: Vec<f64>,
    inverse: Vec<f64>,
    /// Multipliers of the rows after the last stage.
    pub(crate) multipliers: Vec<f64>,
    /// The columns that no earlier stage has frozen.
    movable: Vec<usize>,
    /// Their reduced costs, from the last look at them.
    reduced: Vec<f64>,
    /// The entering column in terms of the basis, and how far each basic column lets it go.
    entering: Vec<f64>,
    reach: Vec<f64>,
}

impl Simplex {
    /// Starts from columns with a single entry, one for each row, in the order of the rows.
    /// All other columns stand at the bound nearest to zero, those in `at_upper` at their upper.
    /// Then `pivots` bring further columns in, each in place of a row's column.
    pub(crate) fn start(
        &mut self,
        matrix: &Matrix,
        numbers: &Numbers,
        unit_columns: &[usize],
        at_upper: &[usize],
        pivots: &[(usize, usize)],
    ) {
        let m = matrix.rows();
        self.place.clear();
        self.sign.clear();
        self.values.clear();
        for j in 0..matrix.columns() {
            let (low, high) = (numbers.lower[j], numbers.upper[j]);
            let at_lower = low.is_finite();
            let place = Place::resting(numbers, j, at_lower);
            self.place.push(place);
            self.sign.push(place.sign());
            self.values.push(if at_lower { low } else { high });
        }
        for &j in at_upper {
            self.put(j, Place::resting(numbers, j, false));
            self.values[j] = numbers.upper[j];
        }
        for room in [
            &mut self.low,
            &mut self.high,
            &mut self.now,
            &mut self.multipliers,
            &mut self.entering,
            &mut self.reach,
        ] {
            room.clear();
            room.resize(m, 0.0);
        }
        self.basis.clear();
        self.basis.extend_from_slice(unit_columns);
        self.inverse.clear();
        self.inverse.resize(m * m, 0.0);
        for (i, &j) in unit_columns.iter().enumerate() {
            self.put(j, Place::Basic);
            let sign = matrix.column(j).first().map_or(1.0, |(_, v)| *v);
            self.inverse[i * m + i] = 1.0 / sign;
        }
        for &(j, row) in pivots {
            self.expand(matrix, j);
            let leaving = self.basis[row];
            self.put(leaving, Place::resting(numbers, leaving, true));
            self.values[leaving] = numbers.lower[leaving];
            self.pivot(row, j);
        }
        self.recompute(matrix, numbers, 1);
    }

    /// Minimises one objective over the columns that are not frozen.
    pub(crate) fn minimise(
        &mut self,
        matrix: &Matrix,
        numbers: &Numbers,
        objective: &Objective,
    ) -> Ending {
        let most = 50 * (matrix.rows() + matrix.columns());
        let threshold = REDUCED_COST * objective.largest();
        let cost = objective.costs();
        let columns = self.place.iter().enumerate();
        self.movable.clear();
        self.movable.extend(columns.filter(|(_, p)| **p != Place::Frozen).map(|(j, _)| j));
        self.reduced.clear();
        self.reduced.resize(self.movable.len(), 0.0);
        self.gather(numbers);
        let mut idle = 0;
        let mut ending = Ending::Stalled;
        for _ in 0..most {
            self.price_rows(cost);
            let Some((j, falls)) = self.choose(matrix, cost, threshold, idle > TIME_LIMIT) else {
                ending = Ending::Optimal;
                break;
            };
            self.expand(matrix, j);
            let Some(step) = self.step(numbers, j, falls, idle > TIME_LIMIT) else {
                ending = Ending::Unbounded;
                break;
            };
            idle = if step > STEP { 0 } else { idle + 1 };
        }
        for (j, now) in self.basis.iter().zip(&self.now) {
            self.values[*j] = *now;
        }
        ending
    }

    /// Fixes the stage just solved: columns with a reduced cost may not move again.
    pub(crate) fn freeze(&mut self, objective: &Objective) {
        let threshold = REDUCED_COST * objective.largest();
        for (&j, reduced) in self.movable.iter().zip(&self.reduced) {
            if self.sign[j] != 0.0 && reduced.abs() > threshold {
                self.place[j] = Place::Frozen;
                self.sign[j] = 0.0;
            }
        }
    }

    /// Whether a reduced cost lies so near to the border between zero and not zero that rounding
    /// may have carried it across. Then a column could be frozen that should stay free.
    pub(crate) fn is_unsure(&self, objective: &Objective) -> bool {
        let border = REDUCED_COST * objective.largest();
        let unsure = (border / DOUBT)..(border * DOUBT);
        self.movable
            .iter()
            .zip(&self.reduced)
            .any(|(&j, reduced)| self.sign[j] != 0.0 && unsure.contains(&reduced.abs()))
    }

    /// Whether a column cannot move: it has no range, or an earlier stage fixed it.
    pub(crate) fn is_frozen(&self, j: usize) -> bool {
        self.place[j] == Place::Frozen
    }

    /// Factorises the basis anew and recomputes the values: removes what rounding has added.
    pub(crate) fn refresh(&mut self, matrix: &Matrix, numbers: &Numbers) {
        let m = matrix.rows();
        let mut work = vec![0.0; m * m];
        for (position, &j) in self.basis.iter().enumerate() {
            for &(i, v) in matrix.column(j) {
                work[i * m + position] = v;
            }
        }
        if let Some(inverse) = invert(work, m, PIVOT * PIVOT) {
            self.inverse = inverse;
        }
        self.recompute(matrix, numbers, 2);
    }

    /// Corrects the values for the rounding of the pivots since the start.
    pub(crate) fn polish(&mut self, matrix: &Matrix, numbers: &Numbers) {
        self.recompute(matrix, numbers, 2);
        for &j in &self.basis {
            let (low, high) = (numbers.lower[j], numbers.upper[j]);
            let value = self.values[j];
            // Only rounding is cut off here; anything larger is left for the recheck to find.
            if value < low && value > low - PIVOT {
                self.values[j] = low;
            } else if value > high && value < high + PIVOT {
                self.values[j] = high;
            }
        }
    }

    fn put(&mut self, j: usize, place: Place) {
        self.place[j] = place;
        self.sign[j] = place.sign();
    }

    /// Values of the basic columns from those of the others; every round after the first takes
    /// out what rounding left in the one before.
    fn recompute(&mut self, matrix: &Matrix, numbers: &Numbers, rounds: usize) {
        for &j in &self.basis {
            self.values[j] = 0.0;
        }
        let m = matrix.rows();
        for _ in 0..rounds {
            self.entering.copy_from_slice(&numbers.rhs);
            for (value, entries) in self.values.iter().zip(matrix.iter()) {
                if *value != 0.0 {
                    for &(i, v) in entries {
                        self.entering[i] -= v * value;
                    }
                }
            }
            for (row, &j) in self.inverse.chunks_exact(m).zip(&self.basis) {
                let correction: f64 = row.iter().zip(&self.entering).map(|(a, b)| a * b).sum();
                self.values[j] += correction;
            }
        }
    }

    /// Bounds and values of the basic columns, side by side for the ratio test.
    fn gather(&mut self, numbers: &Numbers) {
        for (position, &j) in self.basis.iter().enumerate() {
            self.low[position] = numbers.lower[j];
            self.high[position] = numbers.upper[j];
            self.now[position] = self.values[j];
        }
    }

    fn price_rows(&mut self, cost: &[f64]) {
        let m = self.basis.len();
        self.multipliers.fill(0.0);
        for (row, &j) in self.inverse.chunks_exact(m).zip(&self.basis) {
            let c = cost[j];
            for (total, v) in self.multipliers.iter_mut().zip(row) {
                *total += c * v;
            }
        }
    }

    /// The column to move and whether its value falls; the largest reduced cost, or the first
    /// when caution is asked for.
    fn choose(
        &mut self,
        matrix: &Matrix,
        cost: &[f64],
        threshold: f64,
        cautious: bool,
    ) -> Option<(usize, bool)> {
        let heads = self.movable.partition_point(|j| *j < matrix.single_from());
        let (head, tail) = self.movable.split_at(heads);
        let (head_reduced, tail_reduced) = self.reduced.split_at_mut(heads);
        for (&j, reduced) in head.iter().zip(head_reduced) {
            let product: f64 =
                matrix.full(j).iter().zip(&self.multipliers).map(|(a, p)| a * p).sum();
            *reduced = cost[j] - product;
        }
        for (&j, reduced) in tail.iter().zip(tail_reduced) {
            let (i, v) = matrix.single(j);
            *reduced = cost[j] - self.multipliers[i] * v;
        }
        let mut best = None;
        let mut largest = threshold;
        for (&j, reduced) in self.movable.iter().zip(&self.reduced) {
            let gain = self.sign[j] * reduced;
            if gain > largest {
                best = Some(j);
                if cautious {
                    break;
                }
                largest = gain;
            }
        }
        best.map(|j| (j, self.sign[j] > 0.0))
    }

    /// `entering` becomes the column in terms of the basis.
    fn expand(&mut self, matrix: &Matrix, j: usize) {
        let m = self.basis.len();
        if j < matrix.single_from() {
            let full = matrix.full(j);
            for (row, total) in self.inverse.chunks_exact(m).zip(&mut self.entering) {
                *total = row.iter().zip(full).map(|(a, b)| a * b).sum();
            }
        } else {
            let (i, v) = matrix.single(j);
            for (row, total) in self.inverse.chunks_exact(m).zip(&mut self.entering) {
                *total = row[i] * v;
            }
        }
    }

    /// Moves column `j` as far as it goes; `None` when nothing stops it.
    fn step(&mut self, numbers: &Numbers, j: usize, falls: bool, cautious: bool) -> Option<f64> {
        let direction = if falls { -1.0 } else { 1.0 };
        let own = numbers.upper[j] - numbers.lower[j];
        let mut length = own;
        let bounds = self.low.iter().zip(&self.high).zip(&self.now);
        for ((alpha, reach), ((low, high), now)) in
            self.entering.iter().zip(&mut self.reach).zip(bounds)
        {
            let slope = direction * alpha;
            let room = if slope < 0.0 { high - now } else { now - low };
            let far = (room / slope.abs()).max(0.0);
            *reach = if slope.abs() > PIVOT { far } else { f64::INFINITY };
            length = if *reach < length { *reach } else { length };
        }
        if !length.is_finite() {
            return None;
        }
        // Between equally near columns the strongest pivot rounds least; Bland's rule wants the
        // first column instead.
        let mut leaving = None;
        let mut strongest = 0.0;
        for (position, (reach, alpha)) in self.reach.iter().zip(&self.entering).enumerate() {
            let stronger = match leaving {
                Some(other) if cautious => self.basis[position] < self.basis[other],
                _ => alpha.abs() > strongest,
            };
            if *reach <= length + STEP && stronger {
                strongest = alpha.abs();
                leaving = Some(position);
            }
        }
        for (now, alpha) in self.now.iter_mut().zip(&self.entering) {
            *now -= direction * length * alpha;
        }
        match leaving {
            Some(position) if length < own => {
                let out = self.basis[position];
                let at_lower = direction * self.entering[position] > 0.0;
                self.put(out, Place::resting(numbers, out, at_lower));
                self.values[out] = if at_lower { numbers.lower[out] } else { numbers.upper[out] };
                let value = self.values[j] + direction * length;
                self.pivot(position, j);
                self.low[position] = numbers.lower[j];
                self.high[position] = numbers.upper[j];
                self.now[position] = value;
            }
            _ => {
                self.put(j, Place::resting(numbers, j, falls));
                self.values[j] = if falls { numbers.lower[j] } else { numbers.upper[j] };
            }
        }
        Some(length)
    }

    /// Column `j`, already expanded, takes the place of the basic column of a row.
    fn pivot(&mut self, position: usize, j: usize) {
        let m = self.basis.len();
        let scale = 1.0 / self.entering[position];
        for v in &mut self.inverse[position * m..(position + 1) * m] {
            *v *= scale;
        }
        let (before, rest) = self.inverse.split_at_mut(position * m);
        let (pivot_row, after) = rest.split_at_mut(m);
        let (factors_before, factors_after) = self.entering.split_at(position);
        let above = before.chunks_exact_mut(m).zip(factors_before);
        let below = after.chunks_exact_mut(m).zip(factors_after.iter().skip(1));
        for (row, factor) in above.chain(below) {
            for (v, p) in row.iter_mut().zip(&*pivot_row) {
                *v -= factor * p;
            }
        }
        self.basis[position] = j;
        self.put(j, Place::Basic);
    }
}
