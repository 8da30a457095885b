//! The basis in parts: the key columns of each block with their inverse, and the working basis of the
//! basic columns beyond them, one for each coupling row.
#![expect(
    clippy::indexing_slicing,
    reason = "indices run over blocks, rows and columns stated here"
)]

use crate::planner::lp::block_angular::block::{Block, Failure};
use crate::planner::lp::block_angular::price::Price;
use crate::planner::lp::matrix::{Numbers, invert};
use crate::planner::lp::real::{Real, real};

/// Where a column stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum BoundStatus {
    /// Basic, for a row of its block.
    Key(usize),
    /// Basic, in the working basis.
    ColumnId(usize),
    Lower,
    Upper,
    /// Nonbasic and unable to move.
    Fixed,
}

/// A basic column beyond those of the blocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ColumnId {
    /// The slack of a coupling row.
    Slack(usize),
    Column(usize, usize),
}

/// A block at some basis.
pub(super) struct BlockBasis<R> {
    pub(super) basis: Vec<usize>,
    pub(super) inverse: Vec<R>,
    pub(super) status: Vec<BoundStatus>,
    pub(super) values: Vec<R>,
}

pub(super) struct Solver<'a, R> {
    pub(super) blocks: &'a [Block],
    pub(super) limits: &'a [f64],
    pub(super) bases: Vec<BlockBasis<R>>,
    pub(super) working: Vec<ColumnId>,
    /// Inverse of the working basis.
    pub(super) working_inverse: Vec<R>,
    pub(super) slack_status: Vec<BoundStatus>,
    pub(super) slack_values: Vec<R>,
    /// Multipliers of the coupling rows.
    pub(super) prices: Vec<Price<R>>,
}

/// A basis with a pivot below this cannot be inverted.
pub(super) fn least_pivot<R: Real>() -> f64 {
    R::PIVOT * R::PIVOT
}

impl<R: Real> BlockBasis<R> {
    pub(super) fn new(block: &Block) -> Result<Self, Failure> {
        let Numbers { lower, upper, .. } = &block.numbers;
        let mut status: Vec<BoundStatus> = lower
            .iter()
            .zip(upper)
            .map(|(low, high)| match (low >= high, low.is_finite()) {
                (true, _) => BoundStatus::Fixed,
                (false, true) => BoundStatus::Lower,
                (false, false) => BoundStatus::Upper,
            })
            .collect();
        for &j in &block.at_upper {
            if status[j] != BoundStatus::Fixed {
                status[j] = BoundStatus::Upper;
            }
        }
        for (position, &j) in block.basis.iter().enumerate() {
            status[j] = BoundStatus::Key(position);
        }
        let values = status
            .iter()
            .enumerate()
            .map(|(j, s)| match s {
                BoundStatus::Upper => real(upper[j]),
                BoundStatus::Key(_) => real(0.0),
                _ => real(lower[j]),
            })
            .collect();
        let mut basis_of_block =
            Self { basis: block.basis.clone(), inverse: Vec::new(), status, values };
        basis_of_block.factorise(block)?;
        Ok(basis_of_block)
    }

