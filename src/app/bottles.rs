//! What is in the bottles of a bench, and what is to be known of its records.

use crate::app::mistakes::internal;
use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::mix::StocktakeReport;
use crate::mix::stocktake::{Filled, of_strengths, without_a_stock};
use crate::quantities::uncertain::COVERAGE;
use crate::quantities::{Day, show};
use crate::stock::strengths::StrengthHistory;
use crate::stock::{Batch, Bottle, DrySalt, Note, Stock, StockReport, solubility};

/// Every bottle with what was poured from it.
#[must_use]
pub(super) fn filled(bench: &Bench) -> Vec<Filled<'_>> {
    filled_until(bench, None)
}

/// Every bottle with what was poured from it up to a day, where one is given.
fn filled_until(bench: &Bench, until: Option<Day>) -> Vec<Filled<'_>> {
    bench
        .stocks
        .iter()
        .zip(&bench.bottles)
        .map(|(stock, bottle)| Filled {
            stock: &stock.value,
            bottle,
            taken_ml: bench.taken_ml_until(bottle, until),
        })
        .collect()
}

/// What is to be known of the records of a bench.
#[must_use]
pub(super) fn of_records(bench: &Bench) -> Vec<Note> {
    let logs = bench.records.torn.iter();
    let torn = logs.map(|log| Note::TornRecord { log: log.display().to_string() });
    let others = set_aside(bench, |_| true);
    let crystals = bench.stocks.iter().zip(&bench.bottles).filter_map(|(stock, bottle)| {
        let refusal = solubility::check(&stock.value, bottle.storage).err()?;
        Some(Note::Crystals { why: refusal.to_string() })
    });
    torn.chain(damaged(bench)).chain(others).chain(crystals).collect()
}

/// What is wrong with the records of a bench, for an answer that it may touch.
pub(super) fn damaged(bench: &Bench) -> impl Iterator<Item = Note> {
    bench.records.damage().map(|d| Note::DamagedRecord { what: in_a_line(d) })
}

/// A damage of the records in one line, beside an answer that it may touch.
#[must_use]
pub(super) fn in_a_line(damage: &Diagnostic) -> String {
    let details = damage.details();
    let file = details.path.as_ref().and_then(|p| p.file_name()).unwrap_or_default();
    format!(
        "records/{}: {}; what is said of the bottles may be wrong (`waterflight check`)",
        file.to_string_lossy(),
        details.title
    )
}

/// The batch whose verified strength is that of the bag behind a bottle: the one that is in it, or, while
/// that was not verified, the last verified one of the same lot.
fn verified_of_bag<'a>(bench: &'a Bench, bottle: &'a Bottle) -> Option<&'a Batch> {
    let now = bottle.batch.as_ref()?;
    if now.verified.is_some() {
        return Some(now);
    }
    let lot = now.lot_label.as_deref().filter(|lot| !lot.is_empty())?;
    let is_same_bag = |batch: &&Batch| {
        batch.stock == now.stock
            && batch.salt == now.salt
            && batch.lot_label.as_deref() == Some(lot)
            && batch.verified.is_some()
    };
    bench.records.batches.iter().rev().find(is_same_bag)
}

/// A bag against what its label says, by a verified batch of it: that batch, and how many times the
/// stated share of the salt it then holds; nothing where it holds that within the ± of the reading.
fn bag_as_verified<'a>(bench: &'a Bench, bottle: &'a Bottle) -> Option<(&'a Batch, Stock, f64)> {
    let batch = verified_of_bag(bench, bottle)?;
    let verified = batch.verified?;
    let made = batch.made(bottle.written.recipe()).ok()?;
    let factor = made.recipe().lot.compound_share() / batch.lot.compound_share();
    let is_open = (factor - 1.0).abs() <= COVERAGE * verified.relative().value();
    (!is_open).then_some((batch, made, factor))
}

/// The bags of some stocks, each as strong as the last verified batch of the same lot, also while a newer
/// batch of it was not verified.
pub(super) fn bags_as_verified(bench: &Bench, stocks: &[Stock]) -> Vec<DrySalt> {
    let shelf = || bench.stocks.iter().map(|stock| &stock.value).zip(&bench.bottles);
    let mut bags = DrySalt::of_shelf(stocks);
    for bag in &mut bags {
        let bottle = shelf().find(|(stock, _)| stock.name() == bag.name).map(|(_, bottle)| bottle);
        if let Some((_, made, _)) = bottle.and_then(|bottle| bag_as_verified(bench, bottle)) {
            bag.lot.purity = made.recipe().lot.purity;
            bag.lot.moisture = made.recipe().lot.moisture;
        }
    }
    bags
}

