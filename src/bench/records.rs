//! What the tool records beside the user's own files: batches as they were weighed, and pours.
//! Each is a log of one JSON object per line in the folder `records`; lines are only ever added.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;

use crate::bench::history::{HistoryLine, What};
use crate::bench::record_lines::{
    BATCHES_FORMAT, BatchLine, POURS_FORMAT, RecordLine, TakenLine, batch_of, not_a_record,
    number_of, parsed, verified_of,
};
pub use crate::bench::record_lines::{BottleChange, BottleLine, PourLine, PouredVolume};
use crate::bench::record_numbers::{AnyLine, FoundLine, NumberedLines, numbered, taken_back};
pub use crate::bench::record_writer::{
    NewPour, PouredBefore, add_batch, add_bottle, add_pour, add_session_pour, add_verified,
    session_may_be_poured, take_back, take_session_back,
};
use crate::files::append::Log;
use crate::files::{Diagnostic, Fault, append};
use crate::quantities::Day;
use crate::stock::{Batch, Verified};

/// Everything recorded on a bench that can be read, and what is wrong with the rest.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// All batches, in the order in which they were recorded, with their verifications.
    pub batches: Vec<Batch>,
    /// All pours.
    pub pours: Vec<PourLine>,
    /// What else happened to bottles, with the numbers of the records.
    pub bottles: Vec<(u64, BottleLine)>,
    /// Sessions that were taken back.
    pub withdrawn_sessions: Vec<String>,
    /// Every record in order, whether it stands or not.
    pub history: Vec<HistoryLine>,
    /// Logs that end in a piece of a line.
    pub torn: Vec<PathBuf>,
    /// Lines of the log of batches that cannot be read: any of them may be the newest batch of a stock.
    pub unread_batches: Vec<Diagnostic>,
    /// Lines of the log of pours that cannot be read.
    pub unread_pours: Vec<Diagnostic>,
    /// Lines of either log that are lost, or there twice; of the latter one counts.
    pub miscounted: Vec<Diagnostic>,
    /// The largest number of a record, whether that can be read or not.
    pub(super) last_number: u64,
    /// Why nothing can be recorded: a log that cannot be read at all has numbers that nobody knows.
    pub(super) closed: Option<Diagnostic>,
}

/// Places of batches among all, by stock and number.
type Numbers = BTreeMap<String, BTreeMap<u32, usize>>;

pub(super) fn folder(root: &Path) -> PathBuf {
    root.join("records")
}

/// The log of batches of a bench.
#[must_use]
pub fn batches_path(root: &Path) -> PathBuf {
    folder(root).join("batches.jsonl")
}

/// The log of pours of a bench.
#[must_use]
pub fn pours_path(root: &Path) -> PathBuf {
    folder(root).join("pours.jsonl")
}

impl Records {
    /// Reads what was recorded on a bench; a bench without records has none. A line that is no record, or
    /// a log that cannot be read at all, is kept apart, so that it stops only what needs it.
    ///
    /// # Errors
    /// When `records` is there and is no folder.
    pub fn read(root: &Path) -> Result<Self, Diagnostic> {
        Self::read_as_of(root, None)
    }

    /// The same without the batches that were made and the strengths that were verified after a day.
    pub(super) fn read_as_of(root: &Path, until: Option<Day>) -> Result<Self, Diagnostic> {
        if folder(root).exists() && !folder(root).is_dir() {
            return Err(Diagnostic::new(Fault::Missing, "this is no folder")
                .about(folder(root))
                .remedy("move it away: the records of the bench stand in a folder of that name"));
        }
        let mut records = Self::default();
        let (batches, pours) = (batches_path(root), pours_path(root));
        let of_batches = FoundLog::read(&batches, BATCHES_FORMAT, AnyLine::Batch);
        let of_pours = FoundLog::read(&pours, POURS_FORMAT, AnyLine::Taken);
        for (path, log) in [(&batches, &of_batches), (&pours, &of_pours)] {
            records.torn.extend(log.is_torn.then(|| path.clone()));
            records.closed = records.closed.take().or_else(|| log.closed.clone());
        }
        records.unread_batches = of_batches.unread;
        records.unread_pours = of_pours.unread;
        let NumberedLines { lines, last, miscounted } =
            numbered([(&batches, of_batches.lines), (&pours, of_pours.lines)]);
        (records.last_number, records.miscounted) = (last, miscounted);
        let back = taken_back(&lines);
        let mut numbers = Numbers::new();
        for (n, line) in lines {
            let history = HistoryLine::new(n, &line, back.get(&n).copied());
            let is_batch = matches!(line, AnyLine::Batch(..));
            let counts = !back.contains_key(&n) && until.is_none_or(|day| !line.is_after(day));
            match records.take(root, n, line, (counts, until, &mut numbers)) {
                Ok(()) => records.history.push(history),
                Err(wrong) if is_batch => records.unread_batches.push(wrong),
                Err(wrong) => records.unread_pours.push(wrong),
            }
        }
        // A batch that takes the place of an earlier one stands where that one stood.
        records.batches.sort_by_key(|batch| batch.number);
        Ok(records)
    }

