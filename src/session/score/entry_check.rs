//! Whether an entry may follow what the log says so far.

use std::collections::BTreeSet;

use crate::session::plan::Code;
use crate::session::plan::Tray;
use crate::session::plan::session::nearest;
use crate::session::plan::{Attribute, Method, OnScale};

use crate::session::score::score_log::answer_of;
use crate::session::score::subject::Subject;
use crate::session::score::{Answer, Entry};
use crate::session::score::{OrderError, Refusal};
use crate::session::score::{ScoreLog, Status};

impl ScoreLog {
    /// Tests whether an entry may follow.
    ///
    /// # Errors
    /// Why not, with the way out.
    pub fn check(&self, entry: &Entry) -> Result<(), Refusal> {
        if let Entry::Undo { of } = entry
            && self.revealed.is_none()
            && let Some(Entry::Turned { taster, tray, .. }) =
                self.line(*of).map(|recorded| &recorded.line.entry)
        {
            return Err(Refusal::TurningIsFinal { taster: taster.clone(), tray: *tray });
        }
        self.check_recorded(entry)?;
        match entry {
            Entry::Turned { taster, tray, .. } => self.check_turned_last(taster, *tray),
            _ => Ok(()),
        }
    }

    /// Tests whether an entry could follow in a log that was written before: programs of earlier days
    /// let a turning be taken back, and trays be turned one after the other. The results say so.
    ///
    /// # Errors
    /// Why not, with the way out.
    pub(crate) fn check_recorded(&self, entry: &Entry) -> Result<(), Refusal> {
        if let Entry::ExpectedOrder { of, order } = entry {
            return self.check_expected(of, order);
        }
        let late = matches!(entry, Entry::Late { .. } | Entry::Note { .. } | Entry::Opened { .. });
        if let (Some(line), false) = (self.revealed, late) {
            return Err(Refusal::Closed { line });
        }
        match entry {
            Entry::Answer(answer) => {
                let subject = self.subject(answer)?;
                self.not_turned(subject)?;
                self.not_answered(answer, subject, None)
            }
            Entry::Correction { of, answer } => self.check_correction(*of, answer),
            Entry::Undo { of } => self.check_undo(*of),
            Entry::Note { taster: Some(taster), .. } => self.known(taster),
            Entry::Note { taster: None, .. }
            | Entry::Opened { .. }
            | Entry::ExpectedOrder { .. } => Ok(()),
            Entry::Turned { taster, tray, cups } => self.check_turned(taster, *tray, cups),
            Entry::Reveal { seal, missing_answers, forced } => {
                self.check_reveal(seal, *missing_answers, forced.as_deref())
            }
            Entry::Late { answer } => {
                if self.revealed.is_none() {
                    return Err(Refusal::NotLate);
                }
                self.subject(answer).map(|_| ())
            }
        }
    }

    fn check_expected(&self, of: &str, order: &[String]) -> Result<(), Refusal> {
        OrderError::check(&self.plan, of, order)?;
        self.first_answer().map_or(Ok(()), |line| Err(OrderError::TooLate { line }.into()))
    }

    fn check_correction(&self, of: u64, answer: &Answer) -> Result<(), Refusal> {
        let before = self.standing_answer(of).ok_or(Refusal::NothingToChange { of })?;
        self.known(answer.taster())?;
        if before.taster() != answer.taster() {
            let (owner, taster) = (before.taster().to_owned(), answer.taster().to_owned());
            return Err(Refusal::AnothersLine { of, owner, taster });
        }
        let (was, is) = (self.subject(before)?, self.subject(answer)?);
        if was != is {
            let (was, is) = (self.words(was), self.words(is));
            return Err(Refusal::OtherSubject { of, was, is });
        }
        self.not_turned(is)?;
        self.not_answered(answer, is, Some(of))
    }

