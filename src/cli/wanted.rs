//! A water that is wanted every day, by its name: a target of any flight, or any named water.

use crate::bench::Bench;
use crate::cli::named_water::NamedWaters;
use crate::cli::outcome::Mistakes;
use crate::files::{Diagnostic, Fault};
use crate::quantities::{Dimension, Fraction};
use crate::report::batch::like;
use crate::report::{Instead, Wanted};
use crate::shelf::{DrySalt, Price};
use crate::waters::{BaseShare, BaseWater};

/// The water of a name. A target keeps its goals and its base water; any other water is matched
/// ion by ion from distilled water.
pub(super) fn wanted(bench: &Bench, name: &str) -> Result<Wanted, Mistakes> {
    let mut found = Vec::new();
    for file in &bench.flights {
        let (flight, stocks) = bench.flight(file).map_err(|mistake| vec![mistake])?;
        let full = |target: &str| format!("{}/{target}", file.stem);
        let targets = flight.targets.iter().filter(|t| t.name == name || full(&t.name) == name);
        found.extend(targets.map(|t| (flight.base.clone(), t.clone(), stocks.clone())));
    }
    if let [(base, target, stocks)] = found.as_slice() {
        return Ok(Wanted {
            target: target.clone(),
            base: base.clone(),
            salts: DrySalt::of_shelf(stocks),
            stocks: stocks.clone(),
        });
    }
    let water = NamedWaters::of(bench)?.find(name).map_err(|mistake| vec![mistake])?;
    let stocks: Vec<_> = bench.stocks.iter().map(|s| s.value.clone()).collect();
    Ok(Wanted {
        target: like(&water.name, &water.water),
        base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
        salts: DrySalt::of_shelf(&stocks),
        stocks,
    })
}

/// What it is compared with, as typed.
pub(super) fn instead(ready: Option<&str>, scale: Option<&str>) -> Result<Instead, Mistakes> {
    let wrong = |option: &str, text: &str, example: &str| {
        vec![
            Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no price"))
                .expected(format!("a price, as in {example}")),
        ]
    };
    let price = |text: &str| {
        Price::parse(text, Dimension::Volume)
            .map_err(|_| wrong("--instead", text, "\"0.30 per L\""))
    };
    let scale_price = |text: &str| {
        let (amount, _) = crate::quantities::spelling::leading_number(text.trim())
            .map_err(|_| wrong("--scale-price", text, "\"35\""))?;
        if amount >= 0.0 { Ok(amount) } else { Err(wrong("--scale-price", text, "\"35\"")) }
    };
    Ok(Instead { ready: ready.map(price).transpose()?, scale: scale.map(scale_price).transpose()? })
}
