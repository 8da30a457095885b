//! The reveal: only when nothing is missing or when forced; then codes become waters.

use crate::session::plan::{Key, key};
use crate::session::plan::{Plan, session};

use crate::session::score::ScoreLog;
use crate::session::score::after_turning::after_turning;
use crate::session::score::expected_orders;
use crate::session::score::unblinding::Unblinding;
use crate::session::score::{Entry, OpenedFor, TurnedCup};
use crate::session::score::{LeftOut, RevealError, Revealed};

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
