//! What changed in a tasting alone after cups had been turned over, when it was no longer blind.

use crate::session::score::{Entry, ScoreLog};

/// Something entered after a tray had been turned over.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct AfterTurning {
    /// Line of the log.
    pub line: u64,
    /// Number of the tray that it is about.
    pub tray: usize,
    /// What was done.
    pub what: String,
}

/// Everything entered in a log, before the reveal, about a tray that had been turned over, and about
/// trays answered after another had been.
pub(crate) fn after_turning(score_log: &ScoreLog) -> Vec<AfterTurning> {
    let plan = score_log.plan();
    let mut turned: Vec<usize> = Vec::new();
    let mut marked: Vec<usize> = Vec::new();
    let mut found = Vec::new();
    for recorded in score_log.lines() {
        let (line, entry) = (recorded.line.n, &recorded.line.entry);
        let about = |entry: &Entry| {
            let place = score_log.about(entry)?.subject.tray();
            Some((place, plan.trays.get(place)?.number))
        };
        let mut add = |tray: usize, what: String| found.push(AfterTurning { line, tray, what });
        match entry {
            Entry::Turned { .. } => {
                let Some((place, tray)) = about(entry) else { continue };
                if turned.contains(&place) {
                    add(tray, format!("the stickers of tray {tray} were entered anew"));
                } else {
                    turned.push(place);
                }
            }
            Entry::Undo { of } => {
                let Some(undone) = score_log.line(*of).map(|recorded| &recorded.line.entry) else {
                    continue;
                };
                let known = |about: &(usize, usize)| turned.contains(&about.0);
                let Some((_, tray)) = about(undone).filter(known) else { continue };
                add(
                    tray,
                    match undone {
                        Entry::Turned { .. } => {
                            format!("the turning of tray {tray} was taken back")
                        }
                        _ => format!("an answer about tray {tray} was taken back"),
                    },
                );
            }
            Entry::Answer(_) | Entry::Correction { .. } => {
                let any_turned = |_: &(usize, usize)| !turned.is_empty();
                let Some((place, tray)) = about(entry).filter(any_turned) else { continue };
                if turned.contains(&place) {
                    add(tray, format!("an answer about tray {tray} was entered"));
                } else if !marked.contains(&place) {
                    // Once for each tray, however many cups it has.
                    marked.push(place);
                    add(tray, format!("tray {tray} was tasted after another had been turned over"));
                }
            }
            _ => {}
        }
    }
    found
}
