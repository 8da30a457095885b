//! What the tool records beside the user's own files: batches as they were weighed, and pours.
//! Each is a log of one JSON object per line in the folder `records`; lines are only ever added.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

use crate::bench::history::{HistoryLine, What};
use crate::bench::record_lines::{AnyLine, BatchLine, MadeLine, TakenLine, numbered, taken_back};
pub use crate::bench::record_lines::{BottleChange, BottleLine};
pub use crate::bench::record_writer::{
    add_batch, add_bottle, add_pour, add_session_pour, add_verified, take_back, take_session_back,
};
use crate::files::{Diagnostic, Fault, append};
use crate::quantities::{Celsius, Day, Fraction, Grams, Millilitres};
use crate::stock::{Batch, Lot, Making, Verified};

/// Formats of the lines written today. Raised when a program of the one before could not read them;
/// a line of a later format is an error, not a guess, and those before are read.
///
/// 2 adds the strength that the stock's file meant when the batch was recorded; 3 the numbers of records
/// and what is taken back.
pub(super) const BATCHES_FORMAT: u32 = 3;
/// 2 adds the session that a pour was for; 3 the numbers of records, and what else happens to bottles.
pub(super) const POURS_FORMAT: u32 = 3;

/// What every line says before anything else of it is read.
#[derive(Deserialize)]
struct Format {
    v: u32,
}

/// A line of the log of pours: one flight poured once, whole or not at all.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PourLine {
    /// Format.
    pub v: u32,
    /// Number of the record; nothing in lines of older formats.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub n: Option<u64>,
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
    /// What else happened to bottles, with the numbers of the records.
    pub bottles: Vec<(u64, BottleLine)>,
    /// Sessions that were taken back.
    pub withdrawn_sessions: Vec<String>,
    /// Every record in order, whether it stands or not.
    pub history: Vec<HistoryLine>,
    /// Logs that end in a piece of a line.
    pub torn: Vec<PathBuf>,
}

/// Places of batches among all, by stock and number.
type Numbers = BTreeMap<String, BTreeMap<u32, usize>>;

