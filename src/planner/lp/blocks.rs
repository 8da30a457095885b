//! Programs joined by a few rows only: the waters of a flight that share what is left
//! in a bottle of stock. Also the second solver for a single water, in numbers of twice the digits.
//!
//! Each block has rows and columns of its own; coupling rows `Σ C_t·x_t ≤ r` join them. Method:
//! the primal simplex with bounded variables and a basis kept in parts (Lasdon, "Optimization
//! Theory for Large Systems", 1970, chapter 6; from memory). Each block keeps the inverse of its
//! key columns, one for each of its rows; the few basic columns beyond them, one for each coupling
//! row, make a small matrix of their own. A step touches the block of the entering column and
//! those with a column in the small matrix, so its price does not grow with the flight.
//!
//! Stages are fixed as in [`crate::planner::lp::simplex`]: columns with a reduced cost may not move again. A
//! reduced cost counts as zero by the size of the terms it is made of, column by column.
#![expect(
    clippy::indexing_slicing,
    reason = "indices run over blocks, rows and columns stated here"
)]

use crate::planner::lp::matrix::{Matrix, Numbers, Objective, invert};
use crate::planner::lp::real::Real;

/// The rows and columns of one block, with the costs of every stage and its first basis.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    pub(crate) matrix: Matrix,
    pub(crate) numbers: Numbers,
    pub(crate) objectives: Vec<Objective>,
    /// By column: coupling row and coefficient. Columns beyond the list are in none.
    pub(crate) coupling: Vec<Vec<(usize, f64)>>,
    /// One column for each row; together they solve the rows within their bounds.
    pub(crate) basis: Vec<usize>,
    /// Columns that begin at their upper bound.
    pub(crate) at_upper: Vec<usize>,
}

/// Why there is no optimum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Failure {
    /// The objective falls without end.
    Unbounded,
    /// No progress.
    Stalled,
    /// A basis that cannot be inverted.
    Singular,
    /// The caller asked to stop.
    Cancelled,
}

impl Failure {
    /// How it ended, in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Failure::Unbounded => "no bound",
            Failure::Stalled => "no progress",
            Failure::Singular => "rows that hang together",
            Failure::Cancelled => "a stop from outside",
        }
    }
}

/// What a stage came to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Stage {
    pub(crate) value: f64,
    /// No values of the columns, what earlier stages fixed kept, have a lower one (weak duality).
    pub(crate) bound: f64,
}

/// The optimum of every stage.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Optimum {
    /// Values of the columns of each block.
    pub(crate) values: Vec<Vec<f64>>,
    pub(crate) stages: Vec<Stage>,
    /// Largest distance from a row or bound, relative to the terms of the row.
    pub(crate) residual: f64,
}

/// Solves all stages in numbers of this kind. `go_on` is asked now and then with the stage and the
/// part of the blocks looked at.
pub(crate) fn solve<R: Real>(
    blocks: &[Block],
    limits: &[f64],
    go_on: &mut dyn FnMut(usize, f64) -> bool,
) -> Result<Optimum, Failure> {
    let mut run = Run::<R>::new(blocks, limits)?;
    let stages = blocks.first().map_or(0, |b| b.objectives.len());
    let mut proved = Vec::with_capacity(stages);
    for stage in 0..stages {
        run.minimise(stage, go_on)?;
        run.refresh()?;
        run.minimise(stage, go_on)?;
        proved.push(run.freeze(stage));
    }
    run.refresh()?;
    let values = run.states.iter().map(|s| s.values.iter().map(|v| v.to_f64()).collect());
    Ok(Optimum { values: values.collect(), stages: proved, residual: run.residual() })
}

