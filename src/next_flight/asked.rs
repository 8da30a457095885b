//! What a next flight is asked for, and why there may be none.

use thiserror::Error;

use crate::assessment::Withheld;
use crate::flight::ladder::LadderError;
use crate::flight::{Flight, Target};
use crate::next_flight::ProposeError;
use crate::session::results::{PastSession, WorkedOut};
use crate::stock::Stock;

/// What a next flight is asked for.
#[derive(Clone)]
pub struct NextAsked<'a> {
    /// All sessions of the bench.
    pub past: &'a [PastSession],
    /// What was worked out of them before.
    pub worked_out: &'a WorkedOut,
    /// The attribute or criterion; what the newest session wants when left out.
    pub of: Option<&'a str>,
    /// Keys of the axes; the usual ones when empty.
    pub over: &'a [String],
    /// Ranges of axes that are stated.
    pub within: &'a [String],
    /// The flight whose base waters are kept.
    pub flight: &'a Flight,
    /// The stocks to make it with.
    pub stocks: &'a [Stock],
    /// The water that ties it to what was tasted; the best so far when left out.
    pub reference: Option<&'a str>,
    /// Which of some targets can be made as the flight is poured, and not only in doses of any size.
    pub makes: &'a dyn Fn(&[Target]) -> Vec<bool>,
    /// What the flight asks as well and candidates are not checked for, in words.
    pub not_counted: &'a [String],
    /// How many new waters.
    pub wanted: usize,
    /// Seed of the draws.
    pub seed: u64,
}

/// Why there is no next flight.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum NextError {
    /// An attribute that no revealed session judged.
    #[error("no revealed session places waters by `{of}`")]
    NothingOf {
        /// What was asked for.
        of: String,
        /// What was judged.
        judged: Vec<String>,
    },
    /// Nobody said which way it is wanted.
    #[error("{}", not_wanted(of.as_deref()))]
    NotWanted {
        /// What was asked for.
        of: Option<String>,
        /// What was judged.
        judged: Vec<String>,
    },
    /// A reference that is not there.
    #[error("no water `{name}` was tasted and none is in the flight")]
    Reference {
        /// The name.
        name: String,
    },
    /// A reference that is the name of several waters.
    #[error("`{name}` was tasted as several waters")]
    SeveralReferences {
        /// The name.
        name: String,
        /// The waters, each after a session that tasted it.
        waters: Vec<String>,
    },
    /// An axis that a base water was not measured for.
    #[error("waters cannot be placed by {axis}: of the base water `{water}`, {why}")]
    NotMeasured {
        /// The axis.
        axis: String,
        /// The base water.
        water: String,
        /// What is missing.
        why: Withheld,
    },
    /// An axis that is none.
    #[error(transparent)]
    Axis(#[from] LadderError),
    /// No proposal.
    #[error(transparent)]
    Propose(#[from] ProposeError),
}

fn not_wanted(of: Option<&str>) -> String {
    match of {
        Some(of) => format!("no session says which way `{of}` is wanted"),
        None => {
            "no session says what is wanted, and nothing that was judged is a liking".to_owned()
        }
    }
}
