//! Why an order of the waters cannot be expected of a session.

use std::collections::BTreeSet;

use thiserror::Error;

use crate::session::plan::Plan;
use crate::session::plan::wanted::attributes_of;

/// Why an order cannot be expected of a session.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum OrderError {
    /// Waters are compared two by two.
    #[error("a {method} test compares two waters at a time: no order of all waters can be tested")]
    NoOrder {
        /// The method.
        method: &'static str,
    },
    /// Nothing of that name is judged.
    #[error("nothing called `{found}` is judged in this session")]
    NotJudged {
        /// The name.
        found: String,
        /// What is judged.
        judged: Vec<String>,
    },
    /// A water stands twice in the order.
    #[error("the water `{water}` is named twice")]
    Twice {
        /// The water.
        water: String,
    },
    /// A water is not in the order.
    #[error("the water `{water}` is not named")]
    Missing {
        /// The water.
        water: String,
    },
    /// Not as many waters as are compared.
    #[error("{found} waters are named, and {wanted} are compared")]
    WrongNumber {
        /// How many are compared.
        wanted: usize,
        /// How many are named.
        found: usize,
    },
    /// Something was tasted before.
    #[error("line {line} of the log comes first: an order counts only before the first answer")]
    TooLate {
        /// Line of the first answer, or of the reveal.
        line: u64,
    },
}

impl OrderError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::NoOrder { .. } => {
                "`session plan … --one-sided` expects more of the first water of a pair".to_owned()
            }
            Self::NotJudged { judged, .. } => format!("choose from {}", judged.join(", ")),
            Self::Twice { .. } | Self::Missing { .. } | Self::WrongNumber { .. } => {
                "name every water of the session once, most first".to_owned()
            }
            Self::TooLate { .. } => "keep it for the next session, which can test it".to_owned(),
        }
    }

    /// Tests that a session puts its waters in an order by something of that name.
    pub(crate) fn check_name(plan: &Plan, of: &str) -> Result<(), Self> {
        if plan.method.compares_two() {
            return Err(Self::NoOrder { method: plan.method.name() });
        }
        let names = attributes_of(&plan.method);
        if names.contains(&of) {
            return Ok(());
        }
        let judged = names.into_iter().map(str::to_owned).collect();
        Err(Self::NotJudged { found: of.to_owned(), judged })
    }

    /// Tests what can be tested of an order without the names of the waters, which a plan does not say.
    pub(crate) fn check(plan: &Plan, of: &str, order: &[String]) -> Result<(), Self> {
        Self::check_name(plan, of)?;
        let mut seen = BTreeSet::new();
        if let Some(water) = order.iter().find(|water| !seen.insert(*water)) {
            return Err(Self::Twice { water: water.clone() });
        }
        if order.len() != plan.waters {
            return Err(Self::WrongNumber { wanted: plan.waters, found: order.len() });
        }
        Ok(())
    }
}