/// Our choice, in parts of the last place: what rounding leaves of a reduced cost, of a pivot and
/// of a step. Seven digits of sixteen, or of thirty-two, are left for what the pivots lose.
const LOST: f64 = 262_144.0;
/// Our choice: a basic column whose reduced cost is above this part of its terms has been lost to
/// rounding, and nothing is proved.
const BASIC: f64 = 1e-11;
/// Our choice: the coefficients are numbers of the machine, each rounded once or twice.
const DATA: f64 = 16.0 * f64::EPSILON;
/// Steps without progress before the rule that cannot cycle takes over (Bland 1977).
const TIME_LIMIT: usize = 200;
/// Our choice: steps for each row of all blocks; many times what is usual.
const MOST_STEPS: usize = 200;

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stand {
    /// Basic, for a row of its block.
    Key(usize),
    /// Basic, in the small matrix.
    Extra(usize),
    Lower,
    Upper,
    /// Nonbasic and unable to move.
    Fixed,
}

/// A basic column beyond those of the blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Extra {
    /// The slack of a coupling row.
    Slack(usize),
    Column(usize, usize),
}

/// A block at some basis.
struct State<R> {
    basis: Vec<usize>,
    inverse: Vec<R>,
    stand: Vec<Stand>,
    values: Vec<R>,
}

struct Run<'a, R> {
    blocks: &'a [Block],
    limits: &'a [f64],
    states: Vec<State<R>>,
    extras: Vec<Extra>,
    /// Inverse of the small matrix.
    small: Vec<R>,
    slack_stand: Vec<Stand>,
    slack_values: Vec<R>,
    /// Multipliers of the coupling rows.
    prices: Vec<Price<R>>,
}

/// A column that may improve the stage.
#[derive(Clone, Copy)]
struct Entering {
    of: Extra,
    rises: bool,
}

/// The change of the basic columns for one unit of the entering one.
struct Direction<R> {
    /// By block that moves: its number and the change of each key column.
    keys: Vec<(usize, Vec<R>)>,
    extras: Vec<R>,
    /// The entering column in terms of its own block's keys.
    own: Vec<R>,
}

/// A multiplier or reduced cost with the size of the terms that it is the sum of: what rounding
/// leaves of a zero is a part of that, and not of the sum.
#[derive(Debug, Clone, Copy, Default)]
struct Price<R> {
    value: R,
    size: R,
}

impl<R: Real> Price<R> {
    fn of(cost: f64) -> Self {
        Self { value: real(cost), size: real(cost.abs()) }
    }

    /// Adds a multiple of another one.
    fn add(&mut self, other: Self, factor: R) {
        self.value += other.value * factor;
        self.size += other.size * factor.abs();
    }

    /// Whether it differs from zero by more than rounding.
    fn counts(&self) -> bool {
        self.value.abs() > self.size * real(LOST * R::EPSILON)
    }

    /// Whether it does so by more than the rounding of the numbers that the program is made of, so
    /// that a column with it costs something in truth.
    fn costs(&self) -> bool {
        self.counts() && self.value.abs() > self.size * real(DATA)
    }
}

/// Who stops the entering column.
#[derive(Clone, Copy)]
enum Leaving {
    Key { block: usize, position: usize },
    Extra(usize),
}

fn real<R: Real>(value: f64) -> R {
    R::from(value)
}

/// A basis with a pivot below this cannot be inverted.
fn least_pivot<R: Real>() -> f64 {
    R::PIVOT * R::PIVOT
}

impl Block {
    fn coupled(&self, j: usize) -> &[(usize, f64)] {
        self.coupling.get(j).map_or(&[], Vec::as_slice)
    }
}

impl<R: Real> State<R> {
    fn new(block: &Block) -> Result<Self, Failure> {
        let Numbers { lower, upper, .. } = &block.numbers;
        let mut stand: Vec<Stand> = lower
            .iter()
            .zip(upper)
            .map(|(low, high)| match (low >= high, low.is_finite()) {
                (true, _) => Stand::Fixed,
                (false, true) => Stand::Lower,
                (false, false) => Stand::Upper,
            })
            .collect();
        for &j in &block.at_upper {
            if stand[j] != Stand::Fixed {
                stand[j] = Stand::Upper;
            }
        }
        for (position, &j) in block.basis.iter().enumerate() {
            stand[j] = Stand::Key(position);
        }
        let values = stand
            .iter()
            .enumerate()
            .map(|(j, s)| match s {
                Stand::Upper => real(upper[j]),
                Stand::Key(_) => real(0.0),
                _ => real(lower[j]),
            })
            .collect();
        let mut state = Self { basis: block.basis.clone(), inverse: Vec::new(), stand, values };
        state.factorise(block)?;
        Ok(state)
    }

