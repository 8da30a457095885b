//! Waters against what was computed and measured outside of this project.
//!
//! `waters_phreeqc.csv` and `solids_phreeqc.csv` are made by `oracle/waters_phreeqc.py` with
//! IPHREEQC 3.8.6, `conductivity_measured.csv` by `oracle/conductivity_fit.py`; see `oracle/README.md`.
//!
//! Above 400 lines: the reference files and the one way to compare with them.

use std::collections::HashMap;
use std::error::Error;

use waterflight::chemistry::{
    Aqueous, CalciteConstant, Carbon, Composition, Conductor, Conserved, Mineral, Speciation,
};
use waterflight::quantities::Celsius;

type Fallible = Result<(), Box<dyn Error>>;

/// The fugacity of carbon dioxide in the tables: 10^−3.38 atm.
const TABLE_AIR: Carbon = Carbon::AIR;

struct Row(HashMap<String, String>);

impl Row {
    fn text(&self, column: &str) -> Result<&str, String> {
        self.0.get(column).map(String::as_str).ok_or(format!("no column {column}"))
    }

    fn number(&self, column: &str) -> Result<f64, Box<dyn Error>> {
        Ok(self.text(column)?.parse()?)
    }

    /// A cell that is empty where the other program has no value.
    fn optional(&self, column: &str) -> Result<Option<f64>, Box<dyn Error>> {
        match self.text(column)? {
            "" => Ok(None),
            text => Ok(Some(text.parse()?)),
        }
    }

    fn water(&self) -> Result<Composition, Box<dyn Error>> {
        let mut water = Composition::PURE_WATER;
        for (total, column) in [
            (Conserved::Ca, "Ca"),
            (Conserved::Mg, "Mg"),
            (Conserved::Na, "Na"),
            (Conserved::K, "K"),
            (Conserved::Cl, "Cl"),
            (Conserved::SO4, "SO4"),
            (Conserved::NO3, "NO3"),
            (Conserved::SiO2, "SiO2"),
            (Conserved::Dic, "DIC"),
            (Conserved::Alkalinity, "Alkalinity"),
            (Conserved::Lactate, "Lactate"),
            (Conserved::Citrate, "Citrate"),
        ] {
            water.set_mmol_per_l(total, self.number(column)?);
        }
        Ok(water)
    }

    fn carbon(&self) -> Result<Carbon, String> {
        match self.text("state")? {
            "closed" => Ok(Carbon::Closed),
            "open" => Ok(TABLE_AIR),
            other => Err(format!("state {other}")),
        }
    }
}

fn rows(table: &str) -> Result<Vec<Row>, String> {
    let mut lines = table.lines();
    let head: Vec<&str> = lines.next().ok_or("empty table")?.split(',').collect();
    Ok(lines
        .map(|line| {
            let cells = head.iter().zip(line.split(','));
            Row(cells.map(|(k, v)| ((*k).to_owned(), v.to_owned())).collect())
        })
        .collect())
}

/// Constants are made once per temperature, as in use.
#[derive(Default)]
struct Constants(Vec<(f64, Aqueous, Aqueous, Conductor)>);

impl Constants {
    fn at(&mut self, celsius: f64) -> Result<&(f64, Aqueous, Aqueous, Conductor), Box<dyn Error>> {
        if !self.0.iter().any(|(t, ..)| (t - celsius).abs() < 1e-9) {
            let t = Celsius::new(celsius);
            let aqueous = Aqueous::at(t)?;
            let conductor = Conductor::at(&aqueous);
            let other = Aqueous::with_calcite(t, CalciteConstant::PlummerBusenberg1982)?;
            self.0.push((celsius, aqueous, other, conductor));
        }
        Ok(self.0.iter().find(|(t, ..)| (t - celsius).abs() < 1e-9).ok_or("just made")?)
    }
}

/// Collects misses so that one run shows all of them.
#[derive(Default)]
struct Misses(Vec<String>);