    fn check_undo(&self, of: u64) -> Result<(), Refusal> {
        let recorded = self.line(of).filter(|r| r.status == Status::Stands);
        let entry = &recorded.ok_or(Refusal::NothingToChange { of })?.line.entry;
        if let Entry::Turned { taster, tray, .. } = entry {
            return self.check_turned_back(of, taster, *tray);
        }
        // A remark changes no score and may always be taken back.
        if matches!(entry, Entry::Note { .. }) {
            return Ok(());
        }
        let answer = answer_of(entry).ok_or(Refusal::NothingToChange { of })?;
        let subject = self.subject(answer)?;
        self.not_turned(subject)?;
        // Taking a correction back lets the corrected line stand again.
        if let Entry::Correction { of: corrected, .. } = entry
            && let Some(older) = self.line(*corrected).and_then(|r| answer_of(&r.line.entry))
            && let Err(Refusal::Duplicate { line, .. }) =
                self.not_answered(older, subject, Some(of))
        {
            return Err(Refusal::WouldStandTwice { of, stands: line });
        }
        Ok(())
    }

    fn check_reveal(
        &self,
        seal: &str,
        missing_answers: usize,
        forced: Option<&str>,
    ) -> Result<(), Refusal> {
        if seal != self.plan.seal {
            let (sealed, found) = (self.plan.seal.clone(), seal.to_owned());
            return Err(Refusal::OtherSeal { sealed, found });
        }
        if missing_answers != self.missing_answers() {
            return Err(Refusal::Miscounted {
                missing_answers: self.missing_answers(),
                found: missing_answers,
            });
        }
        if missing_answers > 0 && forced.is_none() {
            return Err(Refusal::Incomplete { missing_answers });
        }
        Ok(())
    }

    /// What an answer is about, after testing that it can be given at all.
    pub(crate) fn subject(&self, answer: &Answer) -> Result<Subject, Refusal> {
        self.known(answer.taster())?;
        match (answer, &self.plan.method) {
            (Answer::Scores { taster, code, values, .. }, Method::Scoring { attributes }) => {
                let place = self.cup_place(taster, *code)?;
                if values.is_empty() {
                    return Err(Refusal::Empty { code: *code });
                }
                values.iter().try_for_each(|(name, &value)| on_scale(attributes, name, value))?;
                Ok(Subject::Cup(place, *code))
            }
            (Answer::Ranking { taster, tray, order, .. }, Method::Ranking { .. }) => {
                let wanted = self.plan.cups_per_tray;
                self.named_on_tray(taster, *tray, order, wanted).map(Subject::Tray)
            }
            (Answer::Choice { taster, tray, chosen, .. }, method) if method.compares_two() => {
                let wanted = if *method == Method::Tetrad { 2 } else { 1 };
                self.named_on_tray(taster, *tray, chosen, wanted).map(Subject::Tray)
            }
            _ => Err(Refusal::OtherMethod { wanted: self.plan.method.name() }),
        }
    }

    /// The tray on which a taster's cup stands.
    fn cup_place(&self, taster: &str, code: Code) -> Result<usize, Refusal> {
        let places = self.trays_with.get(&code);
        let Some(places) = places else {
            let own = self.plan.trays_of(taster).flat_map(|tray| tray.cups.iter().copied());
            let near = own.filter(|&other| one_slip(code, other)).collect();
            return Err(Refusal::UnknownCode { code, near });
        };
        let trays = || places.iter().filter_map(|&at| Some((at, self.plan.trays.get(at)?)));
        if let Some((at, tray)) = trays().find(|(_, tray)| tray.taster == taster) {
            return if tray.reference == Some(code) {
                Err(Refusal::IsReference { code })
            } else {
                Ok(at)
            };
        }
        let mut owners: Vec<String> = trays().map(|(_, tray)| tray.taster.clone()).collect();
        owners.dedup();
        Err(Refusal::WrongTaster { code, taster: taster.to_owned(), owners })
    }

    /// Tests codes named about a tray.
    fn named_on_tray(
        &self,
        taster: &str,
        tray: usize,
        codes: &[Code],
        wanted: usize,
    ) -> Result<usize, Refusal> {
        let (place, stands) = self.tray_of(taster, tray)?;
        for &code in codes {
            if stands.reference == Some(code) {
                return Err(Refusal::IsReference { code });
            }
            if !stands.cups.contains(&code) {
                self.cup_place(taster, code)?;
            }
        }
        named_once(codes.iter().copied())?;
        all_on_tray(codes.iter().copied(), &stands.cups, tray)?;
        if codes.len() != wanted {
            return Err(Refusal::WrongNumber { tray, wanted, found: codes.len() });
        }
        Ok(place)
    }

