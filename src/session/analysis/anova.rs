//! The classical analysis of complete trays: waters × tasters, tasters random.

use thiserror::Error;

use crate::numerics::{count, f_tail};

use crate::session::analysis::ScoreTable;
use crate::session::analysis::mixed::FTest;
use crate::session::analysis::score_table::{mean, squares};

/// A line of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// Sum of squares.
    pub squares: f64,
    /// Degrees of freedom.
    pub df: usize,
}

impl Source {
    /// Mean square; 0 without degrees of freedom.
    #[must_use]
    pub fn mean_square(self) -> f64 {
        if self.df == 0 { 0.0 } else { self.squares / count(self.df) }
    }
}

/// The table and what follows from it.
#[derive(Debug, Clone, PartialEq)]
pub struct Anova {
    /// Mean of each water.
    pub means: Vec<f64>,
    /// Cups of each taster for each water.
    pub replicates: usize,
    /// Between waters.
    pub waters: Source,
    /// Between tasters.
    pub tasters: Source,
    /// Waters × tasters. Without replicates it holds the error of the cup as well.
    pub interaction: Source,
    /// Between replicates; no degrees of freedom without them.
    pub error: Source,
    /// Waters against waters × tasters: whether a panel like this one would find a difference.
    pub waters_test: FTest,
    /// Variance of tasters; may come out negative, which means that none can be seen.
    pub taster_variance: f64,
    /// Variance of waters × tasters; may come out negative; `None` without replicates.
    pub interaction_variance: Option<f64>,
}

/// Why the classical analysis does not apply.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum AnovaError {
    /// Some cell has more or fewer cups.
    #[error(
        "the classical analysis needs equally many cups in every cell; the mixed model does not"
    )]
    Unbalanced,
    /// One taster or one water.
    #[error("the classical analysis needs at least two tasters and two waters")]
    TooFew,
    /// No residual error to test against.
    #[error(
        "all tasters agree exactly, so there is no residual error to test against; use a finer scale"
    )]
    NoResidual,
}

/// Analyses complete scores with tasters random: waters are judged by waters × tasters.
///
/// Source: Lawless H. T., Heymann H., Sensory Evaluation of Food, 2nd ed. (2010), appendix C (from
/// memory).
///
/// # Errors
/// When cells differ in number, there is nothing to compare, or there is no residual error.
pub fn anova(table: &ScoreTable) -> Result<Anova, AnovaError> {
    let (tasters, waters) = (table.tasters.len(), table.waters.len());
    if tasters < 2 || waters < 2 {
        return Err(AnovaError::TooFew);
    }
    let replicates = table.replicates().ok_or(AnovaError::Unbalanced)?;
    let cells = table.cells();
    let cell_means: Vec<Vec<f64>> =
        cells.iter().map(|row| row.iter().filter_map(|cell| mean(cell)).collect()).collect();
    let by_taster: Vec<f64> = cell_means.iter().filter_map(|row| mean(row)).collect();
    let by_water: Vec<f64> = (0..waters)
        .filter_map(|water| {
            let column: Vec<f64> =
                cell_means.iter().filter_map(|row| row.get(water).copied()).collect();
            mean(&column)
        })
        .collect();
    let (j, t, r) = (count(tasters), count(waters), count(replicates));
    let all_cells: Vec<f64> = cell_means.concat();
    let between = |means: &[f64], cups: f64| cups * squares(means);
    let water_squares = between(&by_water, j * r);
    let taster_squares = between(&by_taster, t * r);
    let cell_squares = between(&all_cells, r);
    let within: f64 = cells.iter().flatten().map(|cell| squares(cell)).sum();
    let total = cell_squares + within;
    let interaction = Source {
        squares: (cell_squares - water_squares - taster_squares).max(0.0),
        df: (tasters - 1) * (waters - 1),
    };
    let waters_line = Source { squares: water_squares, df: waters - 1 };
    let tasters_line = Source { squares: taster_squares, df: tasters - 1 };
    let error = Source { squares: within, df: tasters * waters * (replicates - 1) };
    // Rounding of the sums of squares leaves about 1e-15 of the total.
    let residual = interaction.mean_square();
    if interaction.squares <= ROUNDING * total || total <= 0.0 {
        return Err(AnovaError::NoResidual);
    }
    Ok(Anova {
        means: by_water,
        replicates,
        waters: waters_line,
        tasters: tasters_line,
        interaction,
        error,
        waters_test: ratio(waters_line, interaction),
        taster_variance: (tasters_line.mean_square() - residual) / (t * r),
        interaction_variance: (error.df > 0).then(|| (residual - error.mean_square()) / r),
    })
}

/// Share of the total sum of squares that is rounding. Our choice: a hundred times what is left of
/// sums that cancel; a single score one step off leaves a million times more.
const ROUNDING: f64 = 1e-13;

fn ratio(effect: Source, residual: Source) -> FTest {
    let f = effect.mean_square() / residual.mean_square();
    let (df, df_residual) = (count(effect.df), count(residual.df));
    FTest { f, df, df_residual, p: f_tail(f, df, df_residual) }
}
