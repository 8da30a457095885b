//! Bounds of nodes: what weak duality proves of them, when they are fathomed, and how their own
//! bounds are tightened.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use crate::planner::steps::branch_and_bound::{Node, Tree};
use crate::planner::steps::branching::Split;
use crate::planner::steps::portions::{Stage, WHOLE};
use crate::planner::steps::proof::within;
use crate::planner::steps::tableau::{End, KEPT, Tableau};

impl Tree<'_, '_> {
    /// Values of the program from here on are of no use.
    pub(super) fn cutoff(&self) -> f64 {
        let useful_below = self.search.useful_below(self.nodes);
        if self.search.counts() || !useful_below.is_finite() {
            return useful_below;
        }
        self.program.program_value(useful_below)
    }

    /// Whether bounds for this θ can no longer close the gap to the best choice.
    pub(super) fn theta_is_stale(&self) -> bool {
        let (least, most) = self.program.litres;
        let useful_below = self.search.useful_below(self.nodes);
        if most <= least || !useful_below.is_finite() || self.search.counts() {
            return false;
        }
        let far = (useful_below - self.program.theta).abs();
        far * (most - least)
            > 0.25 * within(self.search.stage(), self.search.reported(useful_below))
    }

    /// What holds of all nodes before anything is known: no misses and no costs are below zero.
    pub(super) fn first_bound(&self) -> f64 {
        let most_added = self.program.litres.1 - 1.0;
        if self.search.counts() {
            0.0
        } else {
            -(self.program.theta * most_added).max(0.0) * self.program.scale
        }
    }

    pub(super) fn stage_value(&self, program_value: f64) -> f64 {
        if self.search.counts() { program_value } else { self.program.stage_value(program_value) }
    }

    /// A node that need not be looked at further: its bound stays.
    pub(super) fn fathom(&mut self, bound: f64, tableau: Tableau) {
        self.fathomed = self.fathomed.min(self.stage_value(bound));
        self.spare.push(tableau);
    }

    /// The bound that a tableau's multipliers prove for its bounds.
    pub(super) fn proved(&mut self, tableau: &Tableau) -> f64 {
        tableau.multipliers(&self.program.columns, &mut self.multipliers);
        let (lower, upper) = (&tableau.lower, &tableau.upper);
        self.program.bound(&self.multipliers, lower, upper, true, &mut self.reduced)
    }

    /// Whether nothing within the bounds keeps the rows, as one sum of the rows shows.
    pub(super) fn is_empty(&mut self, tableau: &Tableau, row: usize) -> bool {
        [1.0, -1.0].into_iter().any(|sign| {
            tableau.combination(&self.program.columns, row, sign, &mut self.multipliers);
            let (lower, upper) = (&tableau.lower, &tableau.upper);
            self.program.bound(&self.multipliers, lower, upper, false, &mut self.reduced) > 0.0
        })
    }

    /// Whether a side is proved to be of no use by the first step of the dual simplex in it, which
    /// needs no tableau of its own.
    pub(super) fn side_is_fathomed(
        &mut self,
        node: &Tableau,
        split: &Split,
        (up, [low, high]): (bool, [f64; 2]),
    ) -> bool {
        let cost = split.costs[usize::from(up)];
        let cutoff = self.cutoff();
        let Some(row) = split.row.filter(|_| !self.search.counts()) else { return false };
        if node.value + cost <= cutoff {
            return false;
        }
        let length = node.dual_step(row, up);
        if !length.is_finite() {
            return false;
        }
        self.lower.clone_from(&node.lower);
        self.upper.clone_from(&node.upper);
        self.lower[split.stock] = low;
        self.upper[split.stock] = high;
        let columns = &self.program.columns;
        node.multipliers(columns, &mut self.multipliers);
        node.combination(columns, row, 1.0, &mut self.step);
        let along = if up { length } else { -length };
        for (p, s) in self.multipliers.iter_mut().zip(&self.step) {
            *p += along * s;
        }
        let (lower, upper) = (&self.lower, &self.upper);
        let bound = self.program.bound(&self.multipliers, lower, upper, true, &mut self.reduced);
        if bound < cutoff {
            return false;
        }
        self.fathomed = self.fathomed.min(self.stage_value(bound));
        true
    }

    /// Solves a side of a node, and opens it if that leaves it of use.
    pub(super) fn open_side(&mut self, known: f64, mut side: Tableau, open: &mut Vec<Node>) {
        let sound = self.keeps_least(&mut side) && self.keeps_count(&mut side);
        match if sound { self.solve(known, &mut side) } else { None } {
            // Nothing is in it.
            None => self.spare.push(side),
            Some(bound) if bound >= self.cutoff() => self.fathom(bound, side),
            Some(bound) => open.push(Node { bound, tableau: side }),
        }
    }

