//! A stock checked by readings of a dilution, and the strength that was found recorded of its batch.

use serde::Serialize;

use crate::app::bottles::set_aside;
use crate::bench::history::undo_hint;
use crate::bench::{Bench, records};
use crate::files::{Diagnostic, Mistakes};
use crate::mix::stocktake::Filled;
use crate::quantities::uncertain::COVERAGE;
use crate::quantities::{Day, show};
use crate::stock::reading::Reading;
use crate::stock::solubility::{self, SolubilityError};
use crate::stock::verify::{Dilution, MeterInUse, VerifyError};
use crate::stock::{Batch, Verified, VerifyReport, verify_text};

/// What a dilution of a stock should show, what readings of it say, and the record of that.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VerifiedStock {
    /// What it should show and does show.
    #[serde(flatten)]
    pub report: VerifyReport,
    /// Number of the record, where the batch took the strength over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub record: Option<u64>,
}

/// What a dilution of a stock should show on the meter of a bench, and what readings of it say; `blank`
/// is what that shows of the distilled water alone, µS/cm.
///
/// # Errors
/// When the readings give no strength.
pub fn verify_stock(
    bench: &Bench,
    filled: &Filled<'_>,
    dilution: Dilution,
    blank: f64,
    readings: &[Reading],
) -> Result<VerifiedStock, VerifyError> {
    let (stock, bottle) = (filled.stock, filled.bottle);
    let meter = MeterInUse { settings: bench.meter, blank_us_per_cm: blank };
    let (salts, tools) = (&bench.salts, &bench.tools);
    let mut report = VerifyReport::new(stock, bottle, salts, tools, dilution, &meter, readings)?;
    report.notes.extend(set_aside(bench, |name| name == report.stock));
    Ok(VerifiedStock { report, record: None })
}

impl VerifiedStock {
    /// Lets the batch in the bottle take the strength that was found, in place of an earlier record of
    /// one where that is named.
    ///
    /// # Errors
    /// When there is no batch, no reading or only a vague one, or when the disk does not take it.
    pub fn record(
        &mut self,
        bench: &Bench,
        filled: &Filled<'_>,
        day: Day,
        instead_of: Option<u64>,
    ) -> Result<(), Mistakes> {
        let needs = |text: &str, remedy: &str| Diagnostic::choice(text).remedy(remedy);
        let found = self.report.found.as_mut().ok_or_else(|| {
            needs("there is no reading to record", "add `--read`, `--edta` or `--acid`")
        })?;
        if !found.readings_agree {
            let what = "readings that contradict each other give no strength to record";
            return Err(needs(what, "repeat them, and leave out the ones that were misread").into());
        }
        if !found.can_judge {
            let what = "this reading is too uncertain to be recorded";
            return Err(needs(what, "dilute less, or read again").into());
        }
        let batch = filled.bottle.batch.as_ref().ok_or_else(|| {
            needs(
                "no batch of this stock was recorded, so none can take the strength",
                "record first what was weighed: `waterflight weighed STOCK …`",
            )
        })?;
        let verified = Verified {
            day,
            g_per_kg: found.to_record_g_per_kg,
            standard_g_per_kg: found.to_record_g_per_kg_standard,
        };
        // Of a strength that would leave crystals only as much counts as its ± leaves open.
        let least = found.to_record_g_per_kg - COVERAGE * found.to_record_g_per_kg_standard;
        let made = |g_per_kg| {
            let taken =
                Batch { verified: Some(Verified { g_per_kg, ..verified }), ..batch.clone() };
            taken.made(filled.bottle.written.recipe()).map_err(|error| {
                needs(&format!("the strength that was read cannot be: {error}"), "read again")
            })
        };
        made(verified.g_per_kg)?;
        solubility::check(&made(least)?, filled.bottle.storage).map_err(|error| {
            let error = SolubilityError { g_per_kg: verified.g_per_kg, ..error };
            let most = show::three_figures(error.saturated_g_per_kg);
            needs(
                &format!("the strength that was read cannot be: {error}"),
                "dilute it anew and read again; warm it first where there are crystals in the bottle",
            )
            .expected(format!("at most {most} g/kg"))
        })?;
        let of = (batch.stock.as_str(), batch.number);
        self.record = Some(records::add_verified(&bench.root, of, verified, instead_of)?);
        found.recorded_on = Some(day.to_string());
        Ok(())
    }

    fn hint(&self) -> String {
        let day = self.report.found.as_ref().and_then(|found| found.recorded_on.as_deref());
        self.record.map_or(String::new(), |record| undo_hint(record, day.unwrap_or_default()))
    }

    /// What it should show and does show, and how the record is taken back.
    #[must_use]
    pub fn text(&self) -> String {
        verify_text::text(&self.report) + &self.hint()
    }
}
