//! What the tool records beside the user's own files: batches as they were weighed, and pours.
//! Each is a log of one JSON object per line in the folder `records`; lines are only ever added.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::Serialize;

pub use crate::bench::record_lines::{PourLine, PouredVolume};

use crate::bench::record_lines::{
    BATCHES_FORMAT, BatchLine, MadeLine, POURS_FORMAT, batch_of, counted, next_number,
    not_a_record, parsed, verified_of,
};
use crate::files::append::Log;
use crate::files::{Diagnostic, Fault, Lock, append, write};
use crate::quantities::{Day, Fraction};
use crate::session::blind::log_file::clock_is_right;
use crate::stock::{Batch, Making, Verified};

/// Everything recorded on a bench that can be read, and what is wrong with the rest.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// All batches, in the order in which they were recorded, with their verifications.
    pub batches: Vec<Batch>,
    /// All pours.
    pub pours: Vec<PourLine>,
    /// Logs that end in a piece of a line.
    pub torn: Vec<PathBuf>,
    /// Lines of the log of batches that cannot be read: any of them may be the newest batch of a stock.
    pub unread_batches: Vec<Diagnostic>,
    /// Lines of the log of pours that cannot be read.
    pub unread_pours: Vec<Diagnostic>,
    /// Lines of either log that are lost, or there twice; of the latter one counts.
    pub miscounted: Vec<Diagnostic>,
}

/// Places of batches among all, by stock and number.
type Numbers = BTreeMap<String, BTreeMap<u32, usize>>;

fn folder(root: &Path) -> PathBuf {
    root.join("records")
}

/// The log of batches of a bench.
#[must_use]
pub fn batches_path(root: &Path) -> PathBuf {
    folder(root).join("batches.jsonl")
}

/// The log of pours of a bench.
#[must_use]
pub fn pours_path(root: &Path) -> PathBuf {
    folder(root).join("pours.jsonl")
}

impl Records {
    /// Reads what was recorded on a bench; a bench without records has none. A line that is no record, or
    /// a log that cannot be read at all, is kept apart, so that it stops only what needs it.
    ///
    /// # Errors
    /// When `records` is there and is no folder.
    pub fn read(root: &Path) -> Result<Self, Diagnostic> {
        if folder(root).exists() && !folder(root).is_dir() {
            return Err(Diagnostic::new(Fault::Missing, "this is no folder")
                .about(folder(root))
                .remedy("move it away: the records of the bench stand in a folder of that name"));
        }
        let mut records = Self::default();
        let mut numbers = Numbers::new();
        let path = batches_path(root);
        let log = append::read(&path).unwrap_or_else(|wrong| {
            records.unread_batches.push(wrong);
            Log::default()
        });
        records.torn.extend(log.torn.is_some().then(|| path.clone()));
        for line in counted(&path, &log.lines, &mut records.miscounted) {
            let wrong = || not_a_record(&path, line.place);
            let taken = parsed::<BatchLine>(&path, &line, BATCHES_FORMAT)
                .and_then(|read| records.take(read, &mut numbers).ok_or_else(wrong));
            records.unread_batches.extend(taken.err());
        }
        let path = pours_path(root);
        let log = append::read(&path).unwrap_or_else(|wrong| {
            records.unread_pours.push(wrong);
            Log::default()
        });
        records.torn.extend(log.torn.is_some().then(|| path.clone()));
        for line in counted(&path, &log.lines, &mut records.miscounted) {
            match parsed::<PourLine>(&path, &line, POURS_FORMAT) {
                Ok(read) if read.is_sound() => records.pours.push(read),
                Ok(_) => records.unread_pours.push(not_a_record(&path, line.place)),
                Err(wrong) => records.unread_pours.push(wrong),
            }
        }
        Ok(records)
    }

    /// Everything that is wrong with the records.
    pub fn damage(&self) -> impl Iterator<Item = &Diagnostic> {
        self.unread_batches.iter().chain(&self.unread_pours).chain(&self.miscounted)
    }

    /// The newest batch of a stock.
    #[must_use]
    pub fn newest(&self, stock: &str) -> Option<&Batch> {
        self.batches.iter().rev().find(|b| b.stock == stock)
    }

