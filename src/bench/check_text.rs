//! Texts of files that are not written yet, read as the files will be.

use crate::bench::parse::parse;
use crate::bench::settings_entry;
use crate::bench::water_entry::WaterEntry;
use crate::files::{Mistakes, SourceText};
use crate::water::BaseWater;

/// The water that a text describes.
///
/// # Errors
/// The mistakes in the text.
pub fn water(text: &str) -> Result<BaseWater, Mistakes> {
    let source = SourceText::new("(this answer)", text);
    parse::<WaterEntry>(&source)?.into_water(&source).map(|(water, _)| water)
}

/// Whether a text is a `bench.ron`.
///
/// # Errors
/// The mistakes in the text.
pub fn settings(text: &str) -> Result<(), Mistakes> {
    let source = SourceText::new("(these answers)", text);
    settings_entry::settings(&source).map(|_| ())
}
