//! What a new flight holds, as text.

use std::path::Path;

use crate::text::table::wrapped;

/// The waters of a new flight, each in reach or not, and what to do next.
#[must_use]
pub fn text(file: &Path, waters: &[(String, bool)], left_out: usize, name: &str) -> String {
    let mut out = format!("A new flight was written to {}:\n", file.display());
    for (number, (target, reached)) in waters.iter().enumerate() {
        let verdict = if *reached { "in reach" } else { "OUT OF REACH" };
        out.push_str(&wrapped(&format!("  {} {target}: {verdict}", number + 1), 4));
    }
    if left_out > 0 {
        out.push_str(&format!("Left out, since no doses reach them: {left_out}\n"));
    }
    out.push_str(&format!("Next: waterflight mix {name}\n"));
    out
}