    fn factorise(&mut self, block: &Block) -> Result<(), Failure> {
        let m = block.matrix.rows();
        let mut work = vec![real::<R>(0.0); m * m];
        for (position, &j) in self.basis.iter().enumerate() {
            for &(i, v) in block.matrix.column(j) {
                work[i * m + position] = real(v);
            }
        }
        self.inverse = invert(work, m, real(least_pivot::<R>())).ok_or(Failure::Singular)?;
        Ok(())
    }

    /// `B⁻¹` times a column of the block.
    fn expand(&self, block: &Block, j: usize) -> Vec<R> {
        let m = self.basis.len();
        let entries = block.matrix.column(j);
        self.inverse
            .chunks_exact(m)
            .map(|row| {
                let mut sum = real::<R>(0.0);
                for &(i, v) in entries {
                    sum += row[i] * real(v);
                }
                sum
            })
            .collect()
    }

    /// A row vector over the keys times `B⁻¹`.
    fn transpose(&self, over_keys: &[Price<R>]) -> Vec<Price<R>> {
        let m = self.basis.len();
        let mut total = vec![Price::default(); m];
        for (row, c) in self.inverse.chunks_exact(m).zip(over_keys) {
            if c.size > real(0.0) {
                for (sum, v) in total.iter_mut().zip(row) {
                    sum.add(*c, *v);
                }
            }
        }
        total
    }

    /// Column `j`, expanded, becomes the key at a position.
    fn pivot(&mut self, position: usize, j: usize, expanded: &[R]) {
        let m = self.basis.len();
        let scale = real::<R>(1.0) / expanded[position];
        for v in &mut self.inverse[position * m..(position + 1) * m] {
            *v = *v * scale;
        }
        let pivot_row = self.inverse[position * m..(position + 1) * m].to_vec();
        for (r, row) in self.inverse.chunks_exact_mut(m).enumerate() {
            if r != position && expanded[r] != real(0.0) {
                for (v, p) in row.iter_mut().zip(&pivot_row) {
                    *v -= expanded[r] * *p;
                }
            }
        }
        self.basis[position] = j;
        self.stand[j] = Stand::Key(position);
    }
}

impl<'a, R: Real> Run<'a, R> {
    fn new(blocks: &'a [Block], limits: &'a [f64]) -> Result<Self, Failure> {
        let k = limits.len();
        let states = blocks.iter().map(State::new).collect::<Result<Vec<_>, _>>()?;
        let mut run = Self {
            blocks,
            limits,
            states,
            extras: (0..k).map(Extra::Slack).collect(),
            small: Vec::new(),
            slack_stand: (0..k).map(Stand::Extra).collect(),
            slack_values: vec![real(0.0); k],
            prices: vec![Price::default(); k],
        };
        run.invert_small()?;
        run.recompute();
        Ok(run)
    }

    /// The coupling coefficients of a column once the keys of its block have made up for it.
    fn reduced_coupling(&self, block: usize, j: usize, expanded: &[R]) -> Vec<R> {
        let of = &self.blocks[block];
        let mut v = vec![real::<R>(0.0); self.limits.len()];
        for &(i, c) in of.coupled(j) {
            v[i] += real(c);
        }
        for (key, a) in self.states[block].basis.iter().zip(expanded) {
            for &(i, c) in of.coupled(*key) {
                v[i] -= real::<R>(c) * *a;
            }
        }
        v
    }

