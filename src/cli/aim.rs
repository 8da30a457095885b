//! What is wanted, as typed after the tasting.

use clap::Args;

use crate::app::past_scores::WantedAfter;

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
    /// What was typed.
    pub(super) fn asked(&self) -> WantedAfter<'_> {
        WantedAfter { attribute: self.attribute.as_deref(), way: self.wanted.as_deref() }
    }
}
