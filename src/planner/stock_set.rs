//! Which stocks a whole flight opens: as few as serve every target, or the best so many.
//!
//! More stocks never make a water worse, so what serves with a set serves with every larger one.
//! The fewest are found through hitting sets: whenever a set fails it is grown as long as it
//! still fails, and at least one of the stocks then left out must be in every set that serves. The
//! smallest set that hits all of these is a bound from below, and the answer once it serves.
#![expect(clippy::indexing_slicing, reason = "indices run over the stocks of one shelf")]

/// A set of stocks, by their places on the shelf.
pub type Members = Vec<bool>;

/// Whether time is up.
pub type TimeIsUp<'a> = &'a dyn Fn() -> bool;

/// A set with what is proved of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Which stocks are in it.
    pub members: Members,
    /// No set of fewer stocks serves; for the best set: no better set of that size exists.
    pub proved: bool,
    /// No set smaller than this serves.
    pub at_least: usize,
}

/// The number of stocks in a set.
#[must_use]
pub fn size(members: &[bool]) -> usize {
    members.iter().filter(|m| **m).count()
}

/// The fewest of `stocks` stocks for which `serves` holds; it must hold for all of them together.
/// Those that are `required` are in every set, and count.
///
/// ```
/// use waterflight::planner::stock_set::{fewest, size};
/// // either the first stock, or the second and third together, and always the fourth
/// let serves = |m: &[bool]| (m[0] || (m[1] && m[2])) && m[3];
/// let found = fewest(&[false; 4], serves, &|| false);
/// assert_eq!(found.members, [true, false, false, true]);
/// let found = fewest(&[false, true, false, false], serves, &|| false);
/// assert_eq!(size(&found.members), 3);
/// assert!(found.proved);
/// ```
pub fn fewest(
    required: &[bool],
    mut serves: impl FnMut(&[bool]) -> bool,
    late: TimeIsUp<'_>,
) -> Chosen {
    let stocks = required.len();
    let mut clauses: Vec<Vec<usize>> = Vec::new();
    // A set that serves at hand, should time run out: drop what can be dropped.
    let mut fallback = vec![true; stocks];
    for j in (0..stocks).filter(|j| !required[*j]) {
        fallback[j] = false;
        if late() || !serves(&fallback) {
            fallback[j] = true;
        }
    }
    loop {
        let mut hit = required.to_vec();
        let mut best = vec![true; stocks];
        smallest_hit(&clauses, &mut hit, &mut best);
        let at_least = size(&best);
        if at_least >= size(&fallback) {
            return Chosen { members: fallback, proved: true, at_least };
        }
        if late() {
            return Chosen { members: fallback, proved: false, at_least };
        }
        if serves(&best) {
            return Chosen { members: best, proved: true, at_least };
        }
        let mut failing = best;
        for j in 0..stocks {
            if !failing[j] && !late() {
                failing[j] = true;
                if serves(&failing) {
                    failing[j] = false;
                }
            }
        }
        clauses.push((0..stocks).filter(|j| !failing[*j]).collect());
    }
}

/// The smallest set that has a member in every clause, by depth-first search.
fn smallest_hit(clauses: &[Vec<usize>], hit: &mut Members, best: &mut Members) {
    if size(hit) >= size(best) {
        return;
    }
    let open = clauses
        .iter()
        .filter(|clause| !clause.iter().any(|j| hit[*j]))
        .min_by_key(|clause| clause.len());
    let Some(clause) = open else {
        best.clone_from(hit);
        return;
    };
    for &j in clause {
        hit[j] = true;
        smallest_hit(clauses, hit, best);
        hit[j] = false;
    }
}

/// What a set is worth: values to be made least, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct SetValue {
    /// What was reached.
    pub values: Vec<f64>,
    /// Whether it is proved that the set gives nothing better.
    pub proved: bool,
}

/// How sets are looked at: a bound that is quick, and the worth itself.
pub struct SetEvaluation<'a> {
    /// No set among these stocks gives lower values; a larger set must never give higher ones.
    pub bound: &'a mut dyn FnMut(&[bool]) -> Vec<f64>,
    /// What the set gives.
    pub set_value: &'a mut dyn FnMut(&[bool]) -> SetValue,
    /// Values that differ by no more than this, relative above 1, are the same.
    pub even: f64,
}

