//! The solver of the balances: one question, one answer, everything of fixed size.

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