impl Misses {
    fn see(&mut self, what: &str, got: f64, want: f64, tolerance: f64) {
        // Written so that a NaN is a miss.
        if (got - want).abs() <= tolerance {
            return;
        }
        self.0.push(format!("{what}: {got} for {want}, off by {:.2e}", got - want));
    }

    fn none(self) -> Fallible {
        if self.0.is_empty() { Ok(()) } else { Err(self.0.join("\n").into()) }
    }
}

/// Promised are pH to 0.01, saturation indices to 0.02 at 25 °C and 0.03 hot, CCPP to 0.01 mmol/kg and
/// ionic strength to 1 %. The same constants are on both sides, so what is left is what this
/// project leaves out: the pressure term of the constants above 100 °C and the water that
/// reactions set free. That is far less, and the bounds here are set to what it is.
#[test]
fn waters_agree_with_phreeqc() -> Fallible {
    let (mut misses, mut constants) = (Misses::default(), Constants::default());
    let table = rows(include_str!("oracle/waters_phreeqc.csv"))?;
    let mut waters: Vec<String> = Vec::new();
    for row in &table {
        let celsius = row.number("celsius")?;
        let (_, aqueous, other, _) = constants.at(celsius)?;
        let water = row.water()?;
        let got = aqueous.speciate(&water, row.carbon()?)?;
        let id = format!("{} {} {celsius}", row.text("id")?, row.text("state")?);
        waters.push(row.text("id")?.to_owned());
        misses.see(&format!("{id} pH"), got.ph(), row.number("ph")?, 0.002);
        let strength = row.number("ionic_strength")?;
        let got_strength = got.ionic_strength_mol_per_kg();
        misses.see(&format!("{id} ionic strength"), got_strength, strength, 0.004 * strength);
        see_indices(&mut misses, &id, &got, row)?;
        let ccpp = got.ccpp()?.mmol_per_kg;
        misses.see(&format!("{id} CCPP"), ccpp, row.number("ccpp")?, 0.003);
        let by_other = other.speciate(&water, row.carbon()?)?;
        let ccpp = by_other.ccpp()?.mmol_per_kg;
        misses.see(&format!("{id} CCPP, 1982"), ccpp, row.number("ccpp_pb")?, 0.003);
        if let Some(want) = row.optional("si_calcite_pb")? {
            let si = by_other.si(Mineral::Calcite).ok_or("no index")?;
            misses.see(&format!("{id} calcite, 1982"), si, want, 0.003);
        }
    }
    waters.dedup();
    assert!(waters.len() >= 40, "{} waters", waters.len());
    misses.none()
}

/// Those whose indices the reference file lists.
const INDEXED: [Mineral; 5] =
    [Mineral::Calcite, Mineral::Aragonite, Mineral::Gypsum, Mineral::Anhydrite, Mineral::Brucite];

fn see_indices(misses: &mut Misses, id: &str, got: &Speciation<'_>, row: &Row) -> Fallible {
    for mineral in INDEXED {
        let want = row.optional(&format!("si_{}", mineral.key()))?;
        let si = got.si(mineral);
        // Not applicable on both sides, or a number on both.
        assert_eq!(si.is_some(), want.is_some(), "{id} {}", mineral.key());
        if let (Some(si), Some(want)) = (si, want) {
            misses.see(&format!("{id} {}", mineral.key()), si, want, 0.003);
        }
    }
    Ok(())
}

/// Waters whose conductivity the other program is known to miss: it leaves out the organic ions and
/// silicate, misjudges sour waters by 16 to 24 % (its mixing rule is not additive), overstates pure
/// calcium sulfate by up to 14 % against measurements, and parts from the measured single salts
/// above 0.1 mol/kg.
const CONDUCTIVITY_NOT_COMPARED: [&str; 10] = [
    "citrate",
    "citrate_bound",
    "lactate",
    "alkaline_silica",
    "sour",
    "sour_sulfate",
    "gypsum",
    "concentrate_bicarbonate",
    "concentrate_sulfate",
    "concentrate_chloride",
];

