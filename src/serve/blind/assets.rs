//! The script and the style of the pages, kept in the program.

use crate::svg::palette;

/// The script of a taster's page.
pub const TASTER_SCRIPT: &str = include_str!("assets/taster.js");

/// The script of the host's page.
pub const HOST_SCRIPT: &str = include_str!("assets/host.js");

/// How the pages look, with the colours of all pages of this program. One of them is called as waters
/// often are, and no response before the reveal holds the name of a water.
#[must_use]
pub fn style() -> String {
    format!(
        "{}:root{{--face:{}}}\n{}",
        palette::variables(":root").replace("--soft:", "--quiet:"),
        palette::FACE,
        include_str!("assets/table.css")
    )
}
