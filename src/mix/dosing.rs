//! The tools of a bench while doses are measured out with one of its named dispensers.

use crate::flight::dispenser::DROPPER;
use crate::flight::{Dispenser, Measured};
use crate::quantities::{Fraction, Grams, Millilitres};
use crate::stock::{Balance, DoseTool, DosedBy, Tools};

/// The tools as they are with this dispenser in hand, so that every ± of a dose follows it; without
/// one they stay as they are.
#[must_use]
pub fn tools_with(tools: &Tools, dispenser: Option<&Dispenser>) -> Tools {
    let Some(named) = dispenser else { return *tools };
    let usual = tools.dispenser;
    let ml = Millilitres::new;
    let dispenser = match named.step {
        Measured::Mass(step) => DoseTool {
            by: DosedBy::Mass,
            balance: Some(Balance {
                resolution: step,
                error: Grams::new(named.error),
                most: Grams::new(f64::INFINITY),
            }),
            // A gram of a weak stock is a millilitre, near enough for a limit.
            least: ml(named.least),
            ..usual
        },
        // The drops of a dropper are all too large or all too small; what they differ from each
        // other by is the error of one.
        Measured::Volume(drop) if named.kind == DROPPER => DoseTool {
            by: DosedBy::Drops,
            error: ml(named.scatter),
            off: Fraction::new(named.error / drop.value()),
            holds: drop,
            balance: None,
            least: ml(named.least),
            ..usual
        },
        Measured::Volume(_) => DoseTool {
            by: DosedBy::Volume,
            error: ml(named.error),
            off: named.off,
            holds: ml(named.holds.unwrap_or(f64::INFINITY)),
            balance: None,
            least: ml(named.least),
            ..usual
        },
    };
    Tools { dispenser, ..*tools }
}