#[test]
fn conductivity_of_waters_agrees_with_phreeqc_within_5_percent() -> Fallible {
    let (mut misses, mut constants) = (Misses::default(), Constants::default());
    let mut compared = 0;
    for row in rows(include_str!("oracle/waters_phreeqc.csv"))? {
        let (celsius, id) = (row.number("celsius")?, row.text("id")?);
        if (celsius - 25.0).abs() > 0.1 || CONDUCTIVITY_NOT_COMPARED.contains(&id) {
            continue;
        }
        let (_, aqueous, _, conductor) = constants.at(celsius)?;
        let got = conductor.conductivity(&aqueous.speciate(&row.water()?, row.carbon()?)?);
        let want = row.number("sc_us_cm")?;
        misses.see(&format!("{id} {}", row.text("state")?), got.us_per_cm, want, 0.05 * want);
        compared += 1;
    }
    assert!(compared >= 80, "{compared} compared");
    misses.none()
}

/// What a mole of each salt brings.
fn salt(name: &str) -> Result<&'static [(Conserved, f64)], String> {
    use Conserved::{Alkalinity, Ca, Cl, Dic, K, Mg, NO3, Na, SO4};
    Ok(match name {
        "KCl" => &[(K, 1.0), (Cl, 1.0)],
        "NaCl" => &[(Na, 1.0), (Cl, 1.0)],
        "CaCl2" => &[(Ca, 1.0), (Cl, 2.0)],
        "MgCl2" => &[(Mg, 1.0), (Cl, 2.0)],
        "Na2SO4" => &[(Na, 2.0), (SO4, 1.0)],
        "K2SO4" => &[(K, 2.0), (SO4, 1.0)],
        "CaSO4" => &[(Ca, 1.0), (SO4, 1.0)],
        "MgSO4" => &[(Mg, 1.0), (SO4, 1.0)],
        "KHCO3" => &[(K, 1.0), (Alkalinity, 1.0), (Dic, 1.0)],
        "KNO3" => &[(K, 1.0), (NO3, 1.0)],
        "HCl" => &[(Cl, 1.0), (Alkalinity, -1.0)],
        "NaOH" => &[(Na, 1.0), (Alkalinity, 1.0)],
        "Ca(OH)2" => &[(Ca, 1.0), (Alkalinity, 2.0)],
        other => return Err(format!("salt {other}")),
    })
}

fn salt_water(name: &str, mmol_per_l: f64) -> Result<Composition, String> {
    let mut water = Composition::PURE_WATER;
    for (total, per_mole) in salt(name)? {
        water.add_mmol_per_l(*total, per_mole * mmol_per_l);
    }
    Ok(water)
}

#[test]
fn conductivity_of_single_salts_agrees_with_measurements_within_2_percent() -> Fallible {
    let (mut misses, mut constants) = (Misses::default(), Constants::default());
    let (_, aqueous, _, conductor) = constants.at(25.0)?;
    let table = rows(include_str!("oracle/conductivity_measured.csv"))?;
    for row in &table {
        let (name, mmol_per_l) = (row.text("salt")?, row.number("mmol_per_l")?);
        let species = aqueous.speciate(&salt_water(name, mmol_per_l)?, Carbon::Closed)?;
        let want = row.number("us_per_cm")?;
        let got = conductor.conductivity(&species).us_per_cm;
        misses.see(&format!("{mmol_per_l} mmol/L {name}"), got, want, 0.02 * want);
    }
    assert!(table.len() >= 60);
    misses.none()
}

