//! What changed on the bench since a session was planned. The session keeps its waters as they were
//! planned; whoever pours should know that the bench has moved on.

use std::fmt;
use std::path::Path;

use crate::bench::Records;
use crate::bench::folders::flight_files;
use crate::bench::session_waters::{PlannedDose, SessionWaters};
use crate::files::{Diagnostic, read};
use crate::session::plan::key;

/// One change.
#[derive(Debug, Clone, PartialEq)]
pub enum Drift {
    /// A newer batch of a stock was recorded.
    NewerBatch {
        /// The stock.
        stock: String,
        /// The batch that the doses follow from; nothing when none was recorded.
        planned: Option<u32>,
        /// The newest batch.
        newest: u32,
    },
    /// The batch was given another verified strength.
    OtherStrength {
        /// The stock.
        stock: String,
        /// The batch.
        batch: u32,
    },
    /// The file of the flight is another.
    FlightChanged {
        /// Its name.
        flight: String,
    },
    /// The file of the flight cannot be read any more.
    FlightGone {
        /// Its name.
        flight: String,
    },
}

impl fmt::Display for Drift {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NewerBatch { stock, planned, newest } => {
                write!(f, "{stock}: batch {newest} was recorded since this was planned; ")?;
                match planned {
                    Some(batch) => write!(
                        f,
                        "the doses are those for batch {batch}: pour from it, or plan anew"
                    ),
                    None => write!(
                        f,
                        "the doses are those for the stock as its file means it: plan anew to pour \
                         from the batch"
                    ),
                }
            }
            Self::OtherStrength { stock, batch } => write!(
                f,
                "{stock}: the strength of batch {batch} was verified since this was planned; the \
                 doses are those for the strength before: plan anew to follow it"
            ),
            Self::FlightChanged { flight } => write!(
                f,
                "the file of the flight {flight} was changed since this was planned; this session \
                 keeps the waters as they were"
            ),
            Self::FlightGone { flight } => write!(
                f,
                "the flight {flight} cannot be found any more; this session keeps the waters as \
                 they were"
            ),
        }
    }
}

/// What changed on a bench since the waters were planned, stocks in the order of the doses.
///
/// # Errors
/// When the records cannot be read.
pub fn drift(root: &Path, waters: &SessionWaters) -> Result<Vec<Drift>, Diagnostic> {
    let records = Records::read(root)?;
    if let Some(unread) = records.unread_batches.first() {
        return Err(unread.clone());
    }
    let mut doses: Vec<&PlannedDose> = Vec::new();
    for dose in waters.waters.iter().flat_map(|water| &water.doses) {
        if !doses.iter().any(|known| known.stock == dose.stock) {
            doses.push(dose);
        }
    }
    let mut found: Vec<Drift> =
        doses.into_iter().filter_map(|dose| of_stock(&records, dose, waters)).collect();
    if let Some(sum) = &waters.flight_sum {
        let flight = waters.flight.clone();
        let file = flight_files(root).0.into_iter().find(|f| f.stem == flight);
        match file.map(|file| read::text(&file.path)).transpose() {
            Ok(Some(source)) if key::seal(source.text()) == *sum => {}
            Ok(Some(_)) => found.push(Drift::FlightChanged { flight }),
            Ok(None) | Err(_) => found.push(Drift::FlightGone { flight }),
        }
    }
    Ok(found)
}

fn of_stock(records: &Records, dose: &PlannedDose, waters: &SessionWaters) -> Option<Drift> {
    let newest = records.newest(&dose.stock)?;
    let stock = dose.stock.clone();
    if Some(newest.number) != dose.batch {
        return Some(Drift::NewerBatch { stock, planned: dose.batch, newest: newest.number });
    }
    let same = match (newest.verified, dose.verified_g_per_kg) {
        (Some(now), Some(then)) => now.g_per_kg.to_bits() == then.to_bits(),
        // What the batch was then is not known; only a later day shows that it was verified since.
        (Some(now), None) if !waters.knows_verified() => now.day.to_string() <= waters.day,
        (now, then) => now.is_none() && then.is_none(),
    };
    (!same).then_some(Drift::OtherStrength { stock, batch: newest.number })
}
