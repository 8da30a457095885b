//! A bounded primal simplex for small programs, with lexicographic stages.
//!
//! Dense inverse, sparse columns, made for programs of some ten rows and fifty columns of which
//! thousands are solved one after the other. Method: revised simplex with bounded variables
//! (Chvátal, "Linear Programming", 1983, chapters 7 and 8). A stage is fixed for the next ones by
//! freezing every column whose reduced cost is not zero: the columns left free span exactly the
//! optimal face, so no cap row and no slack is needed.
#![expect(clippy::indexing_slicing, reason = "indices run over rows and columns of one program")]

/// A matrix by columns.
#[derive(Debug, Clone, Default)]
pub(super) struct Matrix {
    rows: usize,
    starts: Vec<usize>,
    entries: Vec<(usize, f64)>,
}

impl Matrix {
    pub(super) fn new(rows: usize, columns: &[Vec<(usize, f64)>]) -> Self {
        let mut starts = vec![0];
        let mut entries = Vec::new();
        for column in columns {
            entries.extend_from_slice(column);
            starts.push(entries.len());
        }
        Self { rows, starts, entries }
    }

    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    pub(super) fn columns(&self) -> usize {
        self.starts.len() - 1
    }

    pub(super) fn column(&self, j: usize) -> &[(usize, f64)] {
        &self.entries[self.starts[j]..self.starts[j + 1]]
    }

    /// All columns in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = &[(usize, f64)]> {
        self.starts.windows(2).map(|ends| &self.entries[ends[0]..ends[1]])
    }
}

/// The numbers of one program beside its matrix.
#[derive(Debug, Clone, Default)]
pub(super) struct Numbers {
    pub(super) lower: Vec<f64>,
    pub(super) upper: Vec<f64>,
    pub(super) rhs: Vec<f64>,
}

/// An objective to be made least.
#[derive(Debug, Clone, Default)]
pub(super) struct Objective {
    costs: Vec<f64>,
    /// The columns that cost anything.
    columns: Vec<usize>,
    largest: f64,
}

impl Objective {
    /// Begins anew: nothing costs anything.
    pub(super) fn clear(&mut self, columns: usize) {
        self.costs.clear();
        self.costs.resize(columns, 0.0);
        self.columns.clear();
        self.largest = 0.0;
    }

    pub(super) fn set(&mut self, j: usize, cost: f64) {
        if cost != 0.0 {
            self.costs[j] = cost;
            self.columns.push(j);
            self.largest = self.largest.max(cost.abs());
        }
    }

    /// Cost of every column.
    pub(super) fn costs(&self) -> &[f64] {
        &self.costs
    }

    /// The largest cost there is.
    pub(super) fn largest(&self) -> f64 {
        self.largest
    }

    /// The objective of these values.
    pub(super) fn value(&self, values: &[f64]) -> f64 {
        self.columns.iter().map(|j| self.costs[*j] * values[*j]).sum()
    }

    /// What counts as zero among reduced costs.
    fn zero(&self) -> f64 {
        REDUCED_COST * self.largest
    }
}

/// How a run ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ending {
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
    /// Nonbasic, and fixed by an earlier stage.
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

    /// Where a column stands at a bound; one without a range can never move.
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
/// Steps without progress before the rule that cannot cycle takes over (Bland 1977).
const PATIENCE: usize = 20;

/// The state of a run; kept between programs so that nothing is allocated twice.
#[derive(Debug, Clone, Default)]
pub(super) struct Simplex {
    place: Vec<Place>,
    /// By place: what turns a reduced cost into the gain of moving the column, so that looking
    /// at all columns needs no branch.
    sign: Vec<f64>,
    /// Values of all columns.
    pub(super) values: Vec<f64>,
    basis: Vec<usize>,
    inverse: Vec<f64>,
    /// Multipliers of the rows after the last stage.
    pub(super) multipliers: Vec<f64>,
    /// The columns that no earlier stage has frozen.
    movable: Vec<usize>,
    /// Their reduced costs, from the last look at them.
    reduced: Vec<f64>,
    entering: Vec<f64>,
}

