//! What was recorded on a bench, in order and in words.

use std::fmt;

use crate::bench::record_lines::{BatchLine, BottleChange, MadeLine, PourLine, TakenLine};
use crate::bench::record_numbers::AnyLine;
use crate::quantities::{Day, show};
use crate::stock::Verified;
use crate::text::table::wrapped;

/// A record with its number.
#[derive(Debug, Clone, PartialEq)]
pub struct HistoryLine {
    /// Its number.
    pub n: u64,
    /// The day.
    pub day: String,
    /// When it was recorded, RFC 3339 in UTC; nothing in records of older programs.
    pub at: Option<String>,
    /// What was recorded.
    pub what: What,
    /// The record that it takes the place of.
    pub instead_of: Option<u64>,
    /// The record that takes it back or takes its place.
    pub taken_back_by: Option<u64>,
}

/// What was recorded.
#[derive(Debug, Clone, PartialEq)]
pub enum What {
    /// A batch as weighed.
    Batch {
        /// Name of the stock.
        stock: String,
        /// Number of the batch.
        batch: u32,
        /// What was weighed, in words.
        made: String,
    },
    /// A strength that was measured and taken over.
    Verified {
        /// Name of the stock.
        stock: String,
        /// Number of the batch.
        batch: u32,
        /// The strength.
        verified: Verified,
    },
    /// A flight that was poured.
    Pour {
        /// File name of the flight.
        flight: String,
        /// The session it was for.
        session: Option<String>,
        /// The waters, bottles of each and their size, in words; empty where it was not written down.
        bottles: String,
        /// Stocks and mL.
        taken: Vec<(String, f64)>,
    },
    /// Something that happened to a bottle.
    Bottle {
        /// Name of the stock.
        stock: String,
        /// Number of the batch.
        batch: u32,
        /// What happened.
        change: BottleChange,
    },
    /// An earlier record was taken back.
    TakenBack {
        /// Its number.
        of: u64,
        /// Why.
        why: Option<String>,
    },
    /// A planned session was taken back.
    Session {
        /// Its name.
        session: String,
        /// Why.
        why: Option<String>,
    },
}

impl fmt::Display for What {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let because =
            |why: &Option<String>| why.as_ref().map_or(String::new(), |why| format!(": {why}"));
        match self {
            Self::Batch { stock, batch, made } => write!(f, "{stock}, batch {batch}: {made}"),
            Self::Verified { stock, batch, verified } => write!(
                f,
                "{stock}, batch {batch}: verified, {} g/kg",
                show::four_figures(verified.g_per_kg)
            ),
            Self::Pour { flight, session, bottles, taken } => {
                let taken: Vec<String> =
                    taken.iter().map(|(s, ml)| format!("{s} {} mL", show::fixed(*ml, 2))).collect();
                match session {
                    Some(session) => write!(f, "session {session} poured: {}", taken.join(", ")),
                    None => write!(f, "{flight} poured{bottles}: {}", taken.join(", ")),
                }
            }
            Self::Bottle { stock, batch, change } => {
                write!(f, "{stock}, batch {batch}: ")?;
                match change {
                    BottleChange::SpilledMl(ml) => write!(f, "{} mL spilled", show::plain(*ml)),
                    BottleChange::LeftMl(ml) => write!(f, "{} mL found left", show::plain(*ml)),
                    BottleChange::ThrownAway => f.write_str("thrown away"),
                }
            }
            Self::TakenBack { of, why } => write!(f, "record {of} taken back{}", because(why)),
            Self::Session { session, why } => {
                write!(f, "session {session} taken back{}", because(why))
            }
        }
    }
}

impl HistoryLine {
    pub(super) fn new(n: u64, line: &AnyLine, taken_back_by: Option<u64>) -> Self {
        let (what, instead_of) = match line {
            AnyLine::Batch(_, line) => of_batches(line),
            AnyLine::Taken(_, TakenLine::Pour(pour)) => {
                let taken = pour.taken.iter().map(|t| (t.stock.clone(), t.ml)).collect();
                let (flight, session) = (pour.flight.clone(), pour.session.clone());
                (What::Pour { flight, session, bottles: bottles(pour), taken }, pour.instead_of)
            }
            AnyLine::Taken(_, TakenLine::Bottle(bottle)) => {
                let (stock, batch) = (bottle.stock.clone(), bottle.batch);
                (What::Bottle { stock, batch, change: bottle.change }, bottle.instead_of)
            }
        };
        let (day, at) = (line.day().to_owned(), line.at().map(str::to_owned));
        Self { n, day, at, what, instead_of, taken_back_by }
    }
}

/// `, 2 × soft, middle of 500 mL`.
fn bottles(pour: &PourLine) -> String {
    let waters =
        if pour.waters.is_empty() { "each water".to_owned() } else { pour.waters.join(", ") };
    match (pour.bottles, pour.bottle_ml) {
        (Some(bottles), Some(ml)) => format!(", {bottles} × {waters} of {} mL", show::plain(ml)),
        _ => String::new(),
    }
}

fn of_batches(line: &BatchLine) -> (What, Option<u64>) {
    match line {
        BatchLine::Made { stock, batch, made, instead_of, .. } => {
            let (stock, batch) = (stock.clone(), *batch);
            (What::Batch { stock, batch, made: weighed(*made) }, *instead_of)
        }
        BatchLine::Verified {
            stock, batch, day, g_per_kg, standard_g_per_kg, instead_of, ..
        } => {
            let verified = Verified {
                day: Day::parse(day).unwrap_or_else(Day::today),
                g_per_kg: *g_per_kg,
                standard_g_per_kg: *standard_g_per_kg,
            };
            (What::Verified { stock: stock.clone(), batch: *batch, verified }, *instead_of)
        }
        BatchLine::Withdrawn { of, why, .. } => {
            (What::TakenBack { of: *of, why: why.clone() }, None)
        }
        BatchLine::Session { session, why, .. } => {
            (What::Session { session: session.clone(), why: why.clone() }, None)
        }
    }
}

fn weighed(made: MadeLine) -> String {
    match made {
        MadeLine::ToTotalMass { salt_g, total_g } => {
            format!("{} g of salt, {} g together", show::plain(salt_g), show::plain(total_g))
        }
        MadeLine::ToVolume { salt_g, volume_ml } => {
            format!("{} g of salt to {} mL", show::plain(salt_g), show::plain(volume_ml))
        }
        MadeLine::IntoWater { salt_g, water_g } => {
            format!("{} g of salt into {} g of water", show::plain(salt_g), show::plain(water_g))
        }
    }
}

/// What is said of a new record of a day, written as days of records are.
#[must_use]
pub fn undo_hint(n: u64, day: &str) -> String {
    // Where the day begins first it is a day later than by universal time.
    let is_to_come = Day::parse(day).is_some_and(|day| day > Day::today().plus(1));
    let warning = if is_to_come {
        wrapped(
            &format!(
                "! {day} is still to come, by the clock of this computer: if it is a slip, record it \
                 again with `--instead-of {n}` and the right `--date`."
            ),
            2,
        )
    } else {
        String::new()
    };
    format!("{warning}Record {n}; `waterflight undo {n}` takes it back.\n")
}
