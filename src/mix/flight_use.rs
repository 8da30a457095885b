//! What a flight takes of each stock and of each base water.

use serde::Serialize;

use crate::flight::BaseShare;
use crate::mix::water_mix::WaterMix;
use crate::stock::Stock;

/// Total of one stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockUse {
    /// Name of the stock.
    pub stock: String,
    /// Millilitres for one bottle of each water.
    pub ml: f64,
    /// Grams for one bottle of each water.
    pub g: f64,
    /// The batch that the doses follow from; nothing when none was recorded.
    pub batch: Option<u32>,
    /// What is in the bottle now, mL; nothing when no batch was recorded.
    pub left_ml: Option<f64>,
    /// What is in it after one bottle of each water, mL.
    pub left_after_ml: Option<f64>,
}

/// Total of one base water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BaseUse {
    /// Name of the water.
    pub water: String,
    /// Millilitres for one bottle of each water.
    pub ml: f64,
}

/// What one bottle of each water takes of the stocks, in the order of the shelf.
pub(crate) fn stocks_used(waters: &[WaterMix], stocks: &[Stock]) -> Vec<StockUse> {
    stocks
        .iter()
        .filter_map(|stock| {
            let doses = || waters.iter().flat_map(|w| &w.doses).filter(|d| d.stock == stock.name());
            let ml: f64 = doses().map(|d| d.ml_per_bottle).sum();
            let g = doses().map(|d| d.g_per_bottle).sum();
            (ml > 0.0).then(|| StockUse {
                stock: stock.name().to_owned(),
                ml,
                g,
                batch: None,
                left_ml: None,
                left_after_ml: None,
            })
        })
        .collect()
}

/// What it takes of the base waters.
pub(crate) fn base_used(waters: &[WaterMix], base: &[BaseShare]) -> Vec<BaseUse> {
    base.iter()
        .map(|base| {
            let name = &base.water.name;
            let parts = waters.iter().flat_map(|w| &w.base).filter(|b| b.water == *name);
            BaseUse { water: name.clone(), ml: parts.map(|b| b.ml_per_bottle).sum() }
        })
        .filter(|base| base.ml > 0.0)
        .collect()
}
