//! What everyday water costs beside a ready product, and when the scale is paid back.

use serde::Serialize;

use crate::shelf::{DrySalt, Price};

/// What it is compared with; all of it typed by the user.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Instead {
    /// Price of the ready product, per millilitre of finished water.
    pub ready: Option<Price>,
    /// Price of the scale.
    pub scale: Option<f64>,
}

/// The cost of a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EverydayCost {
    /// The money, as the prices name it.
    pub money: String,
    /// Salts, per litre.
    pub salts_per_l: f64,
    /// Base water, per litre.
    pub water_per_l: f64,
    /// Both, per litre.
    pub per_l: f64,
    /// Both, for all litres.
    pub together: f64,
    /// Litres that makes.
    pub litres: f64,
    /// What has no price; it counts nothing.
    pub without_price: Vec<String>,
    /// The ready product, per litre.
    pub instead_per_l: Option<f64>,
    /// Litres after which the scale is paid back; none when it never is.
    pub scale_paid_after_l: Option<f64>,
    /// Whether prices name different moneys, so that sums mean nothing.
    pub mixed_money: bool,
}

/// Price of each salt per litre, by name; none where the lot has no price.
pub(crate) fn salts_cost(g_per_l: &[(&DrySalt, f64)]) -> Vec<(String, Option<Price>)> {
    let used = g_per_l.iter().filter(|(_, g)| *g > 0.0);
    used.map(|(salt, g)| {
        let price = salt.lot.price.as_ref();
        let per_l = price.map(|p| Price { per_base: p.per_base * g, money: p.money.clone() });
        (salt.name.clone(), per_l)
    })
    .collect()
}

impl EverydayCost {
    /// Adds up; `None` when nothing has a price.
    #[must_use]
    pub fn new(
        salts_per_l: &[(String, Option<Price>)],
        shares: &[(String, f64)],
        water_prices: &[(String, Price)],
        litres: f64,
        instead: &Instead,
    ) -> Option<Self> {
        let waters: Vec<(String, Option<Price>)> = shares
            .iter()
            .map(|(name, share)| {
                let price = water_prices.iter().find(|(n, _)| n == name).map(|(_, p)| Price {
                    per_base: p.per_base * 1000.0 * share,
                    money: p.money.clone(),
                });
                (name.clone(), price)
            })
            .collect();
        let all = || salts_per_l.iter().chain(&waters);
        let priced: Vec<&Price> =
            all().filter_map(|(_, p)| p.as_ref()).chain(&instead.ready).collect();
        let money = priced.first()?.money.clone();
        let sum = |of: &[(String, Option<Price>)]| -> f64 {
            of.iter().filter_map(|(_, p)| p.as_ref()).map(|p| p.per_base).sum()
        };
        let (salts, water) = (sum(salts_per_l), sum(&waters));
        let instead_per_l = instead.ready.as_ref().map(|p| 1000.0 * p.per_base);
        let saved = instead_per_l.map(|ready| ready - salts - water).filter(|s| *s > 0.0);
        Some(Self {
            mixed_money: priced.iter().any(|p| p.money != money),
            money,
            salts_per_l: salts,
            water_per_l: water,
            per_l: salts + water,
            together: (salts + water) * litres,
            litres,
            without_price: all().filter(|(_, p)| p.is_none()).map(|(n, _)| n.clone()).collect(),
            instead_per_l,
            scale_paid_after_l: instead.scale.zip(saved).map(|(scale, saved)| scale / saved),
        })
    }
}
