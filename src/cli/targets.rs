//! `targets`: ready targets with what this shelf can make of them; some of them as a flight.

use std::path::Path;

use clap::Args;
use serde_json::json;

use crate::app::ready_targets::{ready_targets, write_ready_flight};
use crate::app::ready_targets_text;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, answer};
use crate::text::command_line::typed;

/// Which targets, and where to.
#[derive(Debug, Args)]
pub(super) struct TargetsOptions {
    /// Names of ready targets; all when none is given.
    #[arg(value_name = "NAME")]
    names: Vec<String>,
    /// Write the named ones as a new flight.
    #[arg(long, value_name = "FLIGHT", requires = "names")]
    into: Option<String>,
}

pub(super) fn run(bench: Option<&Path>, options: &TargetsOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    if let Some(into) = &options.into {
        let path = write_ready_flight(&bench, &options.names, into)?;
        return answer(&json!({"files": [path]}), how.json, |_| {
            format!(
                "A new flight was written to {}.\nNext: waterflight mix {}\n",
                path.display(),
                typed(into)
            )
        });
    }
    let (lines, unread) = ready_targets(&bench, &options.names)?;
    answer(&lines, how.json, |lines| ready_targets_text::text(lines, &unread, how.extent))
}
