//! `check`: the whole bench read, everything wrong with it listed.

use std::path::Path;

use crate::bench::check::check;
use crate::bench::damage_text;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};

pub(super) fn run(named: Option<&Path>, json: bool, partly: &mut bool) -> Outcome {
    let found = check(&bench::root(named)?)?;
    *partly = !found.damage.is_empty();
    answer(&found.data(), json, |_| damage_text::text(&found))
}
