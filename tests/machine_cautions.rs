//! Cautions that tell one water from another, and the limits of a machine.

use std::error::Error;

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use waterflight::assessment::machine::Verdict;
use waterflight::assessment::{
    BoilerSettings, CorrosionHints, Lab, MachineProfile, MachineReport, State,
};
use waterflight::chemistry::{ChemistryError, Composition, Conserved};
use waterflight::flight::{Limit, LimitSubject};
use waterflight::quantities::Celsius;
use waterflight::water::{Measure, Meter, MeterSettings, Reading};

type Fallible = Result<(), Box<dyn Error>>;

fn lab() -> Result<Lab, Box<dyn Error>> {
    Ok(Lab::new(BoilerSettings::default())?)
}

fn hints(lab: &Lab, water: &Composition) -> Result<CorrosionHints, ChemistryError> {
    lab.corrosion(water, &lab.steam_scale(water)?)
}

/// A water from mg/L, alkalinity as CaCO3; sodium takes up what is missing of the cations.
fn water(of: [(Conserved, f64); 5], alkalinity: f64) -> Composition {
    let mut water = Composition::PURE_WATER;
    for (total, mg) in of {
        water.set_mmol_per_l(total, mg / total.g_per_mol());
    }
    let meq = alkalinity / 50.0435;
    water.set_mmol_per_l(Conserved::Alkalinity, meq);
    water.set_mmol_per_l(Conserved::Dic, meq);
    let missing = water.anions_meq_per_l() - water.cations_meq_per_l();
    water.add_mmol_per_l(Conserved::Na, missing.max(0.0));
    water.add_mmol_per_l(Conserved::Cl, (-missing).max(0.0));
    water
}

/// Waters that coffee and tea are brewed with: hardness 15 to 180 and alkalinity 10 to 150 mg/L as
/// CaCO3, any shares of calcium and of chloride, some table salt, some silica as taps have it.
fn brewing_waters(count: usize) -> Vec<Composition> {
    let mut rng = StdRng::seed_from_u64(1958);
    let mut waters = Vec::new();
    while waters.len() < count {
        let log = |rng: &mut StdRng, low: f64, high: f64| {
            (low.ln() + rng.random::<f64>() * (high / low).ln()).exp()
        };
        let hardness = log(&mut rng, 15.0, 180.0) / 100.087;
        let alkalinity = log(&mut rng, 10.0, 150.0);
        let calcium: f64 = rng.random();
        let chloride: f64 = rng.random();
        let more = (2.0 * hardness - alkalinity / 50.0435).max(0.0);
        let salt = 0.3 * rng.random::<f64>();
        let silica = if rng.random::<f64>() < 0.5 { 0.0 } else { log(&mut rng, 2.0, 25.0) };
        let mmol = [
            (Conserved::Ca, hardness * calcium),
            (Conserved::Mg, hardness * (1.0 - calcium)),
            (Conserved::Cl, more * chloride + salt),
            (Conserved::SO4, 0.5 * more * (1.0 - chloride)),
            (Conserved::SiO2, silica / 60.08),
        ];
        waters.push(water(mmol.map(|(c, mmol)| (c, mmol * c.g_per_mol())), alkalinity));
    }
    waters
}

/// How often each caution stands, from 0 to 1, by the name of its hint.
fn rates(hints: &[CorrosionHints]) -> Vec<(String, f64)> {
    let mut rates: Vec<(String, f64)> = Vec::new();
    let count = f64::from(u32::try_from(hints.len()).unwrap_or(u32::MAX));
    for hint in hints.iter().flat_map(CorrosionHints::all) {
        let share = if hint.caution.is_some() { 1.0 / count } else { 0.0 };
        match rates.iter_mut().find(|(name, _)| *name == hint.name) {
            Some((_, rate)) => *rate += share,
            None => rates.push((hint.name.clone(), share)),
        }
    }
    rates
}

