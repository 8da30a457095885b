use super::*;

fn base(text: &str) -> f64 {
    Quantity::parse(text).map_or(f64::NAN, Quantity::to_base)
}

#[test]
fn spelling_is_tolerant() {
    for text in ["70 mg/L as CaCO3", "70mg/l as caco3", "70 MG/L CaCO₃", "70 mg CaCO3/L"] {
        assert_eq!(Quantity::parse(text).map(|q| q.unit), Ok(Unit::MgPerLAsCaCo3), "{text}");
    }
    for text in ["3 °dH", "3dH", "3 degdH", "3 º dH"] {
        assert_eq!(Quantity::parse(text).map(|q| q.unit), Ok(Unit::GermanDegree), "{text}");
    }
    assert_eq!(Quantity::parse("2 °e").map(|q| q.unit), Ok(Unit::EnglishDegree));
    assert_eq!(Quantity::parse("2e").map(|q| q.unit), Ok(Unit::EnglishDegree));
    assert!((base("2e-1 g") - 0.2).abs() < 1e-15);
    assert!((base("−4 °C") + 4.0).abs() < 1e-15);
}

/// Conversion factors to mg/L as CaCO3 as handbooks print them: 1 °dH = 17.85, 1 °fH = 10,
/// 1 °e = 14.25, 1 gpg = 17.12 (water-analysis tables, from memory).
#[test]
fn degrees_of_hardness_agree_with_printed_tables() {
    let as_caco3 = |text: &str| base(text) / Unit::MgPerLAsCaCo3.factor();
    assert!((as_caco3("1 °dH") - 17.85).abs() < 0.01);
    assert!((as_caco3("1 °fH") - 10.0).abs() < 1e-9);
    assert!((as_caco3("1 °e") - 14.25).abs() < 0.01);
    assert!((as_caco3("1 gpg") - 17.12).abs() < 0.01);
}

#[test]
fn every_symbol_reads_back_as_its_unit() {
    for unit in Unit::ALL {
        assert_eq!(Unit::parse(unit.symbol()), Ok(*unit));
    }
}

#[test]
fn no_spelling_belongs_to_two_units() {
    for a in Unit::ALL {
        for b in Unit::ALL.iter().filter(|b| *b != a) {
            assert!(!a.spellings().iter().any(|s| b.spellings().contains(s)), "{a:?} {b:?}");
        }
    }
}

#[test]
fn mistakes_are_told_apart() {
    assert!(matches!(Quantity::parse("12"), Err(QuantityError::NoUnit { .. })));
    assert!(matches!(Quantity::parse("a lot"), Err(QuantityError::NoNumber { .. })));
    assert!(matches!(Quantity::parse(""), Err(QuantityError::NoNumber { .. })));
    assert!((base("1,5 g") - 1.5).abs() < 1e-12);
    assert!((base("0,125 g") - 0.125).abs() < 1e-12);
    for twofold in ["1,234 g", "1,5,2 g", "1.234,5 g", "1,234,567 g", "1,234.5 g"] {
        assert!(matches!(Quantity::parse(twofold), Err(QuantityError::Comma { .. })), "{twofold}");
    }
    let two = Quantity::parse("1,234 g").map_err(|error| error.to_string());
    assert_eq!(two, Err("`1,234 g` can be read in two ways: 1234 or 1.234".to_owned()));
    assert_eq!(with_decimal_points("3,5, weight 2,25").as_deref(), Ok("3.5, weight 2.25"));
    assert!(with_decimal_points("at most 1,234 mg/L").is_err());
    assert!(matches!(Quantity::parse("1e999 g"), Err(QuantityError::NotFinite { .. })));
    assert!(matches!(
        Quantity::parse_as("3 mL", &[Dimension::Mass]),
        Err(QuantityError::WrongDimension { .. })
    ));
    assert!(matches!(
        Quantity::parse_as("-3 g", &[Dimension::Mass]),
        Err(QuantityError::Negative { .. })
    ));
}
