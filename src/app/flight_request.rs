//! What is asked of the bench beside or instead of what a flight's file says.

use std::num::NonZeroU32;

use crate::app::named_flight::{unknown_name, without_flight};
use crate::bench::{Bench, FlightFile};
use crate::files::Diagnostic;
use crate::flight::{Dispenser, Flight, Order, StockRule, StockSet, Style};
use crate::quantities::{Litres, Millilitres};
use crate::stock::Stock;
use crate::text::names;

/// What a flight asks of the bench, beside or instead of what its file says. The default changes nothing.
#[derive(Debug, Clone, Default)]
pub struct FlightRequest {
    /// Doses in steps of this dispenser of the bench.
    pub dispenser: Option<String>,
    /// Which stocks are opened.
    pub stock_set: Option<StockSet>,
    /// What is left of a stock, for the whole flight.
    pub left: Vec<(String, Millilitres)>,
    /// Stocks that a water must have: the target, or every one; the stock.
    pub with: Vec<(Option<String>, String)>,
    /// Stocks that a water must not have, likewise.
    pub without: Vec<(Option<String>, String)>,
    /// Most of all stocks together, mL per litre; infinite for no limit.
    pub stocks_ml_per_l: Option<f64>,
    /// Most dissolved solids, mg per litre; infinite for no limit.
    pub dissolved_solids_mg_per_l: Option<f64>,
    /// Bottles of this size instead of the flight's.
    pub bottle: Option<Litres>,
    /// Bottles of each water that is added up for; one when nothing is said.
    pub bottles: Option<u32>,
    /// Within the tolerances, as near as possible to the water of this target.
    pub nearest_to: Option<String>,
    /// Only this water of the flight, which is planned as a whole all the same.
    pub only: Option<String>,
}

impl FlightRequest {
    /// What the flight's file says, with another dispenser where one is named.
    #[must_use]
    pub fn measured_with(dispenser: Option<&str>) -> Self {
        Self { dispenser: dispenser.map(str::to_owned), ..Self::default() }
    }

    /// Puts the limits and the size of a bottle on top of those of the flight's file.
    pub(super) fn limit(&self, flight: &mut Flight) {
        if let Some(most) = self.stocks_ml_per_l {
            flight.limits.stocks_ml_per_l = most;
        }
        if let Some(most) = self.dissolved_solids_mg_per_l {
            flight.limits.dissolved_solids_mg_per_l = most;
        }
        if let Some(bottle) = self.bottle {
            flight.bottle = bottle;
        }
    }

    /// Puts the rest on top of what the flight's file says.
    pub(super) fn apply(
        &self,
        bench: &Bench,
        (file, flight): (&FlightFile, &Flight),
        stocks: &[Stock],
        order: &mut Order,
    ) -> Result<(), Diagnostic> {
        if let Some(name) = &self.dispenser {
            order.dispenser = dispenser_or_none(bench, name)?;
            // In steps each of the chosen stocks has a least dose as well.
            if order.dispenser.is_some() && matches!(order.style, Some(Style::SameSalts { .. })) {
                order.stock_set = StockSet::Same;
            }
        }
        match self.stock_set {
            Some(StockSet::AtMost(0)) => {
                return Err(Diagnostic::choice("no stock at all makes no flight")
                    .expected("--at-most 1 or more"));
            }
            Some(stock_set) => order.stock_set = stock_set,
            None => {}
        }
        let mut said: Vec<String> = Vec::new();
        for (name, volume) in &self.left {
            let name = stock(stocks, name)?;
            if said.contains(&name) {
                return Err(twice("what is left of", &name));
            }
            said.push(name.clone());
            order.left.retain(|(known, _)| *known != name);
            order.left.push((name, *volume));
        }
        order.bottles = self.bottles.and_then(NonZeroU32::new);
        order.rules.resize(flight.targets.len(), StockRule::default());
        for (list, must) in [(&self.with, true), (&self.without, false)] {
            for (target, name) in list {
                let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
                let target = match target {
                    None => None,
                    Some(typed) => Some(
                        names::meant(without_flight(bench, file, typed), &known)
                            .ok_or_else(|| unknown_name("target", typed, &known))?,
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
            return Err(Diagnostic::choice(
                "a stock is both asked for and ruled out in the same water",
            ));
        }
        let asked: Vec<&String> = stocks_asked_for(order);
        if let StockSet::AtMost(most) = order.stock_set
            && asked.len() > most
        {
            return Err(Diagnostic::choice(format!(
                "{} stocks must be in the waters of this flight",
                asked.len()
            ))
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
            return Err(Diagnostic::choice(
                "stocks are asked for, and their least dose is not known",
            )
            .remedy("name a dispenser as well: its least amount is the least dose"));
        }
        Ok(())
    }
}

/// What was typed twice and can be meant once.
pub(super) fn twice(what: &str, name: &str) -> Diagnostic {
    Diagnostic::choice(format!("{what} `{name}` is said twice")).remedy("say it once")
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

/// What stands for no dispenser at all, where a flight's file names one.
const NO_DISPENSER: &str = "none";

/// The dispenser of a bench by its name; nothing for `none`, unless one is called so.
fn dispenser_or_none(bench: &Bench, name: &str) -> Result<Option<Dispenser>, Diagnostic> {
    match dispenser(bench, name) {
        Err(_) if name.eq_ignore_ascii_case(NO_DISPENSER) => Ok(None),
        found => found.map(Some),
    }
}

/// The dispenser of a bench by its name.
///
/// # Errors
/// Lists the dispensers when there is none of that name.
pub(super) fn dispenser(bench: &Bench, name: &str) -> Result<Dispenser, Diagnostic> {
    let known: Vec<&str> = bench.dispensers.iter().map(|d| d.name.as_str()).collect();
    let meant = names::meant(name, &known);
    let found = bench.dispensers.iter().find(|d| Some(d.name.as_str()) == meant);
    found.cloned().ok_or_else(|| {
        unknown_name("dispenser", name, &known).remedy("list it in bench.ron under `dispensers`")
    })
}

fn stock(stocks: &[Stock], name: &str) -> Result<String, Diagnostic> {
    let known: Vec<&str> = stocks.iter().map(Stock::name).collect();
    let meant = names::meant(name, &known).map(str::to_owned);
    meant.ok_or_else(|| unknown_name("stock", name, &known))
}
