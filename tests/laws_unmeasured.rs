//! What must hold of every analysis, whatever it lists and leaves out.

use proptest::prelude::*;
use waterflight::assessment::{BoilerSettings, Lab, Unknowns};
use waterflight::chemistry::{Composition, Conserved};
use waterflight::quantities::Fraction;
use waterflight::water::{
    Amount, Analysis, BalanceVerdict, BaseWater, ChargeBalance, Measure, NotListed,
};
use waterflight::water::{Meter, MeterSettings};

/// Any amount, from traces to brine.
fn amount() -> impl Strategy<Value = Amount> {
    (-6.0..4.0_f64, 0..5_u8).prop_map(|(magnitude, kind)| {
        let meq = 10.0_f64.powf(magnitude);
        match kind {
            0 => Amount::Below(meq),
            1 => Amount::Assumed(meq),
            2 => Amount::Measured(0.0),
            _ => Amount::Measured(meq),
        }
    })
}

fn analyses() -> impl Strategy<Value = Analysis> {
    let measures = proptest::sample::subsequence(Measure::ALL.to_vec(), 0..=Measure::ALL.len());
    let amounts = proptest::collection::vec(amount(), Measure::ALL.len());
    let ph = proptest::option::of(0.0..14.0_f64);
    let us_per_cm = proptest::option::of((0.0..4.3_f64).prop_map(|m| 10.0_f64.powf(m)));
    (measures, amounts, ph, us_per_cm, 0.0..0.9_f64, any::<bool>()).prop_map(
        |(measures, amounts, ph, us_per_cm, within, zero)| Analysis {
            not_listed: if zero { NotListed::Zero } else { NotListed::NotMeasured },
            ph,
            us_per_cm,
            within: Fraction::new(within),
            ..Analysis::new("any".to_owned(), measures.into_iter().zip(amounts).collect())
        },
    )
}

/// An ordinary analysis: some ions of a drinking water.
fn ordinary() -> impl Strategy<Value = BaseWater> {
    let ions = [
        Measure::Calcium,
        Measure::Magnesium,
        Measure::Sodium,
        Measure::Potassium,
        Measure::Chloride,
        Measure::Sulfate,
        Measure::Nitrate,
        Measure::Silica,
        Measure::Alkalinity,
    ];
    let listed = proptest::sample::subsequence(ions.to_vec(), 0..=ions.len());
    let amounts = proptest::collection::vec(0.01..4.0_f64, ions.len());
    (listed, amounts, proptest::option::of(80.0..1500.0_f64)).prop_filter_map(
        "no contradiction",
        |(listed, amounts, us_per_cm)| {
            let amounts = listed.into_iter().zip(amounts);
            let amounts = amounts.map(|(m, meq)| (m, Amount::Measured(meq))).collect();
            Analysis { us_per_cm, ..Analysis::new("tap".to_owned(), amounts) }.water().ok()
        },
    )
}

