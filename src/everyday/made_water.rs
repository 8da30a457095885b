//! A water that may be made every day: what the maker of the machine says of it, and what it costs when
//! it is poured from stocks.

use serde::Serialize;

use crate::assessment::{MachineReport, WaterAnswer};
use crate::everyday::cost::{EverydayCost, ReadyProduct};
use crate::stock::{Price, Stock};

/// The water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MadeWater {
    /// Its name.
    pub name: String,
    /// The limits of the machine beside it, where one is described.
    pub machine: Option<MachineReport>,
    /// Its cost, where prices are stated.
    pub cost: Option<EverydayCost>,
}

impl MadeWater {
    /// A water that was looked at, of so many millilitres of stocks for a litre and of shares of base
    /// waters; `prices` are those of the waters, per millilitre.
    #[must_use]
    pub fn new(
        answer: WaterAnswer,
        doses_ml_per_l: &[(String, f64)],
        base: &[(String, f64)],
        stocks: &[Stock],
        prices: &[(String, Price)],
    ) -> Self {
        let of_stock = |(name, ml): &(String, f64)| {
            let stock = stocks.iter().find(|stock| stock.name() == name);
            let price = stock.and_then(Stock::price_per_ml);
            let per_l = price.map(|p| Price { per_base: p.per_base * ml, money: p.money });
            (name.clone(), per_l)
        };
        let salts: Vec<(String, Option<Price>)> = doses_ml_per_l.iter().map(of_stock).collect();
        let cost = EverydayCost::new(&salts, base, prices, 1.0, &ReadyProduct::default());
        Self { name: answer.report.name, machine: answer.machine, cost }
    }
}
