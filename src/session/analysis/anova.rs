//! The classical analysis of complete trays: waters × tasters, tasters random.

use crate::numerics::{count, f_tail};

use crate::session::analysis::ScoreTable;
use crate::session::analysis::mixed::FTest;
use crate::session::analysis::score_table::{ROUNDING, mean, squares};

/// Tests that all waters are alike in complete scores with tasters random: waters are judged by waters ×
/// tasters. `None` where cells differ in number, there is nothing to compare, or there is no residual error.
///
/// Source: Lawless H. T., Heymann H., Sensory Evaluation of Food, 2nd ed. (2010), appendix C (from
/// memory).
#[must_use]
pub fn classical_test(table: &ScoreTable) -> Option<FTest> {
    let (tasters, waters) = (table.tasters.len(), table.waters.len());
    let replicates = table.replicates()?;
    if tasters < 2 || waters < 2 {
        return None;
    }
    let cells = table.cells();
    let cell_means: Vec<Vec<f64>> =
        cells.iter().map(|row| row.iter().filter_map(|cell| mean(cell)).collect()).collect();
    let by_taster: Vec<f64> = cell_means.iter().filter_map(|row| mean(row)).collect();
    let of_water = |water: usize| -> Vec<f64> {
        cell_means.iter().filter_map(|row| row.get(water).copied()).collect()
    };
    let by_water: Vec<f64> = (0..waters).filter_map(|water| mean(&of_water(water))).collect();
    let (j, t, r) = (count(tasters), count(waters), count(replicates));
    let water_squares = j * r * squares(&by_water);
    let cell_squares = r * squares(&cell_means.concat());
    let residual = cell_squares - water_squares - t * r * squares(&by_taster);
    let within: f64 = cells.iter().flatten().map(|cell| squares(cell)).sum();
    // Rounding of the sums of squares leaves about 1e-15 of the total.
    if residual <= ROUNDING * (cell_squares + within) {
        return None;
    }
    let (df, df_residual) = (t - 1.0, (j - 1.0) * (t - 1.0));
    let f = water_squares / df / (residual / df_residual);
    Some(FTest { f, df, df_residual, p: f_tail(f, df, df_residual) })
}
