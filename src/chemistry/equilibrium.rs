//! Root finding for equilibria: one linear solver, one bracketing solver, one typed failure.
//!
//! For given activity coefficients the balances of a solution are the gradient of a convex
//! function of the logarithms of the activities, so their Jacobian is symmetric and positive
//! definite: Cholesky needs no pivoting and Newton with a line search reaches the one solution
//! from anywhere. What is left over is a scalar: the ionic strength (or a dose, a degree of
//! concentration) at which a monotonic condition holds, and that is bracketed.
#![expect(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "numeric kernels of fixed size"
)]

use thiserror::Error;

/// No solution was found within the bounds. This is a defect of the solver, not of the water:
/// every water that passes the checks on entry has a solution.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("no equilibrium found in {iterations} steps; the last residual is {residual:e}")]
pub struct NoConvergence {
    /// Steps taken.
    pub iterations: usize,
    /// What was still missing, in the unit of the condition.
    pub residual: f64,
}

/// The square-root-free Cholesky factor of a symmetric positive definite matrix: a unit lower
/// triangle, and the reciprocals of the pivots on its diagonal.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Cholesky<const L: usize> {
    factor: [[f64; L]; L],
}

impl<const L: usize> Cholesky<L> {
    /// Factors a matrix given by its lower triangle. `None` when it is not positive definite.
    #[inline]
    pub(crate) fn of(mut j: [[f64; L]; L]) -> Option<Self> {
        for row in 0..L {
            let mut pivot = j[row][row];
            for column in 0..row {
                // So far the row holds factor times pivot.
                let dot: f64 = (0..column).map(|k| j[row][k] * j[column][k]).sum();
                j[row][column] -= dot;
            }
            for column in 0..row {
                let scaled = j[row][column] * j[column][column];
                pivot -= scaled * j[row][column];
                j[row][column] = scaled;
            }
            if !(pivot > 0.0 && pivot.is_finite()) {
                return None;
            }
            j[row][row] = 1.0 / pivot;
        }
        Some(Self { factor: j })
    }

    /// Solves for one right-hand side.
    #[inline]
    pub(crate) fn solve(&self, mut f: [f64; L]) -> [f64; L] {
        let j = &self.factor;
        for row in 0..L {
            let dot: f64 = (0..row).map(|k| j[row][k] * f[k]).sum();
            f[row] -= dot;
        }
        for row in 0..L {
            f[row] *= j[row][row];
        }
        for row in (0..L).rev() {
            let dot: f64 = (row + 1..L).map(|k| j[k][row] * f[k]).sum();
            f[row] -= dot;
        }
        f
    }
}

/// Where a condition changes sign.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bracket {
    pub(crate) low: f64,
    pub(crate) high: f64,
}

/// Steps of the bracketing solver: our choice. Every second step at least halves the bracket, so
/// 200 exhaust the digits of any bracket; fewer could end before they do.
const BRACKET_STEPS: usize = 200;

/// Finds the zero of a continuous function whose values at the two ends differ in sign
/// (regula falsi in the Illinois form, a bisection whenever that is slow).
///
/// # Errors
/// Passes on an error of the function; [`NoConvergence`] when the ends have the same sign.
pub(crate) fn bracketed<E: From<NoConvergence>>(
    bracket: Bracket,
    tolerance: f64,
    mut f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<f64, E> {
    let Bracket { low: mut a, high: mut b } = bracket;
    let (mut fa, mut fb) = (f(a)?, f(b)?);
    if fa == 0.0 {
        return Ok(a);
    }
    if fb == 0.0 {
        return Ok(b);
    }
    if fa.signum() * fb.signum() > 0.0 {
        return Err(NoConvergence { iterations: 0, residual: fa.abs().min(fb.abs()) }.into());
    }
    for step in 0..BRACKET_STEPS {
        let secant = b - fb * (b - a) / (fb - fa);
        let inside = secant > a.min(b) && secant < a.max(b);
        let x = if inside && step % 3 != 2 { secant } else { 0.5 * (a + b) };
        let fx = f(x)?;
        if fx == 0.0 || (b - a).abs() <= tolerance {
            return Ok(x);
        }
        if fx.signum() * fb.signum() < 0.0 {
            (a, fa) = (b, fb);
        } else {
            fa *= 0.5;
        }
        (b, fb) = (x, fx);
    }
    Ok(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_positive_definite_system_is_solved() {
        let j = [[4.0, 0.0, 0.0], [2.0, 5.0, 0.0], [0.0, 1.0, 3.0]];
        // j·(1, −2, 3) with the upper triangle mirrored.
        let x = Cholesky::of(j).map(|c| c.solve([0.0, -5.0, 7.0]));
        for (got, want) in x.into_iter().flatten().zip([1.0, -2.0, 3.0]) {
            assert!((got - want).abs() < 1e-14);
        }
        assert!(x.is_some());
    }

    #[test]
    fn an_indefinite_system_is_refused() {
        assert!(Cholesky::of([[1.0, 0.0], [2.0, 1.0]]).is_none());
    }

    #[test]
    fn a_bracketed_zero_is_found() {
        let f = |x: f64| -> Result<f64, NoConvergence> { Ok(x.exp() - 10.0) };
        let root = bracketed(Bracket { low: -50.0, high: 5.0 }, 1e-13, f);
        assert!(root.is_ok_and(|x| (x - 10.0_f64.ln()).abs() < 1e-12));
        assert!(bracketed(Bracket { low: 3.0, high: 5.0 }, 1e-13, f).is_err());
    }
}
