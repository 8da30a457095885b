//! Branch and bound over portions, stage by stage: the doses are optimal in the same order of
//! wishes as continuous ones, not rounded afterwards.
//!
//! A node is a tableau with narrowed bounds. Branches go to the nearer side first; when a branch
//! ends, the open node with the least bound is next. Whole portions come from rounding, from
//! leaves, and from a local search around both; the best choice is handed on to the next stage.
//! When time is up, the least bound of the open nodes says how far the best choice can be from
//! the optimum.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use std::time::Instant;

use crate::planner::portions::{Choice, Portion, Stage, Statement};
use crate::planner::relaxation;
use crate::planner::tableau::{End, Tableau};

/// Our choice: a stage is proved when nothing can be better by more than this, relative above 1: a
/// ten-thousandth of a tolerance, or of a millilitre. Where many portions come near a wish the
/// search for the last millionth would take minutes and change nothing that can be tasted.
pub const PROVED_WITHIN: f64 = 1e-4;

/// Our choice: a column this near to a whole number of portions, in portions, is whole.
const WHOLE: f64 = 1e-6;

/// Our choice: with more open nodes than this the search only goes deeper, so that memory stays
/// below some tens of megabytes.
const MANY_OPEN: usize = 4000;

/// What is known of one stage when the search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proof {
    /// The value of the best choice.
    pub value: f64,
    /// No choice has a lower one.
    pub bound: f64,
}

impl Proof {
    /// How much better another choice could be.
    #[must_use]
    pub fn gap(&self) -> f64 {
        (self.value - self.bound).max(0.0)
    }

    /// Whether nothing can be better by more than [`PROVED_WITHIN`].
    #[must_use]
    pub fn proved(&self) -> bool {
        // The gap was relative to a value that later stages may have lowered by as much.
        self.gap() <= PROVED_WITHIN * (1.0 + PROVED_WITHIN) * self.value.abs().max(1.0)
    }
}

/// The best choice with the proof of each stage.
#[derive(Debug, Clone)]
pub(super) struct Searched {
    pub(super) choice: Choice,
    pub(super) proofs: Vec<Proof>,
    pub(super) nodes: usize,
}

/// Finds the best portions; `None` when no choice fits at all.
pub(super) fn search(statement: &Statement, deadline: Instant) -> Option<Searched> {
    if statement.portions.iter().any(|p| p.required && p.most == 0) {
        return None;
    }
    let mut best: Option<Choice> = None;
    let mut proofs = Vec::new();
    let mut reached = Vec::new();
    let mut nodes = 0;
    let mut stages_left = u32::try_from(statement.stages.len()).unwrap_or(u32::MAX);
    for at in 0..statement.stages.len() {
        // A stage that cannot be finished leaves half of the time to the later ones.
        let now = Instant::now();
        let part = deadline.saturating_duration_since(now) / stages_left.clamp(1, 2);
        stages_left = stages_left.saturating_sub(1);
        let mut run = Run::new(statement, at, &reached, now + part, best.take());
        let bound = run.solve();
        nodes += run.nodes;
        let choice = run.best?;
        let value = choice.values[at];
        proofs.push(Proof { value, bound: bound.min(value) });
        reached.push(value);
        best = Some(choice);
    }
    best.map(|choice| {
        // A later stage may have found an earlier one a trifle better than it was left.
        for (proof, value) in proofs.iter_mut().zip(&choice.values) {
            proof.value = *value;
            proof.bound = proof.bound.min(*value);
        }
        Searched { choice, proofs, nodes }
    })
}

/// The search of one stage.
struct Run<'a> {
    statement: &'a Statement,
    at: usize,
    reached: &'a [f64],
    deadline: Instant,
    best: Option<Choice>,
    nodes: usize,
    /// Least bound of the nodes that could neither be solved nor split.
    unsolved: f64,
    spare: Vec<Tableau>,
}

/// How to go on at a node.
struct Split {
    stock: usize,
    /// Upper bound of the lower side, lower bound of the upper side, in portions.
    below: u32,
    above: u32,
    /// Bounds of the two sides.
    value_below: f64,
    value_above: f64,
    nearer_below: bool,
}

impl<'a> Run<'a> {
    fn new(
        statement: &'a Statement,
        at: usize,
        reached: &'a [f64],
        deadline: Instant,
        best: Option<Choice>,
    ) -> Self {
        Self {
            statement,
            at,
            reached,
            deadline,
            best,
            nodes: 0,
            unsolved: f64::INFINITY,
            spare: Vec::new(),
        }
    }

    /// Nodes with a larger value are of no use.
    fn cutoff(&self) -> f64 {
        match &self.best {
            None => f64::INFINITY,
            Some(choice) if self.counts() => choice.values[self.at] - WHOLE,
            Some(choice) => {
                let value = choice.values[self.at];
                value - PROVED_WITHIN * value.abs().max(1.0)
            }
        }
    }

    fn counts(&self) -> bool {
        self.statement.stages[self.at] == Stage::Count
    }

