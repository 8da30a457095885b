//! Where a monotone function meets a wanted value.

/// Our choice: a bracket is at least halved in every third step, so 200 steps exhaust the digits
/// of any bracket in use; fewer would leave the last digits of a quantile wrong.
const STEPS: usize = 200;

/// The argument in `low..=high` at which the increasing function `f` reaches `want`.
///
/// Outside the values taken at the ends the nearer end is returned. False position with the
/// Illinois rule (Dowell M., Jarratt P., BIT 11 (1971) 168–174), halving whenever that is slow.
///
/// ```
/// use waterflight::numerics::find_root::find_root;
/// assert!((find_root(0.0, 2.0, 2.0, |x| x * x) - 2.0_f64.sqrt()).abs() < 1e-15);
/// assert!((find_root(0.0, 2.0, 9.0, |x| x * x) - 2.0).abs() < 1e-15);
/// ```
pub fn find_root(low: f64, high: f64, want: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let (mut below, mut above) = (f(low) - want, f(high) - want);
    if below >= 0.0 {
        return low;
    }
    if above <= 0.0 {
        return high;
    }
    let mut last_moved_low = None;
    for step in 0..STEPS {
        if high - low <= f64::EPSILON * low.abs().max(high.abs()) {
            break;
        }
        let middle = low + (high - low) / 2.0;
        let secant = low + (high - low) * (below / (below - above));
        let halve = step % 3 == 2 || secant.is_nan() || secant <= low || secant >= high;
        let next = if halve { middle } else { secant };
        let miss = f(next) - want;
        if miss < 0.0 {
            (low, below) = (next, miss);
            if last_moved_low == Some(true) {
                above /= 2.0;
            }
            last_moved_low = Some(true);
        } else {
            (high, above) = (next, miss);
            if miss <= 0.0 {
                return next;
            }
            if last_moved_low == Some(false) {
                below /= 2.0;
            }
            last_moved_low = Some(false);
        }
    }
    low + (high - low) / 2.0
}
