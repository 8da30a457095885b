//! Branch and bound over portions, stage by stage: the doses are optimal in the same order of
//! wishes as continuous ones, not rounded afterwards.
//!
//! A node is a tableau with narrowed bounds. Branches go to the nearer side first; when a branch
//! ends, the open node with the least bound is next. Whole portions come from rounding, from nodes
//! that happen to be whole, and from a local search around both; the best choice is handed on to
//! the next stage.
//!
//! What is claimed rests on two things that do not trust each other. The value of a choice is
//! worked out from its doses ([`Statement::values`]). And a node is only dropped with a bound that
//! weak duality proves from the original numbers ([`StageProgram::bound`]); the least of the bounds
//! of all nodes dropped, and of those still open when time is up, is the bound of the stage. A node
//! that can neither be dropped so nor split leaves its bound there as well.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use std::time::Instant;

use crate::planner::steps::portions::{Choice, Portion, Stage, Statement, whole};
use crate::planner::steps::relaxation;
use crate::planner::steps::relaxation::{StageProgram, cap};
use crate::planner::steps::tableau::{End, KEPT, Tableau};

/// Our choice: a stage is proved when nothing can be better by more than this of a tolerance, or of
/// the sum of misses where that is more than one tolerance; of a volume or a cost by this part of
/// it. Where many portions come near a wish the search for the last millionth would take minutes
/// and change nothing that can be tasted.
pub const PROVED_WITHIN: f64 = 1e-4;

/// Our choice: however large a sum of misses is, it is proved to this much of a tolerance, so that
/// one wish that is missed by far does not hide the others.
const PROVED_WITHIN_AT_MOST: f64 = 1e-2;

/// What the machine's numbers let nobody prove more closely.
const LAST_PLACES: f64 = 1e-9;

/// Our choice: while the search is short it goes on to this part of the gap that is asked for.
const FINE: f64 = 1e-3;

/// Our choice: nodes up to which a search is short.
const SHORT: usize = 50;

/// Our choice: misses beyond tolerance up to this much of a tolerance are none.
const NEGLIGIBLE: f64 = 1e-7;

/// Our choice: a column this near to a whole number of portions, in portions, is whole.
const WHOLE: f64 = 1e-6;

/// Our choice: with more open nodes than this the search only goes deeper, so that memory stays
/// below some tens of megabytes.
const MANY_OPEN: usize = 4000;

/// What is known of one stage when the search ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proof {
    /// What is made least.
    pub stage: Stage,
    /// The value of the best choice.
    pub value: f64,
    /// No choice that does as well in the stages before has a lower one.
    pub bound: f64,
    /// What later stages may have given up of this one and of those before it.
    pub slack: f64,
}

impl Proof {
    /// How much better another choice could be.
    #[must_use]
    pub fn gap(&self) -> f64 {
        (self.value - self.bound).max(0.0)
    }

    /// How much better another choice may be, at most, for this one to be called proved.
    #[must_use]
    pub fn within(&self) -> f64 {
        within(self.stage, self.value)
    }

    /// Whether nothing can be better by more than [`Proof::within`].
    #[must_use]
    pub fn proved(&self) -> bool {
        self.gap() <= self.within() + self.slack
    }
}

/// The gap that is asked of a stage.
fn within(stage: Stage, value: f64) -> f64 {
    let size = value.abs();
    match stage {
        Stage::Count => WHOLE,
        Stage::Linear(_) => PROVED_WITHIN * size + f64::EPSILON,
        Stage::Largest | Stage::Beyond | Stage::Inside => {
            let relative = PROVED_WITHIN * size.max(1.0);
            relative.min(PROVED_WITHIN_AT_MOST) + LAST_PLACES * size
        }
    }
}

/// The best choice with the proof of each stage.
#[derive(Debug, Clone)]
pub(crate) struct SearchResult {
    pub(crate) choice: Choice,
    pub(crate) proofs: Vec<Proof>,
    pub(crate) nodes: usize,
    /// Whether time ended the search of some stage.
    pub(crate) out_of_time: bool,
}

