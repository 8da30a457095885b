//! The orders of the tests that compare two waters, each order used equally often.

use crate::session::plan::Draw;
use crate::session::plan::{DuoTrioReference, Method};

/// One tray of a test: which of the two waters stands at each place, and which is held up as the
/// reference, 0 the first water of the pair and 1 the second.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TestOrder {
    /// Water of the pair at each place.
    pub cups: Vec<usize>,
    /// Water of the reference cup, where the test has one.
    pub reference: Option<usize>,
}

/// All orders of a test; none for scoring and ranking.
///
/// ```
/// use waterflight::session::plan::Method;
/// use waterflight::session::plan::pair_orders::orders;
/// assert_eq!(orders(&Method::Triangle).len(), 6);
/// assert_eq!(orders(&Method::Tetrad).len(), 6);
/// ```
#[must_use]
pub fn orders(method: &Method) -> Vec<TestOrder> {
    let set = |cups: &[usize]| TestOrder { cups: cups.to_vec(), reference: None };
    match method {
        Method::Scoring { .. } | Method::Ranking { .. } => Vec::new(),
        Method::Triangle => [[0, 0, 1], [0, 1, 0], [1, 0, 0], [0, 1, 1], [1, 0, 1], [1, 1, 0]]
            .iter()
            .map(|cups| set(cups))
            .collect(),
        Method::Tetrad => {
            [[0, 0, 1, 1], [0, 1, 0, 1], [0, 1, 1, 0], [1, 0, 0, 1], [1, 0, 1, 0], [1, 1, 0, 0]]
                .iter()
                .map(|cups| set(cups))
                .collect()
        }
        Method::Paired { .. } => [[0, 1], [1, 0]].iter().map(|cups| set(cups)).collect(),
        Method::DuoTrio { reference } => {
            let references: &[usize] = match reference {
                DuoTrioReference::Constant => &[0],
                DuoTrioReference::Balanced => &[0, 1],
            };
            references
                .iter()
                .flat_map(|&held| {
                    [[0, 1], [1, 0]]
                        .map(|cups| TestOrder { cups: cups.to_vec(), reference: Some(held) })
                })
                .collect()
        }
    }
}

/// `count` sets, every order used equally often, give or take one, in a random succession.
#[must_use]
pub fn drawn_sets(method: &Method, count: usize, draw: &mut Draw) -> Vec<TestOrder> {
    let all = orders(method);
    let mut sets = Vec::with_capacity(count);
    while sets.len() < count && !all.is_empty() {
        let mut batch = all.clone();
        draw.shuffle(&mut batch);
        batch.truncate(count - sets.len());
        sets.extend(batch);
    }
    sets
}