    fn invert_small(&mut self) -> Result<(), Failure> {
        let k = self.extras.len();
        let mut work = vec![real::<R>(0.0); k * k];
        for (q, extra) in self.extras.iter().enumerate() {
            match *extra {
                Extra::Slack(i) => work[i * k + q] = real(1.0),
                Extra::Column(t, j) => {
                    let expanded = self.states[t].expand(&self.blocks[t], j);
                    for (i, v) in self.reduced_coupling(t, j, &expanded).into_iter().enumerate() {
                        work[i * k + q] = v;
                    }
                }
            }
        }
        self.small = invert(work, k, real(least_pivot::<R>())).ok_or(Failure::Singular)?;
        Ok(())
    }

    fn times_small(&self, v: &[R]) -> Vec<R> {
        let k = self.extras.len().max(1);
        self.small
            .chunks_exact(k)
            .map(|row| {
                let mut sum = real::<R>(0.0);
                for (a, b) in row.iter().zip(v) {
                    sum += *a * *b;
                }
                sum
            })
            .collect()
    }

    /// Values of the basic columns from those of the others; the second round takes out what
    /// rounding left in the first.
    fn recompute(&mut self) {
        for round in 0..2 {
            if round == 0 {
                for state in &mut self.states {
                    for &j in &state.basis {
                        state.values[j] = real(0.0);
                    }
                }
                for extra in &self.extras {
                    match *extra {
                        Extra::Slack(i) => self.slack_values[i] = real(0.0),
                        Extra::Column(t, j) => self.states[t].values[j] = real(0.0),
                    }
                }
            }
            let rests: Vec<Vec<R>> = (0..self.blocks.len()).map(|t| self.rest(t)).collect();
            let mut coupling = self.coupling_rest();
            let mut moves: Vec<Vec<R>> = Vec::with_capacity(rests.len());
            for ((block, state), rest) in self.blocks.iter().zip(&self.states).zip(&rests) {
                let m = state.basis.len();
                let by = |row: &[R]| {
                    let mut sum = real::<R>(0.0);
                    for (a, b) in row.iter().zip(rest) {
                        sum += *a * *b;
                    }
                    sum
                };
                let of_keys: Vec<R> = state.inverse.chunks_exact(m).map(by).collect();
                for (key, by) in state.basis.iter().zip(&of_keys) {
                    for &(i, c) in block.coupled(*key) {
                        coupling[i] -= real::<R>(c) * *by;
                    }
                }
                moves.push(of_keys);
            }
            let of_extras = self.times_small(&coupling);
            for (extra, by) in self.extras.clone().iter().zip(&of_extras) {
                match *extra {
                    Extra::Slack(i) => self.slack_values[i] += *by,
                    Extra::Column(t, j) => {
                        self.states[t].values[j] += *by;
                        let expanded = self.states[t].expand(&self.blocks[t], j);
                        for (move_, a) in moves[t].iter_mut().zip(&expanded) {
                            *move_ -= *a * *by;
                        }
                    }
                }
            }
            for (state, moves) in self.states.iter_mut().zip(&moves) {
                for (position, by) in moves.iter().enumerate() {
                    let j = state.basis[position];
                    state.values[j] += *by;
                }
            }
        }
    }

    /// What the rows of a block lack.
    fn rest(&self, t: usize) -> Vec<R> {
        let block = &self.blocks[t];
        let mut rest: Vec<R> = block.numbers.rhs.iter().map(|v| real(*v)).collect();
        for (value, entries) in self.states[t].values.iter().zip(block.matrix.iter()) {
            if *value != real(0.0) {
                for &(i, v) in entries {
                    rest[i] -= real::<R>(v) * *value;
                }
            }
        }
        rest
    }

