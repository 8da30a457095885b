//! Recording: a batch, a verified strength, a pour, what happened to a bottle, and what is taken back. Each
//! is one line added under a lock, with the number of the record.

use std::path::Path;

use serde::Serialize;

use crate::bench::history::{HistoryLine, What};
use crate::bench::record_lines::{
    BATCHES_FORMAT, BatchLine, BottleChange, BottleLine, MadeLine, POURS_FORMAT, PourLine,
    PouredVolume, RecordLine, TakenLine, reads_back,
};
use crate::bench::records::{Records, batches_path, folder, pours_path};
use crate::files::{Diagnostic, Fault, Lock, append, clock, write};
use crate::quantities::{Day, Fraction};
use crate::stock::{Batch, Making, Verified};

/// Records a batch under the next number of its stock, or under that of the batch of the record that it
/// takes the place of; returns the number of the batch and that of the record.
///
/// # Errors
/// When the records cannot be read or written, another run is writing, or the record that it is to
/// take the place of is no batch of this stock.
pub fn add_batch(
    root: &Path,
    batch: &Batch,
    instead_of: Option<u64>,
) -> Result<(u32, u64), Diagnostic> {
    writing(root, instead_of, |records, n| {
        let mine = records.history.iter().filter_map(|line| match &line.what {
            What::Batch { stock, batch: number, .. } if *stock == batch.stock => Some(*number),
            _ => None,
        });
        // What was taken from a bottle tells of its batch, also where the line of that is lost.
        let taken = records.pours.iter().flat_map(|pour| &pour.taken);
        let taken = taken.filter(|t| t.stock == batch.stock).map(|t| t.batch);
        let handled = records.bottles.iter().map(|(_, bottle)| bottle);
        let handled = handled.filter(|b| b.stock == batch.stock).map(|b| b.batch);
        // A line that cannot be read may hold a batch of this stock: its number stays free.
        let unread = u32::try_from(records.unread_batches.len()).unwrap_or(u32::MAX);
        let next = mine
            .chain(taken)
            .chain(handled)
            .max()
            .unwrap_or(0)
            .saturating_add(unread)
            .saturating_add(1);
        let number = match instead_of.map(|of| records.standing(of)).transpose()? {
            None => next,
            Some(HistoryLine { what: What::Batch { stock, batch: number, .. }, .. })
                if *stock == batch.stock =>
            {
                *number
            }
            Some(other) => return Err(another_kind(other, &format!("a batch of {}", batch.stock))),
        };
        let lot = &batch.lot;
        let line = BatchLine::Made {
            v: BATCHES_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            instead_of,
            stock: batch.stock.clone(),
            batch: number,
            day: batch.day.to_string(),
            salt: batch.salt.clone(),
            made: match batch.making {
                Making::ToTotalMass { salt, total } => {
                    MadeLine::ToTotalMass { salt_g: salt.value(), total_g: total.value() }
                }
                Making::ToVolume { salt, volume } => {
                    MadeLine::ToVolume { salt_g: salt.value(), volume_ml: volume.value() }
                }
                Making::IntoWater { salt, water } => {
                    MadeLine::IntoWater { salt_g: salt.value(), water_g: water.value() }
                }
            },
            celsius: batch.temperature.value(),
            purity: lot.purity.value(),
            purity_within: lot.purity_within.map(Fraction::value),
            moisture: lot.moisture.value(),
            moisture_within: lot.moisture_within.map(Fraction::value),
            grade: lot.grade.clone(),
            lot: batch.lot_label.clone(),
            file_g_per_kg: batch.file_g_per_kg,
        };
        add::<BatchLine>(&batches_path(root), &line)?;
        Ok((number, n))
    })
}

/// Records the verified strength of the newest batch of a stock, in place of an earlier one where its
/// record is named; returns the number of the record.
///
/// # Errors
/// As [`add_batch`].
pub fn add_verified(
    root: &Path,
    (stock, batch): (&str, u32),
    verified: Verified,
    instead_of: Option<u64>,
) -> Result<u64, Diagnostic> {
    writing(root, instead_of, |records, n| {
        let is_of = |what: &What| matches!(what, What::Verified { stock: of, .. } if of == stock);
        may_replace(records, instead_of, is_of, &format!("a verified strength of {stock}"))?;
        let line = BatchLine::Verified {
            v: BATCHES_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            instead_of,
            stock: stock.to_owned(),
            batch,
            day: verified.day.to_string(),
            g_per_kg: verified.g_per_kg,
            standard_g_per_kg: verified.standard_g_per_kg,
        };
        add::<BatchLine>(&batches_path(root), &line)?;
        Ok(n)
    })
}

