//! The reports of a water, each against what can be worked out by hand or by another road.
//!
//! Above 400 lines: one test for each part of a report, on the same few waters.

use std::error::Error;

use waterflight::assessment::Outlook;
use waterflight::assessment::{BoilerSettings, Dose, Lab, Onset, Poured, Slip, State, read_text};
use waterflight::chemistry::{Aqueous, CalciteConstant, Carbon, Composition, Conserved, Mineral};
use waterflight::flight::Convention;
use waterflight::quantities::Celsius;
use waterflight::water::{Compensation, Meter, MeterScale, MeterSettings};

type Fallible = Result<(), Box<dyn Error>>;

fn water(amounts: &[(Conserved, f64)]) -> Composition {
    let mut water = Composition::PURE_WATER;
    for (total, mmol) in amounts {
        water.add_mmol_per_l(*total, *mmol);
    }
    water
}

/// Calcium, magnesium and sodium with bicarbonate, sulfate and chloride.
fn typical() -> Composition {
    water(&[
        (Conserved::Ca, 1.2),
        (Conserved::Mg, 0.6),
        (Conserved::Na, 0.8),
        (Conserved::Alkalinity, 1.0),
        (Conserved::Dic, 1.0),
        (Conserved::SO4, 0.9),
        (Conserved::Cl, 1.6),
    ])
}

fn soft() -> Composition {
    typical() * 0.04
}

fn lab() -> Result<Lab, Box<dyn Error>> {
    Ok(Lab::new(BoilerSettings::default())?)
}

#[test]
fn every_temperature_and_state_is_reported_once() -> Fallible {
    let report = lab()?.water_report("typical", &typical())?;
    for celsius in [25.0, 93.0, 125.0] {
        for state in State::ALL {
            let rows = report.reports.iter();
            let found = rows.filter(|r| (r.celsius - celsius).abs() < 1e-9 && r.state == state);
            assert_eq!(found.count(), 1, "{celsius} {}", state.label());
        }
    }
    Ok(())
}

#[test]
fn json_carries_the_promised_keys() -> Fallible {
    let json = serde_json::to_value(lab()?.water_report("typical", &typical())?)?;
    let first = json.pointer("/reports/0").ok_or("no report")?;
    for key in [
        "celsius",
        "state",
        "ph",
        "ionic_strength_mol_per_l",
        "conductivity_us_per_cm",
        "si",
        "ccpp_mg_per_l_caco3",
    ] {
        assert!(first.get(key).is_some(), "{key}");
    }
    assert_eq!(first.get("state").and_then(|s| s.as_str()), Some("closed"));
    for mineral in ["calcite", "aragonite", "gypsum", "anhydrite", "brucite"] {
        assert!(first.pointer(&format!("/si/{mineral}")).is_some_and(serde_json::Value::is_f64));
    }
    let soda = water(&[(Conserved::Na, 1.0), (Conserved::Alkalinity, 1.0), (Conserved::Dic, 1.0)]);
    let json = serde_json::to_value(lab()?.water_report("soda", &soda)?)?;
    assert!(json.pointer("/reports/0/si/calcite").is_some_and(serde_json::Value::is_null));
    Ok(())
}

/// By how much the two published calcite constants differ, worked out from the two formulae.
#[test]
fn boiler_indices_carry_the_spread_of_the_calcite_constants() -> Fallible {
    for (celsius, spread) in [(25.0, 0.0), (60.0, 0.12), (93.0, 0.30), (125.0, 0.51)] {
        let t = Celsius::new(celsius);
        let [one, other] = CalciteConstant::ALL.map(|c| Aqueous::with_calcite(t, c));
        let apart = (one?.log_k(Mineral::Calcite) - other?.log_k(Mineral::Calcite)).abs();
        assert!((apart - spread).abs() < 0.01, "{celsius}: {apart}");
    }
    let report = lab()?.water_report("typical", &typical())?;
    let hottest = report.reports.last().ok_or("no report")?;
    let [low, high] = hottest.si_calcite_between.ok_or("no spread")?;
    assert!((high - low - 0.51).abs() < 0.01);
    assert!(hottest.si.calcite.is_some_and(|si| (low..=high).contains(&si)));
    Ok(())
}

#[test]
fn a_boiler_stripped_of_more_carbon_dioxide_is_more_alkaline() -> Fallible {
    let stripped = BoilerSettings { degassed_co2_atm: 4e-5, ..BoilerSettings::default() };
    let usual = lab()?.water_report("usual", &typical())?;
    let more = Lab::new(stripped)?.water_report("stripped", &typical())?;
    for (a, b) in usual.reports.iter().zip(&more.reports) {
        match a.state {
            State::Degassed => assert!(b.ph > a.ph + 0.2, "{} {}", a.ph, b.ph),
            State::Closed | State::Open => assert!((b.ph - a.ph).abs() < 1e-12),
        }
    }
    Ok(())
}

