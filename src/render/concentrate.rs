//! A concentrate as text: what to weigh, what happens in it, label and method.

use crate::quantities::show;
use crate::render::batch::{cost, ions, outlook};
use crate::render::cautions;
use crate::render::table::wrapped;
use crate::report::concentrate::{Standing, WeighedSalt};
use crate::report::{ConcentrateReport, ReverseReport, State};

/// One concentrate.
#[must_use]
pub fn text(report: &ConcentrateReport) -> String {
    let mut out = body(report);
    if !report.with_stocks.is_empty() {
        let doses: Vec<String> = report
            .with_stocks
            .iter()
            .map(|(name, ml)| format!("{name} {}", show::three_figures(*ml)))
            .collect();
        out.push_str(&wrapped(
            &format!("  the same with the stocks of the shelf, mL/L: {}", doses.join(", ")),
            4,
        ));
    }
    out.push_str(&cost(report.cost.as_ref()));
    out.push('\n');
    out.push_str(&method(report));
    out.push_str(&label(report));
    out.push_str(&wrapped(cautions::SALTS, 0));
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// A recipe, once for each reading.
#[must_use]
pub fn readings(report: &ReverseReport) -> String {
    let mut out = match report.readings.len() {
        1 => String::new(),
        n => wrapped(&format!("{n} readings, since a hydrate was left out:"), 0) + "\n",
    };
    for reading in &report.readings {
        out.push_str(&body(reading));
        out.push('\n');
    }
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

fn list(salts: &[WeighedSalt]) -> String {
    let one = |s: &WeighedSalt| format!("{} {} g", s.formula, show::fixed(s.g, 2));
    salts.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn body(report: &ConcentrateReport) -> String {
    let mut out = format!("{}\n", report.name);
    out.push_str(&wrapped(&format!("  salts: {}", list(&report.salts)), 4));
    let basis = if report.density_is_published { "" } else { ", partly estimated" };
    out.push_str(&wrapped(
        &format!(
            "  water to {} g ({} g); density {} g/mL at 20 °C{basis}, {} mL",
            show::plain(report.total_g),
            show::fixed(report.water_g, 1),
            show::fixed(report.density_g_per_ml, 4),
            show::fixed(report.volume_ml, 1)
        ),
        4,
    ));
    out.push_str(&wrapped(
        &format!(
            "  dose {} mL ({} g) per litre of finished water: makes {} L",
            show::three_figures(report.dose_ml_per_l),
            show::three_figures(report.dose_g_per_l),
            show::three_figures(report.makes_litres)
        ),
        4,
    ));
    out.push_str(&wrapped(
        &format!(
            "  finished: {} mg/L; hardness {}, alkalinity {} mg/L as CaCO3",
            ions(&report.mg_per_l),
            show::three_figures(report.hardness_mg_per_l_caco3),
            show::three_figures(report.alkalinity_mg_per_l_caco3)
        ),
        4,
    ));
    let index = |si: Option<f64>| si.map_or("none".to_owned(), |si| show::fixed(si, 2));
    out.push_str(&wrapped(
        &format!(
            "  finished water: {}; calcite index {}, gypsum index {}",
            outlook(report.finished.outlook),
            index(report.finished_si_calcite),
            index(report.finished_si_gypsum)
        ),
        4,
    ));
    for standing in &report.standing {
        out.push_str(&at_rest(standing));
    }
    if report.standing.first().is_some_and(|s| !s.solids.is_empty()) {
        out.push_str(&wrapped(
            &format!("  unshaken, the water would be: {} mg/L", ions(&report.unshaken_mg_per_l)),
            4,
        ));
    }
    if !report.undissolved.is_empty() {
        out.push_str(&wrapped(
            &format!("  ! would not dissolve at 20 °C: {}", report.undissolved.join(", ")),
            4,
        ));
    }
    if report.carbon_lost_open_percent > 1.0 {
        out.push_str(&wrapped(
            &format!(
                "  left open it gives off {} % of its carbon as CO2; alkalinity stays, pH rises",
                show::fixed(report.carbon_lost_open_percent, 0)
            ),
            4,
        ));
    }
    let strength = show::three_figures(report.ionic_strength_mol_per_kg);
    if report.extrapolated {
        out.push_str(&wrapped(
            &format!(
                "  ! ionic strength {strength} mol/kg is beyond the 0.5 that the activity model is \
                 backed for: the direction is right, the amounts are an extrapolation"
            ),
            4,
        ));
    }
    out.push_str(&split(report));
    out
}

fn at_rest(standing: &Standing) -> String {
    let state = standing.state.label();
    let celsius = show::plain(standing.celsius);
    let text = if standing.solids.is_empty() {
        "nothing drops".to_owned()
    } else {
        let solids: Vec<String> = standing
            .solids
            .iter()
            .map(|s| format!("{} g of {} ({})", show::three_figures(s.g), s.mineral, s.formula))
            .collect();
        let lost: Vec<String> = standing
            .lost_percent
            .0
            .iter()
            .map(|(key, percent)| format!("{percent:.0} % of {key}"))
            .collect();
        format!("{} at the bottom, with {}", solids.join(", "), lost.join(", "))
    };
    wrapped(&format!("  at {celsius} °C, {state}: {text}; pH {}", show::fixed(standing.ph, 1)), 4)
}

fn split(report: &ConcentrateReport) -> String {
    match &report.split {
        Some(bottles) if bottles.len() == 1 => {
            "  one bottle is enough: it stays clear\n".to_owned()
        }
        Some(bottles) => {
            let mut out = format!(
                "  fewest bottles in which nothing drops, same dose of each: {}\n",
                bottles.len()
            );
            for (n, bottle) in bottles.iter().enumerate() {
                out.push_str(&wrapped(
                    &format!(
                        "    {}. {}, water {} g; for {} L",
                        n + 1,
                        list(&bottle.salts),
                        show::fixed(bottle.water_g, 1),
                        show::three_figures(bottle.litres)
                    ),
                    7,
                ));
            }
            out
        }
        None => {
            wrapped("  no number of bottles stays clear at this strength: take a larger dose", 4)
        }
    }
}

fn drops_more_when_cold(report: &ConcentrateReport) -> bool {
    let mass = |state: State, cold: bool| -> f64 {
        let found = report.standing.iter().find(|s| s.state == state && (s.celsius < 10.0) == cold);
        found.map_or(0.0, |s| s.solids.iter().map(|solid| solid.g).sum())
    };
    mass(State::Closed, true) > mass(State::Closed, false)
}

fn keep(report: &ConcentrateReport) -> &'static str {
    if drops_more_when_cold(report) { "keep closed, not cold" } else { "keep closed and cold" }
}

fn shake(report: &ConcentrateReport) -> &'static str {
    if report.clear { "no need to shake" } else { "SHAKE before every dose" }
}

fn method(report: &ConcentrateReport) -> String {
    let steps = [
        format!("Weigh {} into the bottle.", list(&report.salts)),
        format!(
            "Fill up with water to {} g together; swirl until clear or evenly cloudy.",
            show::plain(report.total_g)
        ),
        format!(
            "Per litre of finished water: {} mL; {}.",
            show::three_figures(report.dose_ml_per_l),
            shake(report)
        ),
    ];
    let lines = steps.iter().enumerate();
    lines.map(|(n, step)| wrapped(&format!("{:>2}. {step}", n + 1), 4)).collect()
}

fn label(report: &ConcentrateReport) -> String {
    let mut out = String::from("\nLabel\n");
    for line in [
        format!("  {}, concentrate, made on ____-__-__", report.name),
        format!("  {}; water to {} g", list(&report.salts), show::plain(report.total_g)),
        format!(
            "  {} mL per litre; {}; {}; not to be drunk undiluted",
            show::three_figures(report.dose_ml_per_l),
            shake(report),
            keep(report)
        ),
    ] {
        out.push_str(&wrapped(&line, 4));
    }
    out.push('\n');
    out
}
