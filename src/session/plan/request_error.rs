//! Why a session cannot be planned as asked.

use thiserror::Error;

use crate::quantities::name::NameFault;
use crate::session::plan::Unwritable;
use crate::session::plan::codes::TooManyCodes;
use crate::session::plan::method::{ScaleFault, is_score_sized};

/// The largest cup, mL: our choice. Nobody tastes a litre.
pub(crate) const MOST_CUP_ML: f64 = 1000.0;

/// Why a session cannot be planned as asked, each with the way out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RequestError {
    /// Too few waters.
    #[error("a {method} session needs at least two waters and the flight has {found}; add one")]
    TooFewWaters {
        /// The method.
        method: &'static str,
        /// Waters found.
        found: usize,
    },
    /// Nobody to taste.
    #[error("there are no tasters; name at least one")]
    NoTasters,
    /// No round.
    #[error("there are no rounds; ask for at least one")]
    NoRounds,
    /// A name that is empty.
    #[error("a {what} has no name; give it one")]
    NoName {
        /// Water, taster, attribute or session.
        what: &'static str,
    },
    /// A name that no sheet can show.
    #[error("the name of a {what} cannot be used: {fault}; give it another")]
    Name {
        /// Water, taster, attribute or session.
        what: &'static str,
        /// What is wrong with it.
        fault: NameFault,
    },
    /// A name that stands twice.
    #[error("the {what} `{name}` is named twice; give each its own name")]
    NameTwice {
        /// Water, taster, attribute or hidden duplicate.
        what: &'static str,
        /// The name.
        name: String,
    },
    /// A water that is not in the flight.
    #[error("`{name}`, wanted as {role}, is not in the flight; it has {choices}")]
    UnknownWater {
        /// The name.
        name: String,
        /// What it was wanted for.
        role: &'static str,
        /// The waters there are.
        choices: String,
    },
    /// A water that is not among those to taste.
    #[error(
        "`{name}`, wanted as {role}, is not among the waters to taste, which are {choices}; add it to them"
    )]
    NotTasted {
        /// The name.
        name: String,
        /// What it was wanted for.
        role: &'static str,
        /// The waters to taste.
        choices: String,
    },
    /// A pair of a water with itself.
    #[error("`{name}` is paired with itself; name two waters")]
    PairedWithItself {
        /// The water.
        name: String,
    },
    /// A pair named twice.
    #[error("`{first}` and `{second}` are paired twice; for more sets ask for more rounds")]
    PairTwice {
        /// First water.
        first: String,
        /// Second water.
        second: String,
    },
    /// Something that only another kind of method has.
    #[error("{what} does not go with {method}; {remedy}")]
    DoesNotGoWith {
        /// What was asked for.
        what: &'static str,
        /// The method.
        method: &'static str,
        /// The way out.
        remedy: &'static str,
    },
    /// A tray of an impossible size.
    #[error("{found} {} cannot stand on a tray; choose from 2 to {most}", if *found == 1 { "cup" } else { "cups" })]
    TraySize {
        /// Cups asked for.
        found: usize,
        /// Waters there are.
        most: usize,
    },
    /// More hidden duplicates than waters.
    #[error("{found} hidden duplicates are too many for {waters} waters; one or two are enough")]
    TooManyDuplicates {
        /// Asked for.
        found: usize,
        /// Waters.
        waters: usize,
    },
    /// A break after no cup.
    #[error("a break after 0 cups never lets anyone taste; six to eight cups a sitting are common")]
    NoCupsBeforeBreak,
    /// One person cannot be two.
    #[error("{found} tasters are named for a tasting alone; name one, or let one of them pour")]
    SoloWithCompany {
        /// Tasters found.
        found: usize,
    },
    /// A name of an attribute that could be taken for something else where scores are entered.
    #[error(
        "an attribute cannot be called `{name}`, which means something else where scores are entered; take a word"
    )]
    AttributeName {
        /// The name.
        name: String,
    },
    /// No attribute to score.
    #[error("scoring needs at least one attribute")]
    NoAttributes,
    /// An attribute named as the primary one that nobody scores.
    #[error("`{name}` is no attribute of this session, which scores {choices}; name one of them")]
    UnknownPrimary {
        /// The name.
        name: String,
        /// The attributes.
        choices: String,
    },
    /// A scale that cannot be used.
    #[error(
        "the scale of `{attribute}` ({} to {} in steps of {}) cannot be used; {why}",
        written(*low), written(*high), written(*step)
    )]
    BadScale {
        /// The attribute.
        attribute: String,
        /// Lowest score.
        low: f64,
        /// Highest score.
        high: f64,
        /// Step.
        step: f64,
        /// Why not.
        why: ScaleFault,
    },
    /// A volume, dose or temperature that is none.
    #[error("the {what} must be a positive number")]
    BadServing {
        /// What is wrong.
        what: &'static str,
    },
    /// A cup that nobody can drink.
    #[error(
        "a cup of {ml} mL is more than {MOST_CUP_ML} mL, the most that is poured for one taster"
    )]
    LargeCup {
        /// Its size.
        ml: f64,
    },
    /// More cups than a session can have.
    #[error("{cups} cups are asked for and {most} is the most; use fewer tasters or rounds")]
    TooManyCups {
        /// Cups.
        cups: usize,
        /// The most there can be.
        most: usize,
    },
    /// Fewer cups than waters.
    #[error(
        "{cups} cups cannot hold {waters} waters, each at least once; use more tasters or rounds, or more cups on a tray"
    )]
    TooFewCups {
        /// Cups.
        cups: usize,
        /// Waters.
        waters: usize,
    },
    /// More trays than can have codes of their own.
    #[error(
        "every cup of a {method} needs its own code, {wanted} in all, and only {available} can be \
         told apart; compare fewer pairs, or with fewer tasters or rounds"
    )]
    TooManyTrays {
        /// The method.
        method: &'static str,
        /// Codes asked for.
        wanted: usize,
        /// Codes there are.
        available: usize,
    },
    /// A key that cannot be written.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// More codes than three digits give.
    #[error(transparent)]
    TooManyCodes(#[from] TooManyCodes),
}

/// A number as it would be typed: one that is no score may have hundreds of digits.
fn written(number: f64) -> String {
    if number == 0.0 || is_score_sized(number) { number.to_string() } else { format!("{number:e}") }
}
