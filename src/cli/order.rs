//! Options of a command line that change what a flight asks of the bench.

use clap::Args;

use crate::bench::Bench;
use crate::cli::amount::above_zero;
use crate::files::{Diagnostic, Fault, Mistakes, read};
use crate::flight::{Dispenser, Flight, Order, StockRule, StockSet, Style, dose_limits};
use crate::quantities::{Dimension, Litres, Millilitres, Quantity};
use crate::stock::Stock;
use crate::text::names;

/// What a flight asks of the bench, beside or instead of what its file says.
#[derive(Debug, Default, Args)]
pub(super) struct OrderOptions {
    /// Doses in steps of this dispenser of bench.ron.
    #[arg(long, value_name = "NAME")]
    dispenser: Option<String>,
    /// Size of a bottle, instead of that of the flight: mL, L, US gal, US fl oz, imp fl oz.
    #[arg(long, value_name = "VOLUME")]
    bottle: Option<String>,
    /// Add up for so many bottles of each water.
    #[arg(long = "for", value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    pub(super) bottles: Option<u32>,
    /// Open as few stocks as serve every target.
    #[arg(long, conflicts_with = "at_most")]
    fewest: bool,
    /// Open at most so many stocks, those that make the best flight.
    #[arg(long, value_name = "N")]
    at_most: Option<usize>,
    /// Take the same stocks in every water, as few as serve; needs a dispenser.
    #[arg(long, conflicts_with_all = ["fewest", "at_most"])]
    same: bool,
    /// What is left of a stock, for the whole flight.
    #[arg(long, value_name = "STOCK=VOLUME")]
    left: Vec<String>,
    /// A stock that a water must have.
    #[arg(long, value_name = "[TARGET=]STOCK")]
    with: Vec<String>,
    /// A stock that a water must not have.
    #[arg(long, value_name = "[TARGET=]STOCK")]
    without: Vec<String>,
    /// Pour no more than this of all stocks together, per litre: 100 mL/L unless given, or none.
    #[arg(long, value_name = "VOLUME")]
    most_stocks: Option<String>,
    /// Let no water hold more dissolved solids than this: 1500 mg/L unless given, or none.
    #[arg(long, value_name = "AMOUNT")]
    most_solids: Option<String>,
    /// Within the tolerances, as near as possible to the water of this target.
    #[arg(
        long,
        value_name = "TARGET",
        conflicts_with_all = ["dispenser", "fewest", "at_most", "same", "left", "with", "without"]
    )]
    pub(super) nearest_to: Option<String>,
}

impl OrderOptions {
    /// Puts the limits on top of those of the flight's file.
    pub(super) fn limit(&self, flight: &mut Flight) -> Result<(), Mistakes> {
        let of = |text: &str, dimension, example| {
            dose_limits::read(text, dimension).map_err(|error| {
                Diagnostic::new(Fault::Choice, error.to_string())
                    .found(format!("`{text}`"))
                    .expected(format!("an amount above zero, as in \"{example}\", or none"))
            })
        };
        if let Some(text) = &self.most_stocks {
            flight.limits.stocks_ml_per_l = of(text, Dimension::VolumePerVolume, "100 mL/L")?;
        }
        if let Some(text) = &self.most_solids {
            flight.limits.dissolved_solids_mg_per_l =
                of(text, Dimension::MassPerVolume, "1500 mg/L")?;
        }
        if let Some(text) = &self.bottle {
            let ml = above_zero("--bottle", text, &[Dimension::Volume])?;
            flight.bottle = Litres::new(ml / 1000.0);
        }
        Ok(())
    }

    /// The same in bottles of another size, where one is given.
    pub(super) fn in_bottles_of(self, bottle: Option<&str>) -> Self {
        Self { bottle: bottle.map(str::to_owned).or(self.bottle.clone()), ..self }
    }

    /// What the flight's file says, with another dispenser where one is named.
    pub(super) fn measured_with(dispenser: Option<&str>) -> Self {
        Self { dispenser: dispenser.map(str::to_owned), ..Self::default() }
    }

