//! The search for subsets: of the stocks that a flight opens, of the goals that conflict, of the salts
//! of a recipe, of the salts of a bottle.
//!
//! [`by_size`] lists them where all are looked at, [`first_by_size`] finds the smallest that is
//! wanted without looking at most, [`fewest`] and [`best_of_size`] are for sets that are dear to
//! look at, [`smallest_ranked`] lists the best that nothing can be left out of and [`fewest_parts`]
//! divides a whole set.
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

/// A subset of few things as a bit mask.
pub type Mask = u32;

/// All subsets of so many things (fewer than 32), the smallest first.
///
/// ```
/// use waterflight::planner::subset::by_size;
/// assert_eq!(by_size(2).collect::<Vec<_>>(), [0b00, 0b01, 0b10, 0b11]);
/// assert_eq!(by_size(3).skip(4).collect::<Vec<_>>(), [0b011, 0b101, 0b110, 0b111]);
/// ```
pub fn by_size(things: usize) -> impl Iterator<Item = Mask> {
    let end = 1_u64 << things.min(31);
    (0..=things.min(31))
        .flat_map(move |size| {
            // The next larger number with as many bits (Gosper; from memory).
            let next = |mask: &u64| {
                let lowest = mask & mask.wrapping_neg();
                let carried = mask + lowest;
                (lowest > 0).then(|| (((carried ^ mask) >> 2) / lowest) | carried)
            };
            std::iter::successors(Some((1_u64 << size) - 1), next)
                .take_while(move |mask| *mask < end)
        })
        .map(|mask| Mask::try_from(mask).unwrap_or_default())
}

/// The members of a mask among so many things.
#[must_use]
pub fn members(mask: Mask, things: usize) -> Members {
    (0..things).map(|j| j < 32 && mask >> j & 1 == 1).collect()
}

/// What was found of a subset.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Probe {
    /// It is what is sought, and so is every larger one.
    Sought,
    /// Neither it nor this larger one is, nor any subset of that.
    Within(Mask),
}

/// The smallest subset that is sought, the first of its size in the order of [`by_size`].
///
/// # Errors
/// Whatever `probe` says.
pub fn first_by_size<E>(
    things: usize,
    mut probe: impl FnMut(Mask) -> Result<Probe, E>,
) -> Result<Option<Mask>, E> {
    let mut ruled_out: Vec<Mask> = Vec::new();
    for mask in by_size(things) {
        if ruled_out.iter().any(|larger| mask & !larger == 0) {
            continue;
        }
        match probe(mask)? {
            Probe::Sought => return Ok(Some(mask)),
            Probe::Within(larger) => ruled_out.push(larger | mask),
        }
    }
    Ok(None)
}

/// The subsets that serve and that nothing can be left out of, the best first. `look` gives what is found
/// with a set allowed and which of its things that uses, or nothing where the set does not serve; a
/// larger set must serve as well and give nothing worse. Each set looked at leaves out a thing that the
/// best of a larger one uses (Lawler, Management Science 18 (1972) 401–405; from memory).
///
/// # Errors
/// Whatever `look` says.
pub fn smallest_ranked<T, E>(
    things: usize,
    most: usize,
    mut look: impl FnMut(&[bool]) -> Result<Option<(T, Vec<usize>)>, E>,
    order: impl Fn(&T, &T) -> std::cmp::Ordering,
) -> Result<Vec<T>, E> {
    // Open sets, each with the best in it: whatever is not listed yet lies in one of them.
    let mut open: Vec<(Members, T, Vec<usize>)> = Vec::new();
    let mut tried: Vec<Members> = Vec::new();
    let mut seen: Vec<Vec<usize>> = Vec::new();
    let mut found: Vec<T> = Vec::new();
    let everything = vec![true; things];
    open.extend(look(&everything)?.map(|(best, used)| (everything, best, used)));
    while found.len() < most {
        let best = open.iter().enumerate().min_by(|a, b| order(&a.1.1, &b.1.1)).map(|(n, _)| n);
        let Some(best) = best else { break };
        let (members, item, used) = open.swap_remove(best);
        for &j in &used {
            let mut fewer = members.clone();
            fewer[j] = false;
            if tried.contains(&fewer) {
                continue;
            }
            tried.push(fewer.clone());
            open.extend(look(&fewer)?.map(|(best, used)| (fewer, best, used)));
        }
        if seen.contains(&used) {
            continue;
        }
        let mut is_smallest = true;
        for j in &used {
            let fewer: Members = (0..things).map(|k| k != *j && used.contains(&k)).collect();
            is_smallest = is_smallest && look(&fewer)?.is_none();
        }
        seen.push(used);
        if is_smallest {
            found.push(item);
        }
    }
    Ok(found)
}

