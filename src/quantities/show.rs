//! The only place where digits are cut for people. Machines get every digit.

/// Decimals that give about `figures` significant figures for numbers as large as `value`,
/// and never more than `most` decimals.
#[must_use]
pub fn decimals_for(value: f64, figures: i32, most: usize) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let mut magnitude = 0;
    let mut rest = value.abs();
    while rest >= 10.0 && magnitude < 300 {
        rest /= 10.0;
        magnitude += 1;
    }
    while rest < 1.0 && magnitude > -300 {
        rest *= 10.0;
        magnitude -= 1;
    }
    usize::try_from((figures - 1 - magnitude).max(0)).map_or(most, |d| d.min(most))
}

/// `value` with a fixed number of decimals, never "-0.0".
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// `value` with about three significant figures and at most three decimals: concentrations.
#[must_use]
pub fn three_figures(value: f64) -> String {
    fixed(value, decimals_for(value, 3, 3))
}

/// `value` with about four significant figures and at most four decimals: strengths, densities.
#[must_use]
pub fn four_figures(value: f64) -> String {
    fixed(value, decimals_for(value, 4, 4))
}

/// `value` as a person would type it: up to six significant figures, no trailing zeros.
#[must_use]
pub fn plain(value: f64) -> String {
    let text = fixed(value, decimals_for(value, 6, 9));
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// The shortest number that means `native` when one unit is `per_unit` natively: the digits that
/// were written, since none shorter means the same. What is written down with it reads back as it
/// was.
///
/// ```
/// use waterflight::quantities::show::as_written;
/// let per_unit = 1.0 / 50.0435;
/// assert_eq!(as_written(103.4479 * per_unit, per_unit), "103.4479");
/// assert_eq!(as_written(0.0000000004, 1.0), "0.0000000004");
/// ```
#[must_use]
pub fn as_written(native: f64, per_unit: f64) -> String {
    shortest(native, per_unit, DIGITS).unwrap_or_else(|| (native / per_unit).to_string())
}

/// The same for people to read: where it takes more digits than a person writes, four figures.
#[must_use]
pub fn for_reading(native: f64, per_unit: f64) -> String {
    /// Our choice: a number with more digits than this was computed and not written.
    const WRITTEN: usize = 9;
    shortest(native, per_unit, WRITTEN).unwrap_or_else(|| {
        let value = native / per_unit;
        plain(fixed(value, decimals_for(value, 4, 9)).parse().unwrap_or(value))
    })
}

/// Digits that tell every number from its neighbours (IEEE 754 double precision).
const DIGITS: usize = 17;

/// The number of the fewest digits, and no more than `most`, that means `native`.
fn shortest(native: f64, per_unit: f64, most: usize) -> Option<String> {
    /// What a product and a quotient may be off by: two units in the last place.
    const LAST_PLACES: f64 = 2.0 * f64::EPSILON;
    let value = native / per_unit;
    (0..most)
        .filter_map(|decimals| format!("{value:.decimals$e}").parse::<f64>().ok())
        .find(|short| (short * per_unit - native).abs() <= LAST_PLACES * native.abs())
        .map(|short| short.to_string())
}

/// `value` rounded up to two significant figures: what is asked for at least.
#[must_use]
pub fn up_to_two_figures(value: f64) -> f64 {
    /// Part of a step that is rounding of the arithmetic and not worth another step. Our choice: far
    /// above the rounding of a quotient, far below what anyone weighs; smaller, and 0.3 / 0.1 would
    /// ask for a step too much.
    const ROUNDING: f64 = 1e-9;
    if value <= 0.0 || !value.is_finite() {
        return value;
    }
    let step = 10.0_f64.powf(value.log10().floor() - 1.0);
    plain((value / step - ROUNDING).ceil() * step).parse().unwrap_or(value)
}

/// `value` to six significant figures, and to three decimals at least: enough for every bench,
/// and no digits that are only noise of the arithmetic.
#[must_use]
pub fn without_noise(value: f64) -> f64 {
    /// Our choice: a hundred times finer than the best scale of a bench; more would print noise, fewer
    /// would change what was weighed.
    const FIGURES: i32 = 6;
    /// Our choice: a milligram of what is given in grams, a microlitre of what is given in millilitres,
    /// however large the number.
    const LEAST_DECIMALS: usize = 3;
    /// Our choice: about the digits that a number holds; it decides only numbers below a billionth.
    const MOST_DECIMALS: usize = 15;
    let decimals = decimals_for(value, FIGURES, MOST_DECIMALS).max(LEAST_DECIMALS);
    fixed(value, decimals).parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_follow_the_magnitude() {
        assert_eq!(three_figures(123.456), "123");
        assert_eq!(three_figures(12.3456), "12.3");
        assert_eq!(three_figures(0.012_345_6), "0.012");
        assert_eq!(four_figures(1.041_27), "1.041");
    }

    #[test]
    fn a_rounded_zero_has_no_sign() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-0.01, 2), "-0.01");
    }

    #[test]
    fn digits_are_those_that_were_written() {
        for text in ["70", "0.1", "103.4479", "0.0000000004", "123456.789012", "0", "17.84813"] {
            for per_unit in [1.0, 1.0 / 50.04345, 2.0 * 10.0 / 56.077, 1.0 / 22.989_769_28] {
                let native = text.parse::<f64>().unwrap_or(f64::NAN) * per_unit;
                assert_eq!(as_written(native, per_unit), text);
            }
        }
        let third = 1.0 / 3.0;
        assert_eq!(for_reading(third, 1.0), "0.3333");
        assert_eq!(as_written(third, 1.0).parse(), Ok(third));
        assert_eq!(for_reading(3.885_000_000_000_000_2, 1.0), "3.885");
    }

    #[test]
    fn the_noise_of_arithmetic_is_cut() {
        let same = |a: f64, b: f64| a.to_bits() == b.to_bits();
        assert!(same(without_noise(0.350_000_000_000_000_03), 0.35));
        assert!(same(without_noise(1_234.567_89), 1_234.568));
        assert!(same(without_noise(0.000_012_345_67), 0.000_012_345_7));
        assert!(same(without_noise(-0.0), 0.0));
        assert!(without_noise(f64::INFINITY).is_infinite());
    }

    #[test]
    fn at_least_is_rounded_up() {
        assert!((up_to_two_figures(3.11) - 3.2).abs() < 1e-12);
        assert!((up_to_two_figures(200.0) - 200.0).abs() < 1e-12);
        assert!((up_to_two_figures(0.0321) - 0.033).abs() < 1e-12);
    }

    #[test]
    fn plain_numbers_lose_their_trailing_zeros() {
        assert_eq!(plain(70.0), "70");
        assert_eq!(plain(0.25), "0.25");
        assert_eq!(plain(3.000_000_1), "3");
    }
}