    /// What the coupling rows lack.
    fn coupling_rest(&self) -> Vec<R> {
        let mut rest: Vec<R> = self.limits.iter().map(|v| real(*v)).collect();
        for (i, slack) in self.slack_values.iter().enumerate() {
            rest[i] -= *slack;
        }
        for (block, state) in self.blocks.iter().zip(&self.states) {
            for (of, value) in block.coupling.iter().zip(&state.values) {
                for &(i, c) in of {
                    rest[i] -= real::<R>(c) * *value;
                }
            }
        }
        rest
    }

    fn refresh(&mut self) -> Result<(), Failure> {
        for (state, block) in self.states.iter_mut().zip(self.blocks) {
            state.factorise(block)?;
        }
        self.invert_small()?;
        self.recompute();
        Ok(())
    }

    /// Multipliers of the coupling rows.
    fn price_coupling(&mut self, stage: usize) {
        let k = self.extras.len();
        let mut prices = vec![Price::default(); k];
        for (q, extra) in self.extras.iter().enumerate() {
            let Extra::Column(t, j) = *extra else { continue };
            let c = self.blocks[t].objectives[stage].costs();
            let expanded = self.states[t].expand(&self.blocks[t], j);
            let mut cost = Price::of(c[j]);
            for (key, a) in self.states[t].basis.iter().zip(&expanded) {
                cost.add(Price::of(c[*key]), -*a);
            }
            for (i, price) in prices.iter_mut().enumerate() {
                price.add(cost, self.small[q * k + i]);
            }
        }
        self.prices = prices;
    }

    /// Multipliers of the rows of a block.
    fn price_block(&self, stage: usize, t: usize) -> Vec<Price<R>> {
        let block = &self.blocks[t];
        let c = block.objectives[stage].costs();
        let over_keys: Vec<Price<R>> = self.states[t]
            .basis
            .iter()
            .map(|&j| {
                let mut cost = Price::of(c[j]);
                for &(i, a) in block.coupled(j) {
                    cost.add(self.prices[i], real(-a));
                }
                cost
            })
            .collect();
        self.states[t].transpose(&over_keys)
    }

    /// Reduced cost of a column.
    fn reduced(&self, stage: usize, t: usize, j: usize, multipliers: &[Price<R>]) -> Price<R> {
        let block = &self.blocks[t];
        let objective = &block.objectives[stage];
        // The inverse has rounding of its own, where it should have zeros.
        let mut reduced =
            Price { value: real(objective.costs()[j]), size: real(objective.largest()) };
        for &(i, v) in block.matrix.column(j) {
            reduced.add(multipliers[i], real(-v));
        }
        for &(i, v) in block.coupled(j) {
            reduced.add(self.prices[i], real(-v));
        }
        reduced
    }

    fn minimise(
        &mut self,
        stage: usize,
        go_on: &mut dyn FnMut(usize, f64) -> bool,
    ) -> Result<(), Failure> {
        let rows: usize = self.blocks.iter().map(|b| b.matrix.rows()).sum();
        let (mut steps, mut idle) = (0, 0);
        self.price_coupling(stage);
        loop {
            let mut moved = false;
            for t in 0..=self.blocks.len() {
                #[expect(clippy::cast_precision_loss, reason = "a part of the whole, to be shown")]
                let part = t as f64 / self.blocks.len().max(1) as f64;
                if t.is_multiple_of(16) && !go_on(stage, part) {
                    return Err(Failure::Cancelled);
                }
                while let Some(entering) = self.choose(stage, t, idle > TIME_LIMIT) {
                    let length = self.step(entering)?;
                    self.price_coupling(stage);
                    moved = true;
                    steps += 1;
                    idle = if length { 0 } else { idle + 1 };
                    if steps > MOST_STEPS * (rows + 10) {
                        return Err(Failure::Stalled);
                    }
                    if idle > TIME_LIMIT {
                        // The rule that cannot cycle begins with the first column of all.
                        break;
                    }
                }
                if idle > TIME_LIMIT && moved {
                    break;
                }
            }
            if !moved {
                return Ok(());
            }
        }
    }