    /// A tray of a taster, and its place in the plan.
    pub(crate) fn tray_of(&self, taster: &str, number: usize) -> Result<(usize, &Tray), Refusal> {
        self.known(taster)?;
        let place = self.places.get(taster).and_then(|own| own.get(&number)).copied();
        let found = place.and_then(|place| Some((place, self.plan.trays.get(place)?)));
        found.ok_or_else(|| Refusal::UnknownTray {
            taster: taster.to_owned(),
            tray: number,
            trays: self.plan.trays_of(taster).count(),
        })
    }

    pub(crate) fn known(&self, taster: &str) -> Result<(), Refusal> {
        if self.plan.tasters.iter().any(|name| name == taster) {
            return Ok(());
        }
        let nearest = nearest(taster, self.plan.tasters.iter().map(String::as_str));
        let (found, nearest) = (taster.to_owned(), nearest.map(str::to_owned));
        Err(Refusal::UnknownTaster { found, nearest })
    }

    /// Refuses what another line than `except` has answered.
    fn not_answered(
        &self,
        answer: &Answer,
        subject: Subject,
        except: Option<u64>,
    ) -> Result<(), Refusal> {
        let duplicate = |line| Refusal::Duplicate {
            what: self.words(subject),
            taster: answer.taster().to_owned(),
            line,
        };
        let other = |line: u64| Some(line) != except;
        match (answer, subject) {
            (Answer::Scores { values, .. }, Subject::Cup(place, code)) => {
                let standing = self.scores.get(&(place, code));
                let again = values
                    .keys()
                    .filter_map(|name| standing?.get(name))
                    .find(|standing| other(standing.line));
                again.map_or(Ok(()), |standing| Err(duplicate(standing.line)))
            }
            (_, Subject::Tray(place)) => match self.trays.get(&place) {
                Some(&line) if other(line) => Err(duplicate(line)),
                _ => Ok(()),
            },
            _ => Ok(()),
        }
    }

    fn standing_answer(&self, n: u64) -> Option<&Answer> {
        let recorded = self.line(n).filter(|r| r.status == Status::Stands)?;
        answer_of(&recorded.line.entry)
    }

    fn words(&self, subject: Subject) -> String {
        match subject {
            Subject::Cup(_, code) => format!("cup {code}"),
            Subject::Tray(place) => match self.plan.trays.get(place) {
                Some(tray) => format!("tray {}", tray.number),
                None => "a tray that the plan does not have".to_owned(),
            },
        }
    }
}

/// Whether a value of an attribute can be given.
fn on_scale(attributes: &[Attribute], name: &str, value: f64) -> Result<(), Refusal> {
    let Some(attribute) = attributes.iter().find(|a| a.name == name) else {
        let choices = attributes.iter().map(|a| a.name.clone()).collect();
        return Err(Refusal::UnknownAttribute { found: name.to_owned(), choices });
    };
    let attribute_name = || attribute.name.clone();
    match attribute.place(value) {
        OnScale::Yes => Ok(()),
        OnScale::Outside => Err(Refusal::OffScale {
            attribute: attribute_name(),
            value,
            low: attribute.low,
            high: attribute.high,
        }),
        OnScale::BetweenSteps => {
            Err(Refusal::BetweenSteps { attribute: attribute_name(), value, step: attribute.step })
        }
    }
}

pub(super) fn named_once(codes: impl Iterator<Item = Code>) -> Result<(), Refusal> {
    let mut seen = BTreeSet::new();
    for code in codes {
        if !seen.insert(code) {
            return Err(Refusal::NamedTwice { code });
        }
    }
    Ok(())
}

pub(super) fn all_on_tray(
    mut codes: impl Iterator<Item = Code>,
    cups: &[Code],
    tray: usize,
) -> Result<(), Refusal> {
    match codes.find(|code| !cups.contains(code)) {
        Some(code) => Err(Refusal::NotOnTray { code, tray, cups: cups.to_vec() }),
        None => Ok(()),
    }
}

/// Whether two codes differ by one digit or by two neighbours exchanged.
fn one_slip(a: Code, b: Code) -> bool {
    strsim::osa_distance(&a.to_string(), &b.to_string()) == 1
}
