//! Which waters score higher: a mixed model with tasters random, for any pattern of cups.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the tables were made with"
)]

use nalgebra::{DMatrix, DVector};
use thiserror::Error;

use crate::chance::{RangeLaw, count, f_tail, t_quantile, t_two_sided};

use super::design::{Columns, Extra, Fate, Wanted, tasters_in};
use super::reml::{CEILING, Fit, NoFit, Problem};
use super::table::ScoreTable;

/// Level of every interval (common practice).
pub const LEVEL: f64 = 0.95;

/// Relative difference of two standard errors that counts as none. Our choice: balanced designs
/// give equal ones up to rounding and the search's last digit; one missing cup changes a percent.
const SAME: f64 = 1e-6;

/// How the tests allow for many comparisons.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Multiplicity {
    /// Tukey's honest significant difference: exact when every pair has the same precision.
    Tukey,
    /// Holm's step-down p-values (Holm S., Scand. J. Statist. 6 (1979) 65–70) and Bonferroni
    /// intervals: valid for any pattern of cups.
    Holm,
}

/// What to put into the model.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ModelChoice {
    /// The place on the tray.
    pub order: Wanted,
    /// The water tasted before.
    pub carry_over: Wanted,
    /// `None`: Tukey when all pairs are equally precise, Holm when not.
    pub multiplicity: Option<Multiplicity>,
}

/// A random part of a score.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RandomPart {
    /// Tasters use the scale higher or lower.
    Taster,
    /// Tasters differ in how they see the waters.
    TasterByWater,
}

/// Variances of the random parts, in squared points of the scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Variances {
    /// Of tasters; `None` with one taster.
    pub taster: Option<f64>,
    /// Of tasters by waters; `None` when no cup was repeated, since it is then part of `cup`.
    pub taster_by_water: Option<f64>,
    /// Of a cup.
    pub cup: f64,
}

/// A test that several effects are all zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FTest {
    /// The ratio.
    pub f: f64,
    /// Degrees of freedom of the effects.
    pub df: f64,
    /// Degrees of freedom of the noise.
    pub df_noise: f64,
    /// Chance of such a ratio without any effect.
    pub p: f64,
}

/// A term of the model and its test.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TermTest {
    /// The term.
    pub term: Extra,
    /// Whether it is in the model.
    pub fate: Fate,
    /// Its test, when it is.
    pub test: Option<FTest>,
}

/// A water's mean, over all places and waters before, with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WaterMean {
    /// Place of the water in the table.
    pub water: usize,
    /// Cups scored.
    pub cups: usize,
    /// The mean.
    pub mean: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Interval.
    pub interval: (f64, f64),
}

/// The difference of two waters.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// The water with the earlier place.
    pub first: usize,
    /// The other.
    pub second: usize,
    /// First less second.
    pub estimate: f64,
    /// Standard error.
    pub standard_error: f64,
    /// Degrees of freedom.
    pub df: f64,
    /// Interval that holds for all pairs at once.
    pub interval: (f64, f64),
    /// p of this pair alone.
    pub p_alone: f64,
    /// p allowing for all pairs.
    pub p: f64,
}

/// The fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedFit {
    /// Means, in the order of the waters.
    pub means: Vec<WaterMean>,
    /// Differences of all pairs.
    pub differences: Vec<Difference>,
    /// How the differences allow for each other.
    pub multiplicity: Multiplicity,
    /// Test that all waters are alike; `None` with one water.
    pub waters: Option<FTest>,
    /// Order and carry-over.
    pub terms: [TermTest; 2],
    /// Variances.
    pub variances: Variances,
    /// Random parts estimated as zero. The fit is then singular: the F test judges by the noise
    /// that is left, and gives another answer than the classical one, which keeps them.
    pub zero: Vec<RandomPart>,
    /// The cups repeated exactly, so that all noise lies between tasters.
    pub cups_without_noise: bool,
    /// Cups scored.
    pub cups: usize,
    /// Cups owed: they are allowed for, not filled in.
    pub missing: usize,
    /// Waters that nobody scored.
    pub never_scored: Vec<usize>,
    /// Whether all scores are one taster's, so that the result holds for that taster only.
    pub one_taster: bool,
}

/// Why scores cannot be analysed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum MixedError {
    /// Nothing was scored.
    #[error("nothing was scored")]
    NoScores,
    /// A number that is none.
    #[error("a score is not a number")]
    NotANumber,
    /// As many means as cups.
    #[error(
        "there are no more scores than means to estimate, so no noise can be seen; taste another round"
    )]
    TooFew,
    /// All scores follow exactly from waters and tasters.
    #[error(
        "the scores follow exactly from the waters and the tasters, so there is no noise to judge by; use a finer scale"
    )]
    NoNoise,
    /// The scores leave the variances undecided.
    #[error("the scores do not settle the variances; taste another round, or more tasters")]
    NotSettled,
    /// Terms that cannot be told apart.
    #[error("the waters cannot be told apart in this pattern of cups")]
    NotSeparable,
}

