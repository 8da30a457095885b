//! Laws that every water obeys: what goes in is there, acid lowers the pH, nothing is ever NaN.

use proptest::prelude::*;

use waterflight::assessment::{BoilerSettings, Dose, Lab, Poured};
use waterflight::chemistry::Conductor;
use waterflight::chemistry::{
    Aqueous, Carbon, ChemistryError, Composition, Conserved, Mineral, Species,
};
use waterflight::quantities::Celsius;
use waterflight::water::{Meter, MeterSettings};

/// An amount in mmol/L: none, ordinary, or anything down to the smallest double.
fn amount() -> impl Strategy<Value = f64> {
    prop_oneof![
        3 => Just(0.0),
        6 => (-6.0..2.3_f64).prop_map(|exponent| 10.0_f64.powf(exponent)),
        1 => (-320.0..0.0_f64).prop_map(|exponent| 10.0_f64.powf(exponent)),
    ]
}

/// Any water at all, charges balanced or not, alkalinity of either sign.
fn any_water() -> impl Strategy<Value = Composition> {
    (prop::array::uniform12(amount()), any::<bool>(), any::<bool>()).prop_map(
        |(amounts, sour, organic)| {
            let mut water = Composition::PURE_WATER;
            for (total, mmol) in Conserved::ALL.into_iter().zip(amounts) {
                let is_organic = matches!(total, Conserved::Lactate | Conserved::Citrate);
                let sign = if sour && total == Conserved::Alkalinity { -1.0 } else { 1.0 };
                if organic || !is_organic {
                    water.set_mmol_per_l(total, sign * mmol);
                }
            }
            water
        },
    )
}

/// A water as people drink and brew with, charges balanced by chloride.
fn brewing_water() -> impl Strategy<Value = Composition> {
    (0.02..4.0_f64, 0.01..3.0_f64, 0.05..6.0_f64, 0.01..2.0_f64, 0.0..1.0_f64, 0.0..1.0_f64)
        .prop_map(|(ca, mg, na, k, alkaline, sulfate)| {
            let cations = 2.0 * ca + 2.0 * mg + na + k;
            let alkalinity = 0.98 * cations * alkaline;
            let rest = cations - alkalinity;
            let mut water = Composition::PURE_WATER;
            for (total, mmol) in [
                (Conserved::Ca, ca),
                (Conserved::Mg, mg),
                (Conserved::Na, na),
                (Conserved::K, k),
                (Conserved::Alkalinity, alkalinity),
                (Conserved::Dic, alkalinity),
                (Conserved::SO4, 0.5 * sulfate * rest),
                (Conserved::Cl, (1.0 - sulfate) * rest),
            ] {
                water.set_mmol_per_l(total, mmol);
            }
            water
        })
}

fn any_carbon() -> impl Strategy<Value = Carbon> {
    prop_oneof![
        Just(Carbon::Closed),
        (-9.0..1.0_f64).prop_map(|exponent| Carbon::Open { co2_atm: 10.0_f64.powf(exponent) }),
    ]
}

fn constants(celsius: f64) -> Result<Aqueous, TestCaseError> {
    Aqueous::at(Celsius::new(celsius)).map_err(|e| TestCaseError::fail(e.to_string()))
}

/// Which conserved totals a species holds, per mole, as its formula says.
fn holds(species: Species) -> Vec<(Conserved, f64)> {
    let name = species.name();
    let mut held = Vec::new();
    let twice = name.contains("(SO4)2") || name.contains("(CO2)2");
    let count = if twice { 2.0 } else { 1.0 };
    for (fragment, total) in [
        ("Ca", Conserved::Ca),
        ("Mg", Conserved::Mg),
        ("Na", Conserved::Na),
        ("K", Conserved::K),
        ("Cl", Conserved::Cl),
        ("NO3", Conserved::NO3),
        ("Lac", Conserved::Lactate),
        ("Cit", Conserved::Citrate),
    ] {
        if name.contains(fragment) {
            held.push((total, 1.0));
        }
    }
    if name.contains("SiO4") {
        held.push((Conserved::SiO2, 1.0));
    } else if name.contains("SO4") {
        held.push((Conserved::SO4, count));
    } else if name.contains("CO2") || name.contains("CO3") {
        held.push((Conserved::Dic, count));
    }
    held
}

