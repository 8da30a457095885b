//! The means of the waters, with intervals that hold for other tasters too.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the columns were made with"
)]

use nalgebra::DVector;

use crate::numerics::{count, t_quantile};

use crate::session::analysis::ScoreTable;
use crate::session::analysis::confidence_level::OUTSIDE;
use crate::session::analysis::design::Columns;
use crate::session::analysis::reml_fit::{Estimate, Fit};

/// A water's mean with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterMean {
    /// Place of the water in the table.
    pub water: usize,
    /// Cups scored.
    pub cups: usize,
    /// The mean of these scores as they were given.
    pub raw: f64,
    /// The mean over all tasters, each counted alike, and over all places and waters before that the
    /// model allows for. Where nothing is missing and nothing allowed for, it is the raw mean.
    pub mean: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Interval.
    pub interval: (f64, f64),
}

/// Cups of a water.
pub(crate) fn cups_of(table: &ScoreTable, water: usize) -> usize {
    table.rows.iter().filter(|row| row.water == water).count()
}

/// What the levels of the tasters who came add to the variance of every mean that is to hold for others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelOfMeans {
    /// The variance, the same for all means, which move up and down together by it.
    pub variance: f64,
    /// Degrees of freedom.
    pub df: f64,
}

/// How far tasters use the scale higher or lower.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Levels {
    tasters: f64,
    /// Variance of the levels that were found.
    found: f64,
    /// What of it is the residual error of finding them.
    residual: f64,
    /// The rest: the variance of tasters.
    pub(crate) variance: f64,
}

impl Levels {
    /// `None` where tasters are no blocks.
    pub(crate) fn of(columns: &Columns, fit: &Fit) -> Option<Self> {
        let coded = columns.tasters.len();
        let tasters = count(coded + 1);
        let level = |at: usize| {
            let mut weights = DVector::zeros(columns.count);
            match columns.tasters.get(at) {
                Some(&column) => weights[column] = 1.0,
                None => columns.tasters.iter().for_each(|&column| weights[column] = -1.0),
            }
            fit.combination(&weights)
        };
        if coded == 0 {
            return None;
        }
        let all: Vec<Estimate> = (0..=coded).map(level).collect();
        let found = all.iter().map(|e| e.value * e.value).sum::<f64>() / count(coded);
        let residual = all.iter().map(|e| e.variance).sum::<f64>() / count(coded);
        Some(Self { tasters, found, residual, variance: found - residual })
    }

    /// What the levels add to each mean.
    pub(crate) fn of_means(self) -> LevelOfMeans {
        LevelOfMeans { variance: self.found / self.tasters, df: self.tasters - 1.0 }
    }

    /// Variance and degrees of freedom of a water's mean that is to hold for other tasters as well:
    /// the levels found vary as they were seen to, and what is left of the mean's own error is added
    /// (Satterthwaite F. E., Biometrics Bull. 2 (1946) 110). With complete trays these are the values
    /// of the model with tasters random.
    fn beside(self, own: Estimate) -> (f64, f64) {
        let LevelOfMeans { variance: between, df } = self.of_means();
        let rest = (own.variance - self.residual / self.tasters).max(0.0);
        let variance = between + rest;
        let vague = between * between / df + rest * rest / own.df;
        (variance, if vague > 0.0 { variance * variance / vague } else { own.df })
    }
}

/// The means of all waters.
pub(crate) fn water_means(
    table: &ScoreTable,
    columns: &Columns,
    fit: &Fit,
    levels: Option<Levels>,
    centre: f64,
) -> Vec<WaterMean> {
    let mean_of = |(column, &water): (usize, &usize)| {
        let mut weights = DVector::zeros(columns.count);
        weights[column] = 1.0;
        let own = fit.combination(&weights);
        let (variance, df) = levels.map_or((own.variance, own.df), |levels| levels.beside(own));
        let standard_error = variance.sqrt();
        let reach = t_quantile(OUTSIDE, df) * standard_error;
        let mean = own.value + centre;
        let scored = table.rows.iter().filter(|row| row.water == water);
        let raw = scored.map(|row| row.value).sum::<f64>() / count(cups_of(table, water).max(1));
        WaterMean {
            water,
            cups: cups_of(table, water),
            raw,
            mean,
            standard_error,
            df,
            interval: (mean - reach, mean + reach),
        }
    };
    columns.waters.iter().enumerate().map(mean_of).collect()
}
