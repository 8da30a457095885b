//! One JSON document.

use serde::Serialize;

/// A report as JSON, indented, with a final line break.
///
/// # Errors
/// Never for the reports of this program; the type is that of the writer.
pub fn document(report: &impl Serialize) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(report).map(|text| text + "\n")
}
