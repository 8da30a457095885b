//! The conductivity of a water as written, from a laboratory or a meter.

use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written};
use crate::quantities::{Celsius, Dimension, Quantity};
use crate::stock::reading::Reading;
use crate::water::measured_sums::at_25_over;

/// A conductivity, µS/cm at 25 °C: `520 µS/cm`, `0.52 mS/cm`, `466 µS/cm at 20 °C`, or what a meter
/// shows with its factor, `260 ppm factor 0.5`.
pub(super) fn us_per_cm_at_25(text: &str) -> Option<f64> {
    let (reading, celsius) = match text.split_once(" at ") {
        None => (text, None),
        Some((reading, celsius)) => {
            let celsius = Quantity::parse_as(celsius, &[Dimension::Temperature]).ok()?;
            (reading, Some(Celsius::new(celsius)))
        }
    };
    let Ok(Reading::Conductivity { us_per_cm, .. }) = Reading::meter(reading) else { return None };
    let us_per_cm = us_per_cm * celsius.map_or(Some(1.0), at_25_over)?;
    (us_per_cm <= MOST_US_PER_CM).then_some(us_per_cm)
}

/// Our choice: water of a higher conductivity is brine, and nothing to make brewing water from; it
/// bounds the search for the salt that was not measured.
const MOST_US_PER_CM: f64 = 20_000.0;

/// What a conductivity is written like, for messages.
pub(super) const CONDUCTIVITY_IS: &str = "as in \"520 µS/cm\" (compensated to 25 °C), \"466 µS/cm at \
     20 °C\", or \"260 ppm factor 0.5\"; up to 20 mS/cm";

/// The conductivity that a leaf says, µS/cm at 25 °C.
pub(super) fn conductivity_of(source: &SourceText, leaf: &Written) -> Result<f64, Diagnostic> {
    us_per_cm_at_25(leaf.text()).ok_or_else(|| {
        place::wrong(source, leaf, "this is no conductivity of a water").expected(CONDUCTIVITY_IS)
    })
}
