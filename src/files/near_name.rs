//! A mistyped name, and the known one that was probably meant.

/// The known name closest to a mistyped one, if any is close.
#[must_use]
pub fn nearest<'a>(found: &str, known: &[&'a str]) -> Option<&'a str> {
    /// Our choice: a name less alike than this is no help.
    const ALIKE: f64 = 0.8;
    known
        .iter()
        .map(|name| (*name, strsim::jaro_winkler(name, found)))
        .filter(|(_, likeness)| *likeness > ALIKE)
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .map(|(name, _)| name)
}
