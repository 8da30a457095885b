//! What the tool records beside the user's own files: batches as they were weighed, and pours.
//! Each is a log of one JSON object per line in the folder `records`; lines are only ever added.

use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::files::{Diagnostic, Fault, Lock, append, write};
use crate::quantities::{Celsius, Day, Fraction, Grams, Millilitres};
use crate::stock::{Batch, Lot, Making, Verified};

/// Formats of the lines written today. Raised when a program of the one before could not read them;
/// a line of a later format is an error, not a guess, and those before are read.
///
/// 2 adds the strength that the stock's file meant when the batch was recorded, 3 the number of the
/// line.
const BATCHES_FORMAT: u32 = 3;
/// 2 adds the session that a pour was for, 3 the number of the line.
const POURS_FORMAT: u32 = 3;
/// From this format on, lines of both logs are numbered.
const NUMBERED: u32 = 3;

/// What every line says before anything else of it is read.
#[derive(Deserialize)]
struct Format {
    v: u32,
    n: Option<u64>,
}

/// A line of the log of batches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
enum BatchLine {
    /// A batch as weighed.
    Made {
        v: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        n: Option<u64>,
        stock: String,
        batch: u32,
        day: String,
        salt: String,
        made: MadeLine,
        celsius: f64,
        purity: f64,
        purity_within: Option<f64>,
        moisture: f64,
        moisture_within: Option<f64>,
        grade: Option<String>,
        lot: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        file_g_per_kg: Option<f64>,
    },
    /// A strength that was measured and taken over.
    Verified {
        v: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        n: Option<u64>,
        stock: String,
        batch: u32,
        day: String,
        g_per_kg: f64,
        standard_g_per_kg: f64,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum MadeLine {
    ToTotalMass { salt_g: f64, total_g: f64 },
    ToVolume { salt_g: f64, volume_ml: f64 },
    IntoWater { salt_g: f64, water_g: f64 },
}

/// A line of the log of pours: one flight poured once, whole or not at all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PourLine {
    /// Format.
    pub v: u32,
    /// Number of the line, from 1, so that a line that is lost or doubled is seen; none before
    /// format 3.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
    /// The day.
    pub day: String,
    /// File name of the flight.
    pub flight: String,
    /// The session it was poured for, when it was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub session: Option<String>,
    /// What was taken.
    pub taken: Vec<PouredVolume>,
}

/// What a pour took from one bottle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PouredVolume {
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch; 0 when none was recorded.
    pub batch: u32,
    /// Volume, mL.
    pub ml: f64,
}

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