impl From<NoFit> for MixedError {
    fn from(reason: NoFit) -> Self {
        match reason {
            NoFit::TooFewRows => Self::TooFew,
            NoFit::Aliased => Self::NotSeparable,
            NoFit::NoNoise => Self::NoNoise,
            NoFit::NotSettled => Self::NotSettled,
        }
    }
}

/// Fits the model `score = water (+ order + carry-over) + taster + taster × water + cup` by
/// restricted maximum likelihood.
///
/// F tests and intervals use Satterthwaite's degrees of freedom (Giesbrecht & Burns 1985; several
/// effects at once after Fai A. H. T., Cornelius P. L., J. Statist. Comput. Simul. 54 (1996) 363);
/// with complete trays these are the classical ones, tasters random.
///
/// # Errors
/// When there is nothing to fit, or no noise to judge by.
pub fn fit(table: &ScoreTable, choice: ModelChoice) -> Result<MixedFit, MixedError> {
    if table.rows.is_empty() {
        return Err(MixedError::NoScores);
    }
    if table.rows.iter().any(|row| !row.value.is_finite()) {
        return Err(MixedError::NotANumber);
    }
    let columns = Columns::of(table, choice.order, choice.carry_over);
    let tasters = tasters_in(&table.rows);
    let y: Vec<f64> = table.rows.iter().map(|row| row.value).collect();
    let taster: Vec<usize> = table.rows.iter().map(|row| row.taster).collect();
    let parts = random_parts(table, tasters);
    let groups: Vec<Vec<usize>> = parts
        .iter()
        .map(|part| match part {
            RandomPart::Taster => taster.clone(),
            RandomPart::TasterByWater => {
                table.rows.iter().map(|row| row.taster * table.waters.len() + row.water).collect()
            }
        })
        .collect();
    let fit = Problem::new(&columns.x, &y, &taster, &groups).fit()?;
    let centre = y.iter().sum::<f64>() / count(y.len());
    let means = water_means(table, &columns, &fit, centre);
    let (differences, multiplicity) = differences(&columns, &fit, choice.multiplicity);
    let ratio = |wanted: RandomPart| {
        let place = parts.iter().position(|part| *part == wanted)?;
        Some(fit.ratios()[place] * fit.residual())
    };
    let t = columns.waters.len();
    let between = DMatrix::from_fn(t.saturating_sub(1), columns.x.ncols(), |i, j| {
        if j == i {
            1.0
        } else if j == i + 1 {
            -1.0
        } else {
            0.0
        }
    });
    let test_of = |own: &[usize]| {
        let picked =
            DMatrix::from_fn(
                own.len(),
                columns.x.ncols(),
                |i, j| {
                    if own[i] == j { 1.0 } else { 0.0 }
                },
            );
        f_test(&fit, &picked)
    };
    Ok(MixedFit {
        means,
        differences,
        multiplicity,
        waters: f_test(&fit, &between),
        terms: [
            TermTest {
                term: Extra::Order,
                fate: columns.order_fate,
                test: test_of(&columns.order),
            },
            TermTest {
                term: Extra::CarryOver,
                fate: columns.carry_over_fate,
                test: test_of(&columns.carry_over),
            },
        ],
        variances: Variances {
            taster: ratio(RandomPart::Taster),
            taster_by_water: ratio(RandomPart::TasterByWater),
            cup: fit.residual(),
        },
        zero: parts
            .iter()
            .enumerate()
            .filter(|(place, _)| fit.ratios()[*place] <= 0.0)
            .map(|(_, part)| *part)
            .collect(),
        cups_without_noise: fit.ratios().iter().any(|&ratio| ratio >= CEILING),
        cups: table.rows.len(),
        missing: table.missing,
        never_scored: (0..table.waters.len()).filter(|w| !columns.waters.contains(w)).collect(),
        one_taster: tasters == 1,
    })
}

/// The random parts that the pattern of cups can tell apart.
fn random_parts(table: &ScoreTable, tasters: usize) -> Vec<RandomPart> {
    if tasters < 2 {
        return Vec::new();
    }
    let cells = table.cells();
    let repeated = cells.iter().flatten().any(|cell| cell.len() > 1);
    let several = cells.iter().any(|row| row.iter().filter(|cell| !cell.is_empty()).count() > 1);
    match (several, repeated) {
        (true, true) => vec![RandomPart::Taster, RandomPart::TasterByWater],
        (true, false) => vec![RandomPart::Taster],
        // Every taster had one water only: tasters and tasters by waters are the same.
        (false, true) => vec![RandomPart::TasterByWater],
        (false, false) => Vec::new(),
    }
}