    /// Runs the stage; gives the proved bound.
    fn solve(&mut self) -> f64 {
        let mut root = Tableau::new(&relaxation::columns(self.statement, self.at, self.reached));
        if root.minimise(f64::INFINITY) == End::Infeasible {
            return f64::INFINITY;
        }
        self.round(&root);
        let least = self.value_of(&root);
        let mut open = vec![(least, root)];
        let mut deeper = true;
        while !open.is_empty() {
            if self.nodes.is_multiple_of(64) && Instant::now() >= self.deadline {
                let open = open.iter().map(|(value, _)| *value).fold(self.unsolved, f64::min);
                return open.min(self.cutoff()).max(least);
            }
            let next = if deeper || open.len() > MANY_OPEN {
                open.len() - 1
            } else {
                let least = open.iter().enumerate().min_by(|a, b| a.1.0.total_cmp(&b.1.0));
                least.map_or(open.len() - 1, |(n, _)| n)
            };
            let (bound, node) = open.swap_remove(next);
            if bound > self.cutoff() {
                self.spare.push(node);
                deeper = false;
                continue;
            }
            deeper = self.expand(node, &mut open);
        }
        // What was cut off may be as good as the cutoff, and no better.
        self.unsolved.min(self.cutoff()).max(least)
    }

    /// Solves a node and opens its sides; false when it has none.
    fn expand(&mut self, mut node: Tableau, open: &mut Vec<(f64, Tableau)>) -> bool {
        self.nodes += 1;
        let end = node.minimise(self.limit());
        let value = self.value_of(&node);
        if matches!(end, End::Infeasible | End::CutOff) || value > self.cutoff() {
            self.spare.push(node);
            return false;
        }
        self.tighten(&mut node);
        let Some(split) = self.split(&node) else {
            self.leaf(&node);
            if end == End::Stalled {
                self.unsolved = self.unsolved.min(value);
            }
            self.spare.push(node);
            return false;
        };
        let cutoff = self.cutoff();
        let mut other = self.spare.pop().unwrap_or_default();
        other.clone_from(&node);
        let meq = self.statement.portions[split.stock].meq_per_l;
        let (low, high) = (node.lower[split.stock], node.upper[split.stock]);
        node.narrow(split.stock, low, f64::from(split.below) * meq);
        other.narrow(split.stock, f64::from(split.above) * meq, high);
        let below = (split.value_below.max(self.value_of(&node)), node);
        let above = (split.value_above.max(self.value_of(&other)), other);
        let (first, second) = if split.nearer_below { (below, above) } else { (above, below) };
        for (value, side) in [second, first] {
            if value <= cutoff {
                open.push((value, side));
            } else {
                self.spare.push(side);
            }
        }
        true
    }

    /// What the dual simplex may be cut off at; the count is no objective of the tableau.
    fn limit(&self) -> f64 {
        if self.counts() { f64::INFINITY } else { self.cutoff() }
    }

    /// The bound of a node: its optimum, or the number of stocks that it has fixed as used.
    fn value_of(&self, node: &Tableau) -> f64 {
        if self.counts() {
            (0..self.statement.stocks()).map(|j| f64::from(u8::from(node.lower[j] > 0.0))).sum()
        } else {
            node.value
        }
    }

    /// Bounds of portions that the reduced costs rule out.
    fn tighten(&self, node: &mut Tableau) {
        let room = self.limit() - node.value;
        if !room.is_finite() {
            return;
        }
        for (j, portion) in self.statement.portions.iter().enumerate() {
            let cost = node.reduced_cost(j);
            let (low, high) = (node.lower[j], node.upper[j]);
            if cost.abs() <= WHOLE || low >= high {
                continue;
            }
            let steps = (room / cost.abs() / portion.meq_per_l + WHOLE).floor();
            if cost > 0.0 && low + steps * portion.meq_per_l < high {
                node.narrow(j, low, low + steps * portion.meq_per_l);
            } else if cost < 0.0 && high - steps * portion.meq_per_l > low {
                node.narrow(j, high - steps * portion.meq_per_l, high);
            }
        }
    }

    /// The stock to branch on: the one whose sides are the worst for the objective.
    fn split(&self, node: &Tableau) -> Option<Split> {
        let mut best: Option<(f64, Split)> = None;
        let here = self.value_of(node);
        for (j, portion) in self.statement.portions.iter().enumerate() {
            let (low, high) = (node.lower[j], node.upper[j]);
            if low >= high {
                continue;
            }
            let meq = portion.meq_per_l;
            let wanted = node.at(j) / meq;
            let least = f64::from(portion.least);
            let (below, above) = if wanted > WHOLE && wanted < least - WHOLE {
                (0.0, least)
            } else if self.counts() && low <= 0.0 && wanted > WHOLE {
                (0.0, least.max(1.0))
            } else if (wanted - wanted.round()).abs() > WHOLE {
                (wanted.floor(), wanted.ceil())
            } else {
                continue;
            };
            let (down, up) = (wanted - below, above - wanted);
            let penalty =
                |up: bool, by: f64| node.row_of(j).map_or(0.0, |r| node.penalty(r, up, by * meq));
            let (value_below, value_above) = if self.counts() {
                (here, here + f64::from(u8::from(low <= 0.0)))
            } else {
                (here + penalty(false, down), here + penalty(true, up))
            };
            let worth = value_below.min(value_above) - here;
            let more = value_below.max(value_above) - here;
            // Far from both sides first where the objective does not tell.
            let score = worth.min(1e6) + 0.1 * more.min(1e6) + 1e-6 * down.min(up).min(1.0);
            if best.as_ref().is_none_or(|(s, _)| score > *s) {
                let split = Split {
                    stock: j,
                    below: whole(below),
                    above: whole(above),
                    value_below,
                    value_above,
                    nearer_below: if self.counts() {
                        true
                    } else if (value_below - value_above).abs() > WHOLE {
                        value_below < value_above
                    } else {
                        down <= up
                    },
                };
                best = Some((score, split));
            }
        }
        best.map(|(_, split)| split)
    }

