//! The numbers of the records, and what is taken back.
//!
//! A bench has two logs, of batches and of what was taken from the bottles. Lines are only ever added:
//! what is taken back is named by a later line and stays where it is. Numbers run through both logs
//! together, so that a line that is lost or doubled is seen; lines of older formats, which have none,
//! are numbered by their days.

use std::collections::BTreeMap;
use std::path::Path;

use crate::bench::record_lines::{BatchLine, BottleLine, PourLine, TakenLine};
use crate::files::Diagnostic;
use crate::quantities::Day;

/// A line with its place in its log.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum AnyLine {
    Batch(usize, BatchLine),
    Taken(usize, TakenLine),
}

impl AnyLine {
    /// Whether this is a batch or a verified strength of a later day.
    pub(super) fn is_after(&self, day: Day) -> bool {
        let is_of_bottle =
            matches!(self, Self::Batch(_, BatchLine::Made { .. } | BatchLine::Verified { .. }));
        is_of_bottle && Day::parse(self.day()).is_some_and(|of| of > day)
    }

    /// Its day, when it was recorded, and the record that it takes back or replaces.
    fn said(&self) -> (&str, Option<&str>, Option<u64>) {
        match self {
            Self::Batch(
                _,
                BatchLine::Made { day, at, instead_of, .. }
                | BatchLine::Verified { day, at, instead_of, .. },
            )
            | Self::Taken(
                _,
                TakenLine::Pour(PourLine { day, at, instead_of, .. })
                | TakenLine::Bottle(BottleLine { day, at, instead_of, .. }),
            ) => (day, at.as_deref(), *instead_of),
            Self::Batch(_, BatchLine::Withdrawn { day, at, of, .. }) => {
                (day, at.as_deref(), Some(*of))
            }
            Self::Batch(_, BatchLine::Session { day, at, .. }) => (day, at.as_deref(), None),
        }
    }

    pub(super) fn day(&self) -> &str {
        self.said().0
    }

    /// When it was recorded; nothing in lines of older formats.
    pub(super) fn at(&self) -> Option<&str> {
        self.said().1
    }

    /// The record that it takes back or replaces.
    fn takes_back(&self) -> Option<u64> {
        self.said().2
    }
}

/// A line as it was found: its place in its log, the number that it says it has, and what it says where
/// it can be read.
pub(super) struct FoundLine {
    pub(super) at: usize,
    pub(super) n: Option<u64>,
    pub(super) line: Option<AnyLine>,
}

/// The lines of both logs by their numbers.
#[derive(Default)]
pub(super) struct NumberedLines {
    pub(super) lines: BTreeMap<u64, AnyLine>,
    /// The largest number that any line has, read or not.
    pub(super) last: u64,
    /// What is lost, or there twice; of the latter one counts.
    pub(super) miscounted: Vec<Diagnostic>,
}

/// Brings the lines of both logs into the order of their numbers.
pub(super) fn numbered(logs: [(&Path, Vec<FoundLine>); 2]) -> NumberedLines {
    let mut found = NumberedLines::default();
    // Where each number stands, also of lines that cannot be read.
    let mut places: BTreeMap<u64, (&Path, usize)> = BTreeMap::new();
    let (mut old, mut later) = (Vec::new(), Vec::new());
    // Lines of which not even the number can be read; each may be one that would else be missed.
    let mut unknown = 0_u64;
    for (path, log) in logs {
        let mut before = None;
        for FoundLine { at, n, line } in log {
            match (n, line) {
                (Some(n), _) if places.contains_key(&n) => {
                    found.miscounted.push(doubled(path, at, n));
                }
                (Some(n), line) => {
                    if let Some(last) = before.filter(|last| n < *last) {
                        found.miscounted.push(moved(path, at, (n, last)));
                    }
                    before = Some(n);
                    places.insert(n, (path, at));
                    found.lines.extend(line.map(|line| (n, line)));
                }
                (None, None) => unknown += 1,
                (None, Some(line)) => match before {
                    None => old.push((path, at, line)),
                    // An older program wrote behind a newer one.
                    Some(n) => later.push((n, path, at, line)),
                },
            }
        }
    }
    // Days are written so that their order is that of the letters; what is of one day stays in order.
    old.sort_by(|(_, _, a), (_, _, b)| a.day().cmp(b.day()));
    let old = old.into_iter().map(|(path, at, line)| (0, path, at, line));
    for (behind, path, at, line) in old.chain(later) {
        let mut free = behind.saturating_add(1);
        while places.contains_key(&free) && free < u64::MAX {
            free += 1;
        }
        places.insert(free, (path, at));
        found.lines.insert(free, line);
    }
    for (n, (path, at)) in places {
        let missed = n - found.last - 1;
        let explained = missed.min(unknown);
        unknown -= explained;
        if missed > explained {
            found.miscounted.push(lost(path, at, (found.last + 1 + explained, n - 1)));
        }
        found.last = n;
    }
    found.last = found.last.saturating_add(unknown);
    found
}