/// Finds the best portions; `None` when no choice fits at all.
pub(crate) fn search(statement: &Statement, deadline: Instant) -> Option<SearchResult> {
    if statement.portions.iter().any(|p| p.required && p.most == 0) {
        return None;
    }
    let mut best: Option<Choice> = None;
    let mut proofs: Vec<Proof> = Vec::new();
    let mut reached = Vec::new();
    let (mut nodes, mut out_of_time) = (0, false);
    let mut stages_left = u32::try_from(statement.stages.len()).unwrap_or(u32::MAX);
    for (at, stage) in statement.stages.iter().enumerate() {
        // A stage that cannot be finished leaves half of the time to the later ones.
        let now = Instant::now();
        let part = deadline.saturating_duration_since(now) / stages_left.clamp(1, 2);
        stages_left = stages_left.saturating_sub(1);
        let mut search = Search { statement, at, reached: &reached, deadline: now + part, best };
        let ended = search.run();
        nodes += ended.nodes;
        out_of_time |= ended.out_of_time;
        best = search.best;
        let value = best.as_ref()?.values[at];
        let slack = cap(statement, *stage, value) - value;
        proofs.push(Proof { stage: *stage, value, bound: ended.bound.min(value), slack });
        reached.push(value);
    }
    best.map(|choice| {
        // A later stage may have found an earlier one a trifle better than it was left.
        for (proof, value) in proofs.iter_mut().zip(&choice.values) {
            proof.value = *value;
            proof.bound = proof.bound.min(*value);
        }
        without_beyond(statement, &mut proofs);
        SearchResult { choice, proofs, nodes, out_of_time }
    })
}

/// What was sought as the sum of all misses is told as those inside tolerance.
fn without_beyond(statement: &Statement, proofs: &mut [Proof]) {
    let of = |proofs: &[Proof], stage| proofs.iter().find(|p| p.stage == stage).map(|p| p.value);
    let Some(beyond) = of(proofs, Stage::Beyond) else { return };
    if let Some(proof) = proofs.iter_mut().find(|p| p.stage == Stage::Inside) {
        proof.value = (proof.value - beyond).max(0.0);
        // Other choices may miss as much beyond tolerance as the cap of that stage lets them.
        let kept = cap(statement, Stage::Beyond, beyond);
        proof.bound = (proof.bound - kept).clamp(0.0, proof.value);
        proof.slack += kept - beyond;
    }
}

/// The search of one stage.
struct Search<'a> {
    statement: &'a Statement,
    at: usize,
    reached: &'a [f64],
    deadline: Instant,
    best: Option<Choice>,
}

/// How the search of a stage ended.
struct Ended {
    bound: f64,
    nodes: usize,
    out_of_time: bool,
}

/// The search for one θ (see [`relaxation`]).
struct Tree<'a, 'b> {
    search: &'b mut Search<'a>,
    program: StageProgram,
    root: Tableau,
    nodes: usize,
    /// The least bound of the nodes that were dropped, as a value of the stage.
    dropped: f64,
    spare: Vec<Tableau>,
    multipliers: Vec<f64>,
    reduced: Vec<f64>,
    step: Vec<f64>,
    lower: Vec<f64>,
    upper: Vec<f64>,
}

/// A part of the choices, as bounds of the portions in a tableau that has been solved.
struct Node {
    /// What is proved of it, as a value of the program.
    bound: f64,
    tableau: Tableau,
}

/// How to go on at a node.
struct Split {
    stock: usize,
    /// Upper bound of the lower side, lower bound of the upper side, in portions.
    below: u32,
    above: u32,
    nearer_below: bool,
    /// Row of the stock in the tableau, and what its sides seem to cost at least; for the order, and
    /// for what is worth proving.
    row: Option<usize>,
    costs: [f64; 2],
    set_value: f64,
}

/// What becomes of a tree.
enum Outcome {
    /// All of it is done, or time is up.
    Ended { bound: f64, out_of_time: bool },
    /// The best choice has moved so far from θ that the tree is worth beginning anew.
    Again,
}

