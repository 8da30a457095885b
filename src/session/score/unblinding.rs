//! From codes to waters: what was written of a tray, as rows of waters.

use std::collections::BTreeMap;

use crate::session::plan::Blinding;
use crate::session::plan::Code;
use crate::session::plan::Method;
use crate::session::plan::{Key, KeyCup};
use crate::session::plan::{Plan, Tray};

use crate::session::score::ScoreLog;
use crate::session::score::score_log::answer_of;
use crate::session::score::{Answer, Entry};
use crate::session::score::{ChoiceRow, CupPlace, RankingRow, RevealError, Revealed, ScoreRow};

/// Turns trays of codes into rows of waters.
pub(crate) struct Unblinding<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) key: &'a Key,
    pub(crate) score_log: &'a ScoreLog,
}

impl Unblinding<'_> {
    /// Adds the rows of one tray.
    ///
    /// # Errors
    /// When the tray is nobody's: an answer is never given to another taster.
    pub(crate) fn add(&self, place: usize, revealed: &mut Revealed) -> Result<(), RevealError> {
        let Some(tray) = self.plan.trays.get(place) else { return Ok(()) };
        let cups = self.cups(place, tray)?;
        match &self.plan.method {
            Method::Scoring { attributes } => {
                let notes = self.notes(place);
                for cup in &cups {
                    let scored = self.score_log.scores_of(place, cup.code);
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
            Method::Ranking { .. } => revealed.rankings.push(self.ranking(place, tray, cups)?),
            _ => revealed.choices.extend(self.choice(place, tray, cups)?),
        }
        Ok(())
    }

    /// Place of a tray's taster.
    fn taster_of(&self, tray: &Tray) -> Result<usize, RevealError> {
        let place = self.plan.tasters.iter().position(|taster| *taster == tray.taster);
        place.ok_or_else(|| RevealError::TrayOfNobody {
            tray: tray.number,
            taster: tray.taster.clone(),
        })
    }

    /// The late scores, in the order of the log.
    ///
    /// # Errors
    /// As [`Unblinding::add`].
    pub(crate) fn late_scores(&self) -> Result<Vec<ScoreRow>, RevealError> {
        let mut late = Vec::new();
        for recorded in self.score_log.lines() {
            let Entry::Late { answer: Answer::Scores { taster, code, values, note } } =
                &recorded.line.entry
            else {
                continue;
            };
            let holds = |tray: &Tray| tray.taster == *taster && tray.cups.contains(code);
            let Some(place) = self.plan.trays.iter().position(holds) else { continue };
            let cups = self.plan.trays.get(place).map(|tray| self.cups(place, tray)).transpose()?;
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
        Ok(late)
    }

    /// The key's entry for a cup of a tray, through its sticker when the cups were shuffled.
    fn behind(&self, place: usize, code: Code) -> Option<&KeyCup> {
        let sealed = match self.score_log.turned(place) {
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
    fn cups(&self, place: usize, tray: &Tray) -> Result<Vec<CupPlace>, RevealError> {
        let named = tray.cups.iter().map(|&code| {
            let cup = self.behind(place, code)?;
            Some((code, self.water_place(&cup.water)?, cup.copy))
        });
        Ok(cups_on_tray(tray, self.taster_of(tray)?, named))
    }

    /// What was said about the cups of a tray; several remarks are joined.
    fn notes(&self, place: usize) -> BTreeMap<Code, String> {
        let Some(tray) = self.plan.trays.get(place) else { return BTreeMap::new() };
        let mut notes: BTreeMap<Code, String> = BTreeMap::new();
        for answer in self.score_log.standing().filter_map(|line| answer_of(&line.entry)) {
            if let Answer::Scores { taster, code, note: Some(note), .. } = answer
                && *taster == tray.taster
            {
                let joined = notes.entry(*code).or_default();
                if !joined.is_empty() {
                    joined.push_str("; ");
                }
                joined.push_str(note);
            }
        }
        notes
    }

    fn ranking(
        &self,
        place: usize,
        tray: &Tray,
        served: Vec<CupPlace>,
    ) -> Result<RankingRow, RevealError> {
        let answer = self.score_log.answer_about(place);
        let order = match answer {
            Some(Answer::Ranking { order, .. }) => order
                .iter()
                .map(|code| served.iter().find(|cup| cup.code == *code).cloned())
                .collect(),
            _ => None,
        };
        let taster = self.taster_of(tray)?;
        let note = answer.and_then(Answer::note).map(str::to_owned);
        Ok(RankingRow { taster, tray: tray.number, round: tray.round, served, order, note })
    }

    fn choice(
        &self,
        place: usize,
        tray: &Tray,
        served: Vec<CupPlace>,
    ) -> Result<Option<ChoiceRow>, RevealError> {
        let Some(pair) = self.pair_of(&served) else { return Ok(None) };
        let answer = self.score_log.answer_about(place);
        let chosen: Option<Vec<&CupPlace>> = match answer {
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
        let taster = self.taster_of(tray)?;
        let (number, round) = (tray.number, tray.round);
        let note = answer.and_then(Answer::note).map(str::to_owned);
        Ok(Some(ChoiceRow {
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
        }))
    }

    /// The pair of the key whose two waters stand on a tray.
    fn pair_of(&self, served: &[CupPlace]) -> Option<(usize, usize)> {
        self.key.pairs.iter().find_map(|(first, second)| {
            let pair = (self.water_place(first)?, self.water_place(second)?);
            let stands = |water| served.iter().any(|cup| cup.water == water);
            (stands(pair.0) && stands(pair.1)).then_some(pair)
        })
    }

    fn is_right(
        &self,
        chosen: &[&CupPlace],
        served: &[CupPlace],
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

/// Cups as they stand on a tray: of each its code, water and copy, or nothing where that is not known.
fn cups_on_tray(
    tray: &Tray,
    taster: usize,
    named: impl Iterator<Item = Option<(Code, usize, usize)>>,
) -> Vec<CupPlace> {
    let mut before = None;
    let mut cups = Vec::new();
    for (at, named) in named.enumerate() {
        let Some((code, water, copy)) = named else {
            before = None;
            continue;
        };
        let previous = if tray.breaks_after.contains(&at) { None } else { before };
        let (round, number) = (tray.round, tray.number);
        let position = at + 1;
        cups.push(CupPlace { taster, tray: number, round, position, code, water, copy, previous });
        before = Some(water);
    }
    cups
}

/// Every cup of a session that is to be scored, for a forecast made before anyone tastes. Where a
/// shuffle will make the orders, those of the key's codes stand for it: they were drawn at random too.
#[must_use]
pub fn cups_to_serve(plan: &Plan, key: &Key) -> Vec<CupPlace> {
    let score_log = ScoreLog::new(plan);
    let naming = Unblinding { plan, key, score_log: &score_log };
    let mut cups = Vec::new();
    for (place, tray) in plan.trays.iter().enumerate() {
        if plan.blinding == Blinding::Solo {
            let own = key.cups.iter().filter(|cup| cup.tray == Some(tray.number));
            let named = own.map(|cup| Some((cup.code, naming.water_place(&cup.water)?, cup.copy)));
            let taster = naming.taster_of(tray).ok();
            cups.extend(
                taster.into_iter().flat_map(|taster| cups_on_tray(tray, taster, named.clone())),
            );
        } else {
            cups.extend(naming.cups(place, tray).unwrap_or_default());
        }
    }
    cups
}
