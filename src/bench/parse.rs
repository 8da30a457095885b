//! A file that a person wrote, parsed; names from elsewhere are answered with what they are here.

use serde::de::DeserializeOwned;

use crate::files::{Diagnostic, SourceText, read};
use crate::water::trade_words;

/// Parses it.
pub(super) fn parse<T: DeserializeOwned>(source: &SourceText) -> Result<T, Diagnostic> {
    let said = |name: &str| trade_words::meaning(name).map(|meaning| meaning.to_string());
    read::parse(source, &said)
}
