//! How a stock keeps, and which batch is in its bottle.

use serde::Serialize;

use crate::stock::bottle_pressure::MOST_BAR;
use crate::stock::keeping::LeftOpen;
use crate::stock::strength_line::StrengthLine;
use crate::stock::{Bottle, Stock, Tools, carbonated, keeping, solubility};

/// How one stock keeps.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeepingReport {
    /// Strength with its uncertainty.
    pub strength: StrengthLine,
    /// The batch in the bottle.
    pub batch: Option<BatchLine>,
    /// Temperature at which it is kept.
    pub storage_celsius: f64,
    /// Strongest sensible stock of this salt there, g/kg; nothing when the solubility is not known.
    pub strongest_g_per_kg: Option<f64>,
    /// Pressure of carbon dioxide that this counts on, bar.
    pub strongest_co2_bar: Option<f64>,
    /// Where the solubility comes from.
    pub solubility_source: Option<String>,
    /// Stated keeping time.
    pub keeps_days: Option<i64>,
    /// What a bicarbonate stock loses when it is left open.
    pub left_open: Option<LeftOpen>,
    /// Carbon dioxide that the salt takes up to dissolve, g per litre of stock.
    pub co2_taken_up_g_per_l: Option<f64>,
    /// Least pressure of carbon dioxide that holds it dissolved where it is kept, bar.
    pub co2_needed_bar: Option<f64>,
}

/// The batch in a bottle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BatchLine {
    /// Number of the batch among those of its stock, from 1 on.
    pub number: u32,
    /// The day it was made.
    pub day: String,
    /// What the bag said.
    pub lot: Option<String>,
    /// The day on which its strength was verified.
    pub verified_on: Option<String>,
}

impl KeepingReport {
    /// Describes how the stock in a bottle keeps.
    #[must_use]
    pub fn new(stock: &Stock, bottle: &Bottle, tools: &Tools) -> Self {
        let salt = &stock.recipe().salt;
        let taken_up = keeping::carbon_dioxide_taken_up_g_per_l(stock);
        Self {
            strength: StrengthLine::new(stock, bottle.verified(), tools),
            batch: bottle.batch.as_ref().map(|b| BatchLine {
                number: b.number,
                day: b.day.to_string(),
                lot: b.lot_label.clone(),
                verified_on: b.verified.map(|v| v.day.to_string()),
            }),
            storage_celsius: bottle.storage.value(),
            strongest_g_per_kg: solubility::strongest_g_per_kg(salt, bottle.storage),
            strongest_co2_bar: carbonated::needs_carbon_dioxide(salt).then_some(MOST_BAR),
            solubility_source: solubility::source(salt),
            keeps_days: bottle.keeps_days,
            left_open: keeping::carbon_dioxide_loss(stock),
            co2_taken_up_g_per_l: (taken_up > 0.0).then_some(taken_up),
            co2_needed_bar: (taken_up > 0.0)
                .then(|| carbonated::needed_bar(salt, stock.g_per_kg(), bottle.storage))
                .flatten(),
        }
    }
}