/// That a batch just weighed is of a lot which was verified to hold other than it says.
pub(super) fn lot_as_verified(bench: &Bench, bottle: &Bottle, newest: &Batch) -> Option<Note> {
    let now = Bottle { batch: Some(newest.clone()), ..bottle.clone() };
    let (batch, _, factor) = bag_as_verified(bench, &now)?;
    (batch.number != newest.number).then(|| Note::LotAsVerified {
        stock: newest.stock.clone(),
        lot: newest.lot_label.clone().unwrap_or_default(),
        batch: batch.number,
        percent: 100.0 * (factor - 1.0),
    })
}

/// The bags that are taken to be as strong as a verified batch of theirs, where that is not what they say:
/// for each a sentence with what to weigh should the batch, and not the bag, be at fault.
pub(super) fn verified_bags(bench: &Bench, is_weighed: impl Fn(&str) -> bool) -> Vec<String> {
    let shelf = bench.stocks.iter().map(|stock| &stock.value).zip(&bench.bottles);
    let weighed = shelf.filter(|(stock, _)| is_weighed(stock.name()));
    let sentence = |(stock, bottle): (&Stock, &Bottle)| {
        let (batch, _, factor) = bag_as_verified(bench, bottle)?;
        Some(format!(
            "{}: its bag is taken to hold {} % {} salt than it says, as batch {} was verified; if the \
             batch was made wrong and the bag is right, weigh {} times as much of it",
            stock.name(),
            show::fixed(100.0 * (factor - 1.0).abs(), 0),
            if factor < 1.0 { "less" } else { "more" },
            batch.number,
            show::three_figures(factor)
        ))
    };
    weighed.filter_map(sentence).collect()
}

/// The newest batches of some stocks that are of another salt than the stock's file names now.
#[must_use]
pub(super) fn set_aside(bench: &Bench, is_meant: impl Fn(&str) -> bool) -> Vec<Note> {
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
pub fn bottle<'a>(bench: &'a Bench, stock: &str) -> Result<Filled<'a>, Mistakes> {
    let stock = &bench.stock(stock)?.value;
    let bottle = bench.bottle(stock).ok_or_else(|| internal(&"a stock without a bottle"))?;
    Ok(Filled { stock, bottle, taken_ml: bench.taken_ml(bottle) })
}

/// What is left in each bottle of a bench on a day.
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::app::bottles::take_stock;
/// use waterflight::bench::Bench;
/// use waterflight::quantities::Day;
///
/// let bench = Bench::open("stocks/demo".as_ref())?;
/// let report = take_stock(&bench, Day::today())?;
/// // Nothing was weighed for the demo, so nothing is known to be left.
/// assert!(report.bottles.iter().all(|bottle| bottle.left_ml.is_none()));
/// # Ok(())
/// # }
/// ```
///
/// # Errors
/// When a pour cannot be read: what is left follows from every one.
pub fn take_stock(bench: &Bench, day: Day) -> Result<StocktakeReport, Mistakes> {
    if let Some(unread) = bench.records.unread_pours.first() {
        return Err(unread.clone().into());
    }
    // What is dated ahead of today was entered all the same.
    let bottles = filled_until(bench, (day < Day::today()).then_some(day));
    let mut notes = of_records(bench);
    notes.extend(without_a_stock(&bench.records.batches, &bench.bottles));
    notes.extend(of_strengths(&bottles, &bench.tools, |_| true));
    Ok(StocktakeReport::new(&bottles, day, notes))
}

/// Every stock of a bench with its bottle and the strengths of its batches, or the one that is named.
///
/// # Errors
/// Lists the stocks when there is none of that name.
pub fn stock_reports(bench: &Bench, name: Option<&str>) -> Result<Vec<StockReport>, Mistakes> {
    let report = |stock: &Stock| {
        let bottle = bench.bottle(stock);
        let mut report = StockReport::with_bottle(stock, bottle, &bench.tools);
        report.notes.extend(set_aside(bench, |name| name == stock.name()));
        let batches = bench.records.batches.iter().filter(|b| b.stock == stock.name());
        let batches: Vec<_> = batches.collect();
        report.strength_history =
            bottle.and_then(|bottle| StrengthHistory::new(&bottle.written, &batches, &bench.tools));
        report
    };
    Ok(match name {
        None => bench.stocks.iter().map(|s| report(&s.value)).collect(),
        Some(name) => vec![report(&bench.stock(name)?.value)],
    })
}
