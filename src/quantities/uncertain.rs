//! Values with their uncertainty: propagation by sensitivities (GUM) and by draws (Monte Carlo).
//!
//! A result is a function of *inputs*, each with an estimate and a spread. Inputs are independent
//! of each other; whatever two results share, they share as an input, so their correlation needs no
//! bookkeeping (JCGM 100:2008, 5.2 and F.1.2.4). Sensitivities are taken numerically, as half the
//! change between `x + u` and `x − u` (JCGM 100:2008, 5.1.3 note 2).

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Coverage factor of every ± that is shown: about 95 % for a normal result (JCGM 100:2008, 6.3.3).
pub const COVERAGE: f64 = 2.0;

/// How an input may differ from its estimate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spread {
    /// Normal, by its standard uncertainty.
    Normal(f64),
    /// Anywhere within the estimate ± this with equal chance: `u = a/√3` (JCGM 100:2008, 4.3.7).
    Rectangular(f64),
}

impl Spread {
    /// Standard uncertainty.
    #[must_use]
    pub fn standard(self) -> f64 {
        match self {
            Spread::Normal(u) => u,
            Spread::Rectangular(half_width) => half_width / 3.0_f64.sqrt(),
        }
    }
}

/// One input of a measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is, in words.
    pub name: String,
    /// Best estimate.
    pub estimate: f64,
    /// How far from it the truth may be.
    pub spread: Spread,
}

impl Input {
    /// An input.
    #[must_use]
    pub fn new(name: impl Into<String>, estimate: f64, spread: Spread) -> Self {
        Self { name: name.into(), estimate, spread }
    }
}

/// A result with what each input contributes to its uncertainty.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Uncertain {
    /// The value.
    pub value: f64,
    /// Contribution of each input, `c_i·u(x_i)`, with its sign, in the order of the inputs.
    pub parts: Vec<f64>,
}

impl Uncertain {
    /// Combined standard uncertainty (JCGM 100:2008, equation 10).
    #[must_use]
    pub fn standard(&self) -> f64 {
        self.parts.iter().map(|p| p * p).sum::<f64>().sqrt()
    }

    /// Expanded uncertainty, with [`COVERAGE`].
    #[must_use]
    pub fn expanded(&self) -> f64 {
        COVERAGE * self.standard()
    }

    /// Covariance with another result of the same inputs (JCGM 100:2008, equation F.2).
    #[must_use]
    pub fn covariance(&self, other: &Self) -> f64 {
        self.parts.iter().zip(&other.parts).map(|(a, b)| a * b).sum()
    }

    /// Standard uncertainty if one input were only half as uncertain.
    #[must_use]
    pub fn with_half(&self, input: usize) -> f64 {
        /// Half of a contribution leaves a quarter of its variance.
        const TAKEN_AWAY: f64 = 0.75;
        let part = self.parts.get(input).copied().unwrap_or_default();
        (self.covariance(self) - TAKEN_AWAY * part * part).max(0.0).sqrt()
    }

    /// The inputs whose share in the variance is at least this, largest first.
    #[must_use]
    pub fn budget(&self, least: f64) -> Vec<(usize, f64)> {
        let variance = self.covariance(self);
        let share = |part: &f64| if variance > 0.0 { part * part / variance } else { 0.0 };
        let all = self.parts.iter().map(share).enumerate();
        let mut shares: Vec<(usize, f64)> = all.filter(|(_, share)| *share >= least).collect();
        shares.sort_by(|a, b| b.1.total_cmp(&a.1));
        shares
    }
}

/// Propagates the inputs through a model with several results. The model has one number per
/// input, in their order, and gives the same number of results whatever the inputs.
///
/// ```
/// use waterflight::quantities::uncertain::{Input, Spread, propagate};
/// // JCGM 100:2008, 5.2.2, example: ten resistors of 1000 Ω, each calibrated against one
/// // standard with u = 100 mΩ, in series. They share the standard, so u = 10 × 100 mΩ = 1 Ω,
/// // and not √10 × 100 mΩ = 0.32 Ω.
/// let inputs = [Input::new("standard", 1000.0, Spread::Normal(0.1))];
/// let series = propagate(&inputs, |x| vec![10.0 * x[0]]);
/// assert!((series[0].standard() - 1.0).abs() < 1e-9);
/// ```
#[must_use]
pub fn propagate(inputs: &[Input], model: impl Fn(&[f64]) -> Vec<f64>) -> Vec<Uncertain> {
    propagate_into(inputs, |x, results| results.extend(model(x)))
}

/// The same for a model that adds its results to a list, which is empty when it is called.
pub(crate) fn propagate_into<'a>(
    inputs: impl IntoIterator<Item = &'a Input, IntoIter: Clone>,
    mut model: impl FnMut(&[f64], &mut Vec<f64>),
) -> Vec<Uncertain> {
    let inputs = inputs.into_iter();
    let mut x: Vec<f64> = inputs.clone().map(|i| i.estimate).collect();
    let (mut above, mut below) = (Vec::new(), Vec::new());
    model(&x, &mut above);
    let parts = || Vec::with_capacity(x.len());
    let mut results: Vec<Uncertain> =
        above.iter().map(|value| Uncertain { value: *value, parts: parts() }).collect();
    for (at, input) in inputs.enumerate() {
        let u = input.spread.standard();
        let mut moved = |to: f64, into: &mut Vec<f64>| {
            into.clear();
            if let Some(place) = x.get_mut(at) {
                let estimate = std::mem::replace(place, to);
                model(&x, into);
                if let Some(place) = x.get_mut(at) {
                    *place = estimate;
                }
            }
        };
        moved(input.estimate + u, &mut above);
        moved(input.estimate - u, &mut below);
        for ((result, a), b) in results.iter_mut().zip(&above).zip(&below) {
            result.parts.push((a - b) / 2.0);
        }
    }
    results
}

