//! The lines of the records as they stand on disk: their formats, their numbers, and what a line must say
//! to be one. What a hand or a damaged disk made of a line is no record.

use std::collections::BTreeSet;
use std::path::Path;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::files::{Diagnostic, Fault};
use crate::quantities::{Celsius, Day, Dimension, Fraction, Grams, Millilitres};
use crate::stock::{Batch, Lot, Making, Verified};

/// Formats of the lines written today. Raised when a program of the one before could not read them;
/// a line of a later format is an error, not a guess, and those before are read.
///
/// 2 adds the strength that the stock's file meant when the batch was recorded, 3 the number of the
/// line.
pub(super) const BATCHES_FORMAT: u32 = 3;
/// 2 adds the session that a pour was for, 3 the number of the line.
pub(super) const POURS_FORMAT: u32 = 3;
/// From this format on, lines of both logs are numbered.
const NUMBERED: u32 = 3;

/// Our choice: more lines than any log of a bench ever has.
const MOST_LINES: u64 = 1_000_000_000;

/// What every line says before anything else of it is read.
#[derive(Clone, Copy, Deserialize)]
pub(super) struct Format {
    v: u32,
    n: Option<u64>,
}

/// A line of the log of batches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub(super) enum BatchLine {
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
pub(super) enum MadeLine {
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

impl PourLine {
    pub(super) fn is_sound(&self) -> bool {
        Day::parse(&self.day).is_some()
            && self.taken.iter().all(|taken| is_amount(Dimension::Volume, taken.ml))
    }
}

/// That a number is an amount of a bench, or none of it.
fn is_amount(dimension: Dimension, base: f64) -> bool {
    base >= 0.0 && dimension.out_of_bounds(base).is_none()
}

/// A strength that was measured; `None` when the numbers are no strength.
pub(super) fn verified_of(day: &str, g_per_kg: f64, standard_g_per_kg: f64) -> Option<Verified> {
    const G_PER_KG: f64 = 1000.0;
    let is_strength = |g_per_kg: f64| is_amount(Dimension::MassFraction, g_per_kg / G_PER_KG);
    let sound = g_per_kg > 0.0 && is_strength(g_per_kg) && is_strength(standard_g_per_kg);
    let day = Day::parse(day)?;
    sound.then_some(Verified { day, g_per_kg, standard_g_per_kg })
}

impl MadeLine {
    fn making(self) -> Option<Making> {
        let (salt_g, other, dimension) = match self {
            Self::ToTotalMass { salt_g, total_g } => (salt_g, total_g, Dimension::Mass),
            Self::ToVolume { salt_g, volume_ml } => (salt_g, volume_ml, Dimension::Volume),
            Self::IntoWater { salt_g, water_g } => (salt_g, water_g, Dimension::Mass),
        };
        let above_zero = salt_g > 0.0 && other > 0.0;
        let sound = is_amount(Dimension::Mass, salt_g) && is_amount(dimension, other);
        let salt = Grams::new(salt_g);
        (above_zero && sound).then_some(match self {
            Self::ToTotalMass { total_g, .. } => {
                Making::ToTotalMass { salt, total: Grams::new(total_g) }
            }
            Self::ToVolume { volume_ml, .. } => {
                Making::ToVolume { salt, volume: Millilitres::new(volume_ml) }
            }
            Self::IntoWater { water_g, .. } => {
                Making::IntoWater { salt, water: Grams::new(water_g) }
            }
        })
    }
}

/// The batch of a line; `None` when its numbers are those of no batch.
pub(super) fn batch_of(line: BatchLine) -> Option<Batch> {
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
    let is_part = |part: f64| (0.0..=1.0).contains(&part);
    let parts = [Some(purity), purity_within, Some(moisture), moisture_within];
    let is_celsius = Dimension::Temperature.out_of_bounds(celsius).is_none() && celsius.is_finite();
    if purity == 0.0 || !is_celsius || !parts.into_iter().flatten().all(is_part) {
        return None;
    }
    Some(Batch {
        stock,
        number: batch,
        day: Day::parse(&day)?,
        salt,
        making: made.making()?,
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

impl Format {
    /// What a line says of itself; `None` for one that is no record.
    pub(super) fn of(line: &str) -> Option<Self> {
        serde_json::from_str(line).ok()
    }

    /// The number that a line says it has. One that no log reaches is the work of a damaged disk.
    pub(super) fn number(self) -> Option<u64> {
        self.n.filter(|n| self.v >= NUMBERED && *n <= MOST_LINES)
    }
}

/// A line of a log that counts.
pub(super) struct Counted<'a> {
    /// Its place in the file, from 1.
    pub(super) place: usize,
    /// Its text.
    pub(super) text: &'a str,
    format: Option<Format>,
}

/// The lines of a log, each once, and what their numbers tell of lines that are lost, doubled or moved.
pub(super) fn counted<'a>(
    path: &Path,
    lines: &'a [String],
    miscounted: &mut Vec<Diagnostic>,
) -> Vec<Counted<'a>> {
    let mut wrong = |what: String, remedy: &str| {
        miscounted.push(Diagnostic::new(Fault::Content, what).about(path).remedy(remedy));
    };
    let mut kept: Vec<Counted<'a>> = Vec::new();
    let mut seen = BTreeSet::new();
    let mut last = 0_u64;
    for (text, place) in lines.iter().zip(1_usize..) {
        let format = Format::of(text);
        let due = last.saturating_add(1);
        match format.and_then(Format::number) {
            Some(n) if !seen.insert(n) => {
                wrong(
                    format!("line {place} has the number {n}, which was there before"),
                    "it is not counted; the file was changed by another program: restore it from a \
                     copy",
                );
                continue;
            }
            Some(n) if n < due => {
                wrong(
                    format!("line {place} has the number {n} and stands behind number {last}"),
                    "it is counted; the file was changed by another program: compare it with a copy",
                );
                last = n;
            }
            Some(n) => {
                let between = u64::try_from(seen.range(due..n).count()).unwrap_or_default();
                let lost = match (n - due).saturating_sub(between) {
                    0 => None,
                    1 => Some(format!("a line is lost before line {place}")),
                    lost => Some(format!("{lost} lines are lost before line {place}")),
                };
                if let Some(lost) = lost {
                    wrong(
                        lost,
                        "what it held is not counted; restore the file from a copy that has it",
                    );
                }
                last = n;
            }
            None => last = due,
        }
        kept.push(Counted { place, text, format });
    }
    kept
}

/// Reads a line of a log.
pub(super) fn parsed<T: DeserializeOwned>(
    path: &Path,
    line: &Counted<'_>,
    newest: u32,
) -> Result<T, Diagnostic> {
    let format = line.format.ok_or_else(|| not_a_record(path, line.place))?;
    if format.v > newest {
        return Err(of_a_newer_program(path, line.place, (format.v, newest)));
    }
    serde_json::from_str(line.text).map_err(|_| not_a_record(path, line.place))
}

/// The number of the line that is added next: behind the last one, and none that is there.
pub(super) fn next_number(lines: &[String]) -> u64 {
    let numbers = || lines.iter().map(|line| Format::of(line).and_then(Format::number));
    let seen: BTreeSet<u64> = numbers().flatten().collect();
    let mut counted = BTreeSet::new();
    let mut last = 0_u64;
    for number in numbers() {
        match number {
            Some(n) if !counted.insert(n) => {}
            Some(n) => last = n,
            None => last = last.saturating_add(1),
        }
    }
    let mut next = last.saturating_add(1);
    while seen.contains(&next) {
        next += 1;
    }
    next
}

fn of_a_newer_program(path: &Path, number: usize, (found, newest): (u32, u32)) -> Diagnostic {
    let what = format!(
        "line {number} is a record of format {found}, and this program reads up to {newest}"
    );
    Diagnostic::new(Fault::Content, what).about(path).remedy("use the newer program that wrote it")
}

pub(super) fn not_a_record(path: &Path, number: usize) -> Diagnostic {
    Diagnostic::new(Fault::Content, format!("line {number} is no record"))
        .about(path)
        .expected("a record as the program writes it")
        .remedy("restore the file from a copy")
}