    /// The column of a block (or, behind the last one, the slack) that improves most; the first
    /// that does when caution is asked for.
    fn choose(&self, stage: usize, t: usize, cautious: bool) -> Option<Entering> {
        let mut best: Option<(R, Entering)> = None;
        let mut consider = |of: Extra, stand: Stand, reduced: Price<R>| {
            let rises = match stand {
                Stand::Lower if reduced.value < real(0.0) => true,
                Stand::Upper if reduced.value > real(0.0) => false,
                _ => return,
            };
            if !reduced.counts() {
                return;
            }
            let gain = reduced.value.abs();
            if best.as_ref().is_none_or(|(most, _)| gain > *most && !cautious) {
                best = Some((gain, Entering { of, rises }));
            }
        };
        if t == self.blocks.len() {
            for (i, stand) in self.slack_stand.iter().enumerate() {
                let Price { value, size } = self.prices[i];
                consider(Extra::Slack(i), *stand, Price { value: -value, size });
            }
        } else {
            let multipliers = self.price_block(stage, t);
            for (j, stand) in self.states[t].stand.iter().enumerate() {
                if matches!(stand, Stand::Lower | Stand::Upper) {
                    let reduced = self.reduced(stage, t, j, &multipliers);
                    consider(Extra::Column(t, j), *stand, reduced);
                }
            }
        }
        best.map(|(_, entering)| entering)
    }

    /// What one unit of the entering column takes from the basic ones.
    fn direction(&self, of: Extra) -> Direction<R> {
        let k = self.limits.len();
        let (own, v) = match of {
            Extra::Slack(i) => {
                let mut v = vec![real::<R>(0.0); k];
                v[i] = real(1.0);
                (Vec::new(), v)
            }
            Extra::Column(t, j) => {
                let own = self.states[t].expand(&self.blocks[t], j);
                let v = self.reduced_coupling(t, j, &own);
                (own, v)
            }
        };
        let extras = self.times_small(&v);
        let mut keys: Vec<(usize, Vec<R>)> = Vec::new();
        if let Extra::Column(t, _) = of {
            keys.push((t, own.clone()));
        }
        for (extra, z) in self.extras.iter().zip(&extras) {
            let Extra::Column(t, j) = *extra else { continue };
            if *z == real(0.0) {
                continue;
            }
            let place = keys.iter().position(|(block, _)| *block == t).unwrap_or_else(|| {
                keys.push((t, vec![real(0.0); self.states[t].basis.len()]));
                keys.len() - 1
            });
            let expanded = self.states[t].expand(&self.blocks[t], j);
            for (by, a) in keys[place].1.iter_mut().zip(&expanded) {
                *by -= *a * *z;
            }
        }
        Direction { keys, extras, own }
    }

    fn bounds(&self, of: Extra) -> (f64, f64) {
        match of {
            Extra::Slack(_) => (0.0, f64::INFINITY),
            Extra::Column(t, j) => {
                (self.blocks[t].numbers.lower[j], self.blocks[t].numbers.upper[j])
            }
        }
    }

    fn value(&self, of: Extra) -> R {
        match of {
            Extra::Slack(i) => self.slack_values[i],
            Extra::Column(t, j) => self.states[t].values[j],
        }
    }

    fn set(&mut self, of: Extra, value: R) {
        match of {
            Extra::Slack(i) => self.slack_values[i] = value,
            Extra::Column(t, j) => self.states[t].values[j] = value,
        }
    }

    fn put(&mut self, of: Extra, stand: Stand) {
        match of {
            Extra::Slack(i) => self.slack_stand[i] = stand,
            Extra::Column(t, j) => self.states[t].stand[j] = stand,
        }
    }

