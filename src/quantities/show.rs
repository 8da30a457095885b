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
    fn plain_numbers_lose_their_trailing_zeros() {
        assert_eq!(plain(70.0), "70");
        assert_eq!(plain(0.25), "0.25");
        assert_eq!(plain(3.000_000_1), "3");
    }
}