    /// Solves a node: the bound that is proved of it, or nothing when it is proved to be empty.
    pub(super) fn solve(&mut self, known: f64, node: &mut Tableau) -> Option<f64> {
        let counts = self.search.counts();
        // The count is no objective of the tableau.
        let mut limit = if counts { f64::INFINITY } else { self.cutoff() };
        for attempt in 0..2 {
            match node.minimise(limit, KEPT) {
                End::Infeasible(row) if self.is_empty(node, row) => return None,
                End::CutOff | End::Optimal if counts => return Some(known.max(self.used(node))),
                End::CutOff => {
                    let bound = self.proved(node);
                    if bound >= self.cutoff() {
                        return Some(known.max(bound));
                    }
                    // Rounding lies between the two: go on to the optimum.
                    limit = f64::INFINITY;
                }
                End::Optimal => {
                    let bound = self.proved(node);
                    let lost = node.value - bound;
                    if attempt > 0 || lost <= KEPT * node.value.abs().max(1.0) {
                        return Some(known.max(bound));
                    }
                    self.rebuild(node);
                }
                End::Infeasible(_) | End::Stalled => {
                    if attempt > 0 {
                        break;
                    }
                    self.rebuild(node);
                }
            }
        }
        if counts { Some(known) } else { Some(known.max(self.proved(node))) }
    }

    /// The node once more from the root, without the rounding of the pivots since.
    pub(super) fn rebuild(&mut self, node: &mut Tableau) {
        let mut fresh = self.root.clone();
        for j in 0..self.search.statement.stocks() {
            fresh.narrow(j, node.lower[j], node.upper[j]);
        }
        node.clone_from(&fresh);
    }

    /// The number of stocks that a node has fixed as used.
    pub(super) fn used(&self, node: &Tableau) -> f64 {
        (0..self.search.statement.stocks()).map(|j| f64::from(u8::from(node.lower[j] > 0.0))).sum()
    }

    /// Moves bounds out of the gap between nothing and the least amount; false when nothing is left.
    pub(super) fn keeps_least(&self, node: &mut Tableau) -> bool {
        self.search.statement.portions.iter().enumerate().all(|(j, portion)| {
            let half = 0.5 * portion.meq_per_l;
            let least = f64::from(portion.least) * portion.meq_per_l;
            if node.upper[j] < least - half && node.upper[j] > 0.0 {
                node.narrow(j, node.lower[j], 0.0);
            }
            if node.lower[j] > half && node.lower[j] < least - half {
                node.narrow(j, least, node.upper[j]);
            }
            node.lower[j] <= node.upper[j] + half
        })
    }

    /// The number of stocks that may be used, when an earlier stage has made it least.
    pub(super) fn most_used(&self) -> Option<f64> {
        let mut done = self.search.statement.stages.iter().zip(self.search.reached);
        done.find(|(stage, _)| **stage == Stage::Count).map(|(_, value)| value.round())
    }

    /// Whether a node can keep the number of stocks; where it uses all of them already, no other
    /// may come in.
    pub(super) fn keeps_count(&self, node: &mut Tableau) -> bool {
        let Some(most) = self.most_used() else { return true };
        let used = self.used(node);
        if used >= most {
            for j in 0..self.search.statement.stocks() {
                if node.lower[j] <= 0.0 && node.upper[j] > 0.0 {
                    node.narrow(j, 0.0, 0.0);
                }
            }
        }
        used <= most
    }

    /// Bounds of portions that the multipliers prove to be of no use beyond.
    pub(super) fn tighten(&mut self, node: &mut Tableau) {
        let cutoff = self.cutoff();
        if !cutoff.is_finite() || self.search.counts() {
            return;
        }
        // The reduced costs are those of this bound.
        let room = cutoff - self.proved(node);
        let mut moved = false;
        for (j, portion) in self.search.statement.portions.iter().enumerate() {
            let cost = self.reduced[j];
            let (low, high) = (node.lower[j], node.upper[j]);
            if cost.abs() <= WHOLE || low >= high {
                continue;
            }
            let steps = (room / cost.abs() / portion.meq_per_l + WHOLE).floor();
            if cost > 0.0 && low + steps * portion.meq_per_l < high {
                node.narrow(j, low, low + steps * portion.meq_per_l);
                moved = true;
            } else if cost < 0.0 && high - steps * portion.meq_per_l > low {
                node.narrow(j, high - steps * portion.meq_per_l, high);
                moved = true;
            }
        }
        if moved {
            // What was cut off is as good as the cutoff at best.
            self.fathomed = self.fathomed.min(self.stage_value(cutoff));
        }
    }
}