/// Takes an earlier record back; returns the number of the record that does.
///
/// # Errors
/// As [`add_batch`], and when there is no such record, or it does not stand.
pub fn take_back(
    root: &Path,
    of: u64,
    day: Day,
    why: Option<String>,
) -> Result<(HistoryLine, u64), Diagnostic> {
    writing(root, Some(of), |records, n| {
        let found = records.standing(of)?.clone();
        let line = BatchLine::Withdrawn {
            v: BATCHES_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            of,
            day: day.to_string(),
            why,
        };
        add::<BatchLine>(&batches_path(root), &line)?;
        Ok((found, n))
    })
}

/// Takes a planned session back; returns the number of the record that does.
///
/// # Errors
/// As [`add_batch`], and when it was taken back before.
pub fn take_session_back(
    root: &Path,
    session: &str,
    day: Day,
    why: Option<String>,
) -> Result<u64, Diagnostic> {
    writing(root, None, |records, n| {
        if records.withdrawn_sessions.iter().any(|name| name == session) {
            let what = format!("the session `{session}` was taken back already");
            return Err(Diagnostic::choice(what).remedy(
                "`waterflight log` names the record; taking that back lets it stand again",
            ));
        }
        let line = BatchLine::Session {
            v: BATCHES_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            session: session.to_owned(),
            withdrawn: true,
            day: day.to_string(),
            why,
        };
        add::<BatchLine>(&batches_path(root), &line)?;
        Ok(n)
    })
}

/// Records what happened to a bottle; returns the number of the record.
///
/// # Errors
/// As [`add_batch`].
pub fn add_bottle(
    root: &Path,
    day: Day,
    (stock, batch): (&str, u32),
    change: BottleChange,
    instead_of: Option<u64>,
) -> Result<u64, Diagnostic> {
    writing(root, instead_of, |records, n| {
        let is_bottle = |what: &What| matches!(what, What::Bottle { .. });
        may_replace(records, instead_of, is_bottle, "something that happened to a bottle")?;
        let line = BottleLine {
            v: POURS_FORMAT,
            kind: "bottle".to_owned(),
            n: Some(n),
            at: Some(Day::now()),
            instead_of,
            day: day.to_string(),
            stock: stock.to_owned(),
            batch,
            change,
        };
        add::<TakenLine>(&pours_path(root), &line)?;
        Ok(n)
    })
}

/// That a record is of the kind that is to take its place.
fn may_replace(
    records: &Records,
    of: Option<u64>,
    is_kind: impl FnOnce(&What) -> bool,
    expected: &str,
) -> Result<(), Diagnostic> {
    match of.map(|of| records.standing(of)).transpose()? {
        Some(other) if !is_kind(&other.what) => Err(another_kind(other, expected)),
        _ => Ok(()),
    }
}

fn another_kind(found: &HistoryLine, expected: &str) -> Diagnostic {
    Diagnostic::choice(format!("record {} is something else", found.n))
        .found(found.what.to_string())
        .expected(expected)
        .remedy(format!("take it back with `waterflight undo {}`", found.n))
}

/// A pour to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPour<'a> {
    /// The day.
    pub day: Day,
    /// File name of the flight.
    pub flight: &'a str,
    /// The waters that were poured; all of the flight when none is named.
    pub waters: Vec<String>,
    /// Bottles of each.
    pub bottles: u32,
    /// Size of a bottle, mL.
    pub bottle_ml: f64,
    /// What was taken.
    pub taken: Vec<PouredVolume>,
    /// The record of a pour that it takes the place of.
    pub instead_of: Option<u64>,
}