    pub(super) fn factorise(&mut self, block: &Block) -> Result<(), Failure> {
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
    pub(super) fn expand(&self, block: &Block, j: usize) -> Vec<R> {
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
    pub(super) fn transpose(&self, over_keys: &[Price<R>]) -> Vec<Price<R>> {
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
    pub(super) fn pivot(&mut self, position: usize, j: usize, expanded: &[R]) {
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
        self.status[j] = BoundStatus::Key(position);
    }
}

impl<'a, R: Real> Solver<'a, R> {
    pub(super) fn new(blocks: &'a [Block], limits: &'a [f64]) -> Result<Self, Failure> {
        let k = limits.len();
        let bases = blocks.iter().map(BlockBasis::new).collect::<Result<Vec<_>, _>>()?;
        let mut run = Self {
            blocks,
            limits,
            bases,
            working: (0..k).map(ColumnId::Slack).collect(),
            working_inverse: Vec::new(),
            slack_status: (0..k).map(BoundStatus::ColumnId).collect(),
            slack_values: vec![real(0.0); k],
            prices: vec![Price::default(); k],
        };
        run.invert_working()?;
        run.recompute();
        Ok(run)
    }

    /// The coupling coefficients of a column once the keys of its block have made up for it.
    pub(super) fn reduced_coupling(&self, block: usize, j: usize, expanded: &[R]) -> Vec<R> {
        let of = &self.blocks[block];
        let mut v = vec![real::<R>(0.0); self.limits.len()];
        for &(i, c) in of.coupled(j) {
            v[i] += real(c);
        }
        for (key, a) in self.bases[block].basis.iter().zip(expanded) {
            for &(i, c) in of.coupled(*key) {
                v[i] -= real::<R>(c) * *a;
            }
        }
        v
    }

    pub(super) fn invert_working(&mut self) -> Result<(), Failure> {
        let k = self.working.len();
        let mut work = vec![real::<R>(0.0); k * k];
        for (q, column) in self.working.iter().enumerate() {
            match *column {
                ColumnId::Slack(i) => work[i * k + q] = real(1.0),
                ColumnId::Column(t, j) => {
                    let expanded = self.bases[t].expand(&self.blocks[t], j);
                    for (i, v) in self.reduced_coupling(t, j, &expanded).into_iter().enumerate() {
                        work[i * k + q] = v;
                    }
                }
            }
        }
        self.working_inverse =
            invert(work, k, real(least_pivot::<R>())).ok_or(Failure::Singular)?;
        Ok(())
    }

    pub(super) fn times_working(&self, v: &[R]) -> Vec<R> {
        let k = self.working.len().max(1);
        self.working_inverse
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
    pub(super) fn recompute(&mut self) {
        for round in 0..2 {
            if round == 0 {
                for basis_of_block in &mut self.bases {
                    for &j in &basis_of_block.basis {
                        basis_of_block.values[j] = real(0.0);
                    }
                }
                for column in &self.working {
                    match *column {
                        ColumnId::Slack(i) => self.slack_values[i] = real(0.0),
                        ColumnId::Column(t, j) => self.bases[t].values[j] = real(0.0),
                    }
                }
            }
            let rests: Vec<Vec<R>> = (0..self.blocks.len()).map(|t| self.rest(t)).collect();
            let mut coupling = self.coupling_rest();
            let mut moves: Vec<Vec<R>> = Vec::with_capacity(rests.len());
            for ((block, basis_of_block), rest) in self.blocks.iter().zip(&self.bases).zip(&rests) {
                let m = basis_of_block.basis.len();
                let by = |row: &[R]| {
                    let mut sum = real::<R>(0.0);
                    for (a, b) in row.iter().zip(rest) {
                        sum += *a * *b;
                    }
                    sum
                };
                let of_keys: Vec<R> = basis_of_block.inverse.chunks_exact(m).map(by).collect();
                for (key, by) in basis_of_block.basis.iter().zip(&of_keys) {
                    for &(i, c) in block.coupled(*key) {
                        coupling[i] -= real::<R>(c) * *by;
                    }
                }
                moves.push(of_keys);
            }
            let of_extras = self.times_working(&coupling);
            for (column, by) in self.working.clone().iter().zip(&of_extras) {
                match *column {
                    ColumnId::Slack(i) => self.slack_values[i] += *by,
                    ColumnId::Column(t, j) => {
                        self.bases[t].values[j] += *by;
                        let expanded = self.bases[t].expand(&self.blocks[t], j);
                        for (move_, a) in moves[t].iter_mut().zip(&expanded) {
                            *move_ -= *a * *by;
                        }
                    }
                }
            }
            for (basis_of_block, moves) in self.bases.iter_mut().zip(&moves) {
                for (position, by) in moves.iter().enumerate() {
                    let j = basis_of_block.basis[position];
                    basis_of_block.values[j] += *by;
                }
            }
        }
    }

    /// What the rows of a block lack.
    pub(super) fn rest(&self, t: usize) -> Vec<R> {
        let block = &self.blocks[t];
        let mut rest: Vec<R> = block.numbers.rhs.iter().map(|v| real(*v)).collect();
        for (value, entries) in self.bases[t].values.iter().zip(block.matrix.iter()) {
            if *value != real(0.0) {
                for &(i, v) in entries {
                    rest[i] -= real::<R>(v) * *value;
                }
            }
        }
        rest
    }

    /// What the coupling rows lack.
    pub(super) fn coupling_rest(&self) -> Vec<R> {
        let mut rest: Vec<R> = self.limits.iter().map(|v| real(*v)).collect();
        for (i, slack) in self.slack_values.iter().enumerate() {
            rest[i] -= *slack;
        }
        for (block, basis_of_block) in self.blocks.iter().zip(&self.bases) {
            for (of, value) in block.coupling.iter().zip(&basis_of_block.values) {
                for &(i, c) in of {
                    rest[i] -= real::<R>(c) * *value;
                }
            }
        }
        rest
    }

    pub(super) fn refresh(&mut self) -> Result<(), Failure> {
        for (basis_of_block, block) in self.bases.iter_mut().zip(self.blocks) {
            basis_of_block.factorise(block)?;
        }
        self.invert_working()?;
        self.recompute();
        Ok(())
    }
}

/// Where a column stands at a bound.
pub(super) fn resting(low: f64, high: f64, at_lower: bool) -> BoundStatus {
    if low >= high {
        BoundStatus::Fixed
    } else if at_lower {
        BoundStatus::Lower
    } else {
        BoundStatus::Upper
    }
}