    /// Puts the options on top of what the flight's file says.
    pub(super) fn apply(
        &self,
        bench: &Bench,
        flight: &Flight,
        stocks: &[Stock],
        order: &mut Order,
    ) -> Result<(), Diagnostic> {
        if let Some(name) = &self.dispenser {
            order.dispenser = Some(dispenser(bench, name)?);
            // In steps each of the chosen stocks has a least dose as well.
            if matches!(order.style, Some(Style::SameSalts { .. })) {
                order.stock_set = StockSet::Same;
            }
        }
        if self.fewest {
            order.stock_set = StockSet::Fewest;
        }
        if self.at_most == Some(0) {
            return Err(Diagnostic::new(Fault::Choice, "no stock at all makes no flight")
                .expected("--at-most 1 or more"));
        }
        if let Some(most) = self.at_most {
            order.stock_set = StockSet::AtMost(most);
        }
        if self.same {
            order.stock_set = StockSet::Same;
        }
        for text in &self.left {
            let (name, volume) = text.split_once('=').unwrap_or((text, ""));
            let ml = Quantity::parse_as(volume, &[Dimension::Volume]).map_err(|error| {
                Diagnostic::new(Fault::Choice, error.to_string())
                    .found(format!("`{text}`"))
                    .expected("a stock and a volume, as in --left \"epsom=80 mL\"")
            })?;
            let name = stock(stocks, name)?;
            order.left.retain(|(known, _)| *known != name);
            order.left.push((name, Millilitres::new(ml)));
        }
        order.rules.resize(flight.targets.len(), StockRule::default());
        for (list, must) in [(&self.with, true), (&self.without, false)] {
            for text in list {
                let (target, name) = match text.rsplit_once('=') {
                    Some((target, name)) => (Some(target), name),
                    None => (None, text.as_str()),
                };
                let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
                let target = match target {
                    None => None,
                    Some(typed) => Some(
                        names::meant(typed, &known)
                            .ok_or_else(|| unknown("target", typed, &known))?,
                    ),
                };
                let name = stock(stocks, name)?;
                for (rule, of) in order.rules.iter_mut().zip(&flight.targets) {
                    if target.is_none_or(|t| t == of.name) {
                        let list = if must { &mut rule.with } else { &mut rule.without };
                        list.push(name.clone());
                    }
                }
            }
        }
        let clash = order.rules.iter().any(|r| r.with.iter().any(|n| r.without.contains(n)));
        if clash {
            return Err(Diagnostic::new(
                Fault::Choice,
                "a stock is both asked for and ruled out in the same water",
            ));
        }
        let asked: Vec<&String> = stocks_asked_for(order);
        if let StockSet::AtMost(most) = order.stock_set
            && asked.len() > most
        {
            return Err(Diagnostic::new(
                Fault::Choice,
                format!("{} stocks must be in the waters of this flight", asked.len()),
            )
            .found(format!(
                "at most {most}, and asked for: {}",
                asked.iter().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
            ))
            .expected(format!("at most {} or more", asked.len()))
            .remedy("allow more stocks, or ask for fewer of them"));
        }
        let least_needed =
            order.stock_set == StockSet::Same || order.rules.iter().any(|r| !r.with.is_empty());
        if order.dispenser.is_none() && least_needed {
            return Err(Diagnostic::new(
                Fault::Choice,
                "stocks are asked for, and their least dose is not known",
            )
            .remedy("name a dispenser as well: its least amount is the least dose"));
        }
        Ok(())
    }
}

/// The stocks that some water must have, each once.
fn stocks_asked_for(order: &Order) -> Vec<&String> {
    let mut asked: Vec<&String> = Vec::new();
    for name in order.rules.iter().flat_map(|rule| &rule.with) {
        if !asked.contains(&name) {
            asked.push(name);
        }
    }
    asked
}

/// The dispenser of a bench that a command line names.
pub(super) fn dispenser(bench: &Bench, name: &str) -> Result<Dispenser, Diagnostic> {
    let known: Vec<&str> = bench.dispensers.iter().map(|d| d.name.as_str()).collect();
    let meant = names::meant(name, &known);
    let found = bench.dispensers.iter().find(|d| Some(d.name.as_str()) == meant);
    found.cloned().ok_or_else(|| {
        unknown("dispenser", name, &known).remedy("list it in bench.ron under `dispensers`")
    })
}

fn stock(stocks: &[Stock], name: &str) -> Result<String, Diagnostic> {
    let known: Vec<&str> = stocks.iter().map(Stock::name).collect();
    let name = name.trim();
    let meant = names::meant(name, &known);
    meant.map(str::to_owned).ok_or_else(|| unknown("stock", name, &known))
}

/// A name that fits nothing.
pub(super) fn unknown(what: &str, name: &str, known: &[&str]) -> Diagnostic {
    let diagnostic = Diagnostic::new(Fault::Choice, format!("there is no {what} `{name}`"))
        .expected(if known.is_empty() { "none is there".to_owned() } else { known.join(", ") });
    match read::nearest(name, known) {
        Some(near) => diagnostic.remedy(format!("did you mean `{near}`?")),
        None => diagnostic,
    }
}
