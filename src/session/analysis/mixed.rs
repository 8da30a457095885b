//! Which waters score higher: a mixed model with waters compared within tasters, for any pattern of
//! cups.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use nalgebra::{DMatrix, DVector};

use crate::numerics::{StudentizedRanges, count, f_tail, t_quantile};

use crate::session::analysis::comparisons::{SAME, differences, pairs};
use crate::session::analysis::confidence_level::LEVEL;
use crate::session::analysis::design::{
    Columns, ExtraTerm, LeftOutBecause, TermStatus, Wanted, tasters_in,
};
use crate::session::analysis::nested::Nested;
use crate::session::analysis::reml;
use crate::session::analysis::reml_fit::Fit;
use crate::session::analysis::score_table::squares;
use crate::session::analysis::water_means::{Levels, cups_of, water_means};
use crate::session::analysis::{Difference, MixedError};
use crate::session::analysis::{Observation, ScoreTable};

pub use crate::session::analysis::WaterMean;
pub use crate::session::analysis::mixed_result::{
    Effect, FTest, MixedFit, ModelChoice, RandomEffect, TermTest, Variances,
};

/// Share of the spread of the scores that counts as none. Our choice: rounding leaves 1e-26, one
/// score of ten thousand that is one step off leaves 1e-7.
const NO_SPREAD: f64 = 1e-12;

/// Fits the model `score = water + taster (+ order + carry-over) + taster × water + cup` by restricted
/// maximum likelihood, waters compared within tasters: a taster's level drops out of every difference.
///
/// F tests and intervals use Satterthwaite's degrees of freedom (Giesbrecht & Burns 1985; several
/// effects at once after Fai A. H. T., Cornelius P. L., J. Statist. Comput. Simul. 54 (1996) 363).
/// With complete trays, and wherever no cup is repeated, they are the classical ones and exact: waters
/// are judged by tasters × waters, and a variance that comes out below zero is not cut off. `ranges` keeps
/// what was worked out for other tables.
///
/// # Errors
/// When there is nothing to fit, or no residual error to judge by.
pub fn fit(
    table: &ScoreTable,
    choice: ModelChoice,
    ranges: &mut StudentizedRanges,
) -> Result<MixedFit, MixedError> {
    if table.rows.is_empty() {
        return Err(MixedError::NoScores);
    }
    if table.rows.iter().any(|row| !row.value.is_finite()) {
        return Err(MixedError::NotANumber);
    }
    let Some(once) = without_exact_repeats(table) else {
        return fit_cups(table, choice, ranges);
    };
    // Cups that repeat exactly carry no error: the residual is that of tasters by waters, and one cup
    // of each says all.
    let plain = ModelChoice { order: Wanted::No, carry_over: Wanted::No, ..choice };
    let fitted = fit_cups(&once, plain, ranges)?;
    let out = TermStatus::Out(LeftOutBecause::RepeatsExact);
    Ok(MixedFit {
        terms: fitted.terms.map(|term| TermTest { status: out, ..term }),
        variances: Variances {
            taster_by_water: Some(fitted.variances.cup),
            cup: 0.0,
            ..fitted.variances
        },
        means: fitted
            .means
            .iter()
            .map(|m| WaterMean { cups: cups_of(table, m.water), ..*m })
            .collect(),
        exact_repeats: true,
        cups: table.rows.len(),
        ..fitted
    })
}

/// The table with one cup in each cell, where cups were repeated and every repeat was exact.
fn without_exact_repeats(table: &ScoreTable) -> Option<ScoreTable> {
    let cells = table.cells();
    let repeated = || cells.iter().flatten().filter(|cell| cell.len() > 1);
    let exact = repeated().all(|cell| squares(cell) <= 0.0);
    if repeated().next().is_none() || !exact || tasters_in(&table.rows) < 2 {
        return None;
    }
    let mut rows: Vec<Observation> = Vec::new();
    for row in &table.rows {
        if !rows.iter().any(|kept| (kept.taster, kept.water) == (row.taster, row.water)) {
            rows.push(*row);
        }
    }
    Some(ScoreTable { rows, ..table.clone() })
}

/// Whether any taster scored several waters, so that waters can be compared within tasters.
fn are_blocks(table: &ScoreTable) -> bool {
    let several = |row: &Vec<Vec<f64>>| row.iter().filter(|cell| !cell.is_empty()).count() > 1;
    tasters_in(&table.rows) > 1 && table.cells().iter().any(several)
}

/// Fits the model to cups that are not exact repeats.
fn fit_cups(
    table: &ScoreTable,
    choice: ModelChoice,
    ranges: &mut StudentizedRanges,
) -> Result<MixedFit, MixedError> {
    let (columns, fit) = fitted(table, choice)?;
    let tasters = tasters_in(&table.rows);
    let centre = table.rows.iter().map(|row| row.value).sum::<f64>() / count(table.rows.len());
    let (differences, multiplicity) = differences(&columns, &fit, choice.multiplicity, ranges);
    let levels = Levels::of(&columns, &fit);
    let variances = Variances {
        taster: levels.map(|levels| levels.variance),
        taster_by_water: fit.of_cells(),
        cup: fit.residual(),
    };
    let seen = [
        (RandomEffect::Taster, variances.taster),
        (RandomEffect::TasterByWater, variances.taster_by_water),
    ];
    Ok(MixedFit {
        means: water_means(table, &columns, &fit, levels, centre),
        level_of_means: levels.map(Levels::of_means),
        differences,
        multiplicity,
        waters: f_test(&fit, &between_waters(&columns)),
        terms: [
            (ExtraTerm::Order, columns.order_fate, &columns.order, &columns.places),
            (ExtraTerm::CarryOver, columns.carry_over_fate, &columns.carry_over, &columns.before),
        ]
        .map(|(term, status, own, levels)| {
            // With too few cups neither a test nor an interval holds.
            let own = if columns.terms_can_be_tested { own.as_slice() } else { &[] };
            TermTest {
                term,
                status,
                test: f_test(&fit, &picked(&columns, own)),
                effects: effects(&columns, &fit, own, levels),
            }
        }),
        zero: seen
            .into_iter()
            .filter(|(_, variance)| variance.is_some_and(|variance| variance <= 0.0))
            .map(|(part, _)| part)
            .collect(),
        variances,
        exact_repeats: false,
        cups: table.rows.len(),
        missing: table.missing,
        one_taster: tasters == 1,
    })
}

