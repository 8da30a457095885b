//! Texts of files that are not written yet, read as the files will be.

use crate::bench::{settings_entry, water_entry};
use crate::files::{Diagnostic, SourceText};
use crate::water::BaseWater;

/// The water that a text describes.
///
/// # Errors
/// The mistake in the text.
pub fn water(text: &str) -> Result<BaseWater, Diagnostic> {
    let source = SourceText::new("(this answer)", text);
    water_entry::one(&source)?.into_water(&source)
}

/// Whether a text is a `bench.ron`.
///
/// # Errors
/// The mistake in the text.
pub fn settings(text: &str) -> Result<(), Diagnostic> {
    let source = SourceText::new("(these answers)", text);
    settings_entry::settings(&source).map(|_| ())
}
