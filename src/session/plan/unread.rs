//! Why a file of a session cannot be read, for its reader.

/// What is wrong with a text that is no JSON of its kind.
#[must_use]
pub(crate) fn why(error: &serde_json::Error) -> String {
    if error.is_eof() {
        return "it ends too early, as a file does that was not copied whole".to_owned();
    }
    error.to_string()
}
