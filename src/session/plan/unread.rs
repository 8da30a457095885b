//! Why a file of a session cannot be read, for its reader.

use serde::Deserialize;

/// The format that a text of JSON says it has.
pub(crate) fn format(text: &str) -> Result<u32, serde_json::Error> {
    #[derive(Deserialize)]
    struct Format {
        format: u32,
    }
    serde_json::from_str(text).map(|found: Format| found.format)
}

/// What is wrong with a text that is no JSON of its kind.
#[must_use]
pub(crate) fn why(error: &serde_json::Error) -> String {
    if error.is_eof() {
        return "it ends too early, as a file does that was not copied whole".to_owned();
    }
    error.to_string()
}