#[test]
fn scale_in_the_steam_boiler_begins_where_the_index_is_zero() -> Fallible {
    let lab = lab()?;
    let at_steam = Aqueous::at(Celsius::new(125.0))?;
    for scale in lab.steam_scale(&soft())? {
        let Onset::AfterLitresOfSteam(litres) = scale.onset else {
            return Err(format!("{:?}", scale.onset).into());
        };
        let carbon = if scale.state == State::Closed { Carbon::Closed } else { Carbon::AIR };
        let strong = at_steam.speciate(&(soft() * (1.0 + litres)), carbon)?;
        let highest = [Mineral::Calcite, Mineral::Gypsum, Mineral::Anhydrite, Mineral::Brucite]
            .into_iter()
            .filter_map(|m| strong.si(m))
            .fold(f64::NEG_INFINITY, f64::max);
        assert!(highest.abs() < 1e-4, "{highest}");
        let [Onset::AfterLitresOfSteam(early), Onset::AfterLitresOfSteam(late)] =
            scale.onset_between
        else {
            return Err(format!("{:?}", scale.onset_between).into());
        };
        assert!(early <= litres && litres <= late && early < late);
    }
    Ok(())
}

#[test]
fn hard_water_scales_from_the_start_and_distilled_never() -> Fallible {
    let lab = lab()?;
    for scale in lab.steam_scale(&(typical() * 3.0))? {
        assert_eq!(scale.onset, Onset::FromTheStart);
        assert!(scale.scale_g_per_1000_l.is_some_and(|g| g > 100.0));
    }
    for scale in lab.steam_scale(&Composition::PURE_WATER)? {
        assert!(matches!(scale.onset, Onset::NotWithin(litres) if litres > 50.0));
        assert_eq!(scale.first, None);
        assert_eq!(scale.scale_g_per_1000_l, Some(0.0));
    }
    Ok(())
}

/// All calcium of a litre as calcite is 100.09 mg per mmol; no boiler can drop more.
#[test]
fn scale_never_exceeds_what_was_fed() -> Fallible {
    let most = 1.2 * 136.14 + 0.6 * 58.32;
    for scale in lab()?.steam_scale(&typical())? {
        assert!(scale.scale_g_per_1000_l.is_some_and(|g| g > 30.0 && g < most));
    }
    Ok(())
}

#[test]
fn an_all_in_one_concentrate_clouds_and_loses_its_alkalinity() -> Fallible {
    let lab = lab()?;
    let clear = lab.clouding(&soft())?;
    assert_eq!(clear.outlook, Outlook::Clear);
    assert!(clear.solids.is_empty());
    let concentrate = lab.clouding(&(typical() * 200.0))?;
    assert_eq!(concentrate.outlook, Outlook::Cloudy);
    assert!(concentrate.extrapolated);
    let minerals: Vec<&str> = concentrate.solids.iter().map(|s| s.mineral).collect();
    assert!(minerals.contains(&"calcite") && minerals.contains(&"gypsum"));
    assert!(concentrate.alkalinity_lost.is_some_and(|lost| lost > 0.6 && lost < 1.0));
    // Without bicarbonate there is still gypsum.
    let without = water(&[
        (Conserved::Ca, 1.2),
        (Conserved::Mg, 0.6),
        (Conserved::SO4, 0.9),
        (Conserved::Cl, 1.8),
    ]);
    let plaster = lab.clouding(&(without * 200.0))?;
    assert!(plaster.solids.iter().all(|s| s.mineral == "gypsum"));
    assert!(plaster.solids.iter().all(|s| s.si > 0.0 && s.mg_per_l > 100.0));
    assert_eq!(plaster.solids.len(), 1);
    Ok(())
}

/// The grams of limescale in the room and the outlook of the bottle are of one water.
#[test]
fn silica_that_precipitates_is_in_the_outlook_too() -> Fallible {
    let lab = lab()?;
    for (mg_per_l, outlook) in [(60.0, Outlook::Clear), (200.0, Outlook::SlowIfAtAll)] {
        let mut water = soft();
        water.set_mmol_per_l(Conserved::SiO2, mg_per_l / Conserved::SiO2.g_per_mol());
        let report = lab.water_report("silica", &water)?;
        let room = report.room(State::Closed).ok_or("no room")?;
        let clouding = lab.clouding(&water)?;
        assert_eq!(clouding.outlook, outlook);
        assert_eq!(room.scale_g_per_1000_l > 0.0, outlook != Outlook::Clear);
    }
    Ok(())
}

