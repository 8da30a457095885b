//! Which candidates to mix next.
#![expect(clippy::indexing_slicing, reason = "tables with one place per candidate")]

use nalgebra::{DMatrix, DVector};

use crate::numerics::count;

/// Weight of what is known before any water, against one water, in [`d_optimal`]: our choice, enough
/// to make the information of few waters invertible (DuMouchel W., Jones B., Technometrics 36 (1994)
/// 37–47; from memory).
const PRIOR_WATERS: f64 = 0.01;

/// Picks the candidates that together promise most above the best water tasted: each time the one
/// with the largest expected improvement over the tasted and the picked, averaged over drawn surfaces.
/// That is noisy expected improvement (Letham B. et al., Bayesian Analysis 14 (2019) 495–519), of
/// which the expected improvement of Jones D. R., Schonlau M., Welch W. J., J. Global Optim. 13
/// (1998) 455–492 is the case without residual error (both from memory).
///
/// `draws` holds one surface in each column: first `tasted` rows for waters tasted, then the
/// candidates. Gives the place of each pick among the candidates, with what it adds on average.
#[must_use]
pub fn improving(draws: &DMatrix<f64>, tasted: usize, wanted: usize) -> Vec<(usize, f64)> {
    let candidates = draws.nrows().saturating_sub(tasted);
    let mut best: Vec<f64> = draws
        .column_iter()
        .map(|surface| surface.iter().take(tasted).copied().fold(f64::NEG_INFINITY, f64::max))
        .collect();
    let mut picks: Vec<(usize, f64)> = Vec::new();
    for _ in 0..wanted.min(candidates) {
        let mut gains = vec![0.0; candidates];
        for (surface, best) in draws.column_iter().zip(&best) {
            for (gain, value) in gains.iter_mut().zip(surface.iter().skip(tasted)) {
                *gain += (value - best).max(0.0);
            }
        }
        let open = (0..candidates).filter(|c| picks.iter().all(|(picked, _)| picked != c));
        let Some(pick) = open.max_by(|a, b| gains[*a].total_cmp(&gains[*b])) else { break };
        for (surface, best) in draws.column_iter().zip(&mut best) {
            *best = best.max(surface[tasted + pick]);
        }
        picks.push((pick, gains[pick] / count(draws.ncols())));
    }
    picks
}

/// Picks the candidates that tell most about a quadratic surface, those tasted counted in: each time
/// the one whose prediction is least certain, which adds most to the determinant of the information
/// (Atkinson A. C., Donev A. N., Tobias R. D., "Optimum Experimental Designs, with SAS", 2007,
/// chapters 11 and 19; from memory).
#[must_use]
pub fn d_optimal(tasted: &[Vec<f64>], candidates: &[Vec<f64>], wanted: usize) -> Vec<usize> {
    let Some(first) = candidates.first() else { return Vec::new() };
    let terms = quadratic(first).len();
    let mut information = DMatrix::<f64>::identity(terms, terms) * PRIOR_WATERS;
    for point in tasted {
        let row = quadratic(point);
        information += &row * row.transpose();
    }
    let mut picks: Vec<usize> = Vec::new();
    while picks.len() < wanted.min(candidates.len()) {
        let Some(inverse) = information.clone().cholesky().map(|c| c.inverse()) else { break };
        let uncertain = |c: usize| {
            let row = quadratic(&candidates[c]);
            (row.transpose() * &inverse * &row)[(0, 0)]
        };
        let open = (0..candidates.len()).filter(|c| !picks.contains(c));
        let rated = open.map(|c| (c, uncertain(c)));
        let Some((pick, _)) = rated.max_by(|a, b| a.1.total_cmp(&b.1)) else { break };
        let row = quadratic(&candidates[pick]);
        information += &row * row.transpose();
        picks.push(pick);
    }
    picks
}

/// Picks candidates far from those tasted and from each other: the middle first when nothing was
/// tasted, then each time the one whose nearest neighbour is farthest (maximin distance: Johnson
/// M. E., Moore L. M., Ylvisaker D., J. Stat. Plan. Inference 26 (1990) 131–148; from memory).
#[must_use]
pub fn far_apart(tasted: &[Vec<f64>], candidates: &[Vec<f64>], wanted: usize) -> Vec<usize> {
    let distance = |a: &[f64], b: &[f64]| -> f64 {
        a.iter().zip(b).map(|(x, y)| (x - y).powi(2)).sum::<f64>()
    };
    let mut picks: Vec<usize> = Vec::new();
    while picks.len() < wanted.min(candidates.len()) {
        let known: Vec<&Vec<f64>> =
            tasted.iter().chain(picks.iter().map(|p| &candidates[*p])).collect();
        let rate = |c: usize| {
            let nearest =
                known.iter().map(|k| distance(k, &candidates[c])).fold(f64::INFINITY, f64::min);
            // With nothing known, the nearer to the middle the better.
            let middle = vec![0.5; candidates[c].len()];
            if nearest.is_finite() { nearest } else { -distance(&middle, &candidates[c]) }
        };
        let open = (0..candidates.len()).filter(|c| !picks.contains(c));
        let rated = open.map(|c| (c, rate(c)));
        let Some((pick, _)) = rated.max_by(|a, b| a.1.total_cmp(&b.1)) else { break };
        picks.push(pick);
    }
    picks
}

/// Terms of a quadratic surface at a point, coordinates taken from −1 to 1.
fn quadratic(point: &[f64]) -> DVector<f64> {
    let centred: Vec<f64> = point.iter().map(|x| 2.0 * x - 1.0).collect();
    let mut terms = vec![1.0];
    terms.extend(&centred);
    for (n, a) in centred.iter().enumerate() {
        terms.extend(centred.iter().skip(n).map(|b| a * b));
    }
    DVector::from_vec(terms)
}