/// Records that a flight was poured; returns the number of the record.
///
/// # Errors
/// As [`add_batch`].
pub fn add_pour(root: &Path, pour: NewPour<'_>) -> Result<u64, Diagnostic> {
    writing(root, pour.instead_of, |records, n| {
        let is_pour = |what: &What| matches!(what, What::Pour { .. });
        may_replace(records, pour.instead_of, is_pour, "a pour")?;
        let line = PourLine {
            v: POURS_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            instead_of: pour.instead_of,
            day: pour.day.to_string(),
            flight: pour.flight.to_owned(),
            waters: pour.waters,
            bottles: Some(pour.bottles),
            bottle_ml: Some(pour.bottle_ml),
            taken: pour.taken,
            ..PourLine::default()
        };
        add::<TakenLine>(&pours_path(root), &line)?;
        Ok(n)
    })
}

/// How a session is poured that was poured before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PouredBefore {
    /// Not at all.
    Refused,
    /// Once more, beside the earlier pour.
    Again,
    /// In place of this record of it.
    InsteadOf(u64),
}

/// Records that the waters of a session were poured. Returns the number of the record.
///
/// # Errors
/// As [`add_batch`], and when the session was poured before and that is refused.
pub fn add_session_pour(
    root: &Path,
    day: Day,
    (flight, session): (&str, &str),
    taken: Vec<PouredVolume>,
    before: PouredBefore,
) -> Result<u64, Diagnostic> {
    writing(root, None, |records, n| {
        may_be_poured(records, root, session, before)?;
        let instead_of = match before {
            PouredBefore::InsteadOf(of) => Some(of),
            PouredBefore::Refused | PouredBefore::Again => None,
        };
        let line = PourLine {
            v: POURS_FORMAT,
            n: Some(n),
            at: Some(Day::now()),
            instead_of,
            day: day.to_string(),
            flight: flight.to_owned(),
            session: Some(session.to_owned()),
            taken,
            ..PourLine::default()
        };
        add::<TakenLine>(&pours_path(root), &line)?;
        Ok(n)
    })
}

/// That a session may be poured.
///
/// # Errors
/// When it was before and that is refused, when the record that it takes the place of is none of it, or
/// when a line of the log cannot be read, which may be that pour.
pub fn session_may_be_poured(
    root: &Path,
    session: &str,
    before: PouredBefore,
) -> Result<(), Diagnostic> {
    may_be_poured(&Records::read(root)?, root, session, before)
}

fn may_be_poured(
    records: &Records,
    root: &Path,
    session: &str,
    before: PouredBefore,
) -> Result<(), Diagnostic> {
    match before {
        PouredBefore::Refused => not_poured(records, root, session),
        PouredBefore::Again => Ok(()),
        PouredBefore::InsteadOf(of) => {
            let is_it =
                |what: &What| matches!(what, What::Pour { session: Some(of), .. } if of == session);
            may_replace(records, Some(of), is_it, &format!("a pour of {session}"))
        }
    }
}

fn not_poured(records: &Records, root: &Path, session: &str) -> Result<(), Diagnostic> {
    let before = records.pours.iter().find(|pour| pour.session.as_deref() == Some(session));
    if let Some(before) = before {
        let what = format!("the session `{session}` was poured on {} already", before.day);
        return Err(Diagnostic::choice(what).about(pours_path(root)).remedy(format!(
            "with `--again` it is taken from the bottles once more; `waterflight undo {}` takes the \
             earlier record back",
            before.n.unwrap_or_default()
        )));
    }
    records.unread_pours.first().map_or(Ok(()), |wrong| Err(wrong.clone()))
}

/// Writes under the lock, with what is recorded so far and the number of the next record. Whether an
/// earlier record stands is looked at before, so that a slip leaves no lock behind.
fn writing<T>(
    root: &Path,
    earlier: Option<u64>,
    work: impl FnOnce(&Records, u64) -> Result<T, Diagnostic>,
) -> Result<T, Diagnostic> {
    if let Some(n) = earlier {
        Records::read(root)?.standing(n)?;
    }
    clock::is_right()?;
    write::subfolder(&folder(root))?;
    let _lock = Lock::take(&folder(root).join("lock"))?;
    let records = Records::read(root)?;
    if let Some(wrong) = &records.closed {
        return Err(wrong.clone());
    }
    work(&records, records.last_number.saturating_add(1))
}

/// Adds a line to a log: whatever is confirmed is read again from then on.
fn add<T: RecordLine>(path: &Path, line: &impl Serialize) -> Result<(), Diagnostic> {
    let text = serde_json::to_string(line)
        .map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))?;
    reads_back::<T>(path, &text)?;
    append::append(path, &text)
}