/// What many draws of the inputs make of one result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drawn {
    /// Mean of the draws.
    pub mean: f64,
    /// Standard deviation of the draws.
    pub standard: f64,
    /// 2.5 % of the draws lie below.
    pub low: f64,
    /// 2.5 % of the draws lie above.
    pub high: f64,
}

/// Propagates distributions by draws (JCGM 101:2008, clause 7). The same seed gives the same
/// draws on every machine: the generator is ChaCha with 8 rounds.
#[must_use]
pub fn monte_carlo(
    inputs: &[Input],
    trials: usize,
    seed: u64,
    model: impl Fn(&[f64]) -> Vec<f64>,
) -> Vec<Drawn> {
    let mut generator = ChaCha8Rng::seed_from_u64(seed);
    let mut columns: Vec<Vec<f64>> = Vec::new();
    let mut x = vec![0.0; inputs.len()];
    for _ in 0..trials.max(2) {
        for (place, input) in x.iter_mut().zip(inputs) {
            *place = draw(&mut generator, input);
        }
        let results = model(&x);
        columns.resize_with(results.len().max(columns.len()), Vec::new);
        for (column, result) in columns.iter_mut().zip(results) {
            column.push(result);
        }
    }
    columns.into_iter().map(summary).collect()
}

/// A number from 0 (never reached) to 1, with the 53 bits that a number has.
#[expect(clippy::cast_precision_loss, reason = "53 bits are exact")]
pub(crate) fn between_zero_and_one(generator: &mut impl Rng) -> f64 {
    const STEPS: f64 = 9_007_199_254_740_992.0;
    ((generator.next_u64() >> 11) as f64 + 0.5) / STEPS
}

fn draw(generator: &mut ChaCha8Rng, input: &Input) -> f64 {
    let first = between_zero_and_one(generator);
    input.estimate
        + match input.spread {
            Spread::Rectangular(half_width) => half_width * (2.0 * first - 1.0),
            // Box and Muller 1958, Ann. Math. Stat. 29, 610 (as in JCGM 101:2008, C.4).
            Spread::Normal(u) => {
                let angle = std::f64::consts::TAU * between_zero_and_one(generator);
                u * (-2.0 * first.ln()).sqrt() * angle.cos()
            }
        }
}

#[expect(clippy::cast_precision_loss, reason = "a count of draws is far below 2^53")]
fn summary(mut draws: Vec<f64>) -> Drawn {
    draws.sort_by(f64::total_cmp);
    let n = draws.len() as f64;
    let mean = draws.iter().sum::<f64>() / n;
    let squares: f64 = draws.iter().map(|d| (d - mean) * (d - mean)).sum();
    // JCGM 101:2008, 7.7: the probabilistically symmetric interval of the sorted draws.
    let at = |per_mille: usize| {
        let place = (draws.len() * per_mille / 1000).min(draws.len().saturating_sub(1));
        draws.get(place).copied().unwrap_or(mean)
    };
    Drawn { mean, standard: (squares / (n - 1.0).max(1.0)).sqrt(), low: at(25), high: at(975) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(x: &[f64]) -> Vec<f64> {
        match x {
            [a, b] => vec![a * b, a + b, a - b],
            _ => Vec::new(),
        }
    }

    fn two() -> [Input; 2] {
        [Input::new("a", 10.0, Spread::Normal(0.1)), Input::new("b", 4.0, Spread::Rectangular(0.3))]
    }

    #[test]
    fn relative_uncertainties_of_a_product_add_in_squares() {
        let results = propagate(&two(), product);
        let relative = (0.01_f64.powi(2) + (0.3 / 3.0_f64.sqrt() / 4.0).powi(2)).sqrt();
        let got = results.first().map(|r| r.standard() / r.value);
        assert!(got.is_some_and(|g| (g - relative).abs() < 1e-12));
    }

    #[test]
    fn shared_inputs_correlate_results() {
        let results = propagate(&two(), product);
        let (sum, difference) = (results.get(1), results.get(2));
        let (a, b) = (0.1_f64.powi(2), 0.03);
        let got = sum.zip(difference).map(|(s, d)| s.covariance(d) / (s.standard() * d.standard()));
        assert!(got.is_some_and(|g| (g - (a - b) / (a + b)).abs() < 1e-12));
    }

    #[test]
    fn draws_agree_with_sensitivities_and_repeat() {
        let drawn = monte_carlo(&two(), 40_000, 7, product);
        assert_eq!(drawn, monte_carlo(&two(), 40_000, 7, product));
        for (one, other) in drawn.iter().zip(propagate(&two(), product)) {
            assert!((one.standard / other.standard() - 1.0).abs() < 0.02);
        }
        assert_eq!(drawn.len(), 3);
    }

    #[test]
    fn the_largest_share_comes_first() {
        let results = propagate(&two(), product);
        let budget = results.first().map(|u| u.budget(0.0)).unwrap_or_default();
        assert_eq!(budget.first().map(|(i, _)| *i), Some(1));
        let whole: f64 = budget.iter().map(|(_, share)| share).sum();
        assert!((whole - 1.0).abs() < 1e-12);
    }
}