#[test]
fn cold_dissolves_more_calcite() -> Fallible {
    let precipitated = |celsius: f64| -> Result<f64, Box<dyn Error>> {
        let room = Celsius::new(celsius);
        let lab = Lab::new(BoilerSettings { room, ..BoilerSettings::default() })?;
        let clouding = lab.clouding(&(typical() * 2.0))?;
        Ok(clouding.solids.iter().map(|s| s.mg_per_l).sum())
    };
    assert!(precipitated(5.0)? < precipitated(25.0)?);
    Ok(())
}

#[test]
fn corrosion_hints_are_worked_out_and_stay_cautions() -> Fallible {
    let lab = lab()?;
    let hints_of = |water: &Composition| lab.corrosion(water, &lab.steam_scale(water)?);
    let hints = hints_of(&typical())?;
    // (1.6 + 2·0.9) meq/L over 1.0 meq/L.
    assert!(hints.larson_skold.value.is_some_and(|v| (v - 3.4).abs() < 1e-12));
    // A figure of steel mains: no caution, whatever it is.
    assert!(hints.larson_skold.caution.is_none());
    assert!(hints.larson_skold.limits.contains("mild steel and cast iron"));
    // 1.6 mmol/L of 35.45 g/mol.
    assert!(hints.chloride.value.is_some_and(|v| (v - 56.72).abs() < 1e-9));
    let gentle = water(&[
        (Conserved::Ca, 0.8),
        (Conserved::Na, 0.2),
        (Conserved::Alkalinity, 1.6),
        (Conserved::Dic, 1.6),
        (Conserved::Cl, 0.2),
    ]);
    assert!(hints_of(&gentle)?.all().iter().all(|hint| hint.caution.is_none()));
    let bare = hints_of(&Composition::PURE_WATER)?;
    assert_eq!(bare.larson_skold.value, None);
    assert!(bare.larson_skold.withheld.is_some() && bare.ph_open.caution.is_some());
    for hint in hints.all() {
        let text = format!("{} {} {}", hint.limits, hint.source, hint.caution.unwrap_or(""));
        assert!(!text.to_lowercase().contains("safe"), "{text}");
        assert!(!hint.source.is_empty());
    }
    Ok(())
}

#[test]
fn guideline_rows_put_the_water_beside_the_value() -> Fallible {
    let rows = lab()?.guidelines(&typical())?;
    assert!(
        rows.iter()
            .all(|row| { row.at_least.is_some() || row.at_most.is_some() || row.aim.is_some() })
    );
    let chloride: Vec<_> = rows.iter().filter(|row| row.quantity == "chloride").collect();
    assert!(chloride.len() >= 3);
    assert!(chloride.iter().all(|row| row.value.is_some_and(|v| (v - 56.72).abs() < 1e-9)));
    assert!(rows.iter().all(|row| row.source.contains("20") || row.source.contains("CFR")));
    Ok(())
}

#[test]
fn meters_differ_by_their_scales_only() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let reading = meter.reading(&typical())?;
    let shown = |scale: MeterScale| {
        reading.shown.iter().find(|s| s.scale == scale).map(|s| s.value).ok_or("no scale")
    };
    let us = shown(MeterScale::Microsiemens)?;
    assert!((us - reading.us_per_cm_25).abs() < 1e-9);
    for (scale, factor) in
        [(MeterScale::Ppm500, 0.5), (MeterScale::Ppm640, 0.64), (MeterScale::Ppm700, 0.7)]
    {
        assert!((shown(scale)? / us - factor).abs() < 1e-12);
    }
    Ok(())
}

/// A temperature compensation of 2 % per kelvin is made to hide the temperature of the sample.
#[test]
fn compensation_hides_the_temperature_of_the_sample() -> Fallible {
    let cold = MeterSettings { sample: Celsius::new(15.0), ..MeterSettings::default() };
    let reading = Meter::new(cold)?.reading(&typical())?;
    let shown = reading.shown.first().ok_or("nothing shown")?.value;
    assert!((shown / reading.us_per_cm_25 - 1.0).abs() < 0.03);
    assert!(reading.us_per_cm_sample < 0.85 * reading.us_per_cm_25);
    let plain = MeterSettings { compensation: Compensation::None, ..cold };
    let reading = Meter::new(plain)?.reading(&typical())?;
    let shown = reading.shown.first().ok_or("nothing shown")?.value;
    assert!((shown - reading.us_per_cm_sample).abs() < 1e-9);
    Ok(())
}