impl Simplex {
    /// Starts from columns with a single entry, one for each row, in the order of the rows.
    /// All other columns stand at the bound nearest to zero, those in `at_upper` at their upper.
    /// Then `pivots` bring further columns in, each in place of a row's column.
    pub(super) fn start(
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
            self.put(j, Place::Upper);
            self.values[j] = numbers.upper[j];
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
        self.entering.clear();
        self.entering.resize(m, 0.0);
        self.multipliers.clear();
        self.multipliers.resize(m, 0.0);
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
    pub(super) fn minimise(
        &mut self,
        matrix: &Matrix,
        numbers: &Numbers,
        objective: &Objective,
    ) -> Ending {
        let most = 50 * (matrix.rows() + matrix.columns());
        let threshold = objective.zero();
        let cost = objective.costs();
        let columns = self.place.iter().enumerate();
        self.movable.clear();
        self.movable.extend(columns.filter(|(_, p)| **p != Place::Frozen).map(|(j, _)| j));
        self.reduced.clear();
        self.reduced.resize(self.movable.len(), 0.0);
        let mut idle = 0;
        for _ in 0..most {
            self.price_rows(cost);
            let Some((j, falls)) = self.choose(matrix, cost, threshold, idle > PATIENCE) else {
                return Ending::Optimal;
            };
            self.expand(matrix, j);
            let Some(step) = self.step(numbers, j, falls, idle > PATIENCE) else {
                return Ending::Unbounded;
            };
            idle = if step > STEP { 0 } else { idle + 1 };
        }
        Ending::Stalled
    }

    /// Fixes the stage just solved: columns with a reduced cost may not move again.
    pub(super) fn freeze(&mut self, objective: &Objective) {
        let threshold = objective.zero();
        for (&j, reduced) in self.movable.iter().zip(&self.reduced) {
            if self.sign[j] != 0.0 && reduced.abs() > threshold {
                self.place[j] = Place::Frozen;
                self.sign[j] = 0.0;
            }
        }
    }

    fn put(&mut self, j: usize, place: Place) {
        self.place[j] = place;
        self.sign[j] = place.sign();
    }

    /// Whether a column was fixed by an earlier stage.
    pub(super) fn is_frozen(&self, j: usize) -> bool {
        self.place[j] == Place::Frozen
    }

    /// Factorises the basis anew and recomputes the values: removes what rounding has added.
    pub(super) fn refresh(&mut self, matrix: &Matrix, numbers: &Numbers) {
        let m = matrix.rows();
        let mut work = vec![0.0; m * m];
        for (position, &j) in self.basis.iter().enumerate() {
            for &(i, v) in matrix.column(j) {
                work[i * m + position] = v;
            }
        }
        if let Some(inverse) = invert(work, m) {
            self.inverse = inverse;
        }
        self.recompute(matrix, numbers, 2);
    }

    /// Values of the basic columns from those of the others; every round after the first takes
    /// out what rounding left in the one before.
    fn recompute(&mut self, matrix: &Matrix, numbers: &Numbers, rounds: usize) {
        for &j in &self.basis {
            self.values[j] = 0.0;
        }
        for _ in 0..rounds {
            self.entering.copy_from_slice(&numbers.rhs);
            for (value, entries) in self.values.iter().zip(matrix.iter()) {
                if *value != 0.0 {
                    for &(i, v) in entries {
                        self.entering[i] -= v * value;
                    }
                }
            }
            let m = matrix.rows();
            for (position, &j) in self.basis.iter().enumerate() {
                let row = &self.inverse[position * m..(position + 1) * m];
                let correction: f64 = row.iter().zip(&self.entering).map(|(a, b)| a * b).sum();
                self.values[j] += correction;
            }
        }
    }

    /// Corrects the values for the rounding of the pivots since the start.
    pub(super) fn settle(&mut self, matrix: &Matrix, numbers: &Numbers) {
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

    fn price_rows(&mut self, cost: &[f64]) {
        let m = self.basis.len();
        self.multipliers.fill(0.0);
        for (position, &j) in self.basis.iter().enumerate() {
            let c = cost[j];
            if c != 0.0 {
                let row = &self.inverse[position * m..(position + 1) * m];
                for (total, v) in self.multipliers.iter_mut().zip(row) {
                    *total += c * v;
                }
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
        let mut best = None;
        let mut largest = threshold;
        for (&j, reduced) in self.movable.iter().zip(&mut self.reduced) {
            let entries = matrix.column(j);
            let d = entries.iter().fold(cost[j], |d, &(i, v)| d - self.multipliers[i] * v);
            *reduced = d;
            let gain = self.sign[j] * d;
            if gain > largest {
                best = Some((j, self.sign[j] > 0.0));
                if cautious {
                    break;
                }
                largest = gain;
            }
        }
        best
    }

    /// `entering` becomes the column in terms of the basis.
    fn expand(&mut self, matrix: &Matrix, j: usize) {
        let m = self.basis.len();
        self.entering.fill(0.0);
        for &(i, v) in matrix.column(j) {
            for (position, total) in self.entering.iter_mut().enumerate() {
                *total += self.inverse[position * m + i] * v;
            }
        }
    }

    /// Moves column `j` as far as it goes; `None` when nothing stops it.
    fn step(&mut self, numbers: &Numbers, j: usize, falls: bool, cautious: bool) -> Option<f64> {
        let direction = if falls { -1.0 } else { 1.0 };
        let own = numbers.upper[j] - numbers.lower[j];
        let mut length = own;
        let mut leaving: Option<(usize, bool)> = None;
        let mut strongest = 0.0;
        for (position, &alpha) in self.entering.iter().enumerate() {
            let slope = direction * alpha;
            if slope.abs() <= PIVOT {
                continue;
            }
            let basic = self.basis[position];
            let value = self.values[basic];
            let to_upper = slope < 0.0;
            let room =
                if to_upper { numbers.upper[basic] - value } else { value - numbers.lower[basic] };
            let reach = (room / slope.abs()).max(0.0);
            // Between equally near columns the strongest pivot rounds least; Bland's rule wants
            // the first column instead.
            let tie = (reach - length).abs() <= STEP;
            let preferred = match (cautious, leaving) {
                (_, None) => true,
                (true, Some((at, _))) => basic < self.basis[at],
                (false, Some(_)) => slope.abs() > strongest,
            };
            if reach < length - STEP || (tie && preferred) {
                length = reach.min(length);
                leaving = Some((position, to_upper));
                strongest = slope.abs();
            }
        }
        if !length.is_finite() {
            return None;
        }
        for (position, &alpha) in self.entering.iter().enumerate() {
            self.values[self.basis[position]] -= direction * length * alpha;
        }
        self.values[j] += direction * length;
        match leaving {
            Some((position, to_upper)) if length < own || own.is_infinite() => {
                let out = self.basis[position];
                self.put(out, Place::resting(numbers, out, !to_upper));
                self.values[out] = if to_upper { numbers.upper[out] } else { numbers.lower[out] };
                self.pivot(position, j);
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
        let others = before.chunks_exact_mut(m).chain(after.chunks_exact_mut(m));
        let factors =
            self.entering.iter().enumerate().filter(|(i, _)| *i != position).map(|(_, f)| *f);
        for (row, factor) in others.zip(factors) {
            if factor != 0.0 {
                for (v, p) in row.iter_mut().zip(&*pivot_row) {
                    *v -= factor * p;
                }
            }
        }
        self.basis[position] = j;
        self.put(j, Place::Basic);
    }
}

/// Inverse by Gauss–Jordan elimination with partial pivoting; `None` when singular.
fn invert(mut a: Vec<f64>, m: usize) -> Option<Vec<f64>> {
    let mut inverse = vec![0.0; m * m];
    for i in 0..m {
        inverse[i * m + i] = 1.0;
    }
    for k in 0..m {
        let pivot = (k..m).max_by(|&p, &q| a[p * m + k].abs().total_cmp(&a[q * m + k].abs()))?;
        if a[pivot * m + k].abs() <= PIVOT * PIVOT {
            return None;
        }
        for c in 0..m {
            a.swap(k * m + c, pivot * m + c);
            inverse.swap(k * m + c, pivot * m + c);
        }
        let scale = 1.0 / a[k * m + k];
        for c in 0..m {
            a[k * m + c] *= scale;
            inverse[k * m + c] *= scale;
        }
        for r in (0..m).filter(|r| *r != k) {
            let factor = a[r * m + k];
            if factor != 0.0 {
                for c in 0..m {
                    a[r * m + c] -= factor * a[k * m + c];
                    inverse[r * m + c] -= factor * inverse[k * m + c];
                }
            }
        }
    }
    Some(inverse)
}