    fn take(&mut self, line: BatchLine, numbers: &mut Numbers) -> Option<()> {
        match line {
            BatchLine::Verified { v: _, n: _, stock, batch, day, g_per_kg, standard_g_per_kg } => {
                let verified = verified_of(&day, g_per_kg, standard_g_per_kg)?;
                let place = numbers.get(&stock)?.get(&batch)?;
                self.batches.get_mut(*place)?.verified = Some(verified);
            }
            made @ BatchLine::Made { .. } => {
                let batch = batch_of(made)?;
                let of_stock = numbers.entry(batch.stock.clone()).or_default();
                // Of two with one number the first counts.
                of_stock.entry(batch.number).or_insert(self.batches.len());
                self.batches.push(batch);
            }
        }
        Some(())
    }
}

/// Records a batch under the next number of its stock, which it returns.
///
/// # Errors
/// When the records cannot be read or written, or another run is writing.
pub fn add_batch(root: &Path, batch: &Batch) -> Result<u32, Diagnostic> {
    writing(root, || {
        let records = Records::read(root)?;
        // A line that cannot be read may hold a batch of this stock: its number stays free.
        let unread = u32::try_from(records.unread_batches.len()).unwrap_or(u32::MAX);
        let number = records.newest(&batch.stock).map_or(0, |b| b.number);
        let number = number.saturating_add(unread).saturating_add(1);
        let lot = &batch.lot;
        let line = BatchLine::Made {
            v: BATCHES_FORMAT,
            n: Some(next_line(&batches_path(root))?),
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
        append::append(&batches_path(root), &text(&line)?)?;
        Ok(number)
    })
}

/// Records the verified strength of the newest batch of a stock.
///
/// # Errors
/// As [`add_batch`].
pub fn add_verified(
    root: &Path,
    stock: &str,
    batch: u32,
    verified: Verified,
) -> Result<(), Diagnostic> {
    writing(root, || {
        let line = BatchLine::Verified {
            v: BATCHES_FORMAT,
            n: Some(next_line(&batches_path(root))?),
            stock: stock.to_owned(),
            batch,
            day: verified.day.to_string(),
            g_per_kg: verified.g_per_kg,
            standard_g_per_kg: verified.standard_g_per_kg,
        };
        append::append(&batches_path(root), &text(&line)?)
    })
}

/// Records that a flight was poured.
///
/// # Errors
/// As [`add_batch`].
pub fn add_pour(
    root: &Path,
    day: Day,
    flight: &str,
    taken: Vec<PouredVolume>,
) -> Result<(), Diagnostic> {
    let (day, flight) = (day.to_string(), flight.to_owned());
    writing(root, || {
        let n = Some(next_line(&pours_path(root))?);
        let line = PourLine { v: POURS_FORMAT, n, day, flight, session: None, taken };
        append::append(&pours_path(root), &text(&line)?)
    })
}

/// Records that the waters of a session were poured; a second time only with `again`.
///
/// # Errors
/// As [`add_batch`], and when the session was poured before.
pub fn add_session_pour(
    root: &Path,
    day: Day,
    (flight, session): (&str, &str),
    taken: Vec<PouredVolume>,
    again: bool,
) -> Result<(), Diagnostic> {
    writing(root, || {
        if !again {
            not_poured_yet(root, session)?;
        }
        let line = PourLine {
            v: POURS_FORMAT,
            n: Some(next_line(&pours_path(root))?),
            day: day.to_string(),
            flight: flight.to_owned(),
            session: Some(session.to_owned()),
            taken,
        };
        append::append(&pours_path(root), &text(&line)?)
    })
}

/// That a session was not poured before.
///
/// # Errors
/// When it was, or when a line of the log cannot be read, which may be that pour.
pub fn not_poured_yet(root: &Path, session: &str) -> Result<(), Diagnostic> {
    let records = Records::read(root)?;
    let before = records.pours.iter().find(|pour| pour.session.as_deref() == Some(session));
    if let Some(before) = before {
        let what = format!("the session `{session}` was poured on {} already", before.day);
        return Err(Diagnostic::new(Fault::Choice, what)
            .about(pours_path(root))
            .remedy("with `--again` it is taken from the bottles once more"));
    }
    records.unread_pours.into_iter().next().map_or(Ok(()), Err)
}

fn writing<T>(root: &Path, work: impl FnOnce() -> Result<T, Diagnostic>) -> Result<T, Diagnostic> {
    clock_is_right()?;
    write::subfolder(&folder(root))?;
    let _lock = Lock::take(&folder(root).join("lock"))?;
    work()
}

fn text(line: &impl Serialize) -> Result<String, Diagnostic> {
    serde_json::to_string(line).map_err(|e| Diagnostic::new(Fault::Internal, e.to_string()))
}

/// The number of the next line of a log.
fn next_line(path: &Path) -> Result<u64, Diagnostic> {
    Ok(next_number(&append::read(path)?.lines))
}