/// Bounds hold the estimate, and both extremes are within them where these bound at all.
fn sound(water: &Composition) -> Result<(), TestCaseError> {
    for c in Conserved::ALL {
        let here = water.mmol_per_l(c);
        let between = water.bounds_mmol_per_l(c);
        prop_assert!(here.is_finite() && here >= 0.0, "{c:?} {here}");
        let rounding = 1e-9 * here.max(1.0);
        prop_assert!(between.at_least >= 0.0 && between.at_least <= here + rounding);
        prop_assert!(between.at_most.is_none_or(|most| most >= here - rounding), "{between:?}");
        if water.is_measured(c) {
            prop_assert!(between.at_most.is_some());
        }
        for extreme in water.extremes().iter().flatten() {
            let there = extreme.mmol_per_l(c);
            prop_assert!(there.is_finite() && there >= 0.0);
            prop_assert!(extreme.not_measured().is_empty());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(crate::common::cases(300))]

    /// Whatever stands in the file: a water or a typed error, and reports without a number that is
    /// none.
    #[test]
    fn every_analysis_is_a_water_or_an_error(analysis in analyses()) {
        let Ok(water) = analysis.water() else { return Ok(()) };
        sound(&water.composition)?;
        let lab = Lab::new(BoilerSettings::default());
        let lab = lab.map_err(|e| TestCaseError::fail(e.to_string()))?;
        if let Ok(report) = lab.water_report("any", &water.composition) {
            let known = water.composition.is_measured(Conserved::Ca)
                && water.composition.is_measured(Conserved::Alkalinity);
            prop_assert_eq!(report.reports.is_empty(), !known);
            prop_assert!(report.reports.iter().all(|r| r.ph.is_finite()));
            let hints = report.corrosion;
            prop_assert!(hints.all().iter().all(|h| h.withheld.is_none() || h.value.is_none()));
            for (hint, needed) in [(&hints.chloride, Conserved::Cl), (&hints.buffer, Conserved::Alkalinity)] {
                prop_assert_eq!(hint.value.is_some(), water.composition.is_measured(needed));
            }
        }
        let keys = Unknowns::of(&water.composition).not_measured;
        prop_assert_eq!(keys.is_empty(), water.composition.not_measured().is_empty());
        prop_assert!(analysis.not_listed == NotListed::NotMeasured || keys.is_empty());
        let balance = ChargeBalance::of(&water.composition);
        let none = |ions: [Conserved; 3]| !ions.iter().any(|c| water.composition.is_measured(*c));
        let cations = none([Conserved::Ca, Conserved::Mg, Conserved::Na]);
        let anions = none([Conserved::Cl, Conserved::SO4, Conserved::Alkalinity]);
        if cations != anions {
            prop_assert_eq!(balance.verdict(), BalanceVerdict::Fails);
        }
        prop_assert!(!(cations && anions && balance.passes()));
    }

    /// What is unknown of a blend is what is unknown of its parts, each by its share; a part of
    /// nothing leaves nothing; and to add what is known changes no width.
    #[test]
    fn the_unknown_mixes_linearly(a in ordinary(), b in ordinary(), share in 0.05..0.95_f64) {
        let (a, b) = (a.composition, b.composition);
        let blend = a * share + b * (1.0 - share);
        sound(&blend)?;
        for c in Conserved::ALL {
            prop_assert_eq!(blend.is_measured(c), a.is_measured(c) && b.is_measured(c));
            let (of_a, of_b) = (a.bounds_mmol_per_l(c), b.bounds_mmol_per_l(c));
            let between = blend.bounds_mmol_per_l(c);
            let sum = share * of_a.at_least + (1.0 - share) * of_b.at_least;
            prop_assert!((between.at_least - sum).abs() < 1e-9, "{c:?} {between:?} {sum}");
            let most = of_a.at_most.zip(of_b.at_most).map(|(x, y)| share * x + (1.0 - share) * y);
            prop_assert_eq!(between.at_most.is_some(), most.is_some());
            let (got, want) = (between.at_most.unwrap_or_default(), most.unwrap_or_default());
            prop_assert!((got - want).abs() < 1e-9, "{c:?} {got} {want}");
        }
        prop_assert_eq!(a * 0.0 + Composition::PURE_WATER, Composition::PURE_WATER);
        let mut salt = Composition::PURE_WATER;
        salt.set_mmol_per_l(Conserved::Na, 1.0);
        salt.set_mmol_per_l(Conserved::Cl, 1.0);
        let dosed = (a + salt).bounds_mmol_per_l(Conserved::Cl);
        let plain = a.bounds_mmol_per_l(Conserved::Cl);
        prop_assert!((dosed.at_least - plain.at_least - 1.0).abs() < 1e-9);
    }

    /// Less known is never more certain: without an ion the ± of the conductivity is no smaller,
    /// and a reading of the meter is wider by it.
    #[test]
    fn a_gap_widens_the_conductivity(tap in ordinary()) {
        let meter = Meter::new(MeterSettings::default());
        let meter = meter.map_err(|e| TestCaseError::fail(e.to_string()))?;
        let mut known = Composition::PURE_WATER;
        for c in Conserved::ALL {
            known.set_mmol_per_l(c, tap.composition.mmol_per_l(c));
        }
        let read = |water: &Composition| {
            meter.reading(water).map_err(|e| TestCaseError::fail(e.to_string()))
        };
        let (open, closed) = (read(&tap.composition)?, read(&known)?);
        prop_assert!((open.us_per_cm_25 - closed.us_per_cm_25).abs() < 1e-9);
        prop_assert!(open.us_per_cm_25_uncertainty >= closed.us_per_cm_25_uncertainty - 1e-12);
        prop_assert_eq!(open.us_per_cm_25_between.is_some(), tap.composition.lacks_ions());
        if let Some([low, high]) = open.us_per_cm_25_between {
            prop_assert!(low <= open.us_per_cm_25 && open.us_per_cm_25 <= high);
            // Two standard uncertainties reach either end.
            let reach = 2.0 * open.us_per_cm_25_uncertainty;
            prop_assert!(high - open.us_per_cm_25 <= reach && open.us_per_cm_25 - low <= reach);
        }
    }
}
