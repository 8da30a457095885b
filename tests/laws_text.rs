//! No text that a person may write makes the program panic, and what it prints reads back.

use proptest::prelude::*;
use waterflight::chemistry::Formula;
use waterflight::flight::Goal;
use waterflight::quantities::{Quantity, Unit};
use waterflight::water::Measure;

proptest! {
    #![proptest_config(crate::common::cases(2000))]

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,40}") {
        let _ = Formula::parse(&text);
        let _ = Quantity::parse(&text);
        for measure in Measure::ALL {
            let _ = Goal::parse(measure, &text);
        }
        let _ = Goal::parse_ratio(Measure::Calcium, Measure::Magnesium, &text);
    }

    #[test]
    fn near_misses_are_read_or_refused(
        text in "(at most |at least |between |near )?[0-9.,eE+−-]{0,8} ?(and |to )?[0-9.]{0,5} ?(mg/L|°dH|meq/L|%|g)?( ?± ?[0-9]{0,3} ?%?)?(, (weight|tolerance) [0-9a-z.]{0,4})?"
    ) {
        for measure in Measure::ALL {
            if let Ok(goal) = Goal::parse(measure, &text) {
                prop_assert!(goal.weight > 0.0 && goal.tolerance >= 0.0 && goal.miss_unit > 0.0);
                prop_assert!(goal.band.low() <= goal.band.high());
            }
        }
    }

    #[test]
    fn a_printed_quantity_reads_back(value in 0.001..100_000.0_f64, at in 0..Unit::ALL.len()) {
        let Some(unit) = Unit::ALL.get(at).copied() else { return Ok(()) };
        let printed = Quantity { value, unit }.to_string();
        let read = Quantity::parse(&printed).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(read.unit, unit);
        prop_assert!((read.value / value - 1.0).abs() < 1e-5, "{} for {}", read.value, value);
    }

    #[test]
    fn a_printed_formula_reads_back(
        cations in proptest::sample::select(vec!["Ca", "Mg", "Na", "K"]),
        n in 1..4_u32,
        anion in proptest::sample::select(vec!["Cl", "SO4", "NO3", "HCO3", "(C3H5O3)"]),
        k in 1..4_u32,
        waters in 0..12_u32,
    ) {
        let text = format!("{cations}{n}{anion}{k}·{waters}H2O");
        let text = if waters == 0 { format!("{cations}{n}({anion}){k}") } else { text };
        if let Ok(formula) = Formula::parse(&text) {
            let again = Formula::parse(&formula.to_string())
                .map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert!(formula.same_compound(&again), "{} read back as {}", formula, again);
        }
    }
}
