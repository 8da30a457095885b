//! What a flight asks of the bench beyond its targets, as written: a dispenser, how many stocks,
//! what is left in them, stocks that a target must or must not have.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::{Dispenser, StockRule, StockSet};
use crate::quantities::{Dimension, Millilitres};
use crate::stock::Stock;
use crate::text::names;

/// How many stocks a flight may open, as written.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) enum StockSetEntry {
    #[default]
    Any,
    Fewest,
    AtMost(Written),
    Same,
}

impl StockSetEntry {
    /// The number of stocks as the planner takes it.
    pub(super) fn meant(&self, source: &SourceText) -> Result<StockSet, Diagnostic> {
        match self {
            StockSetEntry::Any => Ok(StockSet::Any),
            StockSetEntry::Fewest => Ok(StockSet::Fewest),
            StockSetEntry::Same => Ok(StockSet::Same),
            StockSetEntry::AtMost(leaf) => {
                let count = leaf.text().parse().ok().filter(|n: &usize| *n > 0);
                count.map(StockSet::AtMost).ok_or_else(|| {
                    place::wrong(source, leaf, "this is no number of stocks")
                        .expected("a whole number from 1 on, as in AtMost(4)")
                })
            }
        }
    }
}

/// The dispenser that a flight names.
pub(super) fn dispenser(
    source: &SourceText,
    leaf: &Written,
    dispensers: &[Dispenser],
) -> Result<Dispenser, Diagnostic> {
    let known: Vec<&str> = dispensers.iter().map(|d| d.name.as_str()).collect();
    let meant = names::meant(leaf.text(), &known);
    dispensers.iter().find(|d| Some(d.name.as_str()) == meant).cloned().ok_or_else(|| {
        let unknown = place::unknown(source, leaf, ("dispenser", ""), &known);
        if known.is_empty() {
            return unknown.expected("a dispenser that `bench.ron` lists").remedy(
                "add `dispensers: [Syringe(name: \"syringe\", step: \"0.1 mL\")]` to bench.ron",
            );
        }
        unknown
    })
}

/// The same stocks in every water need a least amount of each.
pub(super) fn same_needs_dispenser(
    source: &SourceText,
    title: &Written,
    set: StockSet,
    dispenser: Option<&Dispenser>,
) -> Result<(), Diagnostic> {
    if set != StockSet::Same || dispenser.is_some() {
        return Ok(());
    }
    Err(place::at(source, title, "the least dose of each stock is not known")
        .found("`stock_set: Same`, and no dispenser")
        .expected("`dispenser: \"…\"` in the flight: its least amount is the least dose"))
}

/// What is left in the bottles, as `("epsom", "80 mL")`.
pub(super) fn left(
    source: &SourceText,
    entries: &[(Written, Written)],
    stocks: &[Stock],
) -> Result<Vec<(String, Millilitres)>, Diagnostic> {
    let mut left: Vec<(String, Millilitres)> = Vec::new();
    for (name, amount) in entries {
        let stock = named(source, name, stocks)?;
        if left.iter().any(|(known, _)| known == stock) {
            return Err(place::duplicate(source, name, "stock", "above"));
        }
        let ml = place::amount(source, amount, &[Dimension::Volume])?;
        left.push((stock.to_owned(), Millilitres::new(ml)));
    }
    Ok(left)
}

/// The stocks that a target must and must not have.
pub(super) fn rule(
    source: &SourceText,
    with: &[Written],
    without: &[Written],
    stocks: &[Stock],
    dispenser: Option<&Dispenser>,
) -> Result<StockRule, Diagnostic> {
    let names = |leaves: &[Written]| -> Result<Vec<String>, Diagnostic> {
        leaves.iter().map(|leaf| named(source, leaf, stocks).map(str::to_owned)).collect()
    };
    let rule = StockRule { with: names(with)?, without: names(without)? };
    if let Some(leaf) = with.iter().find(|leaf| rule.without.iter().any(|n| n == leaf.text())) {
        return Err(place::at(source, leaf, "this stock is both asked for and ruled out")
            .found(format!("`{}` in `with` and in `without`", leaf.text()))
            .remedy("keep one of the two"));
    }
    if let (Some(leaf), None) = (with.first(), dispenser) {
        return Err(place::at(source, leaf, "its least dose is not known")
            .found(format!("`{}` asked for, and no dispenser", leaf.text()))
            .expected("`dispenser: \"…\"` in the flight: its least amount is the least dose"));
    }
    Ok(rule)
}

fn named<'a>(
    source: &SourceText,
    leaf: &Written,
    stocks: &'a [Stock],
) -> Result<&'a str, Diagnostic> {
    let found = stocks.iter().map(Stock::name).find(|name| *name == leaf.text());
    found.ok_or_else(|| {
        let known: Vec<&str> = stocks.iter().map(Stock::name).collect();
        place::unknown(source, leaf, ("stock", " in this flight"), &known)
    })
}