fn doubled(path: &Path, at: usize, n: u64) -> Diagnostic {
    let what = format!("line {at} has the number {n}, which was there before");
    Diagnostic::content(what).about(path).remedy(
        "it is not counted; the file was changed by another program: restore it from a copy",
    )
}

fn moved(path: &Path, at: usize, (n, last): (u64, u64)) -> Diagnostic {
    let what = format!("line {at} has the number {n} and stands behind number {last}");
    Diagnostic::content(what)
        .about(path)
        .remedy("it is counted; the file was changed by another program: compare it with a copy")
}

fn lost(path: &Path, at: usize, (first, last): (u64, u64)) -> Diagnostic {
    let what = if first == last {
        format!("record {first} is lost, before line {at}")
    } else {
        format!("records {first} to {last} are lost, before line {at}")
    };
    Diagnostic::content(what)
        .about(path)
        .expected("numbers that run through both logs")
        .remedy("what is lost is not counted; restore the records from a copy that has it")
}

/// Which records are taken back, each with the record that does it. What takes back can itself be
/// taken back, and then does nothing.
pub(super) fn taken_back(lines: &BTreeMap<u64, AnyLine>) -> BTreeMap<u64, u64> {
    let mut back: BTreeMap<u64, u64> = BTreeMap::new();
    for (n, line) in lines.iter().rev() {
        if let Some(of) = line.takes_back().filter(|of| of < n && !back.contains_key(n)) {
            back.insert(of, *n);
        }
    }
    back
}

#[cfg(test)]
mod tests {
    use super::*;

    fn withdrawn(n: u64, of: u64) -> (u64, AnyLine) {
        let day = "2031-01-01".to_owned();
        let line = BatchLine::Withdrawn { v: 3, n: Some(n), at: None, of, day, why: None };
        (n, AnyLine::Batch(0, line))
    }

    #[test]
    fn a_record_taken_back_twice_stands_again() {
        let lines: BTreeMap<u64, AnyLine> = [withdrawn(2, 1), withdrawn(3, 2)].into();
        let back = taken_back(&lines);
        assert_eq!(back, BTreeMap::from([(2, 3)]));
        let lines: BTreeMap<u64, AnyLine> =
            [withdrawn(2, 1), withdrawn(3, 2), withdrawn(4, 3)].into();
        assert_eq!(taken_back(&lines), BTreeMap::from([(3, 4), (1, 2)]));
    }

    #[test]
    fn numbers_run_through_both_logs() {
        let pour = |at: usize, n: Option<u64>| {
            let (day, flight) = ("2031-01-02".to_owned(), "first".to_owned());
            let line = PourLine { v: 3, n, day, flight, ..PourLine::default() };
            FoundLine { at, n, line: Some(AnyLine::Taken(at, TakenLine::Pour(line))) }
        };
        let back = |at: usize, n: u64| FoundLine { at, n: Some(n), line: Some(withdrawn(n, 1).1) };
        let (one, other) = (Path::new("batches"), Path::new("pours"));
        let whole =
            numbered([(one, vec![back(1, 2)]), (other, vec![pour(1, None), pour(2, Some(3))])]);
        assert_eq!(whole.lines.keys().copied().collect::<Vec<_>>(), [1, 2, 3]);
        assert!(whole.miscounted.is_empty() && whole.last == 3);
        let lost = numbered([(one, vec![back(1, 2)]), (other, vec![pour(1, Some(5))])]);
        let titles = |found: &NumberedLines| {
            found.miscounted.iter().map(|d| d.details().title.clone()).collect::<Vec<_>>()
        };
        assert_eq!(
            titles(&lost),
            ["record 1 is lost, before line 1", "records 3 to 4 are lost, before line 1"]
        );
        let unread = FoundLine { at: 1, n: None, line: None };
        let one_unread = numbered([(one, vec![unread]), (other, vec![pour(1, Some(2))])]);
        assert!(one_unread.miscounted.is_empty());
        let twice = numbered([(one, vec![]), (other, vec![pour(1, Some(1)), pour(2, Some(1))])]);
        assert_eq!(titles(&twice), ["line 2 has the number 1, which was there before"]);
        assert_eq!((twice.lines.len(), twice.last), (1, 1));
    }
}
