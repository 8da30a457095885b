//! The reveal: only when nothing is missing or when forced; then codes become waters.

use thiserror::Error;

use crate::session::plan::Aim;
use crate::session::plan::AnalysisPlan;
use crate::session::plan::Code;
use crate::session::plan::Method;
use crate::session::plan::{Key, KeyError, key};
use crate::session::plan::{Plan, Verified, session};

use crate::session::score::AfterTurning;
use crate::session::score::Refusal;
use crate::session::score::ScoreLog;
use crate::session::score::after_turning::after_turning;
use crate::session::score::unblinding::Unblinding;
use crate::session::score::{Entry, OpenedFor, TurnedCup};
use crate::session::score::{ExpectedOrder, expected_orders};

/// Why a session is not revealed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RevealError {
    /// The key cannot be trusted.
    #[error(transparent)]
    Key(#[from] KeyError),
    /// Something is missing, or the session is revealed already.
    #[error("{refusal}")]
    Refused {
        /// Why.
        refusal: Refusal,
    },
    /// The log has no reveal yet.
    #[error("the session is not revealed")]
    NotRevealed,
    /// Forced without a reason.
    #[error("the reason for which the reveal is forced is empty")]
    NoReason,
    /// A tray whose taster the plan does not list.
    #[error("tray {tray} of the plan is {taster}'s, who is no taster of this session")]
    TrayOfNobody {
        /// Number of the tray.
        tray: usize,
        /// The name on it.
        taster: String,
    },
    /// A sticker that the key has under no cup of the tray.
    #[error("no sticker {under} was put under a cup of tray {tray}")]
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
            Self::TrayOfNobody { .. } => {
                "restore the plan as it was written: a plan that was changed cannot be revealed"
                    .to_owned()
            }
            Self::NoReason => "say why, as in --force \"the guests left\"".to_owned(),
            Self::UnknownSticker { tray, .. } => format!(
                "read the stickers again and enter them with `session turned NAME {tray} …`; what \
                 was entered before is kept"
            ),
        }
    }
}

/// Where a cup stood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CupPlace {
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
    pub cup: CupPlace,
    /// Place of the attribute in [`Revealed::attributes`].
    pub attribute: usize,
    /// The score; `None` for a cup that was missing when the reveal was forced.
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
    pub served: Vec<CupPlace>,
    /// The cups as ranked, most first; `None` when missing.
    pub order: Option<Vec<CupPlace>>,
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
    pub served: Vec<CupPlace>,
    /// Whether the answer was right: for a paired test, whether the first water of the pair was
    /// chosen. `None` when missing.
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
    /// Answers missing when the reveal was forced.
    pub missing_answers: usize,
}

/// A session with its waters named.
#[derive(Debug, Clone, PartialEq)]
pub struct Revealed {
    /// The session.
    pub session: String,
    /// What is asked.
    pub method: Method,
    /// How the scores are to be compared, as the plan has it.
    pub analysis: AnalysisPlan,
    /// What is wanted; nothing where the plan does not say so and no name does.
    pub wanted: Option<Aim>,
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
    /// Orders of the waters that were expected before the tasting.
    pub expected_orders: Vec<ExpectedOrder>,
    /// Reasons for which the key was opened before the reveal, other than pouring.
    pub opened_early: Vec<String>,
    /// What was entered in a tasting alone after cups had been turned over.
    pub after_turning: Vec<AfterTurning>,
    /// How far the key was verified.
    pub verified: Verified,
}

impl Revealed {
    /// Which way one of the things judged is wanted: as the plan says, or more of it where its name is
    /// that of a liking.
    #[must_use]
    pub fn aim_for(&self, of: &str) -> Option<Aim> {
        let stated = self.wanted.clone().filter(|aim| aim.of == of);
        stated.or_else(|| Aim::of_name(&self.method, of))
    }
}

