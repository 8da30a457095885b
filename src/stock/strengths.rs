//! How strong a stock was at each of its batches and verifications.

use serde::Serialize;

use crate::quantities::Day;
use crate::quantities::uncertain::COVERAGE;
use crate::stock::strength_line::StrengthLine;
use crate::stock::{Batch, Stock, Tools};

/// The strengths of a stock over time.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthHistory {
    /// Name of the stock.
    pub stock: String,
    /// What the days are counted from, in words.
    pub axis: String,
    /// The strengths, in the order of recording.
    pub points: Vec<StrengthPoint>,
}

/// A strength on a day.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrengthPoint {
    /// Number of the batch.
    pub batch: u32,
    /// The day.
    pub day: String,
    /// Days after the first of all.
    pub days_after_the_first: f64,
    /// Pure salt, hydrate water included, g/kg.
    pub g_per_kg: f64,
    /// Its expanded uncertainty (k = 2), g/kg.
    pub expanded_g_per_kg: f64,
    /// Whether it was measured, and not weighed.
    pub verified: bool,
}

impl StrengthHistory {
    /// The history of a stock; `None` without a batch. A batch as weighed has its own strength, before
    /// a verification took it over.
    #[must_use]
    pub fn new(written: &Stock, batches: &[&Batch], tools: &Tools) -> Option<Self> {
        let first = batches.iter().map(|b| b.day).min()?;
        let mut points = Vec::new();
        for batch in batches {
            let days = |day: Day| f64::from(i32::try_from(day.days_since(first)).unwrap_or(0));
            let as_weighed = Batch { verified: None, ..(*batch).clone() };
            if let Ok(made) = as_weighed.made(written.recipe()) {
                let line = StrengthLine::new(&made, None, tools);
                points.push(StrengthPoint {
                    batch: batch.number,
                    day: batch.day.to_string(),
                    days_after_the_first: days(batch.day),
                    g_per_kg: line.g_per_kg,
                    expanded_g_per_kg: line.g_per_kg * line.g_per_kg_expanded_percent / 100.0,
                    verified: false,
                });
            }
            if let Some(verified) = batch.verified {
                points.push(StrengthPoint {
                    batch: batch.number,
                    day: verified.day.to_string(),
                    days_after_the_first: days(verified.day),
                    g_per_kg: verified.g_per_kg,
                    expanded_g_per_kg: COVERAGE * verified.standard_g_per_kg,
                    verified: true,
                });
            }
        }
        let axis = format!("days after {first}");
        Some(Self { stock: written.name().to_owned(), axis, points })
    }
}