/// The best set of at most `most` stocks, those that are `required` among them and counted.
pub fn best_of_size<'a>(
    required: &[bool],
    most: usize,
    judge: SetEvaluation<'a>,
    late: TimeIsUp<'a>,
) -> Chosen {
    let mut search = Sized { most, best: None, proved: true, late, judge };
    search.branch(required, &vec![true; required.len()]);
    let members = search.best.map_or_else(|| required.to_vec(), |(members, _)| members);
    Chosen { members, proved: search.proved, at_least: 0 }
}

struct Sized<'a> {
    most: usize,
    best: Option<(Members, Vec<f64>)>,
    proved: bool,
    late: TimeIsUp<'a>,
    judge: SetEvaluation<'a>,
}

impl Sized<'_> {
    /// `inside` is decided, `possible` holds it and what may still join.
    fn branch(&mut self, inside: &[bool], possible: &[bool]) {
        let full = size(inside) >= self.most;
        let candidate = if full { inside } else { possible };
        let bound = (self.judge.bound)(candidate);
        let even = self.judge.even;
        if self.best.as_ref().is_some_and(|(_, best)| !less(&bound, best, even)) {
            return;
        }
        if self.best.is_some() && (self.late)() {
            self.proved = false;
            return;
        }
        if full || size(possible) <= self.most {
            let set_value = (self.judge.set_value)(candidate);
            self.proved &= set_value.proved;
            if self.best.as_ref().is_none_or(|(_, best)| less(&set_value.values, best, even)) {
                self.best = Some((candidate.to_vec(), set_value.values));
            }
            return;
        }
        let Some(next) = (0..inside.len()).find(|j| possible[*j] && !inside[*j]) else { return };
        let mut with = inside.to_vec();
        with[next] = true;
        self.branch(&with, possible);
        let mut without = possible.to_vec();
        without[next] = false;
        self.branch(inside, &without);
    }
}

/// Whether values are less, in order; differences up to `even` are none. Values that are known for
/// one side only decide for that one: nobody knows that they are not less.
fn less(values: &[f64], than: &[f64], even: f64) -> bool {
    for (a, b) in values.iter().zip(than) {
        if (a - b).abs() > even * b.abs().max(1.0) {
            return a < b;
        }
    }
    values.len() < than.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn never() -> bool {
        false
    }

    /// Every set of seven things against a rule, smallest first: the plain way.
    fn by_trial(serves: impl Fn(&[bool]) -> bool) -> usize {
        (0_u32..128)
            .map(|bits| (0..7).map(|j| bits >> j & 1 == 1).collect::<Members>())
            .filter(|m| serves(m))
            .map(|m| size(&m))
            .min()
            .unwrap_or(usize::MAX)
    }

    #[test]
    fn the_fewest_are_those_that_trial_finds() {
        for seed in 0_usize..40 {
            // Three needs, each met by some of the things: a covering problem.
            let serves = |m: &[bool]| {
                (0..4).all(|need| {
                    (0..7).any(|j| m[j] && (seed * 31 + need * 17 + j * 7) % 3 == 0) || seed == 0
                })
            };
            let found = fewest(&[false; 7], serves, &never);
            if serves(&[true; 7]) {
                assert!(found.proved && serves(&found.members), "{seed}");
                assert_eq!(size(&found.members), by_trial(serves), "{seed}");
            }
        }
    }

    #[test]
    fn the_best_so_many_are_those_that_trial_finds() {
        let gain = [3.0, 1.0, 4.0, 1.5, 5.0, 9.0, 2.6];
        let set_value = |m: &[bool]| {
            let sum: f64 = m.iter().zip(gain).filter(|(m, _)| **m).map(|(_, g)| g).sum();
            vec![100.0 - sum]
        };
        let best = |required: &[bool], most| {
            let judge = SetEvaluation {
                bound: &mut |m| set_value(m),
                set_value: &mut |m| SetValue { values: set_value(m), proved: true },
                even: 1e-6,
            };
            best_of_size(required, most, judge, &never)
        };
        let found = best(&[false; 7], 3);
        assert_eq!(found.members, [false, false, true, false, true, true, false]);
        assert!(found.proved);
        // What must be in it takes the place of another one.
        let required = [false, true, false, false, false, false, false];
        assert_eq!(best(&required, 3).members, [false, true, false, false, true, true, false]);
    }
}
