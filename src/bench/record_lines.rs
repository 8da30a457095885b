//! The lines of the records as they stand on disk: their formats, and what a line must say to be one. What
//! a hand or a damaged disk made of a line is no record.

use std::path::Path;

use serde::de::{DeserializeOwned, Error};
use serde::{Deserialize, Deserializer, Serialize};

use crate::files::Diagnostic;
use crate::quantities::{Celsius, Day, Dimension, Fraction, Grams, Millilitres};
use crate::stock::{Batch, Lot, Making, Verified};

/// Formats of the lines written today. Raised when a program of the one before could not read them;
/// a line of a later format is an error, not a guess, and those before are read.
///
/// 2 adds the strength that the stock's file meant when the batch was recorded; 3 the numbers of records
/// and what is taken back; 4 a verified strength in place of another; 5 the time at which it was recorded.
pub(super) const BATCHES_FORMAT: u32 = 5;
/// 2 adds the session that a pour was for; 3 the numbers of records, and what else happens to bottles;
/// 4 which waters were poured, how many bottles and of which size; 5 the time at which it was recorded.
pub(super) const POURS_FORMAT: u32 = 5;
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
pub(super) enum BatchLine {
    /// A batch as weighed.
    Made {
        v: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        n: Option<u64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instead_of: Option<u64>,
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
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instead_of: Option<u64>,
        stock: String,
        batch: u32,
        day: String,
        g_per_kg: f64,
        standard_g_per_kg: f64,
    },
    /// An earlier record of either log is taken back.
    Withdrawn {
        v: u32,
        n: Option<u64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
        of: u64,
        day: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// A planned session is taken back, or stands again.
    Session {
        v: u32,
        n: Option<u64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        at: Option<String>,
        session: String,
        withdrawn: bool,
        day: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
}

/// What was weighed or filled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum MadeLine {
    ToTotalMass { salt_g: f64, total_g: f64 },
    ToVolume { salt_g: f64, volume_ml: f64 },
    IntoWater { salt_g: f64, water_g: f64 },
}

/// A line of the log of pours: one flight poured once, whole or not at all.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PourLine {
    /// Format.
    pub v: u32,
    /// Number of the record; nothing in lines of older formats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
    /// When it was recorded, RFC 3339 in UTC; nothing in lines of older formats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The record that it takes the place of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead_of: Option<u64>,
    /// The day.
    pub day: String,
    /// File name of the flight.
    pub flight: String,
    /// The session it was poured for, when it was one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub session: Option<String>,
    /// The waters that were poured; all of the flight when none is named.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub waters: Vec<String>,
    /// Bottles of each water; nothing for a session, and in lines of older formats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottles: Option<u32>,
    /// Size of a bottle, mL; likewise.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bottle_ml: Option<f64>,
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

/// Something that happened to a bottle beside pours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BottleLine {
    /// Format.
    pub v: u32,
    /// Always `bottle`.
    pub kind: String,
    /// Number of the record.
    pub n: Option<u64>,
    /// When it was recorded, RFC 3339 in UTC; nothing in lines of older formats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The record that it takes the place of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead_of: Option<u64>,
    /// The day.
    pub day: String,
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch in the bottle.
    pub batch: u32,
    /// What happened.
    pub change: BottleChange,
}

/// What happened to a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BottleChange {
    /// So many mL were spilled, or taken for something else.
    SpilledMl(f64),
    /// So many mL were found in it.
    LeftMl(f64),
    /// It was thrown away.
    ThrownAway,
}

/// A line of the log of what was taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum TakenLine {
    Pour(PourLine),
    Bottle(BottleLine),
}

impl<'de> Deserialize<'de> for TakenLine {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = serde_json::Value::deserialize(deserializer)?;
        // A pour has no kind: it was the only line of the first formats.
        if value.get("kind").is_some() {
            return BottleLine::deserialize(value).map(Self::Bottle).map_err(D::Error::custom);
        }
        PourLine::deserialize(value).map(Self::Pour).map_err(D::Error::custom)
    }
}

/// A line of one of the logs.
pub(super) trait RecordLine: DeserializeOwned {
    /// Whether its numbers are amounts of a bench, on a day that there is.
    fn is_sound(&self) -> bool;
}

impl RecordLine for TakenLine {
    fn is_sound(&self) -> bool {
        let (day, sound) = match self {
            Self::Pour(pour) => (&pour.day, pour.taken.iter().all(PouredVolume::is_sound)),
            Self::Bottle(bottle) => (
                &bottle.day,
                match bottle.change {
                    BottleChange::SpilledMl(ml) | BottleChange::LeftMl(ml) => {
                        is_amount(Dimension::Volume, ml)
                    }
                    BottleChange::ThrownAway => true,
                },
            ),
        };
        sound && Day::parse(day).is_some()
    }
}

impl PouredVolume {
    /// Whether a bottle can give so much. A dose is worked out: a small bottle takes less of a stock than
    /// anybody would type.
    fn is_sound(&self) -> bool {
        (0.0..=Dimension::Volume.bounds().most).contains(&self.ml)
    }
}

impl RecordLine for BatchLine {
    fn is_sound(&self) -> bool {
        match self {
            Self::Made { .. } => batch_of(self.clone()).is_some(),
            Self::Verified { day, g_per_kg, standard_g_per_kg, .. } => {
                verified_of(day, *g_per_kg, *standard_g_per_kg).is_some()
            }
            Self::Withdrawn { day, .. } | Self::Session { day, .. } => Day::parse(day).is_some(),
        }
    }
}

/// That a line which is about to be written is a record when it is read back.
pub(super) fn reads_back<T: RecordLine>(path: &Path, line: &str) -> Result<(), Diagnostic> {
    match serde_json::from_str::<T>(line) {
        Ok(read) if read.is_sound() => Ok(()),
        _ => Err(Diagnostic::choice("this is more than any bench holds, so nothing was recorded")
            .about(path)
            .expected("at most ten cubic metres from one bottle")
            .remedy("look at the size and the number of bottles that were typed")),
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
        at: _,
        instead_of: _,
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

/// The number that a line says it has, whether the rest of it can be read or not.
pub(super) fn number_of(line: &str) -> Option<u64> {
    let format: Format = serde_json::from_str(line).ok()?;
    // A larger number was never given out: nobody records so much.
    format.n.filter(|n| format.v >= NUMBERED && (1..=u64::from(u32::MAX)).contains(n))
}

pub(super) fn parsed<T: DeserializeOwned>(
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
    Diagnostic::content(what).about(path).remedy("use the newer program that wrote it")
}

pub(super) fn not_a_record(path: &Path, number: usize) -> Diagnostic {
    Diagnostic::content(format!("line {number} is no record"))
        .about(path)
        .expected("a record as the program writes it")
        .remedy(
            "restore the file from a copy; without one, take this line out of it: all else is read \
             then, what the line said is not counted, and `waterflight check` names the record as lost",
        )
}
