//! A water that is wanted every day, by its name: a target of any flight, a water as it was tasted
//! in a session, or any named water; and what it is compared with.

use clap::Args;

use crate::assessment::Withheld;
use crate::bench::Bench;
use crate::cli::named_water::NamedWaters;
use crate::cli::tasted_water;
use crate::everyday::cost::MoneyAmount;
use crate::everyday::wanted::like;
use crate::everyday::{ReadyProduct, Wanted};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::flight::{BaseShare, Dispenser};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Fraction};
use crate::stock::{DrySalt, Price};
use crate::water::BaseWater;

/// What everyday water is compared with.
#[derive(Debug, Clone, Args)]
pub(super) struct ReadyProductOptions {
    /// Price of a ready product, per finished water, as in "0.30 per L".
    #[arg(long, value_name = "PRICE")]
    ready_product: Option<String>,
    /// Price of a balance that the savings are to pay back.
    #[arg(
        long = "balance-price",
        alias = "scale-price",
        value_name = "MONEY",
        requires = "ready_product"
    )]
    balance_price: Option<String>,
}

/// Batches, concentrates and pours keep the same goals with other amounts.
const OWN_RECIPE: &str =
    "a recipe of its own, with the goals of `mix`; SESSION/WATER gives what was poured";

/// The water of a name. A target keeps its goals and its base water; any other water is matched
/// ion by ion: one that was tasted from its own base waters, the rest from distilled water.
pub(super) fn wanted(bench: &Bench, name: &str) -> Result<Wanted, Mistakes> {
    wanted_and_dispenser(bench, name).map(|(wanted, _)| wanted)
}

/// The same with the dispenser that its flight names.
pub(super) fn wanted_and_dispenser(
    bench: &Bench,
    name: &str,
) -> Result<(Wanted, Option<Dispenser>), Mistakes> {
    let mut found = Vec::new();
    for file in &bench.flights {
        let (flight, stocks, order) = bench.ordered_flight(file)?;
        let full = |target: &str| format!("{}/{target}", file.stem);
        let targets = flight.targets.iter().filter(|t| t.name == name || full(&t.name) == name);
        found.extend(targets.map(|t| {
            let wanted = Wanted {
                target: t.clone(),
                base: flight.base.clone(),
                salts: DrySalt::of_shelf(&stocks),
                stocks: stocks.clone(),
                notes: vec![OWN_RECIPE.to_owned()],
            };
            (wanted, order.dispenser.clone())
        }));
    }
    if found.len() == 1
        && let Some(only) = found.pop()
    {
        return Ok(only);
    }
    if found.is_empty()
        && let Some(tasted) = tasted_water::wanted(bench, name)?
    {
        return Ok((tasted, None));
    }
    let water = NamedWaters::of(bench).find(name)?;
    let stocks: Vec<_> = bench.stocks.iter().map(|s| s.value.clone()).collect();
    let wanted = Wanted {
        target: like(&water.name, &water.water),
        base: vec![BaseShare { water: BaseWater::distilled(), at_most: Fraction::new(1.0) }],
        salts: DrySalt::of_shelf(&stocks),
        stocks,
        notes: Withheld::of(water.water.not_measured())
            .map(|why| format!("{why} of {name}: this is like it in the rest alone"))
            .into_iter()
            .collect(),
    };
    Ok((wanted, None))
}

/// What it is compared with, as typed.
pub(super) fn ready_product(options: &ReadyProductOptions) -> Result<ReadyProduct, Mistakes> {
    let ready = options.ready_product.as_deref().map(|text| {
        Price::parse(text, Dimension::Volume)
            .map_err(|_| wrong("--ready-product", text, "\"0.30 per L\" of finished water"))
    });
    let scale = options.balance_price.as_deref().map(|text| {
        let sum = leading_number(text.trim())
            .ok()
            .map(|(amount, money)| MoneyAmount { amount, money: money.trim().to_owned() });
        let sum = sum.filter(|s| s.amount >= 0.0 && !s.money.contains("per"));
        sum.ok_or_else(|| wrong("--balance-price", text, "\"35\", or \"35 coins\""))
    });
    Ok(ReadyProduct { ready: ready.transpose()?, scale: scale.transpose()? })
}

fn wrong(option: &str, text: &str, example: &str) -> Mistakes {
    Diagnostic::new(Fault::Choice, format!("{option}: `{text}` is no price"))
        .expected(format!("a price, as in {example}"))
        .into()
}
