//! What the tool records beside the user's own files: batches as they were weighed, and pours.
//! Each is a log of one JSON object per line in the folder `records`; lines are only ever added.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::files::{Diagnostic, Fault, Lock, append, write};
use crate::quantities::{Celsius, Day, Fraction, Grams, Millilitres};
use crate::stock::{Batch, Lot, Making, Verified};

/// Formats of the lines written today. Raised when a program of the one before could not read them;
/// a line of a later format is an error, not a guess, and those before are read.
///
/// 2 adds the strength that the stock's file meant when the batch was recorded.
const BATCHES_FORMAT: u32 = 2;
/// 2 adds the session that a pour was for.
const POURS_FORMAT: u32 = 2;

/// What every line says before anything else of it is read.
#[derive(Deserialize)]
struct Format {
    v: u32,
}

/// A line of the log of batches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
enum BatchLine {
    /// A batch as weighed.
    Made {
        v: u32,
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

/// Everything recorded on a bench.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Records {
    /// All batches, in the order in which they were recorded, with their verifications.
    pub batches: Vec<Batch>,
    /// All pours.
    pub pours: Vec<PourLine>,
    /// Logs that end in a piece of a line.
    pub torn: Vec<PathBuf>,
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
    /// Reads what was recorded on a bench; a bench without records has none.
    ///
    /// # Errors
    /// The first whole line that is no record.
    pub fn read(root: &Path) -> Result<Self, Diagnostic> {
        let mut records = Self::default();
        let mut numbers = Numbers::new();
        let path = batches_path(root);
        for (number, line) in lines::<BatchLine>(&path, BATCHES_FORMAT, &mut records.torn)? {
            records.take(line, &mut numbers).ok_or_else(|| not_a_record(&path, number))?;
        }
        let path = pours_path(root);
        for (number, line) in lines::<PourLine>(&path, POURS_FORMAT, &mut records.torn)? {
            let sound = Day::parse(&line.day).is_some()
                && line.taken.iter().all(|t| t.ml.is_finite() && t.ml >= 0.0);
            if !sound {
                return Err(not_a_record(&path, number));
            }
            records.pours.push(line);
        }
        Ok(records)
    }

    /// The newest batch of a stock.
    #[must_use]
    pub fn newest(&self, stock: &str) -> Option<&Batch> {
        self.batches.iter().rev().find(|b| b.stock == stock)
    }

    fn take(&mut self, line: BatchLine, numbers: &mut Numbers) -> Option<()> {
        match line {
            BatchLine::Verified { v: _, stock, batch, day, g_per_kg, standard_g_per_kg } => {
                let sound = g_per_kg > 0.0 && standard_g_per_kg >= 0.0;
                let place = numbers.get(&stock)?.get(&batch)?;
                let found = self.batches.get_mut(*place);
                found.filter(|_| sound)?.verified =
                    Some(Verified { day: Day::parse(&day)?, g_per_kg, standard_g_per_kg });
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

fn batch_of(line: BatchLine) -> Option<Batch> {
    let BatchLine::Made {
        v: _,
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
        let number = Records::read(root)?.newest(&batch.stock).map_or(1, |b| b.number + 1);
        let lot = &batch.lot;
        let line = BatchLine::Made {
            v: BATCHES_FORMAT,
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
    let line = BatchLine::Verified {
        v: BATCHES_FORMAT,
        stock: stock.to_owned(),
        batch,
        day: verified.day.to_string(),
        g_per_kg: verified.g_per_kg,
        standard_g_per_kg: verified.standard_g_per_kg,
    };
    writing(root, || append::append(&batches_path(root), &text(&line)?))
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
    let line = PourLine { v: POURS_FORMAT, day, flight, session: None, taken };
    writing(root, || append::append(&pours_path(root), &text(&line)?))
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
        let before = Records::read(root)?.pours;
        let before = before.iter().find(|pour| pour.session.as_deref() == Some(session));
        if let Some(before) = before.filter(|_| !again) {
            let what = format!("the session `{session}` was poured on {} already", before.day);
            return Err(Diagnostic::new(Fault::Choice, what)
                .about(pours_path(root))
                .remedy("with `--again` it is taken from the bottles once more"));
        }
        let line = PourLine {
            v: POURS_FORMAT,
            day: day.to_string(),
            flight: flight.to_owned(),
            session: Some(session.to_owned()),
            taken,
        };
        append::append(&pours_path(root), &text(&line)?)
    })
}

fn writing<T>(root: &Path, work: impl FnOnce() -> Result<T, Diagnostic>) -> Result<T, Diagnostic> {
    write::subfolder(&folder(root))?;
    let _lock = Lock::take(&folder(root).join("lock"))?;
    work()
}

fn text(line: &impl Serialize) -> Result<String, Diagnostic> {
    serde_json::to_string(line).map_err(|e| Diagnostic::new(Fault::Internal, e.to_string()))
}

fn lines<T: DeserializeOwned>(
    path: &Path,
    newest: u32,
    torn: &mut Vec<PathBuf>,
) -> Result<Vec<(usize, T)>, Diagnostic> {
    let log = append::read(path)?;
    if log.torn.is_some() {
        torn.push(path.to_owned());
    }
    log.lines
        .iter()
        .enumerate()
        .map(|(n, line)| {
            let n = n + 1;
            let format: Format = serde_json::from_str(line).map_err(|_| not_a_record(path, n))?;
            if format.v > newest {
                return Err(of_a_newer_program(path, n, (format.v, newest)));
            }
            let parsed = serde_json::from_str(line).map_err(|_| not_a_record(path, n))?;
            Ok((n, parsed))
        })
        .collect()
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