/// The differences of all pairs as [`fit`] finds them, each by itself: intervals and p do not allow for
/// each other yet. Quick, for many tables drawn at random.
///
/// # Errors
/// As [`fit`].
pub fn contrasts(table: &ScoreTable, choice: ModelChoice) -> Result<Vec<Difference>, MixedError> {
    let (columns, fit) = fitted(table, choice)?;
    Ok(pairs(&columns, &fit))
}

/// The columns of a table and the model fitted to them.
fn fitted(table: &ScoreTable, choice: ModelChoice) -> Result<(Columns, Fit), MixedError> {
    let blocks = are_blocks(table);
    let columns = Columns::of(table, choice.order, choice.carry_over, blocks);
    let tasters = tasters_in(&table.rows);
    if !columns.connected {
        return Err(MixedError::NotSeparable);
    }
    if columns.unexplained <= NO_SPREAD {
        // With no more cups than effects everything is explained whatever the scores.
        let others = if blocks { 0 } else { tasters - 1 };
        let few = table.rows.len() <= columns.count + others;
        return Err(if few { MixedError::TooFew } else { MixedError::NoResidual });
    }
    let y: Vec<f64> = table.rows.iter().map(|row| row.value).collect();
    let cell: Vec<usize> =
        table.rows.iter().map(|row| row.taster * table.waters.len() + row.water).collect();
    let mut cells = cell.clone();
    cells.sort_unstable();
    let repeated = cells.windows(2).any(|pair| pair[0] == pair[1]);
    let sums = Nested::new(&columns.rows, columns.count, &y, &cell);
    let fit = reml::fit(&sums, tasters > 1 && repeated)?;
    Ok((columns, fit))
}

/// Each water less the next: all zero when all waters are alike.
fn between_waters(columns: &Columns) -> DMatrix<f64> {
    let weight = |i, j| match j {
        _ if j == i => 1.0,
        _ if j == i + 1 => -1.0,
        _ => 0.0,
    };
    DMatrix::from_fn(columns.waters.len().saturating_sub(1), columns.count, weight)
}

/// Some effects by themselves.
fn picked(columns: &Columns, own: &[usize]) -> DMatrix<f64> {
    let weight = |i: usize, j| f64::from(u8::from(own[i] == j));
    DMatrix::from_fn(own.len(), columns.count, weight)
}

/// The effects of a term; none when it is not in the model.
fn effects(columns: &Columns, fit: &Fit, own: &[usize], levels: &[usize]) -> Vec<Effect> {
    if own.is_empty() {
        return Vec::new();
    }
    let tail = (1.0 - LEVEL) / (2.0 * count(levels.len()));
    let effect = |(at, &level): (usize, &usize)| {
        let mut weights = DVector::zeros(columns.count);
        match own.get(at) {
            Some(&column) => weights[column] = 1.0,
            None => own.iter().for_each(|&column| weights[column] = -1.0),
        }
        let found = fit.combination(&weights);
        let reach = t_quantile(tail, found.df) * found.variance.sqrt();
        let interval = (found.value - reach, found.value + reach);
        Effect { level, estimate: found.value, interval }
    };
    levels.iter().enumerate().map(effect).collect()
}

/// Tests that all rows of `contrasts` are zero; `None` without rows.
///
/// The contrasts are turned so that they are uncorrelated; each has its own degrees of freedom νᵢ,
/// and with E = Σ νᵢ/(νᵢ−2) over νᵢ > 2 those of the whole are 2E/(E−q) (Fai & Cornelius 1996).
fn f_test(fit: &Fit, contrasts: &DMatrix<f64>) -> Option<FTest> {
    let q = contrasts.nrows();
    if q == 0 {
        return None;
    }
    let covariance = contrasts * fit.covariance() * contrasts.transpose();
    let eigen = covariance.symmetric_eigen();
    let turned = eigen.eigenvectors.tr_mul(contrasts);
    let mut sum = 0.0;
    let mut degrees = Vec::with_capacity(q);
    for row in 0..q {
        let weights: DVector<f64> = turned.row(row).transpose();
        let estimate = fit.combination(&weights);
        sum += estimate.value * estimate.value / estimate.variance;
        degrees.push(estimate.df);
    }
    let df = count(q);
    let df_residual = joint_degrees(&degrees);
    let f = sum / df;
    Some(FTest { f, df, df_residual, p: f_tail(f, df, df_residual) })
}

/// Degrees of freedom of several uncorrelated contrasts together.
fn joint_degrees(each: &[f64]) -> f64 {
    let mean = each.iter().sum::<f64>() / count(each.len());
    if each.iter().all(|df| (df - mean).abs() <= SAME * mean) {
        return mean;
    }
    if each.iter().any(|&df| df <= 2.0) {
        return 2.0;
    }
    let e: f64 = each.iter().map(|df| df / (df - 2.0)).sum();
    2.0 * e / (e - count(each.len()))
}
