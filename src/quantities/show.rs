//! The only place where digits are cut for people. Machines get every digit.
//!
//! A little above 400 lines: all rules of cutting stand side by side, with what each makes of a number.

/// Decimals that give about `figures` significant figures for numbers as large as `value`,
/// and never more than `most` decimals.
#[must_use]
pub fn decimals_for(value: f64, figures: i32, most: usize) -> usize {
    if value == 0.0 || !value.is_finite() {
        return 0;
    }
    let decimals = figures - 1 - place_as_shown(value, figures);
    usize::try_from(decimals.max(0)).map_or(most, |d| d.min(most))
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

/// `value` with so many decimals, or with its first figure where these would show it as nothing.
#[must_use]
pub fn at_least_a_figure(value: f64, decimals: usize) -> String {
    /// Our choice: less is nothing that anybody measures out.
    const NOTHING: f64 = 1e-6;
    let usual = fixed(value, decimals);
    let is_seen = usual.chars().any(|c| ('1'..='9').contains(&c));
    if is_seen || value.abs() < NOTHING { usual } else { fixed(value, decimals_for(value, 1, 6)) }
}

/// `value` with its sign, its size as it is to be shown: `+0.25`, and never `-0.00`.
#[must_use]
pub fn signed(value: f64, size: impl Fn(f64) -> String) -> String {
    let size = size(value.abs());
    let is_below = value < 0.0 && size.chars().any(|c| ('1'..='9').contains(&c));
    format!("{}{size}", if is_below { "-" } else { "+" })
}

/// `value` with the decimals of a balance's step.
#[must_use]
pub fn in_steps_of(step: f64, value: f64) -> String {
    fixed(value, decimals_for(step, 1, 4))
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

/// Decimals that a ± is cut at when it is small: our choice; strengths and densities have no more.
const PLUS_MINUS_DECIMALS: i32 = 4;

/// The place of the first significant figure, as a power of ten.
fn first_place(value: f64) -> i32 {
    let mut place = 0;
    while place < 300 && value.abs() >= 10.0_f64.powi(place + 1) {
        place += 1;
    }
    while place > -300 && value.abs() < 10.0_f64.powi(place) {
        place -= 1;
    }
    place
}

/// The same once so many figures are left: 99.97 becomes 100, which has a figure more before its point.
fn place_as_shown(value: f64, figures: i32) -> i32 {
    let behind = usize::try_from(figures - 1).unwrap_or_default();
    first_place(format!("{value:.behind$e}").parse().unwrap_or(value))
}

/// The place that a ± ends at, as a power of ten: that of its second significant figure (JCGM
/// 100:2008, 7.2.6), after rounding to it.
fn last_place(expanded: f64) -> i32 {
    if expanded <= 0.0 || !expanded.is_finite() {
        return 0;
    }
    let place = |value: f64| (first_place(value) - 1).max(-PLUS_MINUS_DECIMALS);
    let first = place(expanded);
    let step = 10.0_f64.powi(first);
    // 9.96 becomes 10, whose second figure is one place further left.
    place((expanded / step).round() * step * (1.0 + f64::EPSILON)).max(first)
}

/// A number cut at a power of ten.
fn at_place(value: f64, place: i32) -> String {
    if let Ok(decimals) = usize::try_from(-place) {
        return fixed(value, decimals);
    }
    let step = 10.0_f64.powi(place);
    fixed((value / step).round() * step, 0)
}

/// A ± with two significant figures at most (JCGM 100:2008, 7.2.6).
#[must_use]
pub fn plus_minus(expanded: f64) -> String {
    at_place(expanded, last_place(expanded))
}

/// Beside its value a ± that is not zero never reads as zero.
fn at_least_one(expanded: f64, place: i32) -> String {
    let least = if expanded > 0.0 { 10.0_f64.powi(place) } else { 0.0 };
    at_place(expanded.max(least), place)
}

/// Figures that a value with a ± has at most, however small the ±: our choice. A smaller ± is a
/// unit of the last of them; an analysis taken as exact would give a value seven figures.
const VALUE_FIGURES: i32 = 4;

/// A value and its ±, both ending at the same place; `None` for a value without a ±.
fn both(value: f64, expanded: f64) -> Option<(String, String)> {
    if expanded <= 0.0 || !expanded.is_finite() || !value.is_finite() {
        return None;
    }
    let place = last_place(expanded);
    let finest = place_as_shown(value, VALUE_FIGURES) - (VALUE_FIGURES - 1);
    let step = 10.0_f64.powi(finest);
    if value.abs() > 0.0 && finest > place && expanded < step * 10.0 {
        let expanded = (expanded / step).round().max(1.0) * step;
        return Some((at_place(value, finest), at_place(expanded, finest)));
    }
    Some((at_place(value, place), at_least_one(expanded, place)))
}

/// A value with its ±, both ending at the same place: `262.1 ± 8.3`, `910 ± 220`. A value that is exact
/// has three figures and no ±.
#[must_use]
pub fn with_plus_minus(value: f64, expanded: f64) -> String {
    both(value, expanded)
        .map_or_else(|| three_figures(value), |(value, expanded)| format!("{value} ± {expanded}"))
}

/// A value cut where its ± ends; with three figures where it has none.
#[must_use]
pub fn beside_plus_minus(value: f64, expanded: Option<f64>) -> String {
    expanded.and_then(|e| both(value, e)).map_or_else(|| three_figures(value), |(value, _)| value)
}

/// The ± of a value that stands beside it.
#[must_use]
pub fn plus_minus_of(value: f64, expanded: f64) -> String {
    both(value, expanded).map_or_else(|| plus_minus(expanded), |(_, expanded)| expanded)
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

/// Digits that distinguish every number from its neighbours (IEEE 754 double precision).
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

/// Whether a ± is above a limit as it is shown, with two figures (JCGM 100:2008, 7.2.6): what reads
/// the same is not.
///
/// ```
/// use waterflight::quantities::show::is_above_as_shown;
/// assert!(!is_above_as_shown(1.0004, 1.0));
/// assert!(is_above_as_shown(1.06, 1.0));
/// ```
#[must_use]
pub fn is_above_as_shown(uncertainty: f64, limit: f64) -> bool {
    let shown = fixed(uncertainty, decimals_for(uncertainty, 2, 4));
    shown.parse::<f64>().is_ok_and(|shown| shown > limit)
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

/// How far a ratio is from one, in percent; none where nothing but the arithmetic differs.
///
/// ```
/// use waterflight::quantities::show::percent_off;
/// assert_eq!(percent_off(1.0 + f64::EPSILON), 0.0);
/// assert!((percent_off(1.1) - 10.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn percent_off(ratio: f64) -> f64 {
    /// Our choice: far below any balance, and above what some multiplications leave behind.
    const NOISE: f64 = 1e-12;
    if (ratio - 1.0).abs() <= NOISE { 0.0 } else { 100.0 * (ratio - 1.0) }
}

/// Our choice: a million times finer than anything a bench measures, and coarse enough that what sums
/// and differences of binary fractions leave behind is cut.
const DIGITS_OF_DATA: usize = 12;

/// Powers of ten that are exact as binary fractions.
const POWERS: [f64; 23] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16,
    1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
];

/// A number of data that programs read on: twelve significant digits, so that it reads back as it was
/// but for one part in 10¹², and no digits that are only noise of the arithmetic.
///
/// ```
/// use waterflight::quantities::show::twelve_digits;
/// assert_eq!(twelve_digits(0.1 + 0.2).to_string(), "0.3");
/// assert_eq!(twelve_digits(2.0 / 3.0).to_string(), "0.666666666667");
/// ```
#[must_use]
pub fn twelve_digits(value: f64) -> f64 {
    let size = value.abs();
    if !value.is_finite() || size == 0.0 {
        // A zero has no sign that means anything.
        return if size == 0.0 { 0.0 } else { value };
    }
    // Whole digits of the number, or places behind the point before its first digit.
    let place = |within: &dyn Fn(&f64) -> bool| POWERS.iter().take_while(|p| within(p)).count();
    let (whole, first) = if size >= 1.0 {
        (place(&|power| *power <= size), 0)
    } else {
        (1, place(&|power| *power * size < 1.0))
    };
    // Both the number of digits and the power are exact, so that the quotient is the binary fraction
    // nearest to the decimal one, and is written as that.
    if whole <= DIGITS_OF_DATA {
        if let Some(power) = POWERS.get(DIGITS_OF_DATA - whole + first) {
            return (value * power).round() / power;
        }
    } else if let Some(power) = POWERS.get(whole - DIGITS_OF_DATA).filter(|_| whole < POWERS.len())
    {
        return (value / power).round() * power;
    }
    format!("{value:.*e}", DIGITS_OF_DATA - 1).parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn same(a: f64, b: f64) -> bool {
        a.to_bits() == b.to_bits()
    }

    #[test]
    fn figures_follow_the_magnitude() {
        assert_eq!(three_figures(123.456), "123");
        assert_eq!(three_figures(12.3456), "12.3");
        assert_eq!(three_figures(0.012_345_6), "0.012");
        assert_eq!(four_figures(1.041_27), "1.041");
        // Rounding may bring a figure more before the point.
        assert_eq!(three_figures(99.999_999), "100");
        assert_eq!(three_figures(9.999_6), "10.0");
        assert_eq!(three_figures(99.94), "99.9");
        assert_eq!(four_figures(0.999_99), "1.000");
        assert_eq!(three_figures(0.000_04), "0.000");
        for (value, want) in
            [(0.0, "0.00"), (1e-9, "0.00"), (0.004, "0.004"), (0.0096, "0.01"), (1.2, "1.20")]
        {
            assert_eq!(at_least_a_figure(value, 2), want);
        }
    }

    #[test]
    fn a_plus_minus_has_two_figures_and_its_value_ends_with_it() {
        for (value, expanded, want) in [
            (262.14, 8.31, "262.1 ± 8.3"),
            (911.3, 224.0, "910 ± 220"),
            (0.3393, 0.010_94, "0.339 ± 0.011"),
            (24.61, 0.996, "24.6 ± 1.0"),
            (12_345.0, 996.0, "12300 ± 1000"),
            (0.410_7, 0.002_79, "0.4107 ± 0.0028"),
            (3.1818, 0.000_28, "3.182 ± 0.001"),
            (2.2626, 0.0077, "2.263 ± 0.008"),
            (1.013_12, 0.000_8, "1.013 ± 0.001"),
            (4.0, 99.6, "0 ± 100"),
            (99.999_999_999, 0.006, "100.0 ± 0.1"),
            (100.0, 0.006, "100.0 ± 0.1"),
            (1.0, 0.000_01, "1.000 ± 0.001"),
            (0.5, 0.000_01, "0.5000 ± 0.0001"),
            (5.0, 0.0, "5.00"),
        ] {
            assert_eq!(with_plus_minus(value, expanded), want);
        }
        for (expanded, want) in [(244.9, "240"), (0.081, "0.081"), (1.996, "2.0"), (9.96, "10")] {
            assert_eq!(plus_minus(expanded), want);
        }
    }

    #[test]
    fn a_rounded_zero_has_no_sign() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-0.01, 2), "-0.01");
        assert_eq!(signed(-0.001, |size| fixed(size, 2)), "+0.00");
        assert_eq!(signed(-0.25, |size| fixed(size, 2)), "-0.25");
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
        assert!(same(without_noise(0.350_000_000_000_000_03), 0.35));
        assert!(same(without_noise(1_234.567_89), 1_234.568));
        assert!(same(without_noise(0.000_012_345_67), 0.000_012_345_7));
        assert!(same(without_noise(-0.0), 0.0));
        assert!(without_noise(f64::INFINITY).is_infinite());
    }

    #[test]
    fn data_lose_the_noise_of_binary_fractions() {
        assert!(same(twelve_digits(0.350_000_000_000_000_03), 0.35));
        assert!(same(twelve_digits(1_234.567_89), 1_234.567_89));
        assert!(same(twelve_digits(9.999_999_999_999_6), 10.0));
        assert!(same(twelve_digits(-0.0), 0.0));
        assert!(twelve_digits(f64::INFINITY).is_infinite());
        assert!(twelve_digits(f64::NAN).is_nan());
    }

    /// Of every size there is: written with twelve digits, and read back within half of the last.
    #[test]
    fn data_read_back_as_they_were_within_twelve_digits() {
        let mut bits: u64 = 0x9e37_79b9_7f4a_7c15;
        for case in 0..200_000_u32 {
            // Any number at all, and as many of the sizes of a bench.
            bits = bits.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963);
            let exponent = if case % 2 == 0 { bits >> 52 & 0x7ff } else { 1023 - 20 + bits % 40 };
            let value = f64::from_bits(exponent << 52 | bits >> 12);
            if !value.is_finite() {
                continue;
            }
            let cut = twelve_digits(value);
            assert!(
                (cut - value).abs() <= 5.000_1e-12 * value.abs() || value < 1e-307,
                "{value:e}"
            );
            let written = format!("{cut:e}");
            let digits = written.split('e').next().unwrap_or_default().replace('.', "");
            assert!(digits.len() <= 12 || value < 1e-307, "{value:e} is written {written}");
            assert!(
                same(twelve_digits(cut), cut) && same(twelve_digits(-value), -cut),
                "{value:e}"
            );
        }
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