/// The potassium chloride standards by which meters are set: ASTM D1125 and ISO 7888 (from memory).
#[test]
fn meter_standards_are_met() -> Fallible {
    let (mut misses, mut constants) = (Misses::default(), Constants::default());
    let (_, aqueous, _, conductor) = constants.at(25.0)?;
    for (mmol_per_l, us_per_cm) in [(1.0, 146.9), (10.0, 1413.0), (100.0, 12_880.0)] {
        let species = aqueous.speciate(&salt_water("KCl", mmol_per_l)?, Carbon::Closed)?;
        let got = conductor.conductivity(&species).us_per_cm;
        misses.see(&format!("{mmol_per_l} mmol/L"), got, us_per_cm, 0.005 * us_per_cm);
    }
    misses.none()
}

#[test]
fn what_concentrates_drop_agrees_with_phreeqc() -> Fallible {
    let (mut misses, mut constants) = (Misses::default(), Constants::default());
    let minerals = [Mineral::Calcite, Mineral::Gypsum, Mineral::Brucite];
    let mut sets = Vec::new();
    for row in rows(include_str!("oracle/solids_phreeqc.csv"))? {
        let (_, aqueous, ..) = constants.at(row.number("celsius")?)?;
        let got = aqueous.precipitate(&row.water()?, Carbon::Closed, &minerals)?;
        let id = format!("{} {}", row.text("id")?, row.text("celsius")?);
        for mineral in minerals {
            let want = row.number(mineral.key())?;
            let amount = got.mmol_per_kg(mineral);
            misses.see(&format!("{id} {}", mineral.key()), amount, want, 0.002 + 0.002 * want);
        }
        misses.see(&format!("{id} pH"), got.rest.ph(), row.number("ph")?, 0.003);
        sets.push(minerals.map(|m| got.mmol_per_kg(m) > 0.0));
    }
    sets.sort_unstable();
    sets.dedup();
    // The table is worth its name only if several sets of solids occur.
    assert!(sets.len() >= 4, "{sets:?}");
    misses.none()
}

/// Pure water in equilibrium with air: pH 5.6 (from memory; Stumm & Morgan, "Aquatic Chemistry").
#[test]
fn rain_has_a_ph_of_5_6() -> Fallible {
    let ph = Aqueous::at(Celsius::new(25.0))?.speciate(&Composition::PURE_WATER, TABLE_AIR)?.ph();
    assert!((ph - 5.6).abs() < 0.02, "{ph}");
    Ok(())
}

/// Calcite in equilibrium with water and air: pH 8.2 to 8.3 (from memory; the same book).
#[test]
fn calcite_in_air_has_a_ph_of_8_2_to_8_3() -> Fallible {
    let aqueous = Aqueous::at(Celsius::new(25.0))?;
    let rain = aqueous.speciate(&Composition::PURE_WATER, TABLE_AIR)?;
    let dissolved = Mineral::Calcite.taken_from(&Composition::PURE_WATER, rain.ccpp()?.mmol_per_kg);
    let saturated = aqueous.speciate(&dissolved, TABLE_AIR)?;
    assert!((8.2..8.3).contains(&saturated.ph()), "{}", saturated.ph());
    let si = saturated.si(Mineral::Calcite).ok_or("no index")?;
    assert!(si.abs() < 1e-4, "{si}");
    Ok(())
}

/// A worked example of DIN 38404-10 (C10-R3, April 1995, table 6), as published by the programme
/// aqion with its own results beside the standard's. Amounts mmol/L: Ca, Mg, Na, K, Cl, NO3, SO4.
struct DinExample {
    ph_measured: f64,
    measured_at: f64,
    judged_at: f64,
    carbon: f64,
    ions: [f64; 7],
    ph: f64,
    ph_saturated: f64,
    si: f64,
    dissolves: f64,
}

