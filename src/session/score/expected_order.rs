//! An order of the waters that was expected before anyone tasted, so that a test may count on it.

use crate::session::score::ScoreLog;
use crate::session::score::{Entry, Line};

/// Whether an expected order can be counted on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OrderStatus {
    /// It was entered before the first answer, and names every water once.
    Counts,
    /// It was noted after the first answer.
    TooLate,
    /// It does not name every water of the session once.
    NotAllWaters,
    /// It is of something that the session does not judge.
    NotJudged,
    /// Another order of the same thing was entered before, and that one counts.
    NotTheFirst,
}

/// An expected order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExpectedOrder {
    /// The attribute or criterion; nothing in a note that names none, which is then of all.
    pub of: Option<String>,
    /// The waters as they were named, most first.
    pub named: Vec<String>,
    /// Their places among the waters of the session; empty unless it names them all.
    pub order: Vec<usize>,
    /// Whether it counts, whatever it is of.
    pub status: OrderStatus,
}

/// The orders expected in a log. Of each thing the last one before the first answer counts. Logs of
/// earlier programs hold them as notes: `foretold: hard > middle > soft`, or for one of several
/// attributes `foretold body: hard > middle > soft`.
#[must_use]
pub fn expected_orders(score_log: &ScoreLog, waters: &[String]) -> Vec<ExpectedOrder> {
    let first = score_log.first_answer();
    let mut found = Vec::new();
    for line in score_log.standing() {
        let (of, named) = match &line.entry {
            Entry::ExpectedOrder { of, order } => (Some(of.clone()), order.clone()),
            Entry::Note { text, .. } => match in_note(text) {
                Some(noted) => noted,
                None => continue,
            },
            _ => continue,
        };
        let places: Option<Vec<usize>> =
            named.iter().map(|name| waters.iter().position(|water| water == name)).collect();
        let order = places.filter(|order| {
            let mut once = order.clone();
            once.sort_unstable();
            once.dedup();
            once.len() == waters.len() && order.len() == waters.len()
        });
        let status = match (&order, first) {
            (None, _) => OrderStatus::NotAllWaters,
            (Some(_), Some(first)) if line.n > first => OrderStatus::TooLate,
            (Some(_), _) => OrderStatus::Counts,
        };
        // A mind changed before the tasting is no second test: the later order takes the place.
        if status == OrderStatus::Counts {
            found.retain(|earlier: &ExpectedOrder| {
                earlier.status != OrderStatus::Counts || earlier.of != of
            });
        }
        found.push(ExpectedOrder { of, named, order: order.unwrap_or_default(), status });
    }
    found
}

/// The things that a session judges beside the orders expected of them, and how each order stands
/// there: of each thing only the first order that counts is tested, since a second would be a second
/// try. An order without a name is of all things.
///
/// ```
/// use waterflight::session::score::expected_order::{ExpectedOrder, OrderStatus, of_attributes};
/// let order = |of: Option<&str>| ExpectedOrder {
///     of: of.map(str::to_owned),
///     named: vec!["hard".into(), "soft".into()],
///     order: vec![1, 0],
///     status: OrderStatus::Counts,
/// };
/// let orders = [order(Some("body")), order(None), order(Some("boddy"))];
/// let found = of_attributes(&orders, &["body", "finish"]);
/// let stands: Vec<_> = found.iter().map(|(of, _, status)| (of.as_str(), *status)).collect();
/// assert_eq!(
///     stands,
///     [
///         ("body", OrderStatus::Counts),
///         ("body", OrderStatus::NotTheFirst),
///         ("finish", OrderStatus::Counts),
///         ("boddy", OrderStatus::NotJudged),
///     ]
/// );
/// ```
#[must_use]
pub fn of_attributes<'a>(
    expected_orders: &'a [ExpectedOrder],
    judged: &[&str],
) -> Vec<(String, &'a ExpectedOrder, OrderStatus)> {
    let mut found: Vec<(String, &ExpectedOrder, OrderStatus)> = Vec::new();
    for order in expected_orders {
        let own: Vec<&str> = match &order.of {
            Some(of) if !judged.contains(&of.as_str()) => {
                found.push((of.clone(), order, OrderStatus::NotJudged));
                continue;
            }
            Some(of) => vec![of],
            None => judged.to_vec(),
        };
        for thing in own {
            let taken = found.iter().any(|(of, _, s)| of == thing && *s == OrderStatus::Counts);
            let status = match order.status {
                OrderStatus::Counts if taken => OrderStatus::NotTheFirst,
                status => status,
            };
            found.push((thing.to_owned(), order, status));
        }
    }
    found
}

