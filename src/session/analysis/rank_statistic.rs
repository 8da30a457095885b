//! The statistic of rank sums: Friedman's, and its generalisation to incomplete trays.

#![expect(
    clippy::indexing_slicing,
    reason = "every index comes from the size the covariance was made with"
)]

use nalgebra::DMatrix;

use crate::numerics::count;
use crate::session::analysis::Ranked;
use crate::session::analysis::ranked::ROUNDING;

/// The statistic, ready for many questions.
pub(crate) struct RankStatistic {
    pub(crate) waters: usize,
    pub(crate) weights: Vec<f64>,
    inverse: DMatrix<f64>,
    pub(crate) rank: usize,
}

impl RankStatistic {
    pub(crate) fn new(blocks: &[Ranked], waters: usize) -> Self {
        // Weight of a block: ranks of larger blocks spread more (Skillings & Mack 1981).
        let weights: Vec<f64> =
            blocks.iter().map(|b| (12.0 / (count(b.waters.len()) + 1.0)).sqrt()).collect();
        let mut covariance: DMatrix<f64> = DMatrix::zeros(waters, waters);
        for (block, weight) in blocks.iter().zip(&weights) {
            let k = count(block.waters.len());
            let variance = block.variance() * weight * weight;
            for &a in &block.waters {
                for &b in &block.waters {
                    covariance[(a, b)] += if a == b { variance } else { -variance / (k - 1.0) };
                }
            }
        }
        let parts = covariance.svd(true, true);
        let none = ROUNDING * parts.singular_values.max();
        let rank = parts.rank(none);
        let inverse = parts.pseudo_inverse(none).unwrap_or_else(|_| DMatrix::zeros(waters, waters));
        Self { waters, weights, inverse, rank }
    }

    /// Weighted sums of ranks less their expectation.
    pub(crate) fn deviations(&self, blocks: &[Ranked]) -> Vec<f64> {
        let mut sums = vec![0.0; self.waters];
        for (block, weight) in blocks.iter().zip(&self.weights) {
            let centre = f64::midpoint(count(block.waters.len()), 1.0);
            for (&water, &twice) in block.waters.iter().zip(&block.twice) {
                if let Some(sum) = sums.get_mut(water) {
                    *sum += weight * (f64::from(twice) / 2.0 - centre);
                }
            }
        }
        sums
    }

    pub(crate) fn statistic(&self, deviations: &[f64]) -> f64 {
        let a = nalgebra::DVector::from_column_slice(deviations);
        a.dot(&(&self.inverse * &a)).max(0.0)
    }
}
