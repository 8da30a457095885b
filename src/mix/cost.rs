//! What a flight costs: the salts in its doses and the base waters. The water inside of the stocks
//! is left out; it is a few grams per litre.

use serde::Serialize;

use crate::mix::flight_use::{BaseUse, StockUse};
use crate::mix::water_mix::WaterMix;
use crate::stock::{Price, Stock};

/// The cost of a flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CostReport {
    /// The money, as the prices name it; empty when they do not.
    pub money: String,
    /// Each water, in the order of the flight.
    pub waters: Vec<WaterCost>,
    /// One bottle of each water.
    pub flight: f64,
    /// Stocks and waters whose price is not stated; they count nothing.
    pub without_price: Vec<String>,
    /// Whether prices name different moneys, so that the sums mean nothing.
    pub mixed_money: bool,
}

/// What one water costs, in the money of the prices.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WaterCost {
    /// Name of the target.
    pub target: String,
    /// Of its salts, per litre.
    pub salts_per_l: f64,
    /// Of its base water, per litre.
    pub water_per_l: f64,
    /// Of both, per litre.
    pub per_l: f64,
    /// Of both, per bottle.
    pub per_bottle: f64,
}

impl CostReport {
    /// The cost of the waters of a planned flight, in bottles of a size and with what they take; `None`
    /// when no price is stated at all. `prices` are those of base waters, per millilitre by name.
    #[must_use]
    pub(crate) fn new(
        (waters, bottle_ml): (&[WaterMix], f64),
        (stocks_used, base_used): (&[StockUse], &[BaseUse]),
        stocks: &[Stock],
        prices: &[(String, Price)],
    ) -> Option<Self> {
        let of_stock = |name: &str| -> Option<Price> {
            stocks.iter().find(|s| s.name() == name)?.price_per_ml()
        };
        let of_water = |name: &str| prices.iter().find(|(n, _)| n == name).map(|(_, p)| p.clone());
        let priced: Vec<(String, Option<Price>)> = stocks_used
            .iter()
            .map(|s| (s.stock.clone(), of_stock(&s.stock)))
            .chain(base_used.iter().map(|b| (b.water.clone(), of_water(&b.water))))
            .collect();
        let money = priced.iter().find_map(|(_, p)| p.as_ref())?.money.clone();
        let mixed_money = priced.iter().filter_map(|(_, p)| p.as_ref()).any(|p| p.money != money);
        let price = |name: &str| {
            let found = priced.iter().find(|(n, _)| n == name).and_then(|(_, p)| p.as_ref());
            found.map_or(0.0, |p| p.per_base)
        };
        let waters: Vec<WaterCost> = waters
            .iter()
            .map(|water| {
                let salts_per_l: f64 =
                    water.doses.iter().map(|d| d.ml_per_l * price(&d.stock)).sum();
                let water_per_l: f64 =
                    water.base.iter().map(|b| 1000.0 * b.share * price(&b.water)).sum();
                let per_l = salts_per_l + water_per_l;
                WaterCost {
                    target: water.target.clone(),
                    salts_per_l,
                    water_per_l,
                    per_l,
                    per_bottle: per_l * bottle_ml / 1000.0,
                }
            })
            .collect();
        Some(Self {
            money,
            flight: waters.iter().map(|w| w.per_bottle).sum(),
            waters,
            without_price: priced
                .iter()
                .filter(|(_, p)| p.is_none())
                .map(|(name, _)| name.clone())
                .collect(),
            mixed_money,
        })
    }
}