#[test]
fn no_caution_stands_on_most_brewing_waters() -> Fallible {
    let lab = lab()?;
    let all: Result<Vec<_>, _> =
        brewing_waters(2000).iter().map(|water| hints(&lab, water)).collect();
    let rates = rates(&all?);
    assert_eq!(rates.len(), 8);
    for (name, rate) in &rates {
        assert!(*rate <= 0.5, "{name} is cautioned of in {rate} of all: {rates:?}");
    }
    let of = |name: &str| rates.iter().find(|(n, _)| n == name).map_or(f64::NAN, |(_, r)| *r);
    // What does stand tells some from others.
    assert!(of("chloride in the steam boiler") > 0.1, "{rates:?}");
    assert!(of("silica in the steam boiler") > 0.01, "{rates:?}");
    // A ratio found on steel mains is a figure.
    assert!(of("Larson–Skold ratio").abs() < 1e-12);
    Ok(())
}

#[test]
fn each_caution_stands_where_it_belongs() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let lab = lab()?;
    let none = [(Ca, 24.0), (Mg, 2.0), (Cl, 8.0), (SO4, 12.0), (SiO2, 5.0)];
    assert_eq!(hints(&lab, &water(none, 50.0))?.cautions().count(), 0);
    let with = |change: (Conserved, f64), alkalinity: f64| {
        let changed = none.map(|(c, mg)| if c == change.0 { change } else { (c, mg) });
        hints(&lab, &water(changed, alkalinity))
    };
    // 31 mg/L are 310 at ten cycles, 29 are 290.
    let salty = with((Cl, 31.0), 50.0)?;
    assert!(salty.boiler_chloride.caution.is_some() && salty.chloride.caution.is_none());
    assert!(salty.boiler_chloride.value.is_some_and(|mg| (mg - 310.0).abs() < 1e-6));
    assert!(with((Cl, 29.0), 50.0)?.boiler_chloride.caution.is_none());
    assert!(with((Cl, 90.0), 50.0)?.chloride.caution.is_some());
    assert!(with((SiO2, 20.0), 50.0)?.boiler_silica.caution.is_some());
    let glassy = with((SiO2, 60.0), 50.0)?.boiler_silica;
    assert!(glassy.caution.is_some_and(|c| c.contains("glassy")), "{glassy:?}");
    assert!(with((SiO2, 0.0), 50.0)?.boiler_silica.value.is_none());
    assert!(with((SO4, 300.0), 50.0)?.boiler_dissolved_solids.caution.is_some());
    // Free carbon dioxide makes it acid as it comes in, and it is gone in air.
    let mut sparkling = water(none, 50.0);
    sparkling.add_mmol_per_l(Conserved::Dic, 2.0);
    let sparkling = hints(&lab, &sparkling)?;
    assert!(sparkling.ph_closed.caution.is_some() && sparkling.ph_open.caution.is_none());
    let bare = hints(&lab, &Composition::PURE_WATER)?;
    assert!(bare.ph_closed.caution.is_none() && bare.ph_open.caution.is_some());
    assert!(bare.larson_skold.value.is_none() && bare.larson_skold.withheld.is_some());
    Ok(())
}

/// What precipitates does not stay dissolved, so that a hard water's solids are fewer than ten times
/// those of the feed; chloride has nowhere to go.
#[test]
fn the_steam_boiler_holds_what_has_not_precipitated() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let hard = water([(Ca, 86.0), (Mg, 9.0), (Cl, 38.0), (SO4, 44.0), (SiO2, 0.0)], 200.0);
    let report = lab()?.water_report("hard", &hard)?;
    let fed = Measure::ResidueOnEvaporation.of(&hard);
    for steam in &report.steam {
        let held = steam.water.ok_or("no water")?;
        assert!((held.chloride_mg_per_l - 10.0 * hard.mg_per_l(Cl)).abs() < 1e-6);
        let grams = steam.scale_g_per_1000_l.ok_or("no grams")?;
        // Calcite takes 100.09 of 101.1 + CO2 that bicarbonate leaves: what is gone is about the scale.
        assert!((10.0 * (fed - grams) - held.residue_mg_per_l).abs() < 0.05 * 10.0 * fed);
    }
    Ok(())
}