/// The entry that reveals a session, after testing the key without telling what it says.
///
/// # Errors
/// When something is missing and no reason is given to force it, when the key is not the sealed one,
/// or when a sticker read is not in it.
pub fn reveal_entry(
    score_log: &ScoreLog,
    key_text: &str,
    forced: Option<String>,
) -> Result<Entry, RevealError> {
    let plan = score_log.plan();
    let missing_answers = score_log.missing_answers();
    if forced.as_ref().is_some_and(|why| why.trim().is_empty()) {
        return Err(RevealError::NoReason);
    }
    let forced = forced.filter(|_| missing_answers > 0);
    let entry = Entry::Reveal { seal: plan.seal.clone(), missing_answers, forced };
    score_log.check(&entry).map_err(|refusal| RevealError::Refused { refusal })?;
    let (key, _) = session::verify(plan, key_text)?;
    for (place, tray) in plan.trays.iter().enumerate() {
        stickers_of(&key, tray.number, score_log.turned(place).unwrap_or_default())?;
    }
    Ok(entry)
}

/// Tests that stickers read belong under the cups of a tray. It says nothing of the waters, so it may
/// be asked before the reveal; a key that cannot be trusted is left for the reveal to refuse.
///
/// # Errors
/// The first sticker that does not.
pub fn stickers_belong(
    plan: &Plan,
    key_text: &str,
    tray: usize,
    cups: &[TurnedCup],
) -> Result<(), RevealError> {
    key::open(key_text, &plan.seal).map_or(Ok(()), |key| stickers_of(&key, tray, cups))
}

fn stickers_of(key: &Key, tray: usize, cups: &[TurnedCup]) -> Result<(), RevealError> {
    let known = |cup: &&TurnedCup| key.cup(cup.under).is_some_and(|c| c.tray == Some(tray));
    match cups.iter().find(|cup| !known(cup)) {
        Some(cup) => Err(RevealError::UnknownSticker { tray, under: cup.under }),
        None => Ok(()),
    }
}

/// Names the waters of a session whose log holds the reveal.
///
/// # Errors
/// When the log holds none, or the key is not the sealed one.
pub fn revealed(score_log: &ScoreLog, key_text: &str) -> Result<Revealed, RevealError> {
    let line = score_log.revealed_in().ok_or(RevealError::NotRevealed)?;
    let plan = score_log.plan();
    let (key, verified) = session::verify(plan, key_text)?;
    let mut revealed = Revealed {
        session: plan.session.clone(),
        method: plan.method.clone(),
        analysis: plan.analysis.clone(),
        wanted: plan.wanted(),
        waters: key.waters.clone(),
        tasters: plan.tasters.clone(),
        attributes: plan.method.attributes().iter().map(|a| a.name.clone()).collect(),
        scores: Vec::new(),
        late_scores: Vec::new(),
        rankings: Vec::new(),
        choices: Vec::new(),
        left_out: left_out(score_log),
        forced: score_log.forced(),
        expected_orders: expected_orders(score_log, &key.waters),
        opened_early: opened_early(score_log, line),
        after_turning: after_turning(score_log),
        verified,
    };
    let naming = Unblinding { plan, key: &key, score_log };
    for place in 0..plan.trays.len() {
        naming.add(place, &mut revealed)?;
    }
    revealed.late_scores = naming.late_scores()?;
    Ok(revealed)
}

/// Counts what does not enter the analysis.
fn left_out(score_log: &ScoreLog) -> LeftOut {
    let mut left_out = LeftOut::default();
    for recorded in score_log.lines() {
        match &recorded.line.entry {
            Entry::Late { .. } => left_out.late += 1,
            Entry::Reveal { missing_answers, .. } => left_out.missing_answers = *missing_answers,
            _ => {}
        }
    }
    left_out
}

/// Openings of the key before the reveal that the procedure does not foresee.
fn opened_early(score_log: &ScoreLog, reveal: u64) -> Vec<String> {
    let before = score_log.lines().iter().filter(|recorded| recorded.line.n < reveal);
    before
        .filter_map(|recorded| match &recorded.line.entry {
            Entry::Opened { purpose: OpenedFor::AnotherReason, why } => Some(why.clone()),
            _ => None,
        })
        .collect()
}