    /// Everything that is wrong with the records.
    pub fn damage(&self) -> impl Iterator<Item = &Diagnostic> {
        self.unread_batches.iter().chain(&self.unread_pours).chain(&self.miscounted)
    }

    /// The newest batch of a stock.
    #[must_use]
    pub fn newest(&self, stock: &str) -> Option<&Batch> {
        self.batches.iter().rev().find(|b| b.stock == stock)
    }

    /// The record of a number.
    ///
    /// # Errors
    /// When there is none, or it does not stand.
    pub fn standing(&self, n: u64) -> Result<&HistoryLine, Diagnostic> {
        let found = self.history.iter().find(|line| line.n == n).ok_or_else(|| {
            Diagnostic::choice(format!("there is no record {n}"))
                .expected(match self.history.last() {
                    Some(last) => format!("a number from 1 to {}", last.n),
                    None => "nothing is recorded yet".to_owned(),
                })
                .remedy("`waterflight log` lists the records")
        })?;
        match found.taken_back_by {
            None => Ok(found),
            Some(by) => {
                Err(Diagnostic::choice(format!("record {n} was taken back by record {by} already"))
                    .remedy(format!("`waterflight undo {by}` lets it stand again")))
            }
        }
    }

    /// What of a batch was taken, spilled or found missing, mL, up to a day where one is given; `made_ml` is
    /// what was made. What was found in a bottle on a day is less by what was poured later, in whatever
    /// order the two were entered; on one day the order of entry decides.
    #[must_use]
    pub fn used_ml(&self, stock: &str, batch: u32, made_ml: f64, until: Option<Day>) -> f64 {
        let until = until.map(|day| day.to_string());
        let is_past = |day: &str| until.as_deref().is_none_or(|until| day <= until);
        let mut steps: Vec<((&str, u64), BottleChange)> = Vec::new();
        for pour in self.pours.iter().filter(|pour| is_past(&pour.day)) {
            let mine = pour.taken.iter().filter(|t| t.stock == stock && t.batch == batch);
            let at = || (pour.day.as_str(), self.first_entered(pour.n.unwrap_or(0)));
            steps.extend(mine.map(|t| (at(), BottleChange::SpilledMl(t.ml))));
        }
        let mine = self.bottles.iter().filter(|(_, b)| b.stock == stock && b.batch == batch);
        let mine = mine.filter(|(_, b)| is_past(&b.day));
        steps.extend(mine.map(|(n, b)| ((b.day.as_str(), self.first_entered(*n)), b.change)));
        steps.sort_by(|a, b| a.0.cmp(&b.0));
        steps.iter().fold(0.0, |used, (_, change)| match change {
            BottleChange::SpilledMl(ml) => used + ml,
            BottleChange::LeftMl(ml) => made_ml - ml,
            BottleChange::ThrownAway => made_ml,
        })
    }

    /// The number under which a record was entered first: one that takes the place of another stands there.
    fn first_entered(&self, n: u64) -> u64 {
        let mut first = n;
        while let Some(before) = self
            .history
            .binary_search_by_key(&first, |line| line.n)
            .ok()
            .and_then(|at| self.history.get(at))
            .and_then(|line| line.instead_of)
            .filter(|before| *before < first)
        {
            first = before;
        }
        first
    }