fn profile(limits: &[(LimitSubject, &str)]) -> Result<MachineProfile, Box<dyn Error>> {
    let limits = limits.iter().map(|(limited, text)| Limit::parse(*limited, text));
    Ok(MachineProfile {
        name: "test machine".into(),
        limits: limits.collect::<Result<_, _>>()?,
        litres_a_day: Some(20.0),
        steam_litres_a_day: Some(2.0),
        service_days: Some(180),
        ..MachineProfile::default()
    })
}

fn meter(water: &Composition) -> Result<Reading, Box<dyn Error>> {
    Ok(Meter::new(MeterSettings::default())?.reading(water)?)
}

/// A room that is cold or warm makes no water harder, more salty or more acid.
#[test]
fn the_temperature_of_the_room_moves_no_verdict() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let water = water([(Ca, 24.0), (Mg, 2.0), (Cl, 60.0), (SO4, 12.0), (SiO2, 0.0)], 50.0);
    let reading = meter(&water)?;
    let limit = format!("at most {} µS/cm", (0.9 * reading.us_per_cm_25).round());
    let profile = profile(&[(LimitSubject::Conductivity, &limit)])?;
    for celsius in [5.0, 25.0, 95.0] {
        let room = Celsius::new(celsius);
        let lab = Lab::new(BoilerSettings { room, ..BoilerSettings::default() })?;
        let report = lab.water_report("water", &water)?;
        let judged = MachineReport::new(&profile, &water, &report, &reading);
        let conductivity = judged.limits.first().ok_or("no verdict")?;
        assert_eq!(conductivity.verdict, Verdict::Outside, "{celsius}: {conductivity:?}");
        assert_eq!(conductivity.value, Some(reading.us_per_cm_25));
        let neutral = hints(&lab, &Composition::PURE_WATER)?.ph_closed;
        assert_eq!(neutral.caution, None, "{celsius}: {neutral:?}");
    }
    Ok(())
}

#[test]
fn limits_are_judged_in_their_own_units() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let water = water([(Ca, 40.078), (Mg, 0.0), (Cl, 42.0), (SO4, 0.0), (SiO2, 0.0)], 40.0);
    let report = lab()?.water_report("water", &water)?;
    let of = |m| LimitSubject::Measure(m);
    let profile = profile(&[
        // 1 mmol/L of calcium: 5.6077 °dH
        (of(Measure::Hardness), "3 to 5 °dH"),
        (of(Measure::Chloride), "at most 42.0 mg/L"),
        (of(Measure::Alkalinity), "40 to 80 mg/L as CaCO3"),
        (of(Measure::Sulfate), "at least 5 mg/L"),
        (LimitSubject::Ph, "6.5 to 8"),
        (LimitSubject::Conductivity, "at most 1 mS/cm"),
    ])?;
    let judged = MachineReport::new(&profile, &water, &report, &meter(&water)?);
    let [hardness, chloride, alkalinity, sulfate, closed, open, conductivity] =
        judged.limits.as_slice()
    else {
        return Err(format!("{judged:?}").into());
    };
    assert!(hardness.outside_by.is_some_and(|by| (by - 0.6077).abs() < 2e-3), "{hardness:?}");
    // Equal to the limit is kept; no more can be asked.
    assert!(chloride.value.is_some_and(|v| v > 41.0));
    assert_eq!(alkalinity.verdict, Verdict::Within);
    assert!(sulfate.outside_by.is_some_and(|by| (by + 5.0).abs() < 1e-9));
    let ph = |state| report.room(state).map(|r| r.ph);
    assert_eq!([closed.value, open.value], [ph(State::Closed), ph(State::Open)]);
    assert_eq!(closed.verdict, Verdict::Outside);
    assert!(conductivity.value.is_some_and(|ms| ms > 0.1 && ms < 1.0));
    assert_eq!(judged.outside().count() + judged.count(Verdict::Within), 7);
    Ok(())
}

