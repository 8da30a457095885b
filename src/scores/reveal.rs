//! The reveal: only when nothing is owed or when forced; then codes become waters.

use std::collections::BTreeMap;

use thiserror::Error;

use crate::tasting::codes::Code;
use crate::tasting::key::{Key, KeyCup, KeyError};
use crate::tasting::method::Method;
use crate::tasting::session::{self, Plan, Tray, Verified};

use super::book::{Book, Status};
use super::entry::{Answer, Entry, OpenedFor};
use super::foretold::{Foretold, foretold};
use super::refusal::Refusal;

/// Why a session is not revealed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RevealError {
    /// The key cannot be trusted.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// Something is owed, or the session is revealed already.
    #[error("{refusal}")]
    Refused {
        /// Why.
        refusal: Refusal,
    },
    /// The log has no reveal yet.
    #[error("the session is not revealed")]
    NotRevealed,
    /// A sticker that is not in the key.
    #[error("tray {tray}: no sticker {under} is in the key")]
    UnknownSticker {
        /// The tray.
        tray: usize,
        /// The code read.
        under: Code,
    },
}

impl RevealError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::Key(error) => error.remedy().to_owned(),
            // After the reveal there is nothing to enter late, only something to read.
            Self::Refused { refusal: Refusal::Closed { .. } } => {
                "`session results NAME` says what the scores show".to_owned()
            }
            Self::Refused { refusal } => refusal.remedy(),
            Self::NotRevealed => "`session reveal NAME` opens the key".to_owned(),
            Self::UnknownSticker { .. } => {
                "take that turning back with `session score NAME --undo`, read the sticker again \
                 and enter it anew"
                    .to_owned()
            }
        }
    }
}

/// Where a cup stood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CupWhere {
    /// Place of the taster in [`Revealed::tasters`].
    pub taster: usize,
    /// Number of the tray among the taster's.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// Place on the tray, from 1.
    pub position: usize,
    /// The code.
    pub code: Code,
    /// Place of the water in [`Revealed::waters`].
    pub water: usize,
    /// 1, or 2 for a hidden duplicate.
    pub copy: usize,
    /// The water tasted just before, if no break lay between.
    pub previous: Option<usize>,
}

/// One score with its cup.
#[derive(Debug, Clone, PartialEq)]
pub struct ScoreRow {
    /// The cup.
    pub cup: CupWhere,
    /// Place of the attribute in [`Revealed::attributes`].
    pub attribute: usize,
    /// The score; `None` for a cup that was owed when the reveal was forced.
    pub value: Option<f64>,
    /// Anything said about the cup.
    pub note: Option<String>,
}

/// One ranking.
#[derive(Debug, Clone, PartialEq)]
pub struct RankingRow {
    /// Place of the taster.
    pub taster: usize,
    /// Number of the tray.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// Every cup of the tray in the order of serving.
    pub served: Vec<CupWhere>,
    /// The cups as ranked, most first; `None` when owed.
    pub order: Option<Vec<CupWhere>>,
    /// Anything said about the tray.
    pub note: Option<String>,
}

/// One answer of a test of two waters.
#[derive(Debug, Clone, PartialEq)]
pub struct ChoiceRow {
    /// Place of the taster.
    pub taster: usize,
    /// Number of the tray.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// The two waters of the pair, in the order in which it was named.
    pub pair: (usize, usize),
    /// Every cup in the order of serving.
    pub served: Vec<CupWhere>,
    /// Whether the answer was right: for a paired test, whether the first water of the pair was
    /// chosen. `None` when owed.
    pub right: Option<bool>,
    /// Water of the chosen cup.
    pub chosen: Option<usize>,
    /// Codes of the cups chosen.
    pub picked: Vec<Code>,
    /// Water of the coded reference of a duo-trio.
    pub reference: Option<usize>,
    /// Anything said about the tray.
    pub note: Option<String>,
}