fn water_means(table: &ScoreTable, columns: &Columns, fit: &Fit, centre: f64) -> Vec<WaterMean> {
    let p = columns.x.ncols();
    let mean_of = |(column, &water): (usize, &usize)| {
        let mut weights = DVector::zeros(p);
        weights[column] = 1.0;
        let estimate = fit.combination(&weights);
        let standard_error = estimate.variance.sqrt();
        let reach = t_quantile((1.0 - LEVEL) / 2.0, estimate.df) * standard_error;
        let mean = estimate.value + centre;
        WaterMean {
            water,
            cups: table.rows.iter().filter(|row| row.water == water).count(),
            mean,
            standard_error,
            df: estimate.df,
            interval: (mean - reach, mean + reach),
        }
    };
    columns.waters.iter().enumerate().map(mean_of).collect()
}

/// All pairs of waters.
fn differences(
    columns: &Columns,
    fit: &Fit,
    wanted: Option<Multiplicity>,
) -> (Vec<Difference>, Multiplicity) {
    let t = columns.waters.len();
    let mut found = Vec::with_capacity(t * t.saturating_sub(1) / 2);
    for i in 0..t {
        for j in i + 1..t {
            let mut weights = DVector::zeros(columns.x.ncols());
            weights[i] = 1.0;
            weights[j] = -1.0;
            let estimate = fit.combination(&weights);
            let standard_error = estimate.variance.sqrt();
            found.push(Difference {
                first: columns.waters[i],
                second: columns.waters[j],
                estimate: estimate.value,
                standard_error,
                df: estimate.df,
                interval: (0.0, 0.0),
                p_alone: t_two_sided(estimate.value / standard_error, estimate.df),
                p: 1.0,
            });
        }
    }
    let multiplicity = wanted.unwrap_or_else(|| {
        if equally_precise(&found) { Multiplicity::Tukey } else { Multiplicity::Holm }
    });
    allow_for_all(&mut found, t, multiplicity);
    (found, multiplicity)
}

fn equally_precise(found: &[Difference]) -> bool {
    let Some(first) = found.first() else { return true };
    let near = |a: f64, b: f64| (a - b).abs() <= SAME * b;
    found.iter().all(|d| near(d.standard_error, first.standard_error) && near(d.df, first.df))
}

/// Fills in intervals and p-values that allow for all pairs.
fn allow_for_all(found: &mut [Difference], waters: usize, multiplicity: Multiplicity) {
    let pairs = found.len();
    let law = (multiplicity == Multiplicity::Tukey).then(|| RangeLaw::new(waters));
    let mut reach: Option<(f64, f64)> = None;
    for difference in found.iter_mut() {
        let df = difference.df;
        // The same degrees of freedom, as in balanced designs, need one quantile only.
        let critical = match reach {
            Some((known, critical)) if (known - df).abs() <= SAME * df => critical,
            _ => match &law {
                Some(law) => law.quantile(1.0 - LEVEL, df) / std::f64::consts::SQRT_2,
                None => t_quantile((1.0 - LEVEL) / (2.0 * count(pairs)), df),
            },
        };
        reach = Some((df, critical));
        let half = critical * difference.standard_error;
        difference.interval = (difference.estimate - half, difference.estimate + half);
        if let Some(law) = &law {
            let t = difference.estimate.abs() / difference.standard_error;
            difference.p = law.tail(t * std::f64::consts::SQRT_2, df);
        }
    }
    if multiplicity == Multiplicity::Holm {
        let alone: Vec<f64> = found.iter().map(|d| d.p_alone).collect();
        for (difference, p) in found.iter_mut().zip(holm(&alone)) {
            difference.p = p;
        }
    }
}

/// Holm's p-values: the smallest times the number of tests, the next times one less, and so on,
/// never falling.
///
/// ```
/// use waterflight::analysis::mixed::holm;
/// assert_eq!(holm(&[0.04, 0.01, 0.03]), [0.06, 0.03, 0.06]);
/// ```
#[must_use]
pub fn holm(alone: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..alone.len()).collect();
    order.sort_by(|&a, &b| alone[a].total_cmp(&alone[b]));
    let mut adjusted = vec![1.0; alone.len()];
    let mut least = 0.0_f64;
    for (rank, &place) in order.iter().enumerate() {
        least = least.max((alone[place] * count(alone.len() - rank)).min(1.0));
        adjusted[place] = least;
    }
    adjusted
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
    let df_noise = joint_degrees(&degrees);
    let f = sum / df;
    Some(FTest { f, df, df_noise, p: f_tail(f, df, df_noise) })
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
