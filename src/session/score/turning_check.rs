//! Whether the cups of a tray may be turned over, for a tasting alone: once every tray is answered, with
//! stickers that are under no other tray, and finally.

use std::collections::BTreeSet;

use crate::session::plan::{Blinding, Code};
use crate::session::score::entry_check::{all_on_tray, named_once};
use crate::session::score::subject::Subject;
use crate::session::score::{Entry, OpenedFor, PendingKind, Refusal, ScoreLog, TurnedCup};

impl ScoreLog {
    /// Tests that no other tray is still to be answered: what was under the cups of one tells how its
    /// waters taste, and the next would not be blind. Where the log says that the session is not blind
    /// the order no longer matters.
    pub(super) fn check_turned_last(&self, taster: &str, tray: usize) -> Result<(), Refusal> {
        let not_blind = self.lines().iter().any(|recorded| {
            matches!(recorded.line.entry, Entry::Opened { purpose: OpenedFor::AnotherReason, .. })
        });
        let open = self.plan.trays.iter().enumerate().find(|(place, other)| {
            other.taster == taster
                && self.pending_of(*place).iter().any(|pending| *pending != PendingKind::Turning)
        });
        match open {
            Some((_, open)) if !not_blind => {
                Err(Refusal::TurnedBeforeOthers { tray, open: open.number })
            }
            _ => Ok(()),
        }
    }

    pub(super) fn check_turned(
        &self,
        taster: &str,
        tray: usize,
        cups: &[TurnedCup],
    ) -> Result<(), Refusal> {
        if self.plan.blinding != Blinding::Solo {
            return Err(Refusal::NothingUnderneath);
        }
        let (place, stood) = self.tray_of(taster, tray)?;
        let stands = &stood.cups;
        named_once(cups.iter().map(|cup| cup.top))?;
        all_on_tray(cups.iter().map(|cup| cup.top), stands, tray)?;
        if cups.len() != stands.len() {
            return Err(Refusal::WrongNumber { tray, wanted: stands.len(), found: cups.len() });
        }
        self.stickers_free(place, cups)?;
        if !self.pending_of(place).iter().all(|pending| *pending == PendingKind::Turning) {
            return Err(Refusal::TurnedTooSoon { taster: taster.to_owned(), tray });
        }
        Ok(())
    }

    /// Tests that stickers are no codes of the tops, each named once, and entered under no other tray.
    fn stickers_free(&self, place: usize, cups: &[TurnedCup]) -> Result<(), Refusal> {
        let mut named = BTreeSet::new();
        for &TurnedCup { under, .. } in cups {
            if self.trays_with.contains_key(&under) {
                return Err(Refusal::StickerOnTop { under });
            }
            if !named.insert(under) {
                return Err(Refusal::StickerTwice { under });
            }
            if let Some((tray, line)) = self.entered_elsewhere(place, under) {
                return Err(Refusal::StickerOfAnotherTray { under, tray, line });
            }
        }
        Ok(())
    }

    /// Number of another tray under which a sticker was entered, and the line.
    fn entered_elsewhere(&self, place: usize, under: Code) -> Option<(usize, u64)> {
        let others = self.turned.iter().filter(|(other, _)| **other != place);
        others
            .filter(|(other, _)| {
                self.turned(**other).is_some_and(|c| c.iter().any(|c| c.under == under))
            })
            .find_map(|(other, line)| Some((self.plan.trays.get(*other)?.number, *line)))
    }

    /// Tests that a turning can be taken back: one that stood before it then stands again.
    pub(super) fn check_turned_back(
        &self,
        of: u64,
        taster: &str,
        tray: usize,
    ) -> Result<(), Refusal> {
        let (place, _) = self.tray_of(taster, tray)?;
        let before = self.turning_before(of);
        let cups = before.and_then(|n| match &self.line(n)?.line.entry {
            Entry::Turned { cups, .. } => Some(cups.as_slice()),
            _ => None,
        });
        for cup in cups.unwrap_or_default() {
            if let Some((_, stands)) = self.entered_elsewhere(place, cup.under) {
                return Err(Refusal::WouldStandTwice { of, stands });
            }
        }
        Ok(())
    }

    pub(super) fn not_turned(&self, subject: Subject) -> Result<(), Refusal> {
        let place = subject.tray();
        match self.plan.trays.get(place) {
            Some(tray) if self.turned.contains_key(&place) => {
                Err(Refusal::AlreadyTurned { taster: tray.taster.clone(), tray: tray.number })
            }
            _ => Ok(()),
        }
    }
}
