//! The clock of the computer, before anything with a day is written.

use std::time::{Duration, SystemTime, UNIX_EPOCH};

use crate::files::{Diagnostic, Fault};

/// The last second of the year 9999, since 1970: RFC 3339 writes years with four digits.
const LAST_SECOND: Duration = Duration::from_secs(253_402_300_799);

/// That the clock shows a day that can be written.
///
/// # Errors
/// When its year has more than four digits.
pub fn is_right() -> Result<(), Diagnostic> {
    if SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default() <= LAST_SECOND {
        return Ok(());
    }
    let what = "the clock of this computer shows a year of more than four digits";
    Err(Diagnostic::new(Fault::Write, what)
        .expected("a day of this century")
        .remedy("set the clock, then do it again: nothing was recorded"))
}
