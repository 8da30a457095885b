//! The log replayed: what stands, what was changed, and what may be added. Whether an entry may follow is
//! tested in `entry_check.rs` and `turning_check.rs`, the other halves of this type.

use std::collections::BTreeMap;

use crate::session::plan::Code;
use crate::session::plan::Plan;

use crate::session::score::Refusal;
use crate::session::score::subject::{About, Subject};
use crate::session::score::{Answer, Entry, Line, TurnedCup};

/// What became of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// It stands.
    Stands,
    /// A correction took its place.
    Corrected {
        /// Number of the correction.
        by: u64,
    },
    /// It was taken back.
    Undone {
        /// Number of the undoing line.
        by: u64,
    },
}

/// A line and what became of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// The line.
    pub line: Line,
    /// What became of it.
    pub status: Status,
}

/// A score that stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecordedScore {
    /// The score.
    pub value: f64,
    /// Number of its line.
    pub line: u64,
}

/// The state of a session's log.
#[derive(Debug, Clone)]
pub struct ScoreLog {
    pub(crate) plan: Plan,
    pub(crate) trays_with: BTreeMap<Code, Vec<usize>>,
    /// Places of trays in the plan, by taster and number.
    pub(crate) places: BTreeMap<String, BTreeMap<usize, usize>>,
    lines: Vec<Recorded>,
    /// Numbers of the lines about each cup, tray and turning, so that nobody walks the whole log for one.
    lines_about: BTreeMap<About, Vec<u64>>,
    pub(crate) scores: BTreeMap<(usize, Code), BTreeMap<String, RecordedScore>>,
    pub(crate) trays: BTreeMap<usize, u64>,
    pub(crate) turned: BTreeMap<usize, u64>,
    pub(crate) revealed: Option<u64>,
}

impl ScoreLog {
    /// An empty log of a plan.
    #[must_use]
    pub fn new(plan: &Plan) -> Self {
        let mut trays_with: BTreeMap<Code, Vec<usize>> = BTreeMap::new();
        let mut places: BTreeMap<String, BTreeMap<usize, usize>> = BTreeMap::new();
        for (at, tray) in plan.trays.iter().enumerate() {
            places.entry(tray.taster.clone()).or_default().entry(tray.number).or_insert(at);
            for &code in tray.cups.iter().chain(&tray.reference) {
                trays_with.entry(code).or_default().push(at);
            }
        }
        Self {
            plan: plan.clone(),
            trays_with,
            places,
            lines: Vec::new(),
            lines_about: BTreeMap::new(),
            scores: BTreeMap::new(),
            trays: BTreeMap::new(),
            turned: BTreeMap::new(),
            revealed: None,
        }
    }

    /// The plan it belongs to.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// All lines, with what became of each.
    #[must_use]
    pub fn lines(&self) -> &[Recorded] {
        &self.lines
    }

    /// A line by its number.
    #[must_use]
    pub fn line(&self, n: u64) -> Option<&Recorded> {
        self.lines.get(usize::try_from(n.checked_sub(1)?).ok()?)
    }

    /// The line that records `entry` next, once it is tested. Write it to disk, then hand it to
    /// [`ScoreLog::accept`].
    ///
    /// # Errors
    /// When the entry is refused.
    pub fn next_line(&self, at: &str, entry: Entry) -> Result<Line, Refusal> {
        self.check(&entry)?;
        Ok(Line { v: entry.format(), n: self.next_number(), at: at.to_owned(), entry })
    }

    /// Takes a line in, as one made by [`ScoreLog::next_line`] or read back from a log.
    ///
    /// # Errors
    /// When it is out of turn or its entry is refused; the log is then unchanged.
    pub fn accept(&mut self, line: Line) -> Result<(), Refusal> {
        if line.n != self.next_number() {
            return Err(Refusal::OutOfTurn { wanted: self.next_number(), found: line.n });
        }
        self.check_recorded(&line.entry)?;
        self.take(line);
        Ok(())
    }

    /// Number of the next line.
    fn next_number(&self) -> u64 {
        u64::try_from(self.lines.len()).unwrap_or(u64::MAX - 1) + 1
    }

    /// Line of the reveal, once there is one.
    #[must_use]
    pub fn revealed_in(&self) -> Option<u64> {
        self.revealed
    }

    /// Line of the first answer, whatever became of it; of the reveal where nobody answered before.
    #[must_use]
    pub fn first_answer(&self) -> Option<u64> {
        let begins = |entry: &Entry| {
            matches!(entry, Entry::Answer(_) | Entry::Late { .. } | Entry::Reveal { .. })
        };
        self.lines.iter().find(|recorded| begins(&recorded.line.entry)).map(|r| r.line.n)
    }

    /// Number of the last answer, correction or turning that stands, of one taster or of anyone:
    /// what an undo takes back.
    #[must_use]
    pub fn last_of(&self, taster: Option<&str>) -> Option<u64> {
        let by = |entry: &Entry| match entry {
            Entry::Answer(answer) | Entry::Correction { answer, .. } => {
                taster.is_none_or(|taster| answer.taster() == taster)
            }
            Entry::Turned { taster: by, .. } => taster.is_none_or(|taster| by == taster),
            _ => false,
        };
        self.standing().rev().find(|line| by(&line.entry)).map(|line| line.n)
    }

    /// The lines that stand, in the order of the log.
    pub(crate) fn standing(&self) -> impl DoubleEndedIterator<Item = &Line> {
        self.lines.iter().filter(|r| r.status == Status::Stands).map(|recorded| &recorded.line)
    }

    /// The remarks on the session that stand, in the order of the log.
    pub fn notes(&self) -> impl Iterator<Item = &Line> {
        self.standing().filter(|line| matches!(line.entry, Entry::Note { .. }))
    }