impl PourLine {
    fn is_sound(&self) -> bool {
        Day::parse(&self.day).is_some()
            && self.taken.iter().all(|t| t.ml.is_finite() && t.ml >= 0.0)
    }
}

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
    /// Reads what was recorded on a bench; a bench without records has none. A line that is no record
    /// is kept apart, so that it stops only what needs it.
    ///
    /// # Errors
    /// When a log is there and cannot be read at all.
    pub fn read(root: &Path) -> Result<Self, Diagnostic> {
        let mut records = Self::default();
        let path = batches_path(root);
        let log = append::read(&path)?;
        records.torn.extend(log.torn.is_some().then(|| path.clone()));
        for (number, line) in counted(&path, &log.lines, &mut records.miscounted) {
            let read = parsed::<BatchLine>(&path, number, line, BATCHES_FORMAT);
            let taken =
                read.and_then(|l| records.take(l).ok_or_else(|| not_a_record(&path, number)));
            records.unread_batches.extend(taken.err());
        }
        let path = pours_path(root);
        let log = append::read(&path)?;
        records.torn.extend(log.torn.is_some().then(|| path.clone()));
        for (number, line) in counted(&path, &log.lines, &mut records.miscounted) {
            match parsed::<PourLine>(&path, number, line, POURS_FORMAT) {
                Ok(line) if line.is_sound() => records.pours.push(line),
                Ok(_) => records.unread_pours.push(not_a_record(&path, number)),
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

    fn take(&mut self, line: BatchLine) -> Option<()> {
        match line {
            BatchLine::Verified { v: _, n: _, stock, batch, day, g_per_kg, standard_g_per_kg } => {
                let sound = g_per_kg > 0.0 && standard_g_per_kg >= 0.0;
                let found = self.batches.iter_mut().find(|b| b.stock == stock && b.number == batch);
                found.filter(|_| sound)?.verified =
                    Some(Verified { day: Day::parse(&day)?, g_per_kg, standard_g_per_kg });
            }
            made @ BatchLine::Made { .. } => self.batches.push(batch_of(made)?),
        }
        Some(())
    }
}

fn batch_of(line: BatchLine) -> Option<Batch> {
    let BatchLine::Made {
        v: _,
        n: _,
        stock,
        batch,
        day,
        salt,
        made,
        celsius,
        purity,
        purity_within,
        moisture,
        moisture_within,
        grade,
        lot,
        file_g_per_kg,
    } = line
    else {
        return None;
    };
    Some(Batch {
        stock,
        number: batch,
        day: Day::parse(&day)?,
        salt,
        making: match made {
            MadeLine::ToTotalMass { salt_g, total_g } => {
                Making::ToTotalMass { salt: Grams::new(salt_g), total: Grams::new(total_g) }
            }
            MadeLine::ToVolume { salt_g, volume_ml } => {
                Making::ToVolume { salt: Grams::new(salt_g), volume: Millilitres::new(volume_ml) }
            }
            MadeLine::IntoWater { salt_g, water_g } => {
                Making::IntoWater { salt: Grams::new(salt_g), water: Grams::new(water_g) }
            }
        },
        temperature: Celsius::new(celsius),
        lot: Lot {
            purity: Fraction::new(purity),
            purity_within: purity_within.map(Fraction::new),
            moisture: Fraction::new(moisture),
            moisture_within: moisture_within.map(Fraction::new),
            grade,
            price: None,
        },
        lot_label: lot,
        file_g_per_kg,
        verified: None,
    })
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

/// That the clock shows a day that a record can hold.
///
/// # Errors
/// When its year has more than four digits.
pub fn clock_is_right() -> Result<(), Diagnostic> {
    let today = Day::clock();
    if Day::parse(&today.to_string()).is_some() {
        return Ok(());
    }
    Err(Diagnostic::new(Fault::Write, format!("the clock of this computer says {today}"))
        .expected("a day of this century")
        .remedy("set the clock, then do it again: nothing was recorded"))
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
    let lines = append::read(path)?.lines;
    let last = lines.iter().fold(0_u64, |last, line| match numbered(line) {
        Some(n) => n.max(last),
        None => last.saturating_add(1),
    });
    Ok(last.saturating_add(1))
}

/// The number that a line says it has.
fn numbered(line: &str) -> Option<u64> {
    let format: Format = serde_json::from_str(line).ok()?;
    format.n.filter(|_| format.v >= NUMBERED)
}

/// The lines of a log with their places in the file, each once, and what their numbers tell.
fn counted<'a>(
    path: &Path,
    lines: &'a [String],
    miscounted: &mut Vec<Diagnostic>,
) -> Vec<(usize, &'a str)> {
    let mut kept: Vec<(usize, &str)> = Vec::new();
    let mut last = 0_u64;
    for (line, place) in lines.iter().zip(1_usize..) {
        let due = last.saturating_add(1);
        match numbered(line) {
            Some(n) if n < due => {
                let what = format!("line {place} has the number {n}, which was there before");
                miscounted.push(Diagnostic::new(Fault::Content, what).about(path).remedy(
                    "it is not counted; the file was changed by another program: restore it from a \
                     copy",
                ));
                continue;
            }
            Some(n) => {
                if n > due {
                    let lost = if n - due == 1 {
                        format!("a line is lost before line {place}")
                    } else {
                        format!("{} lines are lost before line {place}", n - due)
                    };
                    miscounted.push(Diagnostic::new(Fault::Content, lost).about(path).remedy(
                        "what it held is not counted; restore the file from a copy that has it",
                    ));
                }
                last = n;
            }
            None => last = due,
        }
        kept.push((place, line));
    }
    kept
}

fn parsed<T: DeserializeOwned>(
    path: &Path,
    number: usize,
    line: &str,
    newest: u32,
) -> Result<T, Diagnostic> {
    let format: Format = serde_json::from_str(line).map_err(|_| not_a_record(path, number))?;
    if format.v > newest {
        return Err(of_a_newer_program(path, number, (format.v, newest)));
    }
    serde_json::from_str(line).map_err(|_| not_a_record(path, number))
}

fn of_a_newer_program(path: &Path, number: usize, (found, newest): (u32, u32)) -> Diagnostic {
    let what = format!(
        "line {number} is a record of format {found}, and this program reads up to {newest}"
    );
    Diagnostic::new(Fault::Content, what).about(path).remedy("use the newer program that wrote it")
}

fn not_a_record(path: &Path, number: usize) -> Diagnostic {
    Diagnostic::new(Fault::Content, format!("line {number} is no record"))
        .about(path)
        .expected("a record as the program writes it")
        .remedy("restore the file from a copy")
}
