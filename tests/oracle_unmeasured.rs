//! Analyses with gaps against what is really in the water, as `tests/oracle/unmeasured.py` made it:
//! bounds of linear programs (HiGHS), conductivities and carbon dioxide of PHREEQC.

use std::collections::BTreeMap;
use std::error::Error;
use std::fs;
use std::path::Path;

use serde::Deserialize;
use waterflight::chemistry::{Aqueous, Carbon, Composition, Conductivity, Conductor, Conserved};
use waterflight::quantities::Celsius;
use waterflight::water::{Amount, Analysis, AnalysisError, BaseWater, Implausible, Measure};

type Outcome = Result<(), Box<dyn Error>>;

#[derive(Deserialize)]
struct Oracle {
    analyses: Vec<Row>,
    ph: Vec<AtPh>,
}

/// A water with what is really in it, meq/L (silica mmol/L).
#[derive(Deserialize)]
struct Row {
    truth: BTreeMap<String, f64>,
    listed: BTreeMap<String, f64>,
    bounds: BTreeMap<String, (f64, Option<f64>)>,
    us_per_cm: f64,
}

#[derive(Deserialize)]
struct AtPh {
    cation: String,
    alkalinity_meq: f64,
    ph: f64,
    log_co2: Option<f64>,
}

fn oracle() -> Result<Oracle, Box<dyn Error>> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/unmeasured.json");
    Ok(serde_json::from_str(&fs::read_to_string(path)?)?)
}

fn of(key: &str) -> (Measure, Conserved) {
    match key {
        "Ca" => (Measure::Calcium, Conserved::Ca),
        "Mg" => (Measure::Magnesium, Conserved::Mg),
        "Na" => (Measure::Sodium, Conserved::Na),
        "K" => (Measure::Potassium, Conserved::K),
        "Cl" => (Measure::Chloride, Conserved::Cl),
        "SO4" => (Measure::Sulfate, Conserved::SO4),
        "NO3" => (Measure::Nitrate, Conserved::NO3),
        "SiO2" => (Measure::Silica, Conserved::SiO2),
        _ => (Measure::Alkalinity, Conserved::Alkalinity),
    }
}

impl Row {
    fn analysis(&self) -> Analysis {
        let amounts = self.listed.iter().map(|(key, meq)| (of(key).0, Amount::Measured(*meq)));
        Analysis::new("test".to_owned(), amounts.collect())
    }

    /// What was really there of an ion, mmol/L.
    fn truth(&self, key: &str) -> f64 {
        let per_mmol = f64::from(of(key).1.charge().abs().max(1));
        self.truth.get(key).copied().unwrap_or_default() / per_mmol
    }

    /// Every unlisted ion of the truth, times a share, lies within the bounds of a water.
    fn holds(&self, water: &Composition, share: f64) {
        for key in self.truth.keys().filter(|key| !self.listed.contains_key(*key)) {
            let conserved = of(key).1;
            assert!(!water.is_measured(conserved), "{key} of {:?}", self.listed);
            let between = water.bounds_mmol_per_l(conserved);
            let truth = share * self.truth(key);
            assert!(
                truth >= between.at_least - 1e-9
                    && between.at_most.is_none_or(|most| truth <= most + 1e-9),
                "{key}: {truth} is not in {between:?}, listed {:?}",
                self.listed
            );
        }
    }
}

/// What a meter would show, with its standard uncertainty.
fn conductivity(water: &Composition) -> Result<Conductivity, Box<dyn Error>> {
    let at = Aqueous::at(Celsius::new(25.0))?;
    Ok(Conductor::at(&at).of_water(&at, water, Carbon::Closed)?)
}

/// The bounds are those of the linear programs, and the truth is within every one of them, also of
/// mixtures: with distilled water, and with another water of the list.
#[test]
fn bounds_are_those_of_linear_programs_and_hold() -> Outcome {
    let rows = oracle()?.analyses;
    let mut bounded = 0;
    for (number, row) in rows.iter().enumerate() {
        let water = row.analysis().water()?.composition;
        row.holds(&water, 1.0);
        for (key, (least, most)) in &row.bounds {
            let conserved = of(key).1;
            let per_mmol = f64::from(conserved.charge().abs());
            let between = water.bounds_mmol_per_l(conserved);
            assert!(
                (between.at_least * per_mmol - least).abs() < 1e-6,
                "{key} {row:?}",
                row = row.listed
            );
            match (between.at_most, most) {
                (Some(got), Some(want)) => {
                    bounded += 1;
                    assert!((got * per_mmol - want).abs() < 1e-6, "{key} {:?}", row.listed);
                }
                (None, None) => {}
                (got, want) => return Err(format!("{key}: {got:?}, {want:?}").into()),
            }
        }
        row.holds(&(water * 0.3), 0.3);
        let Some(other) = rows.get((number + 7) % rows.len()) else { continue };
        let mixed = water * 0.6 + other.analysis().water()?.composition * 0.4;
        for key in row.truth.keys() {
            let truth = 0.6 * row.truth(key) + 0.4 * other.truth(key);
            let is_listed = |row: &Row| row.listed.contains_key(key);
            assert_eq!(mixed.is_measured(of(key).1), is_listed(row) && is_listed(other));
            let between = mixed.bounds_mmol_per_l(of(key).1);
            // What was listed may be off by 2 %.
            assert!(truth >= between.at_least * 0.97 - 1e-9, "{key} {truth} {between:?}");
            assert!(between.at_most.is_none_or(|most| truth <= most * 1.03 + 1e-9), "{key}");
        }
    }
    assert!(bounded > 300, "{bounded}");
    Ok(())
}

