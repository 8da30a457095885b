//! What a failed computation means to the person who asked for it.

use crate::files::{Diagnostic, Fault, Mistakes};
use crate::planner::PlanError;
use crate::planner::lp::solution::SolveError;

/// A mistake of the program itself.
pub(crate) fn internal(error: &impl std::fmt::Display) -> Mistakes {
    Diagnostic::new(Fault::Internal, error.to_string())
        .remedy("this is a fault of the program: please report it with the bench folder")
        .into()
}

/// A flight that has no plan: what was not measured is for a person to mend, all else is a fault of
/// the program.
pub(crate) fn unplanned(error: &PlanError) -> Mistakes {
    match error.source {
        SolveError::NotMeasured { what } => Diagnostic::content(error.to_string())
            .expected(format!("{what} in the analysis of every base water"))
            .remedy(format!(
                "have it measured, or say what it is taken to be: `assumed: ({what}: \"…\")` in \
                     the file of the base water"
            ))
            .into(),
        _ => internal(error),
    }
}

/// A water that the chemistry has no answer for.
pub(crate) fn too_strong(name: &str, error: &impl std::fmt::Display) -> Mistakes {
    Diagnostic::content(format!("`{name}` cannot be computed: {error}"))
        .remedy("ask for a dilution of it, or check its amounts")
        .into()
}