impl Search<'_> {
    fn stage(&self) -> Stage {
        self.statement.stages[self.at]
    }

    fn counts(&self) -> bool {
        self.stage() == Stage::Count
    }

    /// A value of the stage as it is told in the end: the sum of all misses without those beyond
    /// tolerance.
    fn told(&self, value: f64) -> f64 {
        let mut done = self.statement.stages[..self.at].iter().zip(self.reached);
        let beyond = done.find(|(s, _)| **s == Stage::Beyond).map_or(0.0, |(_, v)| *v);
        if self.stage() == Stage::Inside { value - beyond } else { value }
    }

    /// Choices of this value or more are of no use.
    fn enough(&self, nodes: usize) -> f64 {
        match &self.best {
            None => f64::INFINITY,
            // One stock fewer, or none.
            Some(choice) if self.counts() => choice.values[self.at] - 1.0 + WHOLE,
            Some(choice) => {
                let value = choice.values[self.at];
                let part = if nodes < SHORT { FINE } else { 1.0 };
                let gap = part * within(self.stage(), self.told(value));
                // Whether anything is missed beyond tolerance at all is a verdict of its own.
                let nothing = match self.stage() {
                    Stage::Largest | Stage::Beyond if value > NEGLIGIBLE => FINE * value,
                    _ => 0.0,
                };
                if gap >= value { nothing } else { value - gap }
            }
        }
    }

    fn run(&mut self) -> Ended {
        self.begin();
        let mut nodes = 0;
        loop {
            if self.enough(nodes) <= 0.0 {
                // No stage has a value below nothing.
                return Ended { bound: 0.0, nodes, out_of_time: false };
            }
            let theta = if self.statement.most_litres > 1.0 && !self.counts() {
                self.best.as_ref().map_or(0.0, |_| self.enough(nodes))
            } else {
                0.0
            };
            let best = self.best.as_ref().map_or(f64::INFINITY, |choice| choice.values[self.at]);
            let program = relaxation::program(self.statement, self.at, self.reached, best, theta);
            let root = Tableau::new(&program.columns);
            let mut tree = Tree {
                search: self,
                program,
                root,
                nodes,
                dropped: f64::INFINITY,
                spare: Vec::new(),
                multipliers: Vec::new(),
                reduced: Vec::new(),
                step: Vec::new(),
                lower: Vec::new(),
                upper: Vec::new(),
            };
            let outcome = tree.grow();
            nodes = tree.nodes;
            if let Outcome::Ended { bound, out_of_time } = outcome {
                return Ended { bound: bound.max(0.0), nodes, out_of_time };
            }
        }
    }

    /// Nothing but what must be in it, so that there is a choice to begin with.
    fn begin(&mut self) {
        let least = |p: &Portion| if p.required { p.least.max(1) } else { 0 };
        let portions: Vec<u32> = self.statement.portions.iter().map(least).collect();
        let mut like = self.statement.base_at_most.clone();
        for only in 0..like.len() {
            // Each base water first, in turn.
            like.fill(0.0);
            like[only] = 1.0;
            let shares = self.statement.filled(&portions, &like);
            if let Some(values) = self.statement.values(&portions, &shares)
                && self.better(&values)
            {
                self.best = Some(Choice { portions: portions.clone(), shares, values });
            }
        }
    }

    /// Takes a choice if it is better, and looks around it.
    fn offer(&mut self, portions: Vec<u32>, like: &[f64]) {
        let shares = self.statement.filled(&portions, like);
        if let Some(values) = self.statement.values(&portions, &shares) {
            self.take(portions, shares, values);
        }
    }

    fn take(&mut self, portions: Vec<u32>, shares: Vec<f64>, values: Vec<f64>) {
        if self.better(&values) {
            self.best = Some(Choice { portions, shares, values });
            self.look_around();
        }
    }

    /// Whether the stages that are done keep what they have reached.
    fn kept(&self, values: &[f64]) -> bool {
        let mut done = values.iter().zip(self.reached).zip(&self.statement.stages);
        done.all(|((value, reached), stage)| *value <= cap(self.statement, *stage, *reached))
    }

    /// Whether stage values are better than the best at hand, earlier stages kept.
    fn better(&self, values: &[f64]) -> bool {
        if !self.kept(values) {
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

impl Tree<'_, '_> {
    /// Values of the program from here on are of no use.
    fn cutoff(&self) -> f64 {
        let enough = self.search.enough(self.nodes);
        if self.search.counts() || !enough.is_finite() {
            return enough;
        }
        self.program.program_value(enough)
    }

    fn grow(&mut self) -> Outcome {
        let mut open: Vec<Node> = Vec::new();
        let bound = self.first_bound();
        let root = self.root.clone();
        self.open_side(bound, root, &mut open);
        if let Some(root) = open.first() {
            self.round(&root.tableau.clone());
        }
        let mut deeper = true;
        while !open.is_empty() {
            if self.too_far() {
                return Outcome::Again;
            }
            if self.nodes.is_multiple_of(16) && Instant::now() >= self.search.deadline {
                let left = open.iter().map(|node| self.stage_value(node.bound));
                let bound = left.fold(self.dropped, f64::min);
                return Outcome::Ended { bound, out_of_time: true };
            }
            let next = if deeper || open.len() > MANY_OPEN {
                open.len() - 1
            } else {
                let least = open.iter().enumerate().min_by(|a, b| a.1.bound.total_cmp(&b.1.bound));
                least.map_or(open.len() - 1, |(n, _)| n)
            };
            let node = open.swap_remove(next);
            deeper = self.expand(node, &mut open);
        }
        if self.too_far() {
            return Outcome::Again;
        }
        Outcome::Ended { bound: self.dropped, out_of_time: false }
    }

    /// Whether bounds for this θ can no longer close the gap to the best choice.
    fn too_far(&self) -> bool {
        let (least, most) = self.program.litres;
        let enough = self.search.enough(self.nodes);
        if most <= least || !enough.is_finite() || self.search.counts() {
            return false;
        }
        let far = (enough - self.program.theta).abs();
        far * (most - least) > 0.25 * within(self.search.stage(), self.search.told(enough))
    }

    /// What holds of all nodes before anything is known: no misses and no costs are below zero.
    fn first_bound(&self) -> f64 {
        let most_added = self.program.litres.1 - 1.0;
        if self.search.counts() {
            0.0
        } else {
            -(self.program.theta * most_added).max(0.0) * self.program.scale
        }
    }

    fn stage_value(&self, program_value: f64) -> f64 {
        if self.search.counts() { program_value } else { self.program.stage_value(program_value) }
    }

    /// A node that need not be looked at further: its bound stays.
    fn drop_node(&mut self, bound: f64, tableau: Tableau) {
        self.dropped = self.dropped.min(self.stage_value(bound));
        self.spare.push(tableau);
    }

    /// The bound that a tableau's multipliers prove for its bounds.
    fn proved(&mut self, tableau: &Tableau) -> f64 {
        tableau.multipliers(&self.program.columns, &mut self.multipliers);
        let (lower, upper) = (&tableau.lower, &tableau.upper);
        self.program.bound(&self.multipliers, lower, upper, true, &mut self.reduced)
    }

    /// Whether nothing within the bounds keeps the rows, as one sum of the rows shows.
    fn is_empty(&mut self, tableau: &Tableau, row: usize) -> bool {
        [1.0, -1.0].into_iter().any(|sign| {
            tableau.combination(&self.program.columns, row, sign, &mut self.multipliers);
            let (lower, upper) = (&tableau.lower, &tableau.upper);
            self.program.bound(&self.multipliers, lower, upper, false, &mut self.reduced) > 0.0
        })
    }

    /// Opens the sides of a node; false when it has none that is of use.
    fn expand(&mut self, node: Node, open: &mut Vec<Node>) -> bool {
        self.nodes += 1;
        let Node { bound, tableau: mut node } = node;
        if bound < self.cutoff()
            && let Some(portions) = self.whole_portions(&node)
        {
            self.try_portions(&portions, &node);
        }
        if bound >= self.cutoff() {
            self.drop_node(bound, node);
            return false;
        }
        self.tighten(&mut node);
        let Some(split) = self.split(&node) else {
            // All portions are fixed, and still it is not as good as its bound.
            self.drop_node(bound, node);
            return false;
        };
        let opened = open.len();
        let meq = self.search.statement.portions[split.stock].meq_per_l;
        let (low, high) = (node.lower[split.stock], node.upper[split.stock]);
        let below = [low, f64::from(split.below) * meq];
        let above = [f64::from(split.above) * meq, high];
        let sides = [(false, below), (true, above)];
        let order = if split.nearer_below { [1, 0] } else { [0, 1] };
        let useful: Vec<[f64; 2]> = order
            .into_iter()
            .filter(|side| !self.is_too_dear(&node, &split, sides[*side]))
            .map(|side| sides[side].1)
            .collect();
        for [low, high] in useful.iter().rev().skip(1).rev() {
            let mut other = self.spare.pop().unwrap_or_default();
            other.clone_from(&node);
            other.narrow(split.stock, *low, *high);
            self.open_side(bound, other, open);
        }
        match useful.last() {
            None => self.spare.push(node),
            Some([low, high]) => {
                node.narrow(split.stock, *low, *high);
                self.open_side(bound, node, open);
            }
        }
        open.len() > opened
    }

    /// Whether a side is proved to be of no use by the first step of the dual simplex in it, which
    /// needs no tableau of its own.
    fn is_too_dear(
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
        self.dropped = self.dropped.min(self.stage_value(bound));
        true
    }

    /// Solves a side of a node, and opens it if that leaves it of use.
    fn open_side(&mut self, known: f64, mut side: Tableau, open: &mut Vec<Node>) {
        let sound = self.keeps_least(&mut side) && self.keeps_count(&mut side);
        match if sound { self.solve(known, &mut side) } else { None } {
            // Nothing is in it.
            None => self.spare.push(side),
            Some(bound) if bound >= self.cutoff() => self.drop_node(bound, side),
            Some(bound) => open.push(Node { bound, tableau: side }),
        }
    }

    /// Solves a node: the bound that is proved of it, or nothing when it is proved to be empty.
    fn solve(&mut self, known: f64, node: &mut Tableau) -> Option<f64> {
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
    fn rebuild(&mut self, node: &mut Tableau) {
        let mut fresh = self.root.clone();
        for j in 0..self.search.statement.stocks() {
            fresh.narrow(j, node.lower[j], node.upper[j]);
        }
        node.clone_from(&fresh);
    }

    /// The number of stocks that a node has fixed as used.
    fn used(&self, node: &Tableau) -> f64 {
        (0..self.search.statement.stocks()).map(|j| f64::from(u8::from(node.lower[j] > 0.0))).sum()
    }

    /// Moves bounds out of the gap between nothing and the least amount; false when nothing is left.
    fn keeps_least(&self, node: &mut Tableau) -> bool {
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
    fn most_used(&self) -> Option<f64> {
        let mut done = self.search.statement.stages.iter().zip(self.search.reached);
        done.find(|(stage, _)| **stage == Stage::Count).map(|(_, value)| value.round())
    }

    /// Whether a node can keep the number of stocks; where it uses all of them already, no other
    /// may come in.
    fn keeps_count(&self, node: &mut Tableau) -> bool {
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
    fn tighten(&mut self, node: &mut Tableau) {
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
            self.dropped = self.dropped.min(self.stage_value(cutoff));
        }
    }

    /// The stock to branch on: the one whose sides are the worst for the objective.
    fn split(&self, node: &Tableau) -> Option<Split> {
        let statement = self.search.statement;
        let counts = self.search.counts();
        let there = |j: usize| node.at(j) > WHOLE * statement.portions[j].meq_per_l;
        let together = (0..statement.stocks()).filter(|j| there(*j)).count();
        #[expect(clippy::cast_precision_loss, reason = "a small number")]
        let too_many = self.most_used().is_some_and(|most| together as f64 > most);
        let mut best: Option<Split> = None;
        for (j, portion) in statement.portions.iter().enumerate() {
            let (low, high) = (node.lower[j], node.upper[j]);
            let meq = portion.meq_per_l;
            if high - low < 0.5 * meq {
                continue;
            }
            let wanted = node.at(j) / meq;
            let least = f64::from(portion.least);
            let (below, above) = if wanted > WHOLE && wanted < least - WHOLE {
                (0.0, least)
            } else if (counts || too_many) && low <= 0.0 && wanted > WHOLE {
                (0.0, least.max(1.0))
            } else if (wanted - wanted.round()).abs() > WHOLE {
                (wanted.floor(), wanted.ceil())
            } else {
                continue;
            };
            let (down, up) = (wanted - below, above - wanted);
            let row = node.row_of(j);
            let penalty = |up: bool, by: f64| row.map_or(0.0, |r| node.penalty(r, up, by * meq));
            let (value_below, value_above) = if counts {
                (0.0, f64::from(u8::from(low <= 0.0)))
            } else {
                (penalty(false, down), penalty(true, up))
            };
            let (set_value, more) = (value_below.min(value_above), value_below.max(value_above));
            // Far from both sides first where the objective does not tell.
            let score = set_value.min(1e6) + 0.1 * more.min(1e6) + 1e-6 * down.min(up).min(1.0);
            if best.as_ref().is_none_or(|split| score > split.set_value) {
                best = Some(Split {
                    stock: j,
                    below: whole(below),
                    above: whole(above),
                    nearer_below: if counts {
                        true
                    } else if (value_below - value_above).abs() > WHOLE {
                        value_below < value_above
                    } else {
                        down <= up
                    },
                    row,
                    costs: [value_below, value_above],
                    set_value: score,
                });
            }
        }
        best.or_else(|| self.split_whole(node))
    }

    /// A node of whole portions that is not as good as its bound: rounding, or a solver that has
    /// gone wrong. The widest range is halved where the portions are.
    fn split_whole(&self, node: &Tableau) -> Option<Split> {
        let portions = &self.search.statement.portions;
        let range = |j: usize| (node.upper[j] - node.lower[j]) / portions[j].meq_per_l;
        let widest = (0..portions.len()).max_by(|a, b| range(*a).total_cmp(&range(*b)))?;
        if range(widest) < 0.5 {
            return None;
        }
        let meq = portions[widest].meq_per_l;
        let (low, high) = (node.lower[widest] / meq, node.upper[widest] / meq);
        let at = (node.at(widest) / meq).round().clamp(low.round(), high.round());
        let (below, above) = if at < high.round() { (at, at + 1.0) } else { (at - 1.0, at) };
        let (below, above) = (whole(below), whole(above));
        Some(Split {
            stock: widest,
            below,
            above,
            nearer_below: true,
            row: None,
            costs: [0.0; 2],
            set_value: 0.0,
        })
    }

    /// The portions of a node, when all of them are whole.
    fn whole_portions(&self, node: &Tableau) -> Option<Vec<u32>> {
        let each = self.search.statement.portions.iter().enumerate();
        each.map(|(j, portion)| {
            let wanted = node.at(j) / portion.meq_per_l;
            let n = whole(wanted.round());
            let fits = (wanted - wanted.round()).abs() <= WHOLE
                && (n == 0 || n >= portion.least)
                && n <= portion.most;
            fits.then_some(n)
        })
        .collect()
    }

    /// Whole portions near the root.
    fn round(&mut self, node: &Tableau) {
        let mut tried: Vec<Vec<u32>> = Vec::new();
        for rounding in [f64::round, f64::floor, f64::ceil] {
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
            let portions: Vec<u32> =
                self.search.statement.portions.iter().enumerate().map(of).collect();
            if !tried.contains(&portions) {
                self.try_portions(&portions, node);
                tried.push(portions);
            }
        }
    }

    /// Offers whole portions with the best shares of the base waters for them.
    fn try_portions(&mut self, portions: &[u32], from: &Tableau) {
        /// Our choice: with the portions fixed there are few pivots, and little is lost.
        const EXACT: f64 = 1e-11;
        /// Our choice: how far from its caps a solution is sought in turn, in units of miss. The
        /// last of them is a tenth of what a cap leaves.
        const HAIRS: [f64; 4] = [1e-11, 1e-9, 1e-8, 1e-7];
        if self.search.statement.base_at_most.len() < 2 {
            self.search.offer(portions.to_vec(), &[1.0]);
            return;
        }
        let mut node = from.clone();
        for (j, (n, portion)) in portions.iter().zip(&self.search.statement.portions).enumerate() {
            let meq = f64::from(*n) * portion.meq_per_l;
            node.narrow(j, meq, meq);
        }
        for hair in HAIRS {
            if node.minimise(f64::INFINITY, EXACT) != End::Optimal {
                return;
            }
            let stocks = self.search.statement.stocks();
            let count = self.search.statement.base_at_most.len();
            let shares: Vec<f64> = (0..count).map(|k| node.at(stocks + k)).collect();
            let shares = self.search.statement.filled(portions, &shares);
            let Some(values) = self.search.statement.values(portions, &shares) else { return };
            if self.search.kept(&values) {
                self.search.take(portions.to_vec(), shares, values);
                return;
            }
            // Rounding has taken it across a cap: once more, a hair's breadth away from it.
            for clear in &self.program.clear {
                clear.narrow(&mut node, hair);
            }
        }
    }
}