    fn take(
        &mut self,
        root: &Path,
        n: u64,
        line: AnyLine,
        (counts, until, numbers): (bool, Option<Day>, &mut Numbers),
    ) -> Result<(), Diagnostic> {
        match line {
            AnyLine::Batch(at, line) => self
                .take_batch(line, (counts, until), numbers)
                .ok_or_else(|| not_a_record(&batches_path(root), at)),
            AnyLine::Taken(at, line) if !line.is_sound() => {
                Err(not_a_record(&pours_path(root), at))
            }
            AnyLine::Taken(..) if !counts => Ok(()),
            AnyLine::Taken(_, TakenLine::Pour(pour)) => {
                self.pours.push(PourLine { n: Some(n), ..pour });
                Ok(())
            }
            AnyLine::Taken(_, TakenLine::Bottle(bottle)) => {
                self.bottles.push((n, bottle));
                Ok(())
            }
        }
    }

    fn take_batch(
        &mut self,
        line: BatchLine,
        (counts, until): (bool, Option<Day>),
        numbers: &mut Numbers,
    ) -> Option<()> {
        match line {
            BatchLine::Verified { stock, batch, day, g_per_kg, standard_g_per_kg, .. } => {
                let verified = verified_of(&day, g_per_kg, standard_g_per_kg)?;
                let place = numbers.get(&stock).and_then(|of| of.get(&batch)).copied();
                match place.and_then(|n| self.batches.get_mut(n)) {
                    Some(found) if counts => found.verified = Some(verified),
                    Some(_) => {}
                    // Its batch may have been taken back; one that was never made is no record.
                    None => {
                        let was_made = |line: &HistoryLine| matches!(&line.what, What::Batch { stock: s, batch: b, .. } if *s == stock && *b == batch);
                        return self.history.iter().any(was_made).then_some(());
                    }
                }
            }
            made @ BatchLine::Made { instead_of, .. } => {
                let batch = batch_of(made)?;
                if counts {
                    // What was verified of the bottle was measured, whatever was weighed into it.
                    let verified = instead_of.and_then(|of| {
                        let same = self.verified_of(of, until)?;
                        (same.0 == batch.stock && same.1 == batch.number).then_some(same.2)
                    });
                    let of_stock = numbers.entry(batch.stock.clone()).or_default();
                    // Of two with one number the first counts.
                    of_stock.entry(batch.number).or_insert(self.batches.len());
                    self.batches.push(Batch { verified, ..batch });
                }
            }
            BatchLine::Withdrawn { day, .. } => drop(Day::parse(&day)?),
            BatchLine::Session { session, withdrawn, .. } => {
                self.withdrawn_sessions.retain(|name| *name != session);
                if withdrawn && counts {
                    self.withdrawn_sessions.push(session);
                }
            }
        }
        Some(())
    }

    /// The last verification that stands of the batch of a record, up to a day where one is given.
    fn verified_of(&self, record: u64, until: Option<Day>) -> Option<(String, u32, Verified)> {
        let line = self.history.iter().find(|line| line.n == record)?;
        let What::Batch { stock, batch, .. } = &line.what else { return None };
        let mut verified = self.history.iter().rev().filter(|l| l.taken_back_by.is_none());
        verified.find_map(|line| match &line.what {
            What::Verified { stock: s, batch: b, verified }
                if s == stock && b == batch && until.is_none_or(|day| verified.day <= day) =>
            {
                Some((s.clone(), *b, *verified))
            }
            _ => None,
        })
    }
}

/// The lines of a log as they are found, and what is wrong with those that cannot be read.
struct FoundLog {
    lines: Vec<FoundLine>,
    unread: Vec<Diagnostic>,
    is_torn: bool,
    /// Why none of it can be read.
    closed: Option<Diagnostic>,
}

impl FoundLog {
    fn read<T: DeserializeOwned>(
        path: &Path,
        newest: u32,
        line: impl Fn(usize, T) -> AnyLine,
    ) -> Self {
        let (log, closed) = match append::read(path) {
            Ok(log) => (log, None),
            Err(wrong) => (Log::default(), Some(wrong)),
        };
        let mut unread: Vec<Diagnostic> = closed.iter().cloned().collect();
        let lines = log.lines.iter().zip(1_usize..).map(|(text, at)| {
            let read = parsed::<T>(path, at, text, newest).map(|read| line(at, read));
            let line = read.map_err(|wrong| unread.push(wrong)).ok();
            FoundLine { at, n: number_of(text), line }
        });
        let lines = lines.collect();
        Self { lines, unread, is_torn: log.torn.is_some(), closed }
    }
}