    /// Why the reveal was forced, where it was.
    pub(crate) fn forced(&self) -> Option<String> {
        match &self.line(self.revealed?)?.line.entry {
            Entry::Reveal { forced, .. } => forced.clone(),
            _ => None,
        }
    }

    /// The scores of a cup that stand, by attribute; `tray` is the place of the tray in the plan.
    #[must_use]
    pub fn scores_of(&self, tray: usize, code: Code) -> Option<&BTreeMap<String, RecordedScore>> {
        self.scores.get(&(tray, code))
    }

    /// The answer about a tray that stands; `tray` is its place in the plan.
    #[must_use]
    pub fn answer_about(&self, tray: usize) -> Option<&Answer> {
        answer_of(&self.line(*self.trays.get(&tray)?)?.line.entry)
    }

    /// The stickers of a turned tray; `tray` is its place in the plan.
    #[must_use]
    pub fn turned(&self, tray: usize) -> Option<&[TurnedCup]> {
        match &self.line(*self.turned.get(&tray)?)?.line.entry {
            Entry::Turned { cups, .. } => Some(cups),
            _ => None,
        }
    }

    /// The lines about something, in their order, whatever became of them.
    pub(crate) fn lines_about(&self, about: About) -> impl Iterator<Item = &Line> {
        let numbers = self.lines_about.get(&about).into_iter().flatten();
        numbers.filter_map(|n| self.line(*n)).map(|recorded| &recorded.line)
    }

    /// What an entry before the reveal is about; nothing for what concerns no cup and no tray.
    pub(crate) fn about(&self, entry: &Entry) -> Option<About> {
        match entry {
            Entry::Answer(answer) | Entry::Correction { answer, .. } => {
                Some(About { subject: self.subject(answer).ok()?, turning: false })
            }
            Entry::Turned { taster, tray, .. } => {
                let (place, _) = self.tray_of(taster, *tray).ok()?;
                Some(About { subject: Subject::Tray(place), turning: true })
            }
            Entry::Undo { of } => self.about(&self.line(*of)?.line.entry),
            _ => None,
        }
    }

    /// Takes a tested line in.
    fn take(&mut self, line: Line) {
        let n = line.n;
        if let Some(about) = self.about(&line.entry) {
            self.lines_about.entry(about).or_default().push(n);
        }
        let changed = match &line.entry {
            // A tray turned anew: what was read before is kept, and no longer stands.
            Entry::Turned { taster, tray, .. } => {
                let place = self.tray_of(taster, *tray).ok().map(|(place, _)| place);
                let before = place.and_then(|place| self.turned.get(&place).copied());
                before.map(|of| (of, Status::Corrected { by: n }))
            }
            Entry::Correction { of, .. } => Some((*of, Status::Corrected { by: n })),
            Entry::Undo { of } => Some((*of, Status::Undone { by: n })),
            _ => None,
        };
        if matches!(line.entry, Entry::Reveal { .. }) {
            self.revealed = Some(n);
        }
        self.lines.push(Recorded { line, status: Status::Stands });
        let Some((of, status)) = changed else {
            self.apply(n);
            return;
        };
        let restored = match self.line(of).map(|r| &r.line.entry) {
            Some(Entry::Correction { of: older, .. })
                if matches!(status, Status::Undone { .. }) =>
            {
                Some(*older)
            }
            Some(Entry::Turned { .. }) if matches!(status, Status::Undone { .. }) => {
                self.turning_before(of)
            }
            _ => None,
        };
        self.mark(of, status);
        if let Some(older) = restored {
            self.mark(older, Status::Stands);
        }
        self.rebuild();
    }

    /// The turning in whose place a line stands.
    pub(crate) fn turning_before(&self, n: u64) -> Option<u64> {
        let replaced = |r: &&Recorded| {
            matches!(r.line.entry, Entry::Turned { .. }) && r.status == Status::Corrected { by: n }
        };
        self.lines.iter().find(replaced).map(|r| r.line.n)
    }

    fn mark(&mut self, n: u64, status: Status) {
        let place = n.checked_sub(1).and_then(|place| usize::try_from(place).ok());
        if let Some(recorded) = place.and_then(|place| self.lines.get_mut(place)) {
            recorded.status = status;
        }
    }

    /// Works out anew what stands.
    fn rebuild(&mut self) {
        self.scores.clear();
        self.trays.clear();
        self.turned.clear();
        let standing: Vec<u64> = self.standing().map(|line| line.n).collect();
        for n in standing {
            self.apply(n);
        }
    }

    /// Adds what a standing line says.
    fn apply(&mut self, n: u64) {
        let Some(entry) = self.line(n).map(|r| r.line.entry.clone()) else { return };
        if let Entry::Turned { taster, tray, .. } = &entry
            && let Ok((place, _)) = self.tray_of(taster, *tray)
        {
            self.turned.insert(place, n);
        }
        let Some(answer) = answer_of(&entry) else { return };
        match (self.subject(answer), answer) {
            (Ok(Subject::Cup(place, code)), Answer::Scores { values, .. }) => {
                let cup = self.scores.entry((place, code)).or_default();
                for (name, &value) in values {
                    cup.insert(name.clone(), RecordedScore { value, line: n });
                }
            }
            (Ok(Subject::Tray(place)), _) => {
                self.trays.insert(place, n);
            }
            _ => {}
        }
    }
}

/// The answer that a line gives blind.
pub(crate) fn answer_of(entry: &Entry) -> Option<&Answer> {
    match entry {
        Entry::Answer(answer) | Entry::Correction { answer, .. } => Some(answer),
        _ => None,
    }
}