/// 20 L a day are 3.6 m³ in 180 days and 7.3 in a year.
#[test]
fn grams_to_the_next_service_are_those_of_the_litres() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let water = water([(Ca, 60.0), (Mg, 10.0), (Cl, 20.0), (SO4, 30.0), (SiO2, 0.0)], 120.0);
    let report = lab()?.water_report("water", &water)?;
    let judged = MachineReport::new(&profile(&[])?, &water, &report, &meter(&water)?);
    let [brew, steam] = judged.limescale.as_slice() else { return Err("two boilers".into()) };
    let states = [State::Closed, State::Degassed].map(|state| report.brew(state));
    let ends: Vec<f64> =
        states.into_iter().flatten().flat_map(|r| r.scale_between_g_per_1000_l).collect();
    let least = ends.iter().copied().fold(f64::INFINITY, f64::min);
    let most = ends.iter().copied().fold(0.0, f64::max);
    assert!(least > 10.0 && most > 1.5 * least);
    let [low, high] = brew.g_to_service.ok_or("no grams")?;
    assert!((low - 3.6 * least).abs() < 1e-9 && (high - 3.6 * most).abs() < 1e-9);
    let [_, a_year] = brew.g_a_year.ok_or("no grams")?;
    assert!((a_year - 7.3 * most).abs() < 1e-9);
    assert!((steam.litres_a_day - 2.0).abs() < 1e-12 && steam.g_a_year.is_some());
    Ok(())
}

/// Kept where both ends keep it, broken where both ends break it, and not known otherwise.
#[test]
fn what_is_below_a_limit_of_detection_is_judged_at_both_ends() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let mut water = water([(Ca, 24.0), (Mg, 2.0), (Cl, 0.0), (SO4, 0.0), (SiO2, 5.0)], 50.0);
    // Below 30 mg/L.
    water.set_below_limit(Cl, 15.0 / Cl.g_per_mol());
    let report = lab()?.water_report("water", &water)?;
    let chloride = LimitSubject::Measure(Measure::Chloride);
    for (text, verdict) in [
        ("at most 20 mg/L", Verdict::NotKnown),
        ("at least 10 mg/L", Verdict::NotKnown),
        ("5 to 10 mg/L", Verdict::NotKnown),
        ("at most 31 mg/L", Verdict::Within),
        ("at least 31 mg/L", Verdict::Outside),
    ] {
        let judged =
            MachineReport::new(&profile(&[(chloride, text)])?, &water, &report, &meter(&water)?);
        let limit = judged.limits.first().ok_or("no verdict")?;
        assert_eq!(limit.verdict, verdict, "{text}: {limit:?}");
        let [least, most] = limit.between.ok_or("no ends")?;
        assert!(least.abs() < 1e-9 && (most - 30.0).abs() < 1e-9);
    }
    Ok(())
}

/// At ten cycles most brewing waters pass the class of 120 °C, which is said and is no caution.
#[test]
fn chloride_of_the_hot_class_is_named_without_a_caution() -> Fallible {
    use Conserved::{Ca, Cl, Mg, SO4, SiO2};
    let hint = |mg_per_l: f64| -> Result<_, Box<dyn Error>> {
        let water = water([(Ca, 24.0), (Mg, 2.0), (Cl, mg_per_l), (SO4, 12.0), (SiO2, 5.0)], 50.0);
        Ok(hints(&lab()?, &water)?.boiler_chloride)
    };
    let (little, some, much) = (hint(7.0)?, hint(29.0)?, hint(31.0)?);
    assert!(little.passed.is_none() && little.caution.is_none());
    assert!(some.passed.is_some() && some.caution.is_none());
    assert!(much.passed.is_none() && much.caution.is_some());
    Ok(())
}
