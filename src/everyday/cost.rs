//! What everyday water costs beside a ready product, and when the balance is paid back.

use serde::Serialize;

use crate::stock::{DrySalt, Price};

/// A sum of money.
#[derive(Debug, Clone, PartialEq)]
pub struct MoneyAmount {
    /// How much.
    pub amount: f64,
    /// The money as the user writes it; empty when it was not named.
    pub money: String,
}

/// What it is compared with; all of it typed by the user.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ReadyProduct {
    /// Price of the ready product, per millilitre of finished water.
    pub ready: Option<Price>,
    /// Price of the balance.
    pub scale: Option<MoneyAmount>,
}

/// When a balance is paid back.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum PaidBack {
    /// After so many litres.
    AfterLitres(f64),
    /// Never: the ready product costs no more.
    Never,
}

/// The cost of a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EverydayCost {
    /// The money, as the prices name it.
    pub money: String,
    /// Salts, per litre.
    pub salts_per_l: f64,
    /// Base water and the water of a concentrate, per litre.
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
    /// What a litre costs less than the ready product; negative when it costs more.
    pub saves_per_l: Option<f64>,
    /// The balance.
    pub scale: Option<f64>,
    /// When the balance is paid back.
    pub scale_paid_back: Option<PaidBack>,
    /// Litres after which the balance is paid back; none when it never is.
    pub scale_paid_after_l: Option<f64>,
    /// Whether prices name different moneys, so that sums mean nothing.
    pub mixed_money: bool,
    /// The moneys named.
    pub moneys: Vec<String>,
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
    /// Adds up; `None` when nothing has a price. A price that names no money is in the money of
    /// the others.
    #[must_use]
    pub fn new(
        salts_per_l: &[(String, Option<Price>)],
        shares: &[(String, f64)],
        water_prices: &[(String, Price)],
        litres: f64,
        ready_product: &ReadyProduct,
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
        let prices = all().filter_map(|(_, p)| p.as_ref()).chain(&ready_product.ready);
        let named: Vec<&str> = prices
            .map(|p| p.money.as_str())
            .chain(ready_product.scale.iter().map(|s| s.money.as_str()))
            .collect();
        if named.is_empty() {
            return None;
        }
        let mut moneys: Vec<String> = Vec::new();
        for money in named.into_iter().filter(|m| !m.is_empty()) {
            if !moneys.iter().any(|m| m == money) {
                moneys.push(money.to_owned());
            }
        }
        let sum = |of: &[(String, Option<Price>)]| -> f64 {
            of.iter().filter_map(|(_, p)| p.as_ref()).map(|p| p.per_base).sum()
        };
        let (salts, water) = (sum(salts_per_l), sum(&waters));
        let instead_per_l = ready_product.ready.as_ref().map(|p| 1000.0 * p.per_base);
        let saves_per_l = instead_per_l.map(|ready| ready - salts - water);
        let scale = ready_product.scale.as_ref().map(|s| s.amount);
        let scale_paid_back = scale.zip(saves_per_l).map(|(scale, saved)| {
            if saved > 0.0 { PaidBack::AfterLitres(scale / saved) } else { PaidBack::Never }
        });
        Some(Self {
            mixed_money: moneys.len() > 1,
            money: moneys.first().cloned().unwrap_or_default(),
            moneys,
            salts_per_l: salts,
            water_per_l: water,
            per_l: salts + water,
            together: (salts + water) * litres,
            litres,
            without_price: all().filter(|(_, p)| p.is_none()).map(|(n, _)| n.clone()).collect(),
            instead_per_l,
            saves_per_l,
            scale,
            scale_paid_after_l: match scale_paid_back {
                Some(PaidBack::AfterLitres(litres)) => Some(litres),
                _ => None,
            },
            scale_paid_back,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn price(per_base: f64, money: &str) -> Price {
        Price { per_base, money: money.to_owned() }
    }

    fn cost(ready: Option<Price>, scale: Option<(f64, &str)>) -> Option<EverydayCost> {
        let salts = [("epsom".to_owned(), Some(price(0.002, "coins")))];
        let waters = [("distilled".to_owned(), 1.0)];
        let prices = [("distilled".to_owned(), price(0.000_4, "coins"))];
        let scale = scale.map(|(amount, money)| MoneyAmount { amount, money: money.to_owned() });
        EverydayCost::new(&salts, &waters, &prices, 20.0, &ReadyProduct { ready, scale })
    }

    #[test]
    fn a_scale_is_paid_back_by_what_is_saved() {
        // 0.802 − 0.402 = 0.4 saved per litre: 35/0.4 = 87.5 L
        let paid = cost(Some(price(0.000_802, "")), Some((35.0, "coins")));
        let after = paid.as_ref().and_then(|c| c.scale_paid_after_l);
        assert!(after.is_some_and(|l| (l - 87.5).abs() < 1e-9), "{paid:?}");
        assert!(paid.is_some_and(|c| !c.mixed_money && (c.together - 8.04).abs() < 1e-12));
    }

    #[test]
    fn a_cheaper_ready_product_never_pays_a_scale_back() {
        let never = cost(Some(price(0.000_3, "coins")), Some((35.0, "")));
        assert_eq!(never.and_then(|c| c.scale_paid_back), Some(PaidBack::Never));
    }

    #[test]
    fn other_moneys_are_noticed_everywhere() {
        assert!(cost(None, None).is_some_and(|c| !c.mixed_money));
        assert!(cost(Some(price(1.0, "shells")), None).is_some_and(|c| c.mixed_money));
        let scale = cost(Some(price(1.0, "coins")), Some((35.0, "shells")));
        assert_eq!(scale.map(|c| c.moneys), Some(vec!["coins".to_owned(), "shells".to_owned()]));
    }
}