pub(super) fn folder(root: &Path) -> PathBuf {
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
        let batches = lines::<BatchLine>(&path, BATCHES_FORMAT, &mut records.torn)?;
        let batches = batches.into_iter().map(|(n, line)| AnyLine::Batch(n, line)).collect();
        let path = pours_path(root);
        let taken = lines::<TakenLine>(&path, POURS_FORMAT, &mut records.torn)?;
        let taken = taken.into_iter().map(|(n, line)| AnyLine::Taken(n, line)).collect();
        let all = numbered(batches, taken);
        let back = taken_back(&all);
        for (n, line) in all {
            records.history.push(HistoryLine::new(n, &line, back.get(&n).copied()));
            records.take(root, n, line, (back.contains_key(&n), &mut numbers))?;
        }
        // A batch that takes the place of an earlier one stands where that one stood.
        records.batches.sort_by_key(|batch| batch.number);
        Ok(records)
    }

    /// The newest batch of a stock.
    #[must_use]
    pub fn newest(&self, stock: &str) -> Option<&Batch> {
        self.batches.iter().rev().find(|b| b.stock == stock)
    }

    /// The record of a number.
    ///
    /// # Errors
    /// When there is none, or it does not stand.
    pub fn standing(&self, n: u64) -> Result<&HistoryLine, Diagnostic> {
        let found = self.history.iter().find(|line| line.n == n).ok_or_else(|| {
            Diagnostic::new(Fault::Choice, format!("there is no record {n}"))
                .expected(match self.history.last() {
                    Some(last) => format!("a number from 1 to {}", last.n),
                    None => "nothing is recorded yet".to_owned(),
                })
                .remedy("`waterflight log` lists the records")
        })?;
        match found.taken_back_by {
            None => Ok(found),
            Some(by) => Err(Diagnostic::new(
                Fault::Choice,
                format!("record {n} was taken back by record {by} already"),
            )
            .remedy(format!("`waterflight undo {by}` lets it stand again"))),
        }
    }

    /// What of a batch was taken, spilled or found missing, mL; `made_ml` is what was made.
    #[must_use]
    pub fn used_ml(&self, stock: &str, batch: u32, made_ml: f64) -> f64 {
        let mut steps: Vec<(u64, BottleChange)> = Vec::new();
        for pour in &self.pours {
            let mine = pour.taken.iter().filter(|t| t.stock == stock && t.batch == batch);
            let n = pour.n.unwrap_or(0);
            steps.extend(mine.map(|t| (n, BottleChange::SpilledMl(t.ml))));
        }
        let mine = self.bottles.iter().filter(|(_, b)| b.stock == stock && b.batch == batch);
        steps.extend(mine.map(|(n, b)| (*n, b.change)));
        steps.sort_by_key(|(n, _)| *n);
        steps.iter().fold(0.0, |used, (_, change)| match change {
            BottleChange::SpilledMl(ml) => used + ml,
            BottleChange::LeftMl(ml) => made_ml - ml,
            BottleChange::ThrownAway => made_ml,
        })
    }

    fn take(
        &mut self,
        root: &Path,
        n: u64,
        line: AnyLine,
        (is_taken_back, numbers): (bool, &mut Numbers),
    ) -> Result<(), Diagnostic> {
        match line {
            AnyLine::Batch(at, line) => self
                .take_batch(line, is_taken_back, numbers)
                .ok_or_else(|| not_a_record(&batches_path(root), at)),
            AnyLine::Taken(at, line) => {
                let (sound, day) = match &line {
                    TakenLine::Pour(pour) => {
                        (pour.taken.iter().all(|t| t.ml.is_finite() && t.ml >= 0.0), &pour.day)
                    }
                    TakenLine::Bottle(bottle) => (
                        match bottle.change {
                            BottleChange::SpilledMl(ml) | BottleChange::LeftMl(ml) => {
                                ml.is_finite() && ml >= 0.0
                            }
                            BottleChange::ThrownAway => true,
                        },
                        &bottle.day,
                    ),
                };
                if !sound || Day::parse(day).is_none() {
                    return Err(not_a_record(&pours_path(root), at));
                }
                match line {
                    _ if is_taken_back => {}
                    TakenLine::Pour(pour) => self.pours.push(PourLine { n: Some(n), ..pour }),
                    TakenLine::Bottle(bottle) => self.bottles.push((n, bottle)),
                }
                Ok(())
            }
        }
    }

    fn take_batch(
        &mut self,
        line: BatchLine,
        is_taken_back: bool,
        numbers: &mut Numbers,
    ) -> Option<()> {
        match line {
            BatchLine::Verified { stock, batch, day, g_per_kg, standard_g_per_kg, .. } => {
                let verified = Verified { day: Day::parse(&day)?, g_per_kg, standard_g_per_kg };
                let sound = g_per_kg > 0.0 && standard_g_per_kg >= 0.0;
                let place = numbers.get(&stock).and_then(|of| of.get(&batch)).copied();
                match place.and_then(|n| self.batches.get_mut(n)).filter(|_| sound) {
                    Some(found) if !is_taken_back => found.verified = Some(verified),
                    Some(_) => {}
                    // Its batch may have been taken back; one that was never made is no record.
                    None => {
                        let was_made = |line: &HistoryLine| matches!(&line.what, What::Batch { stock: s, batch: b, .. } if *s == stock && *b == batch);
                        return (sound && self.history.iter().any(was_made)).then_some(());
                    }
                }
            }
            made @ BatchLine::Made { instead_of, .. } => {
                let batch = batch_of(made)?;
                if !is_taken_back {
                    // What was verified of the bottle was measured, whatever was weighed into it.
                    let verified = instead_of.and_then(|of| {
                        let same = self.verified_of(of)?;
                        (same.0 == batch.stock && same.1 == batch.number).then_some(same.2)
                    });
                    let of_stock = numbers.entry(batch.stock.clone()).or_default();
                    // Of two with one number the first counts.
                    of_stock.entry(batch.number).or_insert(self.batches.len());
                    self.batches.push(Batch { verified, ..batch });
                }
            }
            BatchLine::Withdrawn { day, .. } => drop(Day::parse(&day)?),
            BatchLine::Session { session, withdrawn, .. } => {
                self.withdrawn_sessions.retain(|name| *name != session);
                if withdrawn && !is_taken_back {
                    self.withdrawn_sessions.push(session);
                }
            }
        }
        Some(())
    }

    /// The last verification that stands of the batch of a record.
    fn verified_of(&self, record: u64) -> Option<(String, u32, Verified)> {
        let line = self.history.iter().find(|line| line.n == record)?;
        let What::Batch { stock, batch, .. } = &line.what else { return None };
        let mut verified = self.history.iter().rev().filter(|l| l.taken_back_by.is_none());
        verified.find_map(|line| match &line.what {
            What::Verified { stock: s, batch: b, verified } if s == stock && b == batch => {
                Some((s.clone(), *b, *verified))
            }
            _ => None,
        })
    }
}

fn batch_of(line: BatchLine) -> Option<Batch> {
    let BatchLine::Made {
        v: _,
        n: _,
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
