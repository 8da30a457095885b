//! Whose answers are missing, and how far each taster is.

use crate::session::plan::{Blinding, Code, Method};
use crate::session::score::ScoreLog;

/// A tray, a cup or a turning that is still missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pending {
    /// Number of the tray.
    pub tray: usize,
    /// What is missing of it.
    pub what: PendingKind,
}

/// What is missing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PendingKind {
    /// Scores of a cup.
    Cup {
        /// Its code.
        code: Code,
        /// Attributes without a score.
        attributes: Vec<String>,
    },
    /// The answer about the whole tray.
    Tray,
    /// The tray is answered and must be turned over.
    Turning,
}

/// How far a taster is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TasterProgress {
    /// The taster.
    pub taster: String,
    /// Cups or trays answered in full, and trays turned.
    pub done: usize,
    /// What is missing, in the order of tasting.
    pub pending: Vec<Pending>,
}

impl ScoreLog {
    /// What is missing of the tray at a place of the plan.
    pub(crate) fn pending_of(&self, place: usize) -> Vec<PendingKind> {
        let Some(tray) = self.plan.trays.get(place) else { return Vec::new() };
        let mut pending = Vec::new();
        if let Method::Scoring { attributes } = &self.plan.method {
            for &code in &tray.cups {
                let scored = self.scores.get(&(place, code));
                let missing: Vec<String> = attributes
                    .iter()
                    .filter(|a| scored.is_none_or(|scored| !scored.contains_key(&a.name)))
                    .map(|a| a.name.clone())
                    .collect();
                if !missing.is_empty() {
                    pending.push(PendingKind::Cup { code, attributes: missing });
                }
            }
        } else if !self.trays.contains_key(&place) {
            pending.push(PendingKind::Tray);
        }
        if self.plan.blinding == Blinding::Solo && !self.turned.contains_key(&place) {
            pending.push(PendingKind::Turning);
        }
        pending
    }

    /// Whose answers are missing, in the order of the plan.
    #[must_use]
    pub fn progress(&self) -> Vec<TasterProgress> {
        self.plan.tasters.iter().map(|taster| self.progress_of(taster)).collect()
    }

    /// What is missing of one taster, in the order of serving.
    #[must_use]
    pub fn progress_of(&self, taster: &str) -> TasterProgress {
        let per_tray = match self.plan.method {
            Method::Scoring { .. } => self.plan.cups_per_tray,
            _ => 1,
        } + usize::from(self.plan.blinding == Blinding::Solo);
        let mut progress =
            TasterProgress { taster: taster.to_owned(), done: 0, pending: Vec::new() };
        let own = self.plan.trays.iter().enumerate().filter(|(_, tray)| tray.taster == taster);
        for (place, tray) in own {
            let pending = self.pending_of(place);
            progress.done += per_tray.saturating_sub(pending.len());
            let tray = tray.number;
            progress.pending.extend(pending.into_iter().map(|what| Pending { tray, what }));
        }
        // Cups are turned over when every tray is answered.
        progress.pending.sort_by_key(|pending| pending.what == PendingKind::Turning);
        progress
    }

    /// Cups, trays and turnings still missing.
    #[must_use]
    pub fn missing_answers(&self) -> usize {
        (0..self.plan.trays.len()).map(|place| self.pending_of(place).len()).sum()
    }
}
