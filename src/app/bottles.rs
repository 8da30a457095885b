//! What is in the bottles of a bench, and what is to be known of its records.

use crate::app::mistakes::internal;
use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::mix::stocktake::Filled;
use crate::stock::{Bottle, Note, solubility};

/// Every bottle with what was poured from it.
#[must_use]
pub fn filled(bench: &Bench) -> Vec<Filled<'_>> {
    bench
        .stocks
        .iter()
        .zip(&bench.bottles)
        .map(|(stock, bottle)| Filled {
            stock: &stock.value,
            bottle,
            taken_ml: bench.taken_ml(bottle),
        })
        .collect()
}

/// What is to be known of the records of a bench.
#[must_use]
pub fn of_records(bench: &Bench) -> Vec<Note> {
    let logs = bench.records.torn.iter();
    let torn = logs.map(|log| Note::TornRecord { log: log.display().to_string() });
    let others = set_aside(bench, |_| true);
    let crystals = bench.stocks.iter().zip(&bench.bottles).filter_map(|(stock, bottle)| {
        let refusal = solubility::check(&stock.value, bottle.storage).err()?;
        Some(Note::Crystals { why: refusal.to_string() })
    });
    let damaged = bench.records.damage().map(|d| Note::DamagedRecord { what: in_a_line(d) });
    torn.chain(damaged).chain(others).chain(crystals).collect()
}

/// A damage of the records in one line, beside an answer that it may touch.
#[must_use]
pub fn in_a_line(damage: &Diagnostic) -> String {
    let details = damage.details();
    let file = details.path.as_ref().and_then(|p| p.file_name()).unwrap_or_default();
    format!(
        "records/{}: {}; what is said of the bottles may be wrong (`waterflight check`)",
        file.to_string_lossy(),
        details.title
    )
}

/// The newest batches of some stocks that are of another salt than the stock's file names now.
#[must_use]
pub fn set_aside(bench: &Bench, is_meant: impl Fn(&str) -> bool) -> Vec<Note> {
    let meant = bench.set_aside.iter().filter(|batch| is_meant(&batch.stock));
    meant
        .map(|batch| Note::BatchOfAnotherSalt {
            stock: batch.stock.clone(),
            batch: batch.number,
            salt: batch.salt.clone(),
        })
        .collect()
}

/// The bottle of a stock by its name.
///
/// # Errors
/// Lists the stocks when there is none of that name.
pub fn bottle<'a>(bench: &'a Bench, stock: &str) -> Result<&'a Bottle, Mistakes> {
    let stock = bench.stock(stock)?;
    bench.bottle(&stock.value).ok_or_else(|| internal(&"a stock without a bottle"))
}
