//! The ratio test: how far the entering column moves, and which column leaves the basis for it.
#![expect(
    clippy::indexing_slicing,
    reason = "indices run over blocks, rows and columns stated here"
)]

use crate::planner::lp::block_angular::basis::{
    BoundStatus, ColumnId, Solver, least_pivot, resting,
};
use crate::planner::lp::block_angular::block::Failure;
use crate::planner::lp::block_angular::price::ROUNDING_ULPS;
use crate::planner::lp::block_angular::pricing::Entering;
use crate::planner::lp::real::{Real, real};

/// The change of the basic columns for one unit of the entering one.
pub(super) struct Direction<R> {
    /// By block that moves: its number and the change of each key column.
    pub(super) keys: Vec<(usize, Vec<R>)>,
    pub(super) working: Vec<R>,
    /// The entering column in terms of its own block's keys.
    pub(super) own: Vec<R>,
}

/// Who stops the entering column.
#[derive(Clone, Copy)]
pub(super) enum Leaving {
    Key { block: usize, position: usize },
    ColumnId(usize),
}

impl<R: Real> Solver<'_, R> {
    /// What one unit of the entering column takes from the basic ones.
    pub(super) fn direction(&self, of: ColumnId) -> Direction<R> {
        let k = self.limits.len();
        let (own, v) = match of {
            ColumnId::Slack(i) => {
                let mut v = vec![real::<R>(0.0); k];
                v[i] = real(1.0);
                (Vec::new(), v)
            }
            ColumnId::Column(t, j) => {
                let own = self.bases[t].expand(&self.blocks[t], j);
                let v = self.reduced_coupling(t, j, &own);
                (own, v)
            }
        };
        let working = self.times_working(&v);
        let mut keys: Vec<(usize, Vec<R>)> = Vec::new();
        if let ColumnId::Column(t, _) = of {
            keys.push((t, own.clone()));
        }
        for (column, z) in self.working.iter().zip(&working) {
            let ColumnId::Column(t, j) = *column else { continue };
            if *z == real(0.0) {
                continue;
            }
            let place = keys.iter().position(|(block, _)| *block == t).unwrap_or_else(|| {
                keys.push((t, vec![real(0.0); self.bases[t].basis.len()]));
                keys.len() - 1
            });
            let expanded = self.bases[t].expand(&self.blocks[t], j);
            for (by, a) in keys[place].1.iter_mut().zip(&expanded) {
                *by -= *a * *z;
            }
        }
        Direction { keys, working, own }
    }

    pub(super) fn bounds(&self, of: ColumnId) -> (f64, f64) {
        match of {
            ColumnId::Slack(_) => (0.0, f64::INFINITY),
            ColumnId::Column(t, j) => {
                (self.blocks[t].numbers.lower[j], self.blocks[t].numbers.upper[j])
            }
        }
    }

    pub(super) fn value(&self, of: ColumnId) -> R {
        match of {
            ColumnId::Slack(i) => self.slack_values[i],
            ColumnId::Column(t, j) => self.bases[t].values[j],
        }
    }

    pub(super) fn set(&mut self, of: ColumnId, value: R) {
        match of {
            ColumnId::Slack(i) => self.slack_values[i] = value,
            ColumnId::Column(t, j) => self.bases[t].values[j] = value,
        }
    }

    pub(super) fn put(&mut self, of: ColumnId, status: BoundStatus) {
        match of {
            ColumnId::Slack(i) => self.slack_status[i] = status,
            ColumnId::Column(t, j) => self.bases[t].status[j] = status,
        }
    }

    /// Moves a column as far as it goes; whether it moved at all.
    pub(super) fn step(&mut self, entering: Entering) -> Result<bool, Failure> {
        let direction = self.direction(entering.of);
        let sign: R = real(if entering.rises { 1.0 } else { -1.0 });
        let (low, high) = self.bounds(entering.of);
        let own: R = real(high - low);
        // Every basic column that the step moves: who it is, and its change for one unit.
        let mut moving: Vec<(Leaving, ColumnId, R)> = Vec::new();
        for (block, by) in &direction.keys {
            for (position, a) in by.iter().enumerate() {
                let j = self.bases[*block].basis[position];
                let who = Leaving::Key { block: *block, position };
                moving.push((who, ColumnId::Column(*block, j), *a));
            }
        }
        for (q, a) in direction.working.iter().enumerate() {
            moving.push((Leaving::ColumnId(q), self.working[q], *a));
        }
        moving.retain(|(_, _, a)| a.abs() > real(R::PIVOT));
        let reach = |(_, of, a): &(Leaving, ColumnId, R)| -> R {
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
        let near = length + (length + real(1.0)) * real(ROUNDING_ULPS * R::EPSILON);
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
        let moved = length > real(ROUNDING_ULPS * R::EPSILON);
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
    pub(super) fn exchange(
        &mut self,
        who: Leaving,
        entering: ColumnId,
        own: &[R],
    ) -> Result<(), Failure> {
        match who {
            Leaving::ColumnId(q) => {
                self.working[q] = entering;
                self.put(entering, BoundStatus::ColumnId(q));
            }
            Leaving::Key { block, position } => {
                // The row needs another key: the entering column itself, or one of the working.
                let mut best: Option<(R, Option<usize>, Vec<R>)> = match entering {
                    ColumnId::Column(t, _) if t == block => {
                        Some((own[position].abs(), None, own.to_vec()))
                    }
                    _ => None,
                };
                for (q, column) in self.working.iter().enumerate() {
                    let ColumnId::Column(t, j) = *column else { continue };
                    if t != block {
                        continue;
                    }
                    let expanded = self.bases[t].expand(&self.blocks[t], j);
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
                        if let ColumnId::Column(_, j) = entering {
                            self.bases[block].pivot(position, j, &expanded);
                        }
                    }
                    Some(q) => {
                        if let ColumnId::Column(_, j) = self.working[q] {
                            self.bases[block].pivot(position, j, &expanded);
                        }
                        self.working[q] = entering;
                        self.put(entering, BoundStatus::ColumnId(q));
                    }
                }
            }
        }
        self.invert_working()
    }
}