/// Three single-salt stocks of a flight, the calcium three times as strong as the others: swapping
/// stocks of one strength moves no meter, since equivalents conduct alike.
fn doses() -> Vec<Dose> {
    let dose = |stock: &str, ml_per_l, per_ml: Composition| Dose {
        stock: stock.to_owned(),
        ml_per_l,
        per_ml,
        measured_out: 0.0,
    };
    vec![
        dose("epsom", 12.0, water(&[(Conserved::Mg, 0.05), (Conserved::SO4, 0.05)])),
        dose("calcium", 5.0, water(&[(Conserved::Ca, 0.15), (Conserved::Cl, 0.3)])),
        dose(
            "soda",
            8.0,
            water(&[(Conserved::Na, 0.1), (Conserved::Alkalinity, 0.1), (Conserved::Dic, 0.1)]),
        ),
    ]
}

/// The reading that a bottle would give, poured with these volumes.
fn read_of(meter: &Meter, volumes: [f64; 3]) -> Result<f64, Box<dyn Error>> {
    let poured: Vec<Dose> = doses()
        .into_iter()
        .zip(volumes)
        .map(|(dose, ml_per_l)| Dose { ml_per_l, ..dose })
        .collect();
    Ok(meter.judge(0.0, &Poured::in_distilled(poured))?.expected)
}

#[test]
fn a_bottle_poured_right_agrees() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let read = read_of(&meter, [12.0, 5.0, 8.0])?;
    let verdict = meter.judge(read * 1.01, &Poured::in_distilled(doses()))?;
    assert!(verdict.agrees, "{verdict:?}");
    assert!(verdict.explanations.is_empty());
    Ok(())
}

#[test]
fn the_slip_that_was_made_is_the_best_explanation() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let named = |slip: &str, stock: &str, with: &str| match slip {
        "forgotten" => Slip::Forgotten { stock: stock.to_owned() },
        "doubled" => Slip::Doubled { stock: stock.to_owned() },
        _ => Slip::Swapped { stock: stock.to_owned(), with: with.to_owned() },
    };
    for (volumes, slip) in [
        ([0.0, 5.0, 8.0], named("forgotten", "epsom", "")),
        ([12.0, 0.0, 8.0], named("forgotten", "calcium", "")),
        ([12.0, 10.0, 8.0], named("doubled", "calcium", "")),
        ([24.0, 5.0, 8.0], named("doubled", "epsom", "")),
        ([5.0, 12.0, 8.0], named("swapped", "epsom", "calcium")),
    ] {
        let read = read_of(&meter, volumes)?;
        let verdict = meter.judge(read, &Poured::in_distilled(doses()))?;
        assert!(!verdict.agrees, "{slip:?} goes unseen");
        let best = verdict.explanations.first().ok_or("no explanation")?;
        assert_eq!(best.slip, slip);
        assert!(best.off_in_standard_uncertainties.abs() < 1e-9);
    }
    Ok(())
}

/// Doses added to a litre of base water make more of it; only a bottle that is filled up stays a litre.
#[test]
fn a_slip_is_judged_as_the_doses_were_poured() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let doses: Vec<Dose> =
        doses().into_iter().map(|dose| Dose { ml_per_l: 10.0 * dose.ml_per_l, ..dose }).collect();
    let dosed: f64 = doses.iter().map(|dose| dose.ml_per_l).sum();
    let convention = Convention::AddedToALitre;
    let poured = Poured { convention, ..Poured::in_distilled(doses.clone()) };
    // The same base water, and one dose twice.
    let whole = 1.0 + doses.first().ok_or("no dose")?.ml_per_l / 1000.0;
    let mut twice = Composition::PURE_WATER;
    for (n, dose) in doses.iter().enumerate() {
        twice += dose.per_ml * (dose.ml_per_l * if n == 0 { 2.0 } else { 1.0 } / whole);
    }
    assert!(dosed > 200.0 && whole > 1.1);
    let read = meter.judge(0.0, &Poured::nothing(twice))?.expected;
    let verdict = meter.judge(read, &poured)?;
    let epsom = Slip::Doubled { stock: "epsom".to_owned() };
    let doubled = verdict.explanations.iter().find(|e| e.slip == epsom).ok_or("not explained")?;
    assert!((doubled.expected - read).abs() < 1e-9 * read, "{doubled:?} {read}");
    Ok(())
}