/// What was left out, and why.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// Answers given after the reveal.
    pub late: usize,
    /// Answers owed when the reveal was forced.
    pub owing: usize,
    /// Lines that a correction replaced.
    pub corrected: usize,
    /// Lines taken back.
    pub undone: usize,
}

/// A session with its waters named.
#[derive(Debug, Clone, PartialEq)]
pub struct Revealed {
    /// The session.
    pub session: String,
    /// What is asked.
    pub method: Method,
    /// The waters in the order of the flight.
    pub waters: Vec<String>,
    /// The tasters.
    pub tasters: Vec<String>,
    /// The attributes scored.
    pub attributes: Vec<String>,
    /// Scores, by taster, tray, place and attribute.
    pub scores: Vec<ScoreRow>,
    /// Scores given after the reveal, unblinded: kept, and never analysed.
    pub late_scores: Vec<ScoreRow>,
    /// Rankings, by taster and tray.
    pub rankings: Vec<RankingRow>,
    /// Choices, by taster and tray.
    pub choices: Vec<ChoiceRow>,
    /// What was left out.
    pub left_out: LeftOut,
    /// Why the reveal was forced, when it was.
    pub forced: Option<String>,
    /// Orders of the waters that were foretold in the log.
    pub foretold: Vec<Foretold>,
    /// Reasons for which the key was opened before the reveal, other than pouring.
    pub opened_early: Vec<String>,
    /// How far the key was verified.
    pub verified: Verified,
}

/// The entry that reveals a session, after testing the key without telling what it says.
///
/// # Errors
/// When something is owed and no reason is given to force it, when the key is not the sealed one,
/// or when a sticker read is not in it.
pub fn reveal_entry(
    book: &Book,
    key_text: &str,
    forced: Option<String>,
) -> Result<Entry, RevealError> {
    let plan = book.plan();
    let owing = book.owing();
    let forced = forced.filter(|_| owing > 0);
    let entry = Entry::Reveal { seal: plan.seal.clone(), owing, forced };
    book.check(&entry).map_err(|refusal| RevealError::Refused { refusal })?;
    let (key, _) = session::verify(plan, key_text)?;
    for (place, tray) in plan.trays.iter().enumerate() {
        for cup in book.turned(place).unwrap_or_default() {
            let known = key.cup(cup.under).is_some_and(|c| c.tray == Some(tray.number));
            if !known {
                return Err(RevealError::UnknownSticker { tray: tray.number, under: cup.under });
            }
        }
    }
    Ok(entry)
}

/// Names the waters of a session whose log holds the reveal.
///
/// # Errors
/// When the log holds none, or the key is not the sealed one.
pub fn revealed(book: &Book, key_text: &str) -> Result<Revealed, RevealError> {
    let line = book.revealed_in().ok_or(RevealError::NotRevealed)?;
    let plan = book.plan();
    let (key, verified) = session::verify(plan, key_text)?;
    let forced = match book.line(line).map(|recorded| &recorded.line.entry) {
        Some(Entry::Reveal { forced, .. }) => forced.clone(),
        _ => None,
    };
    let mut revealed = Revealed {
        session: plan.session.clone(),
        method: plan.method.clone(),
        waters: key.waters.clone(),
        tasters: plan.tasters.clone(),
        attributes: plan.method.attributes().iter().map(|a| a.name.clone()).collect(),
        scores: Vec::new(),
        late_scores: Vec::new(),
        rankings: Vec::new(),
        choices: Vec::new(),
        left_out: left_out(book),
        forced,
        foretold: foretold(book, &key.waters),
        opened_early: opened_early(book, line),
        verified,
    };
    let naming = Naming { plan, key: &key, book };
    for place in 0..plan.trays.len() {
        naming.add(place, &mut revealed);
    }
    revealed.late_scores = naming.late_scores();
    Ok(revealed)
}

/// Counts what does not enter the analysis.
fn left_out(book: &Book) -> LeftOut {
    let mut left_out = LeftOut::default();
    for recorded in book.lines() {
        match (&recorded.line.entry, recorded.status) {
            (Entry::Late { .. }, _) => left_out.late += 1,
            (Entry::Reveal { owing, .. }, _) => left_out.owing = *owing,
            (_, Status::Corrected { .. }) => left_out.corrected += 1,
            (_, Status::Undone { .. }) => left_out.undone += 1,
            _ => {}
        }
    }
    left_out
}

