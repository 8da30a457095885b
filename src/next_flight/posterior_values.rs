//! How good waters promise to be, from drawn surfaces.

use nalgebra::{DMatrix, DVector};

use crate::next_flight::Drawn;
use crate::numerics::{count, normal_quantile};

/// Difference of strengths that is rounding: our choice, a millionth of a score changes nothing.
const ALIKE: f64 = 1e-6;

/// What the scores say of a water not tasted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// Score above the mean of the waters tasted.
    pub above_mean: f64,
    /// Its standard deviation.
    pub standard_deviation: f64,
    /// Probability that it is better than every water tasted.
    pub beats_best: f64,
    /// How good it is against the mean of the waters tasted, and the standard deviation of that.
    pub desirability: (f64, f64),
}

/// How good waters are in each drawn surface: of two the better one has more.
pub(super) struct PosteriorValues<'a> {
    drawn: &'a Drawn,
    desirability: &'a dyn Fn(f64) -> f64,
    /// The waters tasted, each with what it has of its own.
    pub(super) tasted: DMatrix<f64>,
    /// The candidates, by the surface alone.
    pub(super) others: DMatrix<f64>,
}

impl<'a> PosteriorValues<'a> {
    pub(super) fn of(drawn: &'a Drawn, desirability: &'a dyn Fn(f64) -> f64) -> Self {
        let (tasted, others) = (drawn.tasted.map(desirability), drawn.others.map(desirability));
        Self { drawn, desirability, tasted, others }
    }

    /// The candidates in the surfaces that follow the composition.
    pub(super) fn following(&self) -> DMatrix<f64> {
        let follows = self.drawn.follows.iter().enumerate();
        let columns: Vec<usize> = follows.filter(|(_, yes)| **yes).map(|(n, _)| n).collect();
        self.others.select_columns(&columns)
    }

    /// Probability of each water tasted to be the best of them.
    pub(super) fn probabilities_of_best(&self) -> Vec<f64> {
        let mut times = vec![0.0; self.tasted.nrows()];
        for column in self.tasted.column_iter() {
            // Waters that are alike share the first place.
            let best = column.max();
            let first = |desirability: &f64| best - desirability <= ALIKE * best.abs().max(1.0);
            let share = 1.0
                / count(column.iter().filter(|desirability| first(desirability)).count().max(1));
            for (times, desirability) in times.iter_mut().zip(column.iter()) {
                *times += if first(desirability) { share } else { 0.0 };
            }
        }
        times.iter().map(|times| times / count(self.tasted.ncols().max(1))).collect()
    }

    /// The waters tasted (rows first) and some candidates.
    pub(super) fn with(&self, candidates: &[usize]) -> DMatrix<f64> {
        let rows = self.tasted.nrows();
        let mut all = self.tasted.clone().resize_vertically(rows + candidates.len(), 0.0);
        all.rows_mut(rows, candidates.len()).copy_from(&self.others.select_rows(candidates));
        all
    }

    /// What is expected of a candidate. A new water has something of its own as well, which no surface
    /// knows.
    pub(super) fn expected(&self, candidate: usize) -> Expected {
        /// The golden section: its multiples fill the unit interval evenly in any order.
        const GOLDEN: f64 = 0.618_033_988_749_894_9;
        let (mut above, mut values, mut better) = (Vec::new(), Vec::new(), 0.0);
        for (n, misfit) in self.drawn.misfit.iter().enumerate() {
            let own = misfit * normal_quantile((GOLDEN * (count(n) + 1.0)).fract());
            let value = self.drawn.others.get((candidate, n)).copied().unwrap_or_default() + own;
            above.push(value - self.drawn.tasted.column(n).mean());
            let (desirability, so_far) = ((self.desirability)(value), self.tasted.column(n));
            values.push(desirability - so_far.mean());
            if desirability > so_far.max() + ALIKE {
                better += 1.0;
            }
        }
        let moments = |numbers: Vec<f64>| {
            let numbers = DVector::from_vec(numbers);
            (numbers.mean(), numbers.variance().sqrt())
        };
        let (above_mean, standard_deviation) = moments(above);
        Expected {
            above_mean,
            standard_deviation,
            beats_best: better / count(self.drawn.misfit.len().max(1)),
            desirability: moments(values),
        }
    }
}
