//! A record that cannot be put into words: nothing is written in its place.

use serde::Serialize;
use thiserror::Error;

/// A plan, key, line or water that cannot be written as JSON. It is a fault of the program: an empty
/// text in its place would be written, sealed or confirmed as if it said something.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("a {what} of this session cannot be written as JSON: {reason}")]
pub struct Unwritable {
    /// Plan, key, line of the log, or list of waters.
    pub what: &'static str,
    /// Why.
    pub reason: String,
}

impl Unwritable {
    /// A value in one line of JSON.
    ///
    /// # Errors
    /// When it has none.
    pub fn line(what: &'static str, value: &impl Serialize) -> Result<String, Self> {
        serde_json::to_string(value).map_err(|error| Self { what, reason: error.to_string() })
    }

    /// A value in JSON that people read.
    ///
    /// # Errors
    /// When it has none.
    pub fn lines(what: &'static str, value: &impl Serialize) -> Result<String, Self> {
        serde_json::to_string_pretty(value)
            .map_err(|error| Self { what, reason: error.to_string() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_has_no_json_is_an_error_and_no_empty_text() {
        // A map whose keys are no text, as a slip in a type would make it.
        let keyed = std::collections::BTreeMap::from([(vec![1_u8], 1)]);
        assert!(matches!(Unwritable::line("key", &keyed), Err(Unwritable { what: "key", .. })));
        assert_eq!(Unwritable::line("key", &[1, 2]), Ok("[1,2]".to_owned()));
    }
}