/// The fewest parts that a whole set can be divided into, among equals those that cost least. `costs`
/// holds what each subset costs as a part, by its mask; none where it cannot be one. `None` where
/// there is no division.
///
/// ```
/// use waterflight::planner::subset::fewest_parts;
/// // the third thing goes with no other
/// let costs = [None, Some(0), Some(0), Some(0), Some(0), None, None, None];
/// assert_eq!(fewest_parts(&costs), Some(vec![0b011, 0b100]));
/// ```
#[must_use]
pub fn fewest_parts(costs: &[Option<u32>]) -> Option<Vec<usize>> {
    // By set: parts, their cost, and the part of its first thing.
    let mut best: Vec<Option<(u32, u32, usize)>> = vec![Some((0, 0, 0))];
    for set in 1..costs.len() {
        let lowest = set & set.wrapping_neg();
        let mut found: Option<(u32, u32, usize)> = None;
        let mut first = set;
        while first > 0 {
            let rest = best.get(set ^ first).copied().flatten();
            if let (true, Some(cost), Some((parts, others, _))) =
                (first & lowest != 0, costs[first], rest)
                && found.is_none_or(|(p, c, _)| (parts + 1, others + cost) < (p, c))
            {
                found = Some((parts + 1, others + cost, first));
            }
            first = (first - 1) & set;
        }
        best.push(found);
    }
    let mut parts = Vec::new();
    let mut set = costs.len().checked_sub(1)?;
    while set > 0 {
        let (_, _, first) = best.get(set).copied().flatten()?;
        parts.push(first);
        set ^= first;
    }
    Some(parts)
}

/// The fewest of `stocks` stocks for which `serves` holds; it must hold for all of them together.
/// Those that are `required` are in every set, and count.
///
/// ```
/// use waterflight::planner::subset::{fewest, size};
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
    time_is_up: TimeIsUp<'_>,
) -> Chosen {
    let stocks = required.len();
    let mut clauses: Vec<Vec<usize>> = Vec::new();
    // A set that serves at hand, should time run out: drop what can be dropped.
    let mut fallback = vec![true; stocks];
    for j in (0..stocks).filter(|j| !required[*j]) {
        fallback[j] = false;
        if time_is_up() || !serves(&fallback) {
            fallback[j] = true;
        }
    }
    let mut at_least = size(required);
    loop {
        let mut hit = required.to_vec();
        let mut best = vec![true; stocks];
        if !smallest_hit(&clauses, &mut hit, &mut best, time_is_up) {
            return Chosen { members: fallback, proved: false, at_least };
        }
        at_least = size(&best);
        if at_least >= size(&fallback) {
            return Chosen { members: fallback, proved: true, at_least };
        }
        if time_is_up() {
            return Chosen { members: fallback, proved: false, at_least };
        }
        if serves(&best) {
            return Chosen { members: best, proved: true, at_least };
        }
        let mut failing = best;
        for j in 0..stocks {
            if !failing[j] && !time_is_up() {
                failing[j] = true;
                if serves(&failing) {
                    failing[j] = false;
                }
            }
        }
        clauses.push((0..stocks).filter(|j| !failing[*j]).collect());
    }
}

/// The smallest set that has a member in every clause, by depth-first search; false when time ended
/// it. Clauses that have no stock in common need one each: that is what a node costs at least.
fn smallest_hit(
    clauses: &[Vec<usize>],
    hit: &mut Members,
    best: &mut Members,
    time_is_up: TimeIsUp<'_>,
) -> bool {
    let mut needed = size(hit);
    let mut taken = hit.clone();
    for clause in clauses {
        if !clause.iter().any(|j| taken[*j]) {
            needed += 1;
            for j in clause {
                taken[*j] = true;
            }
        }
    }
    if needed >= size(best) {
        return true;
    }
    if time_is_up() {
        return false;
    }
    let open = clauses
        .iter()
        .filter(|clause| !clause.iter().any(|j| hit[*j]))
        .min_by_key(|clause| clause.len());
    let Some(clause) = open else {
        best.clone_from(hit);
        return true;
    };
    clause.iter().all(|&j| {
        hit[j] = true;
        let complete = smallest_hit(clauses, hit, best, time_is_up);
        hit[j] = false;
        complete
    })
}

/// The value of a set: values to be made least, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct SetValue {
    /// What was reached.
    pub values: Vec<f64>,
    /// Whether it is proved that the set gives nothing better.
    pub proved: bool,
}

/// How sets are looked at: a bound that is quick, and the value itself.
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
    evaluation: SetEvaluation<'a>,
    time_is_up: TimeIsUp<'a>,
) -> Chosen {
    let mut search = Sized { most, best: None, proved: true, time_is_up, evaluation };
    search.branch(required, &vec![true; required.len()]);
    let members = search.best.map_or_else(|| required.to_vec(), |(members, _)| members);
    Chosen { members, proved: search.proved, at_least: 0 }
}

struct Sized<'a> {
    most: usize,
    best: Option<(Members, Vec<f64>)>,
    proved: bool,
    time_is_up: TimeIsUp<'a>,
    evaluation: SetEvaluation<'a>,
}

impl Sized<'_> {
    /// `inside` is decided, `possible` holds it and what may still join.
    fn branch(&mut self, inside: &[bool], possible: &[bool]) {
        let full = size(inside) >= self.most;
        let candidate = if full { inside } else { possible };
        let bound = (self.evaluation.bound)(candidate);
        let even = self.evaluation.even;
        if self.best.as_ref().is_some_and(|(_, best)| !less(&bound, best, even)) {
            return;
        }
        if self.best.is_some() && (self.time_is_up)() {
            self.proved = false;
            return;
        }
        if full || size(possible) <= self.most {
            let set_value = (self.evaluation.set_value)(candidate);
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
        // What does not serve is endlessly far off; anything is less than that, and it is no measure.
        let size = if b.is_finite() { b } else { a }.abs().max(1.0);
        if (a - b).abs() > even * size {
            return a < b;
        }
    }
    values.len() < than.len()
}

#[cfg(test)]
#[path = "subset_tests.rs"]
mod tests;