    /// Whole portions at a node.
    fn leaf(&mut self, node: &Tableau) {
        let portions = self.portions_at(node, f64::round);
        self.offer(portions, &self.shares_at(node));
    }

    /// Whole portions near a node that has none.
    fn round(&mut self, node: &Tableau) {
        let shares = self.shares_at(node);
        for rounding in [f64::round, f64::floor, f64::ceil] {
            self.offer(self.portions_at(node, rounding), &shares);
        }
    }

    fn portions_at(&self, node: &Tableau, rounding: fn(f64) -> f64) -> Vec<u32> {
        let of = |(j, portion): (usize, &Portion)| {
            let n = whole(rounding(node.at(j) / portion.meq_per_l)).min(portion.most);
            if n >= portion.least {
                n
            } else if 2 * n >= portion.least && n > 0 || portion.required {
                portion.least
            } else {
                0
            }
        };
        self.statement.portions.iter().enumerate().map(of).collect()
    }

    fn shares_at(&self, node: &Tableau) -> Vec<f64> {
        let stocks = self.statement.stocks();
        (0..self.statement.base_at_most.len()).map(|k| node.at(stocks + k)).collect()
    }

    /// Takes a choice if it is better, and looks around it.
    fn offer(&mut self, portions: Vec<u32>, shares: &[f64]) {
        let shares = self.statement.filled(&portions, shares);
        let Some(values) = self.statement.values(&portions, &shares) else { return };
        let choice = Choice { portions, shares, values };
        if self.better(&choice.values) {
            self.best = Some(choice);
            self.look_around();
        }
    }

    /// Whether stage values are better than the best at hand, earlier stages kept.
    fn better(&self, values: &[f64]) -> bool {
        let kept = values
            .iter()
            .zip(self.reached)
            .all(|(value, reached)| *value <= relaxation::cap(*reached));
        if !kept {
            return false;
        }
        let Some(best) = &self.best else { return true };
        for (value, other) in values.iter().zip(&best.values).skip(self.at) {
            let even = WHOLE * WHOLE * other.abs().max(1.0);
            if (value - other).abs() > even {
                return value < other;
            }
        }
        false
    }

    /// Local search: one portion more or less of one stock or of two, a stock dropped or begun.
    fn look_around(&mut self) {
        /// Our choice: steps so fine that more rounds than this would still help are searched by
        /// the branches; the local search only saves them time.
        const ROUNDS: usize = 50;
        let Some(mut at) = self.best.clone() else { return };
        let stocks = self.statement.stocks();
        for _ in 0..ROUNDS {
            let mut moved = false;
            for first in 0..stocks {
                for second in first..stocks {
                    for (a, b) in [(1, 1), (1, -1), (-1, 1), (-1, -1)] {
                        if first == second && a != b {
                            continue;
                        }
                        let mut portions = at.portions.clone();
                        let both = [(first, a), (second, b)];
                        let moves = if first == second { &both[..1] } else { &both[..] };
                        if !moves.iter().all(|(j, by)| self.nudge(&mut portions, *j, *by)) {
                            continue;
                        }
                        let shares = self.statement.filled(&portions, &at.shares);
                        let Some(values) = self.statement.values(&portions, &shares) else {
                            continue;
                        };
                        if self.better(&values) {
                            at = Choice { portions, shares, values };
                            self.best = Some(at.clone());
                            moved = true;
                        }
                    }
                }
            }
            if !moved {
                return;
            }
        }
    }

    /// One portion more or less, over the gap between nothing and the least.
    fn nudge(&self, portions: &mut [u32], j: usize, by: i8) -> bool {
        let portion = &self.statement.portions[j];
        let now = portions[j];
        let least = portion.least.max(1);
        let next = match (by > 0, now) {
            (true, 0) => least,
            (true, n) => n.saturating_add(1),
            (false, 0) => return false,
            (false, n) if n <= least => 0,
            (false, n) => n - 1,
        };
        portions[j] = next;
        next <= portion.most && !(portion.required && next == 0)
    }
}

/// A count of portions.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of the type just before"
)]
fn whole(value: f64) -> u32 {
    value.clamp(0.0, f64::from(u32::MAX)) as u32
}
