//! What a new flight holds, as text.

use crate::app::LadderFlight;
use crate::text::command_line::typed;
use crate::text::table::wrapped;

/// The waters of a new flight, each in reach or not, and what to do next with the file of that name.
#[must_use]
pub fn text(written: &LadderFlight, name: &str) -> String {
    let mut out = format!("A new flight was written to {}:\n", written.file.display());
    for (number, water) in written.waters.iter().enumerate() {
        let verdict = if water.reached { "in reach" } else { "OUT OF REACH" };
        out.push_str(&wrapped(&format!("  {} {}: {verdict}", number + 1, water.target), 4));
    }
    if written.left_out > 0 {
        out.push_str(&format!("Left out, since no doses reach them: {}\n", written.left_out));
    }
    out.push_str(&format!("Next: waterflight mix {}\n", typed(name)));
    out
}
