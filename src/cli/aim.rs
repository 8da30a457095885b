//! What is wanted, as typed after the tasting.

use clap::Args;

use crate::files::{Diagnostic, Fault, Mistakes};
use crate::session::results::PastSession;
use crate::session::results::aims::want;

/// What is wanted, for sessions whose plan does not say so.
#[derive(Debug, Clone, Args)]
pub(super) struct AimOptions {
    /// The attribute or criterion that counts; what the sessions want when left out, which is a liking
    /// unless their plans say otherwise.
    #[arg(long, visible_alias = "of", value_name = "ATTRIBUTE")]
    attribute: Option<String>,
    /// Which way it is wanted: more, less or near=VALUE; as the sessions say when left out.
    #[arg(long, value_name = "WAY")]
    wanted: Option<String>,
}

impl AimOptions {
    /// Says it of every session that judges the attribute; gives its name.
    pub(super) fn apply(&self, past: &mut [PastSession]) -> Result<Option<String>, Mistakes> {
        want(past, self.attribute.as_deref(), self.wanted.as_deref()).map_err(|error| {
            Diagnostic::new(Fault::Choice, error.to_string()).expected(error.expected()).into()
        })
    }
}

/// What to do where nobody said what is wanted.
pub(super) fn not_wanted(
    diagnostic: Diagnostic,
    of: Option<&str>,
    judged: &[String],
) -> Diagnostic {
    let name = of.map_or_else(
        || judged.first().cloned().unwrap_or_else(|| "NAME".to_owned()),
        str::to_owned,
    );
    diagnostic.expected(judged.join(", ")).remedy(format!(
        "say it, as in --attribute \"{name}\" --wanted more (or less, or near=VALUE)"
    ))
}