/// Openings of the key before the reveal that the procedure does not foresee.
fn opened_early(book: &Book, reveal: u64) -> Vec<String> {
    let before = book.lines().iter().filter(|recorded| recorded.line.n < reveal);
    before
        .filter_map(|recorded| match &recorded.line.entry {
            Entry::Opened { purpose: OpenedFor::AnotherReason, why } => Some(why.clone()),
            _ => None,
        })
        .collect()
}

/// Turns trays of codes into rows of waters.
struct Naming<'a> {
    plan: &'a Plan,
    key: &'a Key,
    book: &'a Book,
}

impl Naming<'_> {
    fn add(&self, place: usize, revealed: &mut Revealed) {
        let Some(tray) = self.plan.trays.get(place) else { return };
        let cups = self.cups(place, tray);
        match &self.plan.method {
            Method::Scoring { attributes } => {
                let notes = self.notes(place);
                for cup in &cups {
                    let scored = self.book.scores_of(place, cup.code);
                    for (at, attribute) in attributes.iter().enumerate() {
                        let value = scored.and_then(|s| s.get(&attribute.name)).map(|s| s.value);
                        let note = notes.get(&cup.code).cloned();
                        revealed.scores.push(ScoreRow {
                            cup: cup.clone(),
                            attribute: at,
                            value,
                            note,
                        });
                    }
                }
            }
            Method::Ranking { .. } => revealed.rankings.push(self.ranking(place, tray, cups)),
            _ => {
                if let Some(row) = self.choice(place, tray, cups) {
                    revealed.choices.push(row);
                }
            }
        }
    }

    /// The late scores, in the order of the log.
    fn late_scores(&self) -> Vec<ScoreRow> {
        let mut late = Vec::new();
        for recorded in self.book.lines() {
            let Entry::Late { answer: Answer::Scores { taster, code, values, note } } =
                &recorded.line.entry
            else {
                continue;
            };
            let holds = |tray: &Tray| tray.taster == *taster && tray.cups.contains(code);
            let Some(place) = self.plan.trays.iter().position(holds) else { continue };
            let cups = self.plan.trays.get(place).map(|tray| self.cups(place, tray));
            let cup = cups.into_iter().flatten().find(|cup| cup.code == *code);
            let Some(cup) = cup else { continue };
            for (at, attribute) in self.plan.method.attributes().iter().enumerate() {
                if let Some(&value) = values.get(&attribute.name) {
                    late.push(ScoreRow {
                        cup: cup.clone(),
                        attribute: at,
                        value: Some(value),
                        note: note.clone(),
                    });
                }
            }
        }
        late
    }

    /// The key's entry for a cup of a tray, through its sticker when the cups were shuffled.
    fn behind(&self, place: usize, code: Code) -> Option<&KeyCup> {
        let sealed = match self.book.turned(place) {
            Some(turned) => turned.iter().find(|cup| cup.top == code).map(|cup| cup.under)?,
            None => code,
        };
        self.key.cup(sealed)
    }

    fn water_place(&self, name: &str) -> Option<usize> {
        self.key.waters.iter().position(|water| water == name)
    }

    /// The cups of a tray with their waters; cups of a tray never turned over have none and are
    /// left out.
    fn cups(&self, place: usize, tray: &Tray) -> Vec<CupWhere> {
        let taster = self.plan.tasters.iter().position(|t| *t == tray.taster).unwrap_or(0);
        let mut before = None;
        let mut cups = Vec::new();
        for (at, &code) in tray.cups.iter().enumerate() {
            let named = self
                .behind(place, code)
                .and_then(|cup| Some((self.water_place(&cup.water)?, cup.copy)));
            let Some((water, copy)) = named else {
                before = None;
                continue;
            };
            let previous = if tray.breaks_after.contains(&at) { None } else { before };
            let (round, number) = (tray.round, tray.number);
            cups.push(CupWhere {
                taster,
                tray: number,
                round,
                position: at + 1,
                code,
                water,
                copy,
                previous,
            });
            before = Some(water);
        }
        cups
    }

    /// What was said about the cups of a tray; several remarks are joined.
    fn notes(&self, place: usize) -> BTreeMap<Code, String> {
        let Some(tray) = self.plan.trays.get(place) else { return BTreeMap::new() };
        let mut notes: BTreeMap<Code, String> = BTreeMap::new();
        let standing = self.book.lines().iter().filter(|r| r.status == Status::Stands);
        for recorded in standing {
            let (Entry::Answer(answer) | Entry::Correction { answer, .. }) = &recorded.line.entry
            else {
                continue;
            };
            if let Answer::Scores { taster, code, note: Some(note), .. } = answer
                && *taster == tray.taster
            {
                let said = notes.entry(*code).or_default();
                if !said.is_empty() {
                    said.push_str("; ");
                }
                said.push_str(note);
            }
        }
        notes
    }

    fn ranking(&self, place: usize, tray: &Tray, served: Vec<CupWhere>) -> RankingRow {
        let answer = self.book.answer_about(place);
        let order = match answer {
            Some(Answer::Ranking { order, .. }) => order
                .iter()
                .map(|code| served.iter().find(|cup| cup.code == *code).cloned())
                .collect(),
            _ => None,
        };
        let taster = self.plan.tasters.iter().position(|t| *t == tray.taster).unwrap_or(0);
        let note = answer.and_then(Answer::note).map(str::to_owned);
        RankingRow { taster, tray: tray.number, round: tray.round, served, order, note }
    }

    fn choice(&self, place: usize, tray: &Tray, served: Vec<CupWhere>) -> Option<ChoiceRow> {
        let pair = self.pair_of(&served)?;
        let answer = self.book.answer_about(place);
        let chosen: Option<Vec<&CupWhere>> = match answer {
            Some(Answer::Choice { chosen, .. }) => {
                chosen.iter().map(|code| served.iter().find(|cup| cup.code == *code)).collect()
            }
            _ => None,
        };
        let reference = tray
            .reference
            .and_then(|code| self.key.cup(code))
            .and_then(|cup| self.water_place(&cup.water));
        let right = chosen.as_deref().map(|chosen| self.is_right(chosen, &served, pair, reference));
        let water = chosen.as_deref().and_then(|chosen| Some(chosen.first()?.water));
        let picked = chosen.iter().flatten().map(|cup| cup.code).collect();
        let taster = self.plan.tasters.iter().position(|t| *t == tray.taster).unwrap_or(0);
        let (number, round) = (tray.number, tray.round);
        let note = answer.and_then(Answer::note).map(str::to_owned);
        Some(ChoiceRow {
            taster,
            tray: number,
            round,
            pair,
            served,
            right,
            chosen: water,
            picked,
            reference,
            note,
        })
    }

    /// The pair of the key whose two waters stand on a tray.
    fn pair_of(&self, served: &[CupWhere]) -> Option<(usize, usize)> {
        self.key.pairs.iter().find_map(|(first, second)| {
            let pair = (self.water_place(first)?, self.water_place(second)?);
            let stands = |water| served.iter().any(|cup| cup.water == water);
            (stands(pair.0) && stands(pair.1)).then_some(pair)
        })
    }

    fn is_right(
        &self,
        chosen: &[&CupWhere],
        served: &[CupWhere],
        pair: (usize, usize),
        reference: Option<usize>,
    ) -> bool {
        let [first, rest @ ..] = chosen else { return false };
        match &self.plan.method {
            Method::Triangle => served.iter().filter(|cup| cup.water == first.water).count() == 1,
            Method::DuoTrio { .. } => reference == Some(first.water),
            Method::Tetrad => rest.iter().all(|other| other.water == first.water),
            _ => first.water == pair.0,
        }
    }
}