    /// Moves a column as far as it goes; whether it moved at all.
    fn step(&mut self, entering: Entering) -> Result<bool, Failure> {
        let direction = self.direction(entering.of);
        let sign: R = real(if entering.rises { 1.0 } else { -1.0 });
        let (low, high) = self.bounds(entering.of);
        let own: R = real(high - low);
        // Every basic column that the step moves: who it is, and its change for one unit.
        let mut moving: Vec<(Leaving, Extra, R)> = Vec::new();
        for (block, by) in &direction.keys {
            for (position, a) in by.iter().enumerate() {
                let j = self.states[*block].basis[position];
                let who = Leaving::Key { block: *block, position };
                moving.push((who, Extra::Column(*block, j), *a));
            }
        }
        for (q, a) in direction.extras.iter().enumerate() {
            moving.push((Leaving::Extra(q), self.extras[q], *a));
        }
        moving.retain(|(_, _, a)| a.abs() > real(R::PIVOT));
        let reach = |(_, of, a): &(Leaving, Extra, R)| -> R {
            let slope = sign * *a;
            let (low, high) = self.bounds(*of);
            let value = self.value(*of);
            let room = if slope < real(0.0) { real::<R>(high) - value } else { value - real(low) };
            (room / slope.abs()).larger(real(0.0))
        };
        let reaches: Vec<R> = moving.iter().map(reach).collect();
        let mut length = own;
        for r in &reaches {
            if *r < length {
                length = *r;
            }
        }
        if !length.to_f64().is_finite() {
            return Err(Failure::Unbounded);
        }
        // Between equally near columns the strongest pivot rounds least.
        let near = length + (length + real(1.0)) * real(LOST * R::EPSILON);
        let mut leaving: Option<(usize, R)> = None;
        for (n, (r, (_, _, a))) in reaches.iter().zip(&moving).enumerate() {
            if *r <= near && leaving.as_ref().is_none_or(|(_, most)| a.abs() > *most) {
                leaving = Some((n, a.abs()));
            }
        }
        for (_, of, a) in &moving {
            let value = self.value(*of) - sign * length * *a;
            self.set(*of, value);
        }
        let moved = length > real(LOST * R::EPSILON);
        let now = self.value(entering.of) + sign * length;
        match leaving {
            Some((n, _)) if length < own => {
                let (who, out, a) = moving[n];
                let at_lower = sign * a > real(0.0);
                let (low, high) = self.bounds(out);
                self.set(out, real(if at_lower { low } else { high }));
                self.put(out, resting(low, high, at_lower));
                self.set(entering.of, now);
                self.exchange(who, entering.of, &direction.own)?;
            }
            _ => {
                self.set(entering.of, real(if entering.rises { high } else { low }));
                self.put(entering.of, resting(low, high, !entering.rises));
            }
        }
        Ok(moved)
    }

    /// The entering column takes the place of the one that leaves.
    fn exchange(&mut self, who: Leaving, entering: Extra, own: &[R]) -> Result<(), Failure> {
        match who {
            Leaving::Extra(q) => {
                self.extras[q] = entering;
                self.put(entering, Stand::Extra(q));
            }
            Leaving::Key { block, position } => {
                // The row needs another key: the entering column itself, or one of the extras.
                let mut best: Option<(R, Option<usize>, Vec<R>)> = match entering {
                    Extra::Column(t, _) if t == block => {
                        Some((own[position].abs(), None, own.to_vec()))
                    }
                    _ => None,
                };
                for (q, extra) in self.extras.iter().enumerate() {
                    let Extra::Column(t, j) = *extra else { continue };
                    if t != block {
                        continue;
                    }
                    let expanded = self.states[t].expand(&self.blocks[t], j);
                    let size = expanded[position].abs();
                    if best.as_ref().is_none_or(|(most, _, _)| size > *most) {
                        best = Some((size, Some(q), expanded));
                    }
                }
                let (size, from, expanded) = best.ok_or(Failure::Singular)?;
                if size <= real(least_pivot::<R>()) {
                    return Err(Failure::Singular);
                }
                match from {
                    None => {
                        if let Extra::Column(_, j) = entering {
                            self.states[block].pivot(position, j, &expanded);
                        }
                    }
                    Some(q) => {
                        if let Extra::Column(_, j) = self.extras[q] {
                            self.states[block].pivot(position, j, &expanded);
                        }
                        self.extras[q] = entering;
                        self.put(entering, Stand::Extra(q));
                    }
                }
            }
        }
        self.invert_small()
    }

