//! Amounts in fractions, as kitchens write them: `1/2 US gal`, `1 1/2 L`, `½ L`.

/// `½`, `1/2` or `1 1/2` before what follows; nothing where no whole numbers stand around the stroke.
pub(super) fn leading_fraction(text: &str) -> Option<(f64, &str)> {
    const OF_ONE: [(char, f64); 5] =
        [('½', 1.0 / 2.0), ('¼', 1.0 / 4.0), ('¾', 3.0 / 4.0), ('⅓', 1.0 / 3.0), ('⅔', 2.0 / 3.0)];
    let digits =
        |text: &str| text.len() - text.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    let number = |text: &str| text.parse::<f64>().ok();
    let (first, rest) = text.split_at_checked(digits(text))?;
    let fraction = rest.trim_start();
    if let Some((sign, value)) = OF_ONE.iter().find(|(sign, _)| fraction.starts_with(*sign)) {
        let whole = if first.is_empty() { 0.0 } else { number(first)? };
        return Some((whole + value, fraction.get(sign.len_utf8()..)?.trim()));
    }
    let (whole, top, rest) = if let Some(below) = rest.strip_prefix('/') {
        ("0", first, below)
    } else {
        let (top, below) = fraction.split_at_checked(digits(fraction))?;
        (first, top, below.strip_prefix('/')?)
    };
    let (bottom, rest) = rest.split_at_checked(digits(rest))?;
    let bottom = number(bottom).filter(|bottom| *bottom > 0.0)?;
    Some((number(whole)? + number(top)? / bottom, rest.trim()))
}

#[cfg(test)]
mod tests {
    use crate::quantities::Quantity;

    #[test]
    fn a_fraction_is_a_number_before_a_unit_alone() {
        let base = |text: &str| Quantity::parse(text).map(Quantity::to_base).ok();
        for (text, ml) in [
            ("1/2 L", 500.0),
            ("½ L", 500.0),
            ("1 1/2 L", 1500.0),
            ("1½ L", 1500.0),
            ("3/4L", 750.0),
        ] {
            assert!(base(text).is_some_and(|found| (found - ml).abs() < 1e-9), "{text}");
        }
        for text in
            ["1/2", "½", "1/0 L", "1/ L", "/2 L", "1//2 L", "1/2/3 L", "-1/2 L", "1.5/2 L", "½½ L"]
        {
            assert_eq!(base(text), None, "{text}");
        }
        // What stands behind a stroke may be a unit.
        assert!(base("5 mL/L").is_some());
    }
}
