//! Which waters are clearly better than which, the way that something is wanted.

use crate::numerics::{count, t_two_sided};
use crate::session::plan::Direction;
use crate::session::plan::panel::is_significant;

use crate::session::analysis::Difference;
use crate::session::analysis::{MixedFit, WaterMean};

/// Pairs of a better and a worse water that differ, with allowance for all pairs.
///
/// Nearer to a wanted score is more than different: with means a, b and a wanted score t, a is nearer
/// when (b − a)(a + b − 2t) is above zero, so that both factors must differ from zero with signs that
/// agree. Each is tested at the usual risk, allowing for all pairs, and a is nearer where both say so;
/// that keeps the risk; `share` is the part of the usual risk that the attribute is tested at, as the
/// p-values of the differences have it already (intersection–union test: Berger R. L., Technometrics 24 (1982) 295–300; from
/// memory).
#[must_use]
pub fn better_pairs(fit: &MixedFit, direction: Direction, share: f64) -> Vec<(usize, usize)> {
    let clear = fit.differences.iter().filter(|d| is_significant(d.p));
    let higher = clear.map(|d| {
        let pair = if d.estimate > 0.0 { (d.first, d.second) } else { (d.second, d.first) };
        (pair, d)
    });
    match direction {
        Direction::More => higher.map(|(pair, _)| pair).collect(),
        Direction::Less => higher.map(|((high, low), _)| (low, high)).collect(),
        Direction::Near(wanted) => {
            higher.filter_map(|(pair, d)| nearer(fit, pair, d, (wanted, share))).collect()
        }
    }
}

/// Variance of a sum of two means, as a share of the sum of theirs, that counts as none. Our choice: rounding
/// leaves 1e-15, and one step of a scale in one score of hundreds leaves more than this.
const NONE: f64 = 1e-9;

/// Of two waters that differ, the one that is clearly nearer to a score, before the other; nothing where
/// the score may lie as near to either.
fn nearer(
    fit: &MixedFit,
    (high, low): (usize, usize),
    apart: &Difference,
    (wanted, share): (f64, f64),
) -> Option<(usize, usize)> {
    let mean = |water: usize| fit.means.iter().find(|m| m.water == water);
    let (a, b): (&WaterMean, &WaterMean) = (mean(high)?, mean(low)?);
    let sum = a.mean + b.mean - 2.0 * wanted;
    // Var(a + b) = 2 Var(a) + 2 Var(b) − Var(a − b).
    let squares = a.standard_error.powi(2) + b.standard_error.powi(2);
    // What the levels of the tasters add to one mean they add to the other too: twice, squared four times.
    let (levels, of_levels) =
        fit.level_of_means.map_or((0.0, 1.0), |levels| (4.0 * levels.variance, levels.df));
    let rest = (2.0 * squares - apart.standard_error.powi(2) - levels).max(0.0);
    let variance = levels + rest;
    // Tasters whose scores add up to the same say nothing of how others would vary.
    if variance <= NONE * squares {
        return None;
    }
    // Satterthwaite F. E., Biometrics Bull. 2 (1946) 110, as for a mean by itself.
    let df = variance * variance / (levels * levels / of_levels + rest * rest / apart.df);
    let p = t_two_sided(sum / variance.sqrt(), df) * count(fit.differences.len()) / share;
    // Where the two lie above the score together, the lower one is nearer.
    is_significant(p).then_some(if sum > 0.0 { (low, high) } else { (high, low) })
}