    /// Fixes the stage just solved, and proves it: by weak duality no values of the columns are
    /// better, those fixed before being where they are.
    fn freeze(&mut self, stage: usize) -> Stage {
        self.price_coupling(stage);
        let (mut value, mut bound) = (real::<R>(0.0), real::<R>(0.0));
        for (price, limit) in self.prices.iter().zip(self.limits) {
            bound += price.value * real(*limit);
        }
        for (price, stand) in self.prices.iter().zip(&mut self.slack_stand) {
            // A slack has no upper bound: where its reduced cost is negative nothing is proved.
            if price.value > real(0.0) && price.counts() && *stand != Stand::Fixed {
                bound = real(f64::NEG_INFINITY);
            }
            if *stand == Stand::Lower && price.costs() {
                *stand = Stand::Fixed;
            }
        }
        for t in 0..self.blocks.len() {
            let multipliers = self.price_block(stage, t);
            let block = &self.blocks[t];
            for (p, b) in multipliers.iter().zip(&block.numbers.rhs) {
                bound += p.value * real(*b);
            }
            for j in 0..block.matrix.columns() {
                let at = self.states[t].values[j];
                value += real::<R>(block.objectives[stage].costs()[j]) * at;
                let price = self.reduced(stage, t, j, &multipliers);
                let reduced = price.value;
                let stand = self.states[t].stand[j];
                if stand == Stand::Fixed {
                    bound += reduced * at;
                    continue;
                }
                // A basic column has none but for the rounding of the inverse.
                let basic = matches!(stand, Stand::Key(_) | Stand::Extra(_));
                let nothing = basic && reduced.abs() <= price.size * real(BASIC);
                if !price.counts() || nothing {
                    continue;
                }
                let (low, high) = (block.numbers.lower[j], block.numbers.upper[j]);
                let worst = if reduced > real(0.0) { low } else { high };
                bound += reduced * real(worst);
                if price.costs() && matches!(stand, Stand::Lower | Stand::Upper) {
                    self.states[t].stand[j] = Stand::Fixed;
                }
            }
        }
        Stage { value: value.to_f64(), bound: bound.to_f64() }
    }

    /// How far rows and bounds are missed, relative to the terms of the row.
    fn residual(&self) -> f64 {
        let mut worst = 0.0_f64;
        for (t, (block, state)) in self.blocks.iter().zip(&self.states).enumerate() {
            let mut size = vec![1.0_f64; block.matrix.rows()];
            for (j, (value, entries)) in state.values.iter().zip(block.matrix.iter()).enumerate() {
                let value = value.to_f64();
                for &(i, v) in entries {
                    size[i] = size[i].max((v * value).abs());
                }
                let (low, high) = (block.numbers.lower[j], block.numbers.upper[j]);
                let outside = (low - value).max(value - high).max(0.0);
                worst = worst.max(outside / value.abs().max(1.0));
                if !value.is_finite() {
                    return f64::INFINITY;
                }
            }
            for (rest, size) in self.rest(t).iter().zip(&size) {
                worst = worst.max(rest.abs().to_f64() / size);
            }
        }
        for ((rest, slack), limit) in
            self.coupling_rest().iter().zip(&self.slack_values).zip(self.limits)
        {
            worst = worst.max(rest.abs().to_f64() / limit.abs().max(1.0));
            worst = worst.max(-slack.to_f64() / limit.abs().max(1.0));
        }
        worst
    }
}

/// Where a column stands at a bound.
fn resting(low: f64, high: f64, at_lower: bool) -> Stand {
    if low >= high {
        Stand::Fixed
    } else if at_lower {
        Stand::Lower
    } else {
        Stand::Upper
    }
}