proptest! {
    #![proptest_config(crate::common::cases(256))]

    /// Any water gets an answer or a typed error, and every number in the answer is one.
    #[test]
    fn no_water_brings_a_panic_or_a_nan(
        water in any_water(),
        carbon in any_carbon(),
        celsius in 0.0..130.0_f64,
    ) {
        let aqueous = constants(celsius)?;
        match aqueous.speciate(&water, carbon) {
            Ok(species) => {
                prop_assert!(species.ph().is_finite());
                prop_assert!(species.ionic_strength_mol_per_kg().is_finite());
                prop_assert!(species.co2_atm() >= 0.0);
                for one in Species::ALL {
                    let mmol = species.mmol_per_kg(one);
                    prop_assert!(mmol >= 0.0 && mmol.is_finite(), "{} {mmol}", one.name());
                }
                for mineral in Mineral::ALL {
                    prop_assert!(species.si(mineral).is_none_or(f64::is_finite));
                }
                let conductivity = Conductor::at(&aqueous).conductivity(&species);
                prop_assert!(conductivity.us_per_cm >= 0.0 && conductivity.us_per_cm.is_finite());
                match species.ccpp() {
                    Ok(ccpp) => prop_assert!(ccpp.mmol_per_kg.is_finite()),
                    Err(e) => prop_assert!(matches!(e, ChemistryError::TooStrong { .. }), "{e}"),
                }
            }
            Err(e) => prop_assert!(matches!(e, ChemistryError::TooStrong { .. }), "{e}"),
        }
    }

    /// Up to an ionic strength of 0.5 there is an answer, not only a typed error.
    #[test]
    fn a_water_below_half_a_mole_has_an_answer(
        water in any_water(),
        carbon in any_carbon(),
        celsius in 0.0..130.0_f64,
    ) {
        let charges: f64 = Conserved::ALL
            .into_iter()
            .map(|c| water.mmol_per_l(c).abs() * f64::from(c.charge() * c.charge()))
            .sum();
        // Alkalinity may stand as carbonate, with twice the charge on half the ions.
        let strongest = charges + water.mmol_per_l(Conserved::Alkalinity).abs();
        prop_assume!(0.5e-3 * strongest <= 0.5);
        let aqueous = constants(celsius)?;
        let answer = aqueous.speciate(&water, carbon);
        prop_assert!(answer.is_ok(), "{:?}", answer.err());
    }

    /// Every total is found again in the species, to 1e-9 of what is there; so is the alkalinity,
    /// and with it the charge.
    #[test]
    fn mass_and_charge_are_kept(
        water in any_water(),
        carbon in any_carbon(),
        celsius in 0.0..130.0_f64,
    ) {
        let aqueous = constants(celsius)?;
        let Ok(species) = aqueous.speciate(&water, carbon) else { return Ok(()) };
        let mut found = Composition::PURE_WATER;
        for one in Species::ALL {
            for (total, count) in holds(one) {
                found.add_mmol_per_l(total, count * species.mmol_per_kg(one));
            }
        }
        // Less than 1e-12 mmol/L counts as nothing.
        let close = |got: f64, want: f64, scale: f64| (got - want).abs() <= 1e-9 * scale + 1e-12;
        for total in Conserved::ALL {
            let (got, want) = (found.mmol_per_l(total), water.mmol_per_l(total));
            let given = total != Conserved::Alkalinity
                && (total != Conserved::Dic || carbon == Carbon::Closed);
            if given {
                prop_assert!(close(got, want, want), "{} {got} {want}", total.key());
            }
        }
        let scale = water.cations_meq_per_l()
            + water.anions_meq_per_l().abs()
            + species.carbon_mmol_per_kg()
            + species.mmol_per_kg(Species::H)
            + species.mmol_per_kg(Species::OH);
        let alkalinity = species.alkalinity_meq_per_kg();
        prop_assert!(close(alkalinity, water.mmol_per_l(Conserved::Alkalinity), scale));
        let excess = water.cations_meq_per_l() - water.anions_meq_per_l();
        let charge = Species::ALL.iter().map(|s| f64::from(s.charge()) * species.mmol_per_kg(*s));
        prop_assert!(close(charge.sum(), excess, scale));
        prop_assert!(close(species.carbon_mmol_per_kg(), found.mmol_per_l(Conserved::Dic), scale));
    }

    /// More carbon dioxide outside, lower pH; more carbon inside, lower pH; more alkalinity,
    /// higher pH.
    #[test]
    fn ph_answers_in_the_right_direction(
        water in brewing_water(),
        celsius in 0.0..130.0_f64,
        co2 in -8.0..0.5_f64,
        more in 1.01..3.0_f64,
    ) {
        let aqueous = constants(celsius)?;
        let ph = |water: &Composition, carbon| {
            let species = aqueous.speciate(water, carbon);
            species.map(|s| s.ph()).map_err(|e| TestCaseError::fail(e.to_string()))
        };
        let open = |factor: f64| Carbon::Open { co2_atm: factor * 10.0_f64.powf(co2) };
        prop_assert!(ph(&water, open(more))? < ph(&water, open(1.0))?);
        let mut with_carbon = water;
        with_carbon.add_mmol_per_l(Conserved::Dic, 0.1 * more);
        prop_assert!(ph(&with_carbon, Carbon::Closed)? < ph(&water, Carbon::Closed)?);
        let mut with_base = water;
        with_base.add_mmol_per_l(Conserved::Alkalinity, 0.01 * more);
        with_base.add_mmol_per_l(Conserved::Na, 0.01 * more);
        prop_assert!(ph(&with_base, Carbon::Closed)? > ph(&water, Carbon::Closed)?);
        prop_assert!(ph(&with_base, open(1.0))? > ph(&water, open(1.0))?);
    }

    /// A water from which its CCPP has been taken is in equilibrium with calcite.
    #[test]
    fn the_water_less_its_potential_is_saturated(
        water in brewing_water(),
        celsius in 0.0..130.0_f64,
        open in any::<bool>(),
    ) {
        let aqueous = constants(celsius)?;
        let carbon = if open { Carbon::AIR } else { Carbon::Closed };
        let species = aqueous.speciate(&water, carbon);
        let species = species.map_err(|e| TestCaseError::fail(e.to_string()))?;
        let ccpp = species.ccpp().map_err(|e| TestCaseError::fail(e.to_string()))?;
        let rest = Mineral::Calcite.taken_from(&water, ccpp.mmol_per_kg);
        let rest = aqueous.speciate(&rest, carbon);
        let rest = rest.map_err(|e| TestCaseError::fail(e.to_string()))?;
        let si = rest.si(Mineral::Calcite).unwrap_or(f64::NAN);
        prop_assert!(si.abs() < 1e-4, "{si} after {}", ccpp.mmol_per_kg);
    }

    /// What drops leaves a water in which nothing is oversaturated, and what has dropped is in
    /// equilibrium.
    #[test]
    fn what_drops_leaves_nothing_oversaturated(
        water in brewing_water(),
        times in 1.0..60.0_f64,
        celsius in 0.0..130.0_f64,
        open in any::<bool>(),
    ) {
        let aqueous = constants(celsius)?;
        let carbon = if open { Carbon::AIR } else { Carbon::Closed };
        let strong = water * times;
        let dropped = match aqueous.precipitate(&strong, carbon, &Mineral::ALL) {
            Ok(dropped) => dropped,
            Err(e) => {
                prop_assert!(matches!(e, ChemistryError::TooStrong { .. }), "{e}");
                return Ok(());
            }
        };
        let mut rest = strong;
        for mineral in Mineral::ALL {
            let amount = dropped.mmol_per_kg(mineral);
            prop_assert!(amount >= 0.0);
            rest = mineral.taken_from(&rest, amount);
            let Some(si) = dropped.rest.si(mineral) else { continue };
            prop_assert!(si < 1e-6, "{} {si}", mineral.key());
            if amount > 0.0 {
                prop_assert!(si.abs() < 1e-6, "{} {si}", mineral.key());
            }
        }
        // The rest is that water, computed afresh.
        let again = aqueous.speciate(&rest, carbon);
        let again = again.map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert!((again.ph() - dropped.rest.ph()).abs() < 1e-5);
    }

    /// A pH measured in a closed water leads back to its carbon.
    #[test]
    fn carbon_follows_from_the_ph(water in brewing_water(), share in 0.9..3.0_f64) {
        let aqueous = constants(20.0)?;
        let mut true_water = water;
        true_water.set_mmol_per_l(Conserved::Dic, share * water.mmol_per_l(Conserved::Dic) + 1e-3);
        let species = aqueous.speciate(&true_water, Carbon::Closed);
        let ph = species.map_err(|e| TestCaseError::fail(e.to_string()))?.ph();
        let found = aqueous.explain_ph(&water, ph);
        let found = found.map_err(|e| TestCaseError::fail(e.to_string()))?.carbon_mmol_per_l;
        let want = true_water.mmol_per_l(Conserved::Dic);
        prop_assert!((found / want - 1.0).abs() < 1e-6, "{found} {want}");
    }

    /// Conductivity rises with every salt added to an ordinary water.
    #[test]
    fn salt_raises_conductivity(water in brewing_water(), celsius in 0.0..60.0_f64) {
        let aqueous = constants(celsius)?;
        let conductor = Conductor::at(&aqueous);
        let read = |water: &Composition| {
            let species = aqueous.speciate(water, Carbon::Closed);
            species
                .map(|s| conductor.conductivity(&s).us_per_cm)
                .map_err(|e| TestCaseError::fail(e.to_string()))
        };
        let plain = read(&water)?;
        for (cation, anion) in [(Conserved::Na, Conserved::Cl), (Conserved::K, Conserved::NO3)] {
            let mut salted = water;
            salted.add_mmol_per_l(cation, 0.05);
            salted.add_mmol_per_l(anion, 0.05);
            prop_assert!(read(&salted)? > plain);
        }
    }

    /// The reports stand whatever water they are asked about.
    #[test]
    fn reports_survive_any_water(water in any_water(), read in 0.0..5000.0_f64) {
        let lab = Lab::new(BoilerSettings::default());
        let lab = lab.map_err(|e| TestCaseError::fail(e.to_string()))?;
        let finite = |x: f64| x.is_finite();
        if let Ok(report) = lab.water_report("any", &water) {
            prop_assert!(report.reports.iter().all(|r| finite(r.ph) && finite(r.ccpp_mg_per_l_caco3)));
            prop_assert!(serde_json::to_string(&report).is_ok());
        }
        if let Ok(clouding) = lab.clouding(&water) {
            prop_assert!(clouding.solids.iter().all(|s| finite(s.mg_per_l) && s.mg_per_l > 0.0));
        }
        let rows = lab.guidelines(&water);
        prop_assert!(rows.is_ok_and(|rows| rows.iter().all(|r| r.value.is_some_and(finite))) || !fits(&water));
        let meter = Meter::new(MeterSettings::default());
        let meter = meter.map_err(|e| TestCaseError::fail(e.to_string()))?;
        let dose = Dose { stock: "one".into(), ml_per_l: 2.0, per_ml: water * 0.01, measured_out: 0.0 };
        let poured = Poured { base: water, ..Poured::in_distilled(vec![dose]) };
        if let Ok(verdict) = meter.judge(read, &poured) {
            prop_assert!(finite(verdict.off_in_standard_uncertainties) && verdict.uncertainty > 0.0);
        }
    }
}

/// Whether a water is one that the activity model answers for.
fn fits(water: &Composition) -> bool {
    Aqueous::at(Celsius::new(25.0)).is_ok_and(|a| a.speciate(water, Carbon::Closed).is_ok())
}
