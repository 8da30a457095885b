//! An order of waters foretold before anyone tasted: a note in the log that a test may count on.

use crate::session::score::Entry;
use crate::session::score::{ScoreLog, Status};

/// Whether a foretold order can be counted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OrderStatus {
    /// It was noted before the first answer, and names every water once.
    Counts,
    /// It was noted after the first answer.
    TooLate,
    /// It does not name every water of the session once.
    NotAllWaters,
    /// It speaks of something that the session does not judge.
    NothingOfThatName,
    /// An order of the same thing was foretold before, and that one counts.
    NotTheFirst,
}

/// An order foretold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExpectedOrder {
    /// The attribute it speaks of; nothing where there is only one thing to judge by.
    pub of: Option<String>,
    /// The waters as they were named, most first.
    pub named: Vec<String>,
    /// Their places among the waters of the session; empty unless it names them all.
    pub order: Vec<usize>,
    /// Whether it counts, whatever it speaks of.
    pub standing: OrderStatus,
}

/// The orders foretold in a log: notes such as `expected_order: hard > middle > soft`, or for one of several
/// `foretold body: hard > middle > soft`. The last one before the first answer counts.
#[must_use]
pub fn expected_order(score_log: &ScoreLog, waters: &[String]) -> Vec<ExpectedOrder> {
    let is_answer = |entry: &Entry| matches!(entry, Entry::Answer(_) | Entry::Late { .. });
    let first = score_log.lines().iter().find(|r| is_answer(&r.line.entry)).map(|r| r.line.n);
    let mut found = Vec::new();
    for recorded in score_log.lines().iter().filter(|r| r.status == Status::Stands) {
        let Entry::Note { text, .. } = &recorded.line.entry else { continue };
        let Some((of, named)) = read(text) else { continue };
        let places: Option<Vec<usize>> =
            named.iter().map(|name| waters.iter().position(|water| water == name)).collect();
        let order = places.filter(|order| {
            let mut once = order.clone();
            once.sort_unstable();
            once.dedup();
            once.len() == waters.len() && order.len() == waters.len()
        });
        let standing = match (&order, first) {
            (None, _) => OrderStatus::NotAllWaters,
            (Some(_), Some(first)) if recorded.line.n > first => OrderStatus::TooLate,
            (Some(_), _) => OrderStatus::Counts,
        };
        // A mind changed before the tasting is no second test: the later note takes the place.
        if standing == OrderStatus::Counts {
            found.retain(|earlier: &ExpectedOrder| {
                earlier.standing != OrderStatus::Counts || earlier.of != of
            });
        }
        found.push(ExpectedOrder { of, named, order: order.unwrap_or_default(), standing });
    }
    found
}

/// The things that a session judges beside the orders foretold of them, and how each order stands
/// there: of each thing only the first order that counts is tested, since a second would be a second
/// try. An order without a name speaks of all things.
///
/// ```
/// use waterflight::session::score::expected_order::{ExpectedOrder, OrderStatus, of_judged};
/// let order = |of: Option<&str>| ExpectedOrder {
///     of: of.map(str::to_owned),
///     named: vec!["hard".into(), "soft".into()],
///     order: vec![1, 0],
///     standing: OrderStatus::Counts,
/// };
/// let notes = [order(Some("body")), order(None), order(Some("boddy"))];
/// let found = of_judged(&notes, &["body", "finish"]);
/// let stands: Vec<_> = found.iter().map(|(of, _, standing)| (of.as_str(), *standing)).collect();
/// assert_eq!(
///     stands,
///     [
///         ("body", OrderStatus::Counts),
///         ("body", OrderStatus::NotTheFirst),
///         ("finish", OrderStatus::Counts),
///         ("boddy", OrderStatus::NothingOfThatName),
///     ]
/// );
/// ```
#[must_use]
pub fn of_judged<'a>(
    expected_order: &'a [ExpectedOrder],
    judged: &[&str],
) -> Vec<(String, &'a ExpectedOrder, OrderStatus)> {
    let mut found: Vec<(String, &ExpectedOrder, OrderStatus)> = Vec::new();
    for order in expected_order {
        let own: Vec<&str> = match &order.of {
            Some(of) if !judged.contains(&of.as_str()) => {
                found.push((of.clone(), order, OrderStatus::NothingOfThatName));
                continue;
            }
            Some(of) => vec![of],
            None => judged.to_vec(),
        };
        for thing in own {
            let taken = found.iter().any(|(of, _, s)| of == thing && *s == OrderStatus::Counts);
            let standing = match order.standing {
                OrderStatus::Counts if taken => OrderStatus::NotTheFirst,
                standing => standing,
            };
            found.push((thing.to_owned(), order, standing));
        }
    }
    found
}

/// What stands in the place of an order foretold until the reveal: it names waters, and whoever tastes
/// may read the log.
pub const HIDDEN_ORDER: &str = "an order was foretold; it is shown after the reveal";

/// Whether a note foretells an order.
#[must_use]
pub fn foretells(text: &str) -> bool {
    read(text).is_some()
}

/// What a note foretells, if it does.
fn read(text: &str) -> Option<(Option<String>, Vec<String>)> {
    let (head, order) = text.trim().strip_prefix("foretold")?.split_once(':')?;
    let of = head.trim();
    let named = order.split('>').map(|name| name.trim().to_owned()).collect();
    Some(((!of.is_empty()).then(|| of.to_owned()), named))
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn a_note_foretells_only_in_its_form() {
        let named = |names: &[&str]| names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>();
        assert_eq!(read("foretold: a > b, with c"), Some((None, named(&["a", "b, with c"]))));
        assert_eq!(
            read(" foretold body: a>b"),
            Some((Some("body".to_owned()), named(&["a", "b"])))
        );
        assert_eq!(read("the first brew ran long"), None);
        assert_eq!(read("foretold by nobody"), None);
    }
}