const DIN_EXAMPLES: [DinExample; 5] = [
    DinExample {
        ph_measured: 6.90,
        measured_at: 20.0,
        judged_at: 10.0,
        carbon: 6.680,
        ions: [3.50, 0.75, 2.05, 0.15, 2.50, 0.50, 1.20],
        ph: 6.98,
        ph_saturated: 7.07,
        si: -0.15,
        dissolves: 0.20,
    },
    DinExample {
        ph_measured: 8.20,
        measured_at: 15.0,
        judged_at: 11.0,
        carbon: 1.661,
        ions: [1.24, 0.41, 0.90, 0.07, 0.90, 0.55, 0.58],
        ph: 8.25,
        ph_saturated: 8.00,
        si: 0.27,
        dissolves: -0.03,
    },
    DinExample {
        ph_measured: 7.90,
        measured_at: 20.0,
        judged_at: 5.5,
        carbon: 2.456,
        ions: [1.22, 0.35, 0.15, 0.05, 0.16, 0.07, 0.35],
        ph: 8.05,
        ph_saturated: 7.90,
        si: 0.17,
        dissolves: -0.03,
    },
    DinExample {
        ph_measured: 8.40,
        measured_at: 17.0,
        judged_at: 12.0,
        carbon: 0.941,
        ions: [0.57, 0.10, 0.21, 0.02, 0.34, 0.08, 0.10],
        ph: 8.47,
        ph_saturated: 8.46,
        si: 0.01,
        dissolves: 0.00,
    },
    DinExample {
        ph_measured: 8.90,
        measured_at: 20.0,
        judged_at: 10.0,
        carbon: 0.329,
        ions: [0.30, 0.15, 0.30, 0.05, 0.30, 0.20, 0.20],
        ph: 9.08,
        ph_saturated: 9.22,
        si: -0.15,
        dissolves: 0.01,
    },
];

/// The standard's figures are rounded to 0.01; the programme that published them differs from them by
/// up to 0.02 in pH, 0.02 in the index and 0.03 mmol/L. Both rest on the constant of CaHCO3⁺ of 1982;
/// that of the database used here is a third of it, which in example 1 (6.7 mmol/L of carbon) makes
/// another 0.015 in the index and 0.02 mmol/L. PHREEQC with this database gives what is found here.
#[test]
fn worked_examples_of_din_38404_10_are_met() -> Fallible {
    let mut misses = Misses::default();
    for (number, example) in DIN_EXAMPLES.iter().enumerate() {
        let mut water = Composition::PURE_WATER;
        let [ca, mg, na, k, cl, no3, so4] = example.ions;
        for (total, mmol) in [
            (Conserved::Ca, ca),
            (Conserved::Mg, mg),
            (Conserved::Na, na),
            (Conserved::K, k),
            (Conserved::Cl, cl),
            (Conserved::NO3, no3),
            (Conserved::SO4, so4),
            (Conserved::Dic, example.carbon),
        ] {
            water.set_mmol_per_l(total, mmol);
        }
        let cold = CalciteConstant::PlummerBusenberg1982;
        let measured = Aqueous::with_calcite(Celsius::new(example.measured_at), cold)?;
        let titrated = measured
            .speciate_at_ph(&water, Carbon::Closed, example.ph_measured)?
            .alkalinity_meq_per_kg();
        water.set_mmol_per_l(Conserved::Alkalinity, titrated);
        let judged = Aqueous::with_calcite(Celsius::new(example.judged_at), cold)?;
        let got = judged.speciate(&water, Carbon::Closed)?;
        let ccpp = got.ccpp()?.mmol_per_kg;
        let after = Mineral::Calcite.taken_from(&water, ccpp);
        let saturated = judged.speciate(&after, Carbon::Closed)?;
        let what = |q: &str| format!("example {} {q}", number + 1);
        misses.see(&what("pH"), got.ph(), example.ph, 0.03);
        misses.see(&what("pH at saturation"), saturated.ph(), example.ph_saturated, 0.03);
        misses.see(&what("index"), got.si(Mineral::Calcite).ok_or("none")?, example.si, 0.04);
        misses.see(&what("calcite dissolved"), -ccpp, example.dissolves, 0.055);
    }
    misses.none()
}
