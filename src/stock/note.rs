//! What a reader of a report should know beside the numbers.
//!
//! Above 400 lines: every note with its words, side by side.

use std::fmt;

use serde::{Serialize, Serializer};

use crate::chemistry::ConservedSet;
use crate::quantities::{Day, show};
use crate::stock::AgainstFile;
use crate::text::command_line::typed;
use crate::water::water_change::WaterChange;
use crate::water::{BalanceVerdict, Implausible};

/// A remark on the ground that a result stands on.
#[derive(Debug, Clone, PartialEq)]
pub enum Note {
    /// The density of a stock is an estimate.
    EstimatedDensity {
        /// Name of the stock.
        stock: String,
        /// Formula of its salt.
        formula: String,
        /// Expanded uncertainty of the density, % of it.
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
    /// An analysis does not give everything.
    NotMeasured {
        /// Name of the water.
        water: String,
        /// What it does not give.
        not_measured: ConservedSet,
        /// What the charge-balance test says of the rest.
        balance: BalanceVerdict,
    },
    /// Something of an analysis is assumed.
    Assumed {
        /// Name of the water.
        water: String,
        /// What, with the amounts.
        assumed: String,
    },
    /// An analysis is odd.
    Doubtful {
        /// Name of the water.
        water: String,
        /// In what way.
        doubt: Implausible,
    },
    /// Likeness to a water counts ions that were not measured.
    LikenessNotMeasured {
        /// Which ions.
        not_measured: ConservedSet,
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
    /// The newest batch was made after the day of a pour.
    BatchOfLaterDay {
        /// Name of the stock.
        stock: String,
        /// Number of the batch.
        batch: u32,
        /// The day it was made.
        day: Day,
        /// The batch that was in the bottle on the day of the pour, where one was.
        poured_from: Option<u32>,
    },
    /// The batch in a bottle is of another strength than the stock's file means now.
    AgainstFile {
        /// Name of the stock.
        stock: String,
        /// Both strengths.
        differ: AgainstFile,
    },
    /// A batch was recorded of a stock that no file describes.
    BatchOfNoStock {
        /// Name of the stock.
        stock: String,
        /// Number of its newest batch.
        batch: u32,
        /// A stock of the same salt without a batch, that it may be called now.
        now: Option<String>,
    },
    /// Weighings too small for the balance, or a range too wide, leave a strength open.
    VagueStrength {
        /// Name of the stock.
        stock: String,
        /// Expanded uncertainty of the strength, % of it.
        percent: f64,
        /// Where most of it comes from.
        most_of_it: String,
        /// What would halve that.
        to_halve: &'static str,
    },
    /// What is in a bottle would not stay dissolved where it is kept.
    Crystals {
        /// Which salt, at which temperature, by how much.
        why: String,
    },
    /// A batch is of a lot that a batch before it was verified to hold other than its label says.
    LotAsVerified {
        /// The stock.
        stock: String,
        /// What the bag says.
        lot: String,
        /// The batch that was verified.
        batch: u32,
        /// What the bag then holds more than it says, %; negative when less.
        percent: f64,
    },
    /// Waters of a flight differ in what their goals leave open.
    StyleDiffers {
        /// The two ions that stand for each other.
        of: (String, String),
        /// The water with the least of the first, and its share of both in moles, %.
        least: (String, f64),
        /// The water with the most of the first, and its share, %.
        most: (String, f64),
        /// Whether no water says anything of them, so that the flight may ask one ratio of all.
        in_all: bool,
    },
    /// A water is another one than when a session was planned with it.
    Changed(WaterChange),
    /// A line of the records is damaged.
    DamagedRecord {
        /// Which, and what it means, in a line.
        what: String,
    },
    /// A log ends in a piece of a line.
    TornRecord {
        /// File name of the log.
        log: String,
    },
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Note::EstimatedDensity { stock, formula, percent } => write!(
                f,
                "{stock}: no published density coefficients for {formula}; its density is an \
                 estimate, good to {} %. Dose it by weight where it matters.",
                show::plus_minus(*percent)
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
            Note::NotMeasured { water, not_measured, balance } => {
                not_measured_of(f, water, *not_measured, *balance)
            }
            Note::Assumed { water, assumed } => write!(
                f,
                "{water}: assumed and not measured: {assumed}; the waters are computed with it."
            ),
            Note::Doubtful { water, doubt } => write!(f, "{water}: {doubt}."),
            Note::LikenessNotMeasured { not_measured } => write!(
                f,
                "nearness in {not_measured} counts only what the doses bring; in the base water it \
                 was not measured."
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
                 {} --make \"{make_ml:.0} mL\"`).",
                typed(stock)
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
            Note::BatchOfLaterDay { stock, batch, day, poured_from } => {
                batch_of_later_day(f, stock, (*batch, *day), *poured_from)
            }
            Note::AgainstFile { stock, differ } => bottle_and_file(f, stock, differ),
            Note::BatchOfNoStock { stock, batch, now } => {
                write!(
                    f,
                    "{stock}: batch {batch} was recorded, and no file in `stocks` describes a stock \
                     of that name now; nothing is dosed from it."
                )?;
                match now {
                    Some(now) => write!(
                        f,
                        " `{now}` is of the same salt and has no batch, so its doses follow its \
                         file: if it is that bottle, give it its name back or record the batch anew."
                    ),
                    None => Ok(()),
                }
            }
            Note::VagueStrength { stock, percent, most_of_it, to_halve } => {
                f.write_str(&vague_strength(stock, *percent, [most_of_it, to_halve]))
            }
            Note::StyleDiffers { of, least, most, in_all } => {
                f.write_str(&style_differs(of, [least, most], *in_all))
            }
            Note::Changed(change) => write!(f, "{change}"),
            Note::LotAsVerified { stock, lot, batch, percent } => {
                f.write_str(&lot_as_verified((stock, lot), *batch, *percent))
            }
            Note::Crystals { why } => {
                write!(f, "{why}: warm it until it is clear before you dose.")
            }
            Note::DamagedRecord { what } => f.write_str(what),
            Note::TornRecord { log } => write!(
                f,
                "{log} ends in a piece of a line that a stopped run left behind; it is not read, \
                 and the next record moves it into a file beside the log."
            ),
            Note::EmptyShelf => f.write_str("There is no stock on this bench: only base water."),
        }
    }
}

/// That a strength is hardly known, for what reason, and what would halve that.
fn vague_strength(stock: &str, percent: f64, [most_of_it, to_halve]: [&str; 2]) -> String {
    format!(
        "{stock}: its strength is only known to {} %, for the most part because of {most_of_it}. Check \
         every unit. If all are right: {to_halve}.",
        show::plus_minus(percent)
    )
}

/// That another batch of a lot was verified to hold other than the lot says.
fn lot_as_verified((stock, lot): (&str, &str), batch: u32, percent: f64) -> String {
    format!(
        "{stock}: of the same lot, {lot}, batch {batch} was verified to hold {:.0} % {} salt than it says. \
         This batch counts as it was weighed until you verify it too.",
        percent.abs(),
        if percent < 0.0 { "less" } else { "more" }
    )
}

/// That waters differ in how two ions share what they are together, and how they come to agree: by a
/// style where none says anything of the two.
fn style_differs(
    (first, second): &(String, String),
    [least, most]: [&(String, f64); 2],
    in_all: bool,
) -> String {
    let advice = if in_all {
        "`style: SameRatios` in the flight makes it the same in all.".to_owned()
    } else {
        format!(
            "The same `ratios: [(of: \"{first}\", to: \"{second}\", goal: \"…\")]` in each of them makes \
             it the same."
        )
    };
    format!(
        "not one style: of {first} and {second} together {first} is {:.0} % in {} and {:.0} % in {}, \
         which their goals leave open; a difference in taste may come from that. {advice}",
        least.1, least.0, most.1, most.0
    )
}

/// What was not measured of a base water, and what that makes of its charge balance.
fn not_measured_of(
    f: &mut fmt::Formatter<'_>,
    water: &str,
    not_measured: ConservedSet,
    balance: BalanceVerdict,
) -> fmt::Result {
    let (were, are) = if not_measured.is_one() { ("was", "is") } else { ("were", "are") };
    write!(
        f,
        "{water}: {not_measured} {were} not measured, and {are} not known of the waters made with it"
    )?;
    f.write_str(match balance {
        BalanceVerdict::Passes => ".",
        BalanceVerdict::Fails => {
            "; what was measured FAILS the charge balance of Standard Methods 1030 E."
        }
        BalanceVerdict::Incomplete => {
            "; the charge balance of Standard Methods 1030 E cannot be tested."
        }
    })
}

/// A batch that was made after a pour, and what was poured instead.
fn batch_of_later_day(
    f: &mut fmt::Formatter<'_>,
    stock: &str,
    (batch, day): (u32, Day),
    poured_from: Option<u32>,
) -> fmt::Result {
    match poured_from {
        Some(before) => write!(
            f,
            "{stock}: batch {batch} was made on {day}, after this pour, which is taken from batch \
             {before}."
        ),
        None => write!(
            f,
            "{stock}: batch {batch} was made on {day}, after this pour, and none before it: the dose is the \
             one its file means, and no bottle holds less. If it was poured from that batch, record one \
             of the two again with its right day (`--instead-of`)."
        ),
    }
}

/// Both strengths of a stock whose bottle and file differ, and which of them rules.
fn bottle_and_file(f: &mut fmt::Formatter<'_>, stock: &str, differ: &AgainstFile) -> fmt::Result {
    let AgainstFile { batch, g_per_kg, file_g_per_kg, file_changed_since, .. } = differ;
    let [bottle, file] = [*g_per_kg, *file_g_per_kg].map(show::four_figures);
    let changed = if *file_changed_since { "was changed since and " } else { "" };
    write!(
        f,
        "{stock}: batch {batch} in the bottle holds {bottle} g/kg; its file {changed}means {file} \
         g/kg. The bottle counts: doses follow the batch, and `waterflight weigh` plans a new one \
         by the file."
    )
}

impl Serialize for Note {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}