/// Two standard uncertainties hold the conductivity of the whole water in 95 of 100, and so does
/// the range, with the 5 % by which PHREEQC differs.
#[test]
fn the_widened_conductivity_holds() -> Outcome {
    let rows = oracle()?.analyses;
    let (mut held, mut all, mut widened) = (0, 0, 0);
    for row in &rows {
        let water = row.analysis().water()?.composition;
        let Conductivity { us_per_cm: value, standard_uncertainty: u, between, .. } =
            conductivity(&water)?;
        // Where every ion is listed there is nothing to widen.
        let Some([low, high]) = between else { continue };
        all += 1;
        held += usize::from((row.us_per_cm - value).abs() <= 2.0 * u);
        assert!(
            (low * 0.94..=high * 1.06).contains(&row.us_per_cm),
            "{} is not in {low} to {high}, listed {:?}",
            row.us_per_cm,
            row.listed
        );
        widened += usize::from(u > 0.03 * value);
    }
    assert!(20 * held >= 19 * all, "{held} of {all}");
    assert!(widened > all / 2, "{widened} of {all}");
    Ok(())
}

/// A measured conductivity bounds the rest: the truth is within, more is bounded, and the
/// conductivity that comes out is the one that went in.
#[test]
fn a_measured_conductivity_bounds_the_rest() -> Outcome {
    let (mut bounded, mut sides) = (0, 0);
    for row in &oracle()?.analyses {
        let analysis = Analysis { us_per_cm: Some(row.us_per_cm), ..row.analysis() };
        let BaseWater { composition, doubtful, .. } = analysis.water()?;
        assert!(doubtful.is_empty(), "{doubtful:?} {:?}", row.listed);
        row.holds(&composition, 1.0);
        let unlisted = |sign: i32| {
            let ions = row.bounds.keys().map(|key| of(key).1);
            ions.filter(|c| c.charge().signum() == sign).count()
        };
        let found = conductivity(&composition)?;
        let (value, u) = (found.us_per_cm, found.standard_uncertainty);
        if unlisted(1) > 0 && unlisted(-1) > 0 {
            sides += 1;
            for key in row.bounds.keys() {
                bounded += usize::from(composition.bounds_mmol_per_l(of(key).1).at_most.is_some());
            }
            assert!((value / row.us_per_cm - 1.0).abs() < 0.09, "{value} {}", row.us_per_cm);
        }
        assert!((row.us_per_cm - value).abs() <= 3.0 * u, "{value} ± {u}, {}", row.us_per_cm);
    }
    assert!(sides > 100 && bounded > 3 * sides, "{bounded} of {sides}");
    Ok(())
}

/// The carbon dioxide behind a pH is PHREEQC's, and a pH is refused where that is above one
/// atmosphere or where there is none at all.
#[test]
fn a_ph_against_alkalinity_is_judged_by_its_carbon_dioxide() -> Outcome {
    let at = Aqueous::at(Celsius::new(25.0))?;
    let (mut refused, mut odd, mut fine) = (0, 0, 0);
    for row in oracle()?.ph {
        let (cation, _) = of(&row.cation);
        let amounts = vec![
            (cation, Amount::Measured(row.alkalinity_meq)),
            (Measure::Alkalinity, Amount::Measured(row.alkalinity_meq)),
        ];
        let analysis = Analysis {
            ph: Some(row.ph),
            not_listed: waterflight::water::NotListed::Zero,
            ..Analysis::new("test".to_owned(), amounts)
        };
        let found = analysis.water();
        let what = format!("{} {} meq/L, pH {}", row.cation, row.alkalinity_meq, row.ph);
        let Some(log_co2) = row.log_co2 else {
            assert!(matches!(found, Err(AnalysisError::TooAlkaline { .. })), "{what}: {found:?}");
            refused += 1;
            continue;
        };
        let mut water = Composition::PURE_WATER;
        water.set_mmol_per_l(Conserved::Alkalinity, row.alkalinity_meq);
        let charge = f64::from(of(&row.cation).1.charge());
        water.set_mmol_per_l(of(&row.cation).1, row.alkalinity_meq / charge);
        let explained = at.explain_ph(&water, row.ph);
        if log_co2 > 0.01 {
            assert!(matches!(found, Err(AnalysisError::TooAcid { .. })), "{what}: {found:?}");
            refused += 1;
            continue;
        }
        assert!((explained?.co2_atm.log10() - log_co2).abs() < 0.01, "{what}: {log_co2}");
        let doubtful = found.map_err(|error| format!("{what}: {error}"))?.doubtful;
        match log_co2 {
            log if log > -0.99 => {
                assert!(
                    matches!(doubtful.as_slice(), [Implausible::MuchCarbonDioxide { .. }]),
                    "{what}"
                );
                odd += 1;
            }
            log if log < -6.01 => {
                assert!(
                    matches!(doubtful.as_slice(), [Implausible::LittleCarbonDioxide { .. }]),
                    "{what}"
                );
                odd += 1;
            }
            log if log > -5.99 && log < -1.01 => {
                assert!(doubtful.is_empty(), "{what}: {doubtful:?}");
                fine += 1;
            }
            _ => {}
        }
    }
    assert!(refused > 20 && odd > 20 && fine > 60, "{refused} {odd} {fine}");
    Ok(())
}