/// What is not known exactly of a bottle widens the ±, and what was not looked for is not denied.
#[test]
fn a_reading_is_judged_by_all_that_is_not_known_of_the_bottle() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let exact = Poured::in_distilled(doses());
    let off = vec![exact.water() * 0.05];
    let doubtful = Poured { off, ..exact.clone() };
    let (exact, doubtful) = (meter.judge(0.0, &exact)?, meter.judge(0.0, &doubtful)?);
    let more = (doubtful.uncertainty.powi(2) - exact.uncertainty.powi(2)).sqrt();
    assert!((more / doubtful.expected - 0.05).abs() < 0.005, "{more} {doubtful:?}");
    let unknown = meter.judge(9000.0, &Poured::unknown(water(&[(Conserved::Na, 1.0)])))?;
    assert_eq!((unknown.doses, exact.doses), (None, Some(3)));
    let said = |verdict| read_text::text("a", meter.settings(), verdict);
    assert!(
        said(&unknown).contains("doses are not known") && !said(&unknown).contains("No single")
    );
    Ok(())
}

/// What a bottle should show is what it is, whatever is then read.
#[test]
fn what_is_expected_does_not_follow_the_reading() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let verdict = |read| meter.judge(read, &Poured::in_distilled(doses()));
    let (near, far) = (verdict(280.0)?, verdict(28_000.0)?);
    assert!((near.expanded - far.expanded).abs() < 1e-9, "{near:?} {far:?}");
    assert!((far.off_by - (far.read - far.expected)).abs() < 1e-9);
    Ok(())
}

#[test]
fn a_reading_that_no_slip_explains_is_left_unexplained() -> Fallible {
    let meter = Meter::new(MeterSettings::default())?;
    let verdict = meter.judge(9000.0, &Poured::in_distilled(doses()))?;
    assert!(!verdict.agrees && verdict.explanations.is_empty() && !verdict.clear);
    Ok(())
}

#[test]
fn impossible_questions_get_typed_errors() -> Fallible {
    use waterflight::chemistry::ChemistryError;
    let at_25 = Aqueous::at(Celsius::new(25.0))?;
    let negative = water(&[(Conserved::Ca, -1.0)]);
    let strong = water(&[(Conserved::Na, 6000.0), (Conserved::Cl, 6000.0)]);
    let nan = water(&[(Conserved::K, f64::NAN)]);
    let errors = [
        at_25.speciate(&negative, Carbon::Closed).err(),
        at_25.speciate(&nan, Carbon::Closed).err(),
        at_25.speciate(&strong, Carbon::Closed).err(),
        at_25.speciate(&typical(), Carbon::Open { co2_atm: 0.0 }).err(),
        at_25.speciate_at_ph(&typical(), Carbon::Closed, 15.0).err(),
        at_25.explain_ph(&typical(), 13.0).err(),
        Aqueous::at(Celsius::new(f64::NAN)).err(),
    ];
    assert!(matches!(
        errors,
        [
            Some(ChemistryError::Amount { what: "Ca", .. }),
            Some(ChemistryError::Amount { what: "K", .. }),
            Some(ChemistryError::TooStrong { .. }),
            Some(ChemistryError::CarbonDioxide { .. }),
            Some(ChemistryError::Ph { .. }),
            Some(ChemistryError::Contradiction { .. }),
            Some(ChemistryError::Temperature { .. }),
        ]
    ));
    Ok(())
}

/// Citrate and lactate take up acid on the way to the end point: at pH 4.5 about half of the citrate
/// stands as H2Cit⁻ and a fifth of the lactate as the acid (pK 4.76 and 3.86).
#[test]
fn a_titration_finds_more_than_the_minerals() -> Fallible {
    let at_25 = Aqueous::at(Celsius::new(25.0))?;
    let found = |water: &Composition| at_25.titrated_alkalinity(water, 4.5);
    let plain = found(&typical())?;
    // 1 meq/L, less the bicarbonate left at 4.5, and the acid that makes the end point.
    assert!((plain - 1.02).abs() < 0.01, "{plain}");
    let mut soft_drink = typical();
    soft_drink.add_mmol_per_l(Conserved::Citrate, 0.5);
    soft_drink.add_mmol_per_l(Conserved::K, 1.5);
    let with_citrate = found(&soft_drink)? - plain;
    assert!(with_citrate > 0.5 && with_citrate < 1.0, "{with_citrate}");
    let mut whey = typical();
    whey.add_mmol_per_l(Conserved::Lactate, 1.0);
    whey.add_mmol_per_l(Conserved::Na, 1.0);
    let with_lactate = found(&whey)? - plain;
    assert!((with_lactate - 0.19).abs() < 0.04, "{with_lactate}");
    Ok(())
}
