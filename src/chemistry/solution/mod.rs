//! The solver of the balances: one question, one answer, everything of fixed size.
//!
//! Newton's method from a guess that is near enough, a surer and slower way where it does not
//! settle, and a typed failure where neither ends. Only `chemistry` uses it, for `Speciation` and
//! `Precipitation`.

mod balance;
mod coefficients;
mod guess;
mod places;
mod problem;
mod search;
mod totals;

pub(crate) use balance::ABSENT;
pub(crate) use problem::{FixedActivities, Precision, Problem, Solids, Solution};
pub(crate) use totals::{CA, MG, MILLI, SI, Totals};
