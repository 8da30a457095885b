//! `log`: what was recorded on a bench, in order. `undo`: a record taken back. `bottle`: what happened to
//! a bottle beside pours.

use std::path::Path;

use crate::app::changed_bottle::{ChangedBottle, RecordedBottle};
use crate::bench::record_log::log_entries;
use crate::bench::record_log_text;
use crate::bench::records::BottleChange;
use crate::bench::taken_back;
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, answer, for_session};
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::Dimension;
use crate::quantities::spelling::leading_number;
use crate::text::command_line::typed;
use clap::Args;

/// Which record, and why.
#[derive(Debug, Args)]
pub(super) struct UndoOptions {
    /// Number of the record, as `log` lists it; a session's name; or SESSION:LINE for an answer or
    /// a remark of a session. The last record that stands when left out, unless a session was planned after it.
    record: Option<String>,
    /// Why it is taken back.
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    /// The day; today when left out.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
}

/// What happened to a bottle; one of the three.
#[derive(Debug, Args)]
#[group(skip)]
pub(super) struct BottleOptions {
    /// Name on the bottle.
    stock: String,
    #[command(flatten)]
    change: Change,
    /// The day; today when left out.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Takes the place of this record of a bottle.
    #[arg(long, value_name = "RECORD")]
    instead_of: Option<u64>,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct Change {
    /// So much was spilled, or taken for something else.
    #[arg(long, value_name = "VOLUME")]
    spilled: Option<String>,
    /// So much was found in it, about.
    #[arg(long, value_name = "VOLUME")]
    left: Option<String>,
    /// It was thrown away.
    #[arg(long)]
    thrown_away: bool,
}

pub(super) fn log(bench: Option<&Path>, how: How) -> Outcome {
    let entries = log_entries(&bench::root(bench)?)?;
    answer(&entries, how.json, |entries| record_log_text::text(entries, how.extent))
}

pub(super) fn undo(bench: Option<&Path>, options: &UndoOptions, json: bool) -> Outcome {
    let root = bench::root(bench)?;
    let date = day("--date", options.date.as_deref())?;
    let session = options.record.as_deref().and_then(|of| Some(of.rsplit_once(':')?.0));
    let back = taken_back::undo(&root, options.record.as_deref(), date, options.why.clone())
        .map_err(|wrong| for_session(wrong, session))?;
    answer(&back.data(), json, |_| back.text())
}

pub(super) fn bottle(bench: Option<&Path>, options: &BottleOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = RecordedBottle::of(&bench, &options.stock)?;
    let change = options.change.of(bottle.stock())?;
    let date = day("--date", options.date.as_deref())?;
    let changed = bottle.record(&bench, change, date, options.instead_of)?;
    answer(&changed, json, ChangedBottle::text)
}

impl Change {
    /// What happened to the bottle of a stock.
    fn of(&self, stock: &str) -> Result<BottleChange, Mistakes> {
        let ml = |option, text: &str| above_zero(option, text, &[Dimension::Volume]);
        match (&self.spilled, &self.left) {
            (Some(text), _) => ml("--spilled", text).map(BottleChange::SpilledMl),
            (_, Some(text)) => {
                let about = ["about", "circa", "ca.", "~", "≈"];
                let text = text.trim();
                let text = about.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(text);
                let text = text.trim_end().strip_suffix("left").unwrap_or(text).trim();
                let is_zero = leading_number(text).is_ok_and(|(ml, _)| ml <= 0.0);
                let nothing = ["empty", "nothing", "none"];
                if is_zero || nothing.iter().any(|word| text.eq_ignore_ascii_case(word)) {
                    let what = format!("`{text}`: nothing is left in the bottle of {stock}");
                    let remedy = format!(
                        "`waterflight bottle {} --thrown-away` says that it is empty",
                        typed(stock)
                    );
                    return Err(Diagnostic::choice(what).remedy(remedy).into());
                }
                ml("--left", text).map(BottleChange::LeftMl)
            }
            _ => Ok(BottleChange::ThrownAway),
        }
    }
}