/// The expected order in a note of an earlier program, if it is one: what it is of, and the waters.
pub(crate) fn in_note(text: &str) -> Option<(Option<String>, Vec<String>)> {
    let (head, order) = text.trim().strip_prefix("foretold")?.split_once(':')?;
    let of = head.trim();
    let named = order.split('>').map(|name| name.trim().to_owned()).collect();
    Some(((!of.is_empty()).then(|| of.to_owned()), named))
}

/// Whether words put two of some waters in an order, one before and one behind a `>` or `<`.
///
/// ```
/// use waterflight::session::score::expected_order::orders_waters;
/// let waters = ["soft", "middle, all calcium"];
/// assert!(orders_waters("expected: Soft > middle, all calcium", &waters));
/// assert!(!orders_waters("the soft one has > 3 bubbles", &waters));
/// ```
#[must_use]
pub fn orders_waters<S: AsRef<str>>(words: &str, waters: &[S]) -> bool {
    let words = words.to_lowercase();
    let waters: Vec<String> = waters.iter().map(|w| w.as_ref().to_lowercase()).collect();
    let is_letter = |c: char| c.is_alphanumeric();
    let pieces: Vec<&str> = words.split(['>', '<']).map(str::trim).collect();
    pieces.windows(2).any(|pair| {
        let [before, behind] = pair else { return false };
        let ends = |water: &String| {
            before.strip_suffix(water.as_str()).is_some_and(|rest| !rest.ends_with(is_letter))
        };
        let begins = |water: &String| {
            behind.strip_prefix(water.as_str()).is_some_and(|rest| !rest.starts_with(is_letter))
        };
        waters.iter().any(ends) && waters.iter().any(begins)
    })
}

/// What stands in the place of an expected order as long as it is not shown.
const SHOWN_LATER: &str = "an expected order, shown after the reveal";

impl ScoreLog {
    /// A line as it may be shown now. An expected order names waters, and a taster who reads it expects
    /// it too, so it is shown after the reveal.
    #[must_use]
    pub fn shown(&self, line: &Line) -> Line {
        let mut shown = line.clone();
        if self.revealed_in().is_none() {
            match &mut shown.entry {
                Entry::ExpectedOrder { order, .. } => order.clear(),
                Entry::Note { text, .. } if in_note(text).is_some() => {
                    SHOWN_LATER.clone_into(text);
                }
                _ => {}
            }
        }
        shown
    }
}

#[cfg(test)]
mod tests {
    use super::{in_note, orders_waters};

    #[test]
    fn a_note_is_an_expected_order_only_in_its_form() {
        let named = |names: &[&str]| names.iter().map(|n| (*n).to_owned()).collect::<Vec<_>>();
        assert_eq!(in_note("foretold: a > b, with c"), Some((None, named(&["a", "b, with c"]))));
        assert_eq!(
            in_note(" foretold body: a>b"),
            Some((Some("body".to_owned()), named(&["a", "b"])))
        );
        assert_eq!(in_note("the first brew ran long"), None);
        assert_eq!(in_note("foretold by nobody"), None);
    }

    #[test]
    fn words_that_order_two_waters_are_told_from_other_words() {
        let waters = ["soft", "Middle", "hard water"];
        for words in [
            "soft>middle",
            "expected: soft > middle",
            "I say middle < hard water!",
            "body:soft > hard water > x",
        ] {
            assert!(orders_waters(words, &waters), "{words}");
        }
        for words in [
            "",
            ">",
            "soft",
            "soft > ",
            "softer > middle",
            "soft > middleton",
            "317 > 542",
            "soft, then middle",
        ] {
            assert!(!orders_waters(words, &waters), "{words}");
        }
    }
}
