//! Branch and bound over portions, stage by stage: the doses are optimal in the same order of
//! goals as continuous ones, not rounded afterwards.
//!
//! A node is a tableau with narrowed bounds. Branches go to the nearer side first; when a branch
//! ends, the open node with the least bound is next. Whole portions come from rounding, from nodes
//! that happen to be whole, and from a local search around both; the best choice is handed on to
//! the next stage.
//!
//! What is claimed rests on two things that do not trust each other. The value of a choice is
//! worked out from its doses ([`Statement::values`]). And a node is only fathomed with a bound that
//! weak duality proves from the original numbers ([`StageProgram::bound`]); the least of the bounds
//! of all nodes fathomed, and of those still open when time is up, is the bound of the stage. A node
//! that can neither be fathomed so nor split leaves its bound there as well.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks of one statement")]

use std::time::Instant;

use crate::planner::steps::incumbent::StageSearch;
use crate::planner::steps::portions::{Choice, Stage, Statement};
use crate::planner::steps::proof::Proof;
use crate::planner::steps::relaxation;
use crate::planner::steps::relaxation::cap;
use crate::planner::steps::tableau::Tableau;
use crate::planner::steps::weak_duality::StageProgram;

/// Our choice: with more open nodes than this the search only goes deeper, so that memory stays
/// below some tens of megabytes.
pub(super) const MANY_OPEN: usize = 4000;

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
        let mut search =
            StageSearch { statement, at, reached: &reached, deadline: now + part, best };
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

/// What was sought as the sum of all misses is reported as those inside tolerance.
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

/// How the search of a stage ended.
struct Ended {
    bound: f64,
    nodes: usize,
    out_of_time: bool,
}

/// The search for one θ (see [`relaxation`]).
pub(super) struct Tree<'a, 'b> {
    pub(super) search: &'b mut StageSearch<'a>,
    pub(super) program: StageProgram,
    pub(super) root: Tableau,
    pub(super) nodes: usize,
    /// The least bound of the nodes that were fathomed, as a value of the stage.
    pub(super) fathomed: f64,
    pub(super) spare: Vec<Tableau>,
    pub(super) multipliers: Vec<f64>,
    pub(super) reduced: Vec<f64>,
    pub(super) step: Vec<f64>,
    pub(super) lower: Vec<f64>,
    pub(super) upper: Vec<f64>,
}

/// A part of the choices, as bounds of the portions in a tableau that has been solved.
pub(super) struct Node {
    /// What is proved of it, as a value of the program.
    pub(super) bound: f64,
    pub(super) tableau: Tableau,
}

/// What becomes of a tree.
enum Outcome {
    /// All of it is done, or time is up.
    Ended { bound: f64, out_of_time: bool },
    /// The best choice has moved so far from θ that the tree is worth beginning anew.
    Again,
}

impl StageSearch<'_> {
    fn run(&mut self) -> Ended {
        self.initial_incumbent();
        let mut nodes = 0;
        loop {
            if self.useful_below(nodes) <= 0.0 {
                // No stage has a value below nothing.
                return Ended { bound: 0.0, nodes, out_of_time: false };
            }
            let theta = if self.statement.most_litres > 1.0 && !self.counts() {
                self.best.as_ref().map_or(0.0, |_| self.useful_below(nodes))
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
                fathomed: f64::INFINITY,
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
}

impl Tree<'_, '_> {
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
            if self.theta_is_stale() {
                return Outcome::Again;
            }
            if self.nodes.is_multiple_of(16) && Instant::now() >= self.search.deadline {
                let left = open.iter().map(|node| self.stage_value(node.bound));
                let bound = left.fold(self.fathomed, f64::min);
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
        if self.theta_is_stale() {
            return Outcome::Again;
        }
        Outcome::Ended { bound: self.fathomed, out_of_time: false }
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
            self.fathom(bound, node);
            return false;
        }
        self.tighten(&mut node);
        let Some(split) = self.split(&node) else {
            // All portions are fixed, and still it is not as good as its bound.
            self.fathom(bound, node);
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
            .filter(|side| !self.side_is_fathomed(&node, &split, sides[*side]))
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
}
