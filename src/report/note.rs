//! What a reader of a report should know beside the numbers.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::quantities::Day;
use crate::report::water_change::WaterChange;

/// A remark on the ground that a result stands on.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// The density of a stock is an estimate.
    EstimatedDensity {
        /// Name of the stock.
        stock: String,
        /// Formula of its salt.
        formula: String,
        /// Relative standard uncertainty of the density, %.
        percent: f64,
    },
    /// A salt dissolves only under carbon dioxide.
    NeedsCarbonation {
        /// Name of the stock.
        stock: String,
        /// Formula of its salt.
        formula: String,
        /// Moles of CO2 for each mole of salt.
        mol_co2: f64,
    },
    /// An analysis fails the charge-balance test.
    Unbalanced {
        /// Name of the water.
        water: String,
        /// Cations, meq/L.
        cations: f64,
        /// Anions, meq/L.
        anions: f64,
        /// The difference that would be acceptable, meq/L.
        limit: f64,
    },
    /// Citrate or lactate titrates, and no goal sees it.
    OrganicAlkalinity {
        /// Name of the target.
        target: String,
    },
    /// There is no stock at all.
    EmptyShelf,
    /// A bottle cannot serve a flight.
    BottleTooEmpty {
        /// Name of the stock.
        stock: String,
        /// What one bottle of each water takes, mL.
        needed_ml: f64,
        /// What is left, mL.
        left_ml: f64,
        /// What to make, at least, mL.
        make_ml: f64,
    },
    /// More was recorded as poured than a bottle held.
    Overdrawn {
        /// Name of the stock.
        stock: String,
        /// What was taken, mL.
        taken_ml: f64,
        /// What was left before, mL.
        left_ml: f64,
    },
    /// A pour from a bottle without a recorded batch.
    NotCounted {
        /// Name of the stock.
        stock: String,
    },
    /// A bottle is older than it is meant to keep.
    KeptTooLong {
        /// Name of the stock.
        stock: String,
        /// The last day of its keeping time.
        until: Day,
    },
    /// The newest batch is of another compound than the stock's file names now.
    BatchOfAnotherSalt {
        /// Name of the stock.
        stock: String,
        /// Number of the batch.
        batch: u32,
        /// Formula of its salt.
        salt: String,
    },
    /// What is in a bottle would not stay dissolved where it is kept.
    Crystals {
        /// Why.
        why: String,
    },
    /// Waters of a flight differ in what their goals leave open.
    StyleDiffers {
        /// The two ions that stand for each other.
        of: (String, String),
        /// The water with the least of the first, and its share of both in moles, %.
        least: (String, f64),
        /// The water with the most of the first, and its share, %.
        most: (String, f64),
    },
    /// A water is another one than when a session was planned with it.
    Changed(WaterChange),
    /// A log ends in a piece of a line.
    TornRecord {
        /// The log.
        log: String,
    },
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Note::EstimatedDensity { stock, formula, percent } => write!(
                f,
                "{stock}: no published density coefficients for {formula}; its density is an \
                 estimate, standard uncertainty {percent:.2} %. Dose it by weight where it matters."
            ),
            Note::NeedsCarbonation { stock, formula, mol_co2 } => write!(
                f,
                "{stock}: {formula} dissolves as bicarbonate only under carbon dioxide, and takes \
                 up {mol_co2} CO2 for each formula unit; counted here as fully carbonated."
            ),
            Note::Unbalanced { water, cations, anions, limit } => write!(
                f,
                "{water}: cations of {cations:.2} meq/L and anions of {anions:.2} meq/L differ by \
                 more than the {limit:.2} meq/L of Standard Methods 1030 E; check the analysis."
            ),
            Note::OrganicAlkalinity { target } => write!(
                f,
                "{target}: holds lactate or citrate, which an acid titration partly finds as \
                 alkalinity; the alkalinity here is carbonate alkalinity alone."
            ),
            Note::BottleTooEmpty { stock, needed_ml, left_ml, make_ml } => write!(
                f,
                "{stock}: the bottle cannot serve this flight: {needed_ml:.1} mL are needed, \
                 {left_ml:.1} mL are left; make at least {make_ml:.0} mL (`waterflight weigh \
                 \"{stock}\" --make \"{make_ml:.0} mL\"`)."
            ),
            Note::Overdrawn { stock, taken_ml, left_ml } => write!(
                f,
                "{stock}: {taken_ml:.1} mL were taken, and by the records only {left_ml:.1} mL were \
                 left; record the batch that is in the bottle (`waterflight weighed`)."
            ),
            Note::NotCounted { stock } => write!(
                f,
                "{stock}: no batch was recorded, so nothing is taken from it (`waterflight weighed` \
                 records one)."
            ),
            Note::KeptTooLong { stock, until } => {
                write!(f, "{stock}: was meant to keep until {until}; make it fresh or verify it.")
            }
            Note::BatchOfAnotherSalt { stock, batch, salt } => write!(
                f,
                "{stock}: batch {batch} was made of {salt}, which is not what its file names now; \
                 doses follow from the file until a new batch is recorded."
            ),
            Note::StyleDiffers { of: (first, second), least, most } => write!(
                f,
                "not one style: of {first} and {second} together {first} is {:.0} % in {} and {:.0} % \
                 in {}, which their goals leave open; what is tasted may be that. `style: \
                 SameRatios` in the flight makes it the same in all.",
                least.1, least.0, most.1, most.0
            ),
            Note::Changed(change) => write!(f, "{change}"),
            Note::Crystals { why } => {
                write!(f, "{why}: warm it until it is clear before you dose.")
            }
            Note::TornRecord { log } => write!(
                f,
                "{log} ends in a piece of a line that a stopped run left behind; it is not read, \
                 and the next record keeps it aside."
            ),
            Note::EmptyShelf => f.write_str("There is no stock on this bench: only base water."),
        }
    }
}

impl Serialize for Note {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
