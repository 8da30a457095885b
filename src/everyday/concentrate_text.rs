//! A concentrate as text: what to weigh, what happens in it, label and method.

use crate::assessment::{State, unknowns_text};
use crate::everyday::batch_text::{cost, ions, not_judged, outlook, reached};
use crate::everyday::concentrate::advice::listed;
use crate::everyday::concentrate::{
    Advice, Clarity, ConcentrateReport, FRIDGE, Keeping, RestState, SplitBottle, StockDose,
};
use crate::everyday::salt_cautions::{everything, while_dissolving};
use crate::quantities::show;
use crate::stock::bottle_pressure;
use crate::text::cautions;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{each, wrapped};

/// One concentrate.
#[must_use]
pub fn text(report: &ConcentrateReport, extent: Extent) -> String {
    let mut out = Screen::new(extent);
    out.push(&format!("{}\n", report.name));
    out.rest(&each("  ", &report.notes));
    out.push(&each("  ! ", &report.bags));
    out.push(&contents(report));
    out.push(&finished(report));
    for missed in &report.missed {
        let got = missed.got.map_or("–".to_owned(), |got| reached(got, missed.miss, false));
        let text =
            format!("  ! NOT REACHED: {}, wanted {}, got {got}", missed.measure, missed.want);
        out.push(&wrapped(&text, 4));
    }
    if !report.with_stocks.is_empty() {
        out.rest(&wrapped(
            &format!("  the same with the stocks of the shelf: {}", doses(&report.with_stocks)),
            4,
        ));
    }
    out.push(&cost(report.cost.as_ref()));
    out.rest("\nIn the bottle\n");
    out.rest(&at_rest(report));
    out.rest(&considered(Some(report)));
    out.push(&blocked(report));
    out.instead(&in_short(report));
    out.rest(&in_one(report));
    if let Some(bottles) = report.split.as_deref().filter(|b| b.len() > 1) {
        out.rest(&in_several(bottles));
    }
    out.rest("\nCautions\n");
    out.rest(&everything(report.advice.cautions.iter()));
    out.rest(&wrapped(cautions::SALTS, 0));
    out.drinking();
    out.end()
}

/// How one bottle behaves, and what goes into each of several: what has to be known before it is made.
fn in_short(report: &ConcentrateReport) -> String {
    let mut out = while_dissolving(report.advice.cautions.iter());
    // On a screen of its own length a line more is one too many.
    let amounts = if report.extrapolated {
        format!(
            "; ionic strength {} mol/kg: amounts extrapolated",
            show::three_figures(report.ionic_strength_mol_per_kg)
        )
    } else {
        String::new()
    };
    out += &wrapped(&format!("  {}{amounts}", clarity(report)), 4);
    if let Some(room) = report.standing.first().filter(|s| !s.solids.is_empty()) {
        out.push_str(&standing(room));
    }
    if let Some(atm) = report.advice.pressure_atm {
        out.push_str(&wrapped(&format!("  ! {}", bottle_pressure::pressure_in_short(atm)), 4));
    }
    if let Some(bottles) = report.split.as_deref().filter(|b| b.len() > 1) {
        let head = format!(
            "  in {} bottles nothing precipitates; the dose of each for every litre:",
            bottles.len()
        );
        out.push_str(&wrapped(&head, 4));
        for (n, bottle) in bottles.iter().enumerate() {
            let text = format!(
                "    {}: {}; water to {} g",
                n + 1,
                listed(&bottle.salts),
                show::three_figures(bottle.total_g)
            );
            out.push_str(&wrapped(&text, 6));
        }
    }
    out
}

/// `epsom 1.52, soda 0.97 mL/L`.
pub(crate) fn doses(doses: &[StockDose]) -> String {
    let one = |d: &StockDose| format!("{} {}", d.stock, show::three_figures(d.ml_per_l));
    format!("{} mL/L", doses.iter().map(one).collect::<Vec<_>>().join(", "))
}

fn contents(report: &ConcentrateReport) -> String {
    let mut out = wrapped(&format!("  salts: {}; {}", listed(&report.salts), report.filled), 4);
    let basis = if report.density_is_published { "" } else { ", partly estimated" };
    out.push_str(&wrapped(
        &format!(
            "  {} g with {} g of water; density {} g/mL (k = 2) at 20 °C{basis}; {} mL",
            show::fixed(report.total_g, 1),
            show::fixed(report.water_g, 1),
            show::with_plus_minus(report.density_g_per_ml, report.density_expanded_g_per_ml),
            show::fixed(report.volume_ml, 1)
        ),
        4,
    ));
    let into: Vec<String> = report
        .base
        .iter()
        .map(|b| format!("{} mL of {}", show::fixed(1000.0 * b.litres_per_l, 0), b.water))
        .collect();
    out.push_str(&wrapped(
        &format!(
            "  dose {} mL ({} g) per litre of finished water, with {}: makes {} L",
            show::three_figures(report.dose_ml_per_l),
            show::three_figures(report.dose_g_per_l),
            into.join(" and "),
            show::three_figures(report.makes_litres)
        ),
        4,
    ));
    out
}

fn finished(report: &ConcentrateReport) -> String {
    let index = |si: Option<f64>, mineral: &str| {
        let is_open = report.finished.not_judged.contains(&mineral);
        let none = if is_open { "not known" } else { "none" };
        si.map_or(none.to_owned(), |si| show::fixed(si, 2))
    };
    wrapped(
        &format!(
            "  finished: {} mg/L; {}",
            ions(&report.mg_per_l),
            unknowns_text::sums(
                report.hardness_mg_per_l_caco3,
                report.alkalinity_mg_per_l_caco3,
                ""
            )
        ),
        4,
    ) + &unknowns_text::lines(&report.unknowns)
        + &wrapped(
            &format!(
                "  finished water: {}{}; saturation index (calcite) {}, (gypsum) {}",
                outlook(report.finished.outlook),
                not_judged(&report.finished),
                index(report.finished_si_calcite, "calcite"),
                index(report.finished_si_gypsum, "gypsum")
            ),
            4,
        )
}

/// What happens in the bottle when it stands.
pub(crate) fn at_rest(report: &ConcentrateReport) -> String {
    let mut out: String = report.standing.iter().map(standing).collect();
    if report.standing.first().is_some_and(|s| !s.solids.is_empty()) {
        out.push_str(&wrapped(
            &format!("  unshaken, the water would be: {} mg/L", ions(&report.unshaken_mg_per_l)),
            4,
        ));
    }
    if let Some(open) = left_open(report) {
        out.push_str(&wrapped(&open, 4));
    }
    if report.extrapolated {
        out.push_str(&wrapped(
            &format!(
                "  ! ionic strength {} mol/kg is above 0.5, up to which the activity model was \
                 tested: the direction is right, the amounts are an extrapolation",
                show::three_figures(report.ionic_strength_mol_per_kg)
            ),
            4,
        ));
    }
    out
}

/// What becomes of it in the open; nothing when next to no carbon leaves.
fn left_open(report: &ConcentrateReport) -> Option<String> {
    if report.carbon_lost_open_percent <= 1.0 {
        return None;
    }
    let of = |state: State| report.standing.iter().find(|s| s.state == state);
    let (closed, open) = (of(State::Closed)?, of(State::Open)?);
    // Our choice: less than half a per cent of the alkalinity at the bottom is none.
    let lost = open.alkalinity_lost_percent();
    let alkalinity = if lost < 0.5 {
        "alkalinity stays".to_owned()
    } else {
        format!("{} % of the alkalinity is then at the bottom", show::fixed(lost, 0))
    };
    let way = if open.ph > closed.ph { "rises" } else { "falls" };
    Some(format!(
        "  left open it gives off {} % of its carbon as CO2; {alkalinity}; pH {way} to {}",
        show::fixed(report.carbon_lost_open_percent, 0),
        show::fixed(open.ph, 1)
    ))
}

/// Which solids were looked at and which were not.
pub(crate) fn considered(report: Option<&ConcentrateReport>) -> String {
    let left_out = report.map_or(&[][..], |r| r.not_considered.as_slice());
    let unknown = |s: &RestState| !s.unknown_crystals.is_empty();
    let salts = if report.is_some_and(|r| r.standing.iter().any(unknown)) {
        "the other salts"
    } else {
        "every salt"
    };
    let mut out = wrapped(
        &format!(
            "  considered: calcite, gypsum, brucite, nesquehonite, and the crystals of {salts} that \
             the ions can make"
        ),
        4,
    );
    let mut reasons: Vec<&str> = Vec::new();
    for solid in left_out {
        if !reasons.contains(&solid.because.as_str()) {
            reasons.push(&solid.because);
        }
    }
    let each: Vec<String> = reasons
        .into_iter()
        .map(|because| {
            let of = left_out.iter().filter(|s| s.because == because).map(|s| s.solid.as_str());
            format!("{} ({because})", of.collect::<Vec<_>>().join(", "))
        })
        .collect();
    if !each.is_empty() {
        out.push_str(&wrapped(&format!("  not considered: {}", each.join("; ")), 4));
    }
    out
}

/// A saturated solution.
const SATURATED_PERCENT: f64 = 100.0;

fn standing(standing: &RestState) -> String {
    let mut parts: Vec<String> = Vec::new();
    if !standing.solids.is_empty() {
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
        parts.push(format!("{} at the bottom, with {}", solids.join(", "), lost.join(", ")));
        if standing.solids.iter().all(|s| s.may_stay_clear) {
            parts.push("so little oversaturated that it may stay clear for long".to_owned());
        }
    }
    for crystals in &standing.own_crystals {
        let (formula, percent) = (&crystals.formula, crystals.percent_of_saturation);
        // Just below or above saturation, the first decimal says which.
        let decimals = usize::from((percent - SATURATED_PERCENT).abs() < 1.0);
        let shown = show::fixed(percent, decimals);
        parts.push(if percent >= SATURATED_PERCENT {
            format!("{formula} CRYSTALLISES, {shown} % of what stays dissolved")
        } else if crystals.expected() {
            format!("{formula} is so near to saturation ({shown} %) that crystals are likely")
        } else {
            format!("{formula} is at {shown} % of what stays dissolved")
        });
    }
    if standing.is_clear() {
        parts.insert(0, "nothing precipitates".to_owned());
    }
    if !standing.unknown_crystals.is_empty() {
        let salts = standing.unknown_crystals.join(" and ");
        parts.push(format!("how much {salts} stays dissolved is not known"));
    }
    wrapped(
        &format!(
            "  {} °C, {}: {}; pH {}{}",
            show::plain(standing.celsius),
            standing.state.label(),
            parts.join("; "),
            show::fixed(standing.ph, 1),
            co2(standing)
        ),
        4,
    )
}

/// Our choice: less pressure than this is not told, atm; no stopper feels it.
const TOLD_ATM: f64 = 0.05;

/// The pressure of carbon dioxide in a closed bottle; nothing when there is next to none.
fn co2(standing: &RestState) -> String {
    if standing.state != State::Closed || standing.co2_atm < TOLD_ATM {
        return String::new();
    }
    let two = |atm: f64| show::fixed(atm, show::decimals_for(atm, 2, 2));
    let headspace = standing
        .co2_headspace_atm
        .map_or(String::new(), |atm| format!(", {} with a fifth of it gas", two(atm)));
    format!("; pressure of CO2 {} atm in a full bottle{headspace}", two(standing.co2_atm))
}

/// What is said of a bottle in which nothing precipitates in the room.
pub(crate) fn stays_clear(standing: &[RestState]) -> &'static str {
    let room = standing.iter().take_while(|s| s.celsius > FRIDGE.value());
    if room.into_iter().all(|s| s.unknown_crystals.is_empty()) {
        "it stays clear"
    } else {
        "it stays clear, as far as is known"
    }
}

/// Why no number of bottles stays clear; nothing when one does.
pub(crate) fn blocked(report: &ConcentrateReport) -> String {
    let mut out = String::new();
    for salt in &report.split_blocked {
        let least = salt.least_dose.as_ref().map_or_else(
            || "a much weaker water".to_owned(),
            |dose| format!("{dose} per litre or more"),
        );
        out.push_str(&wrapped(
            &format!(
                "  ! no number of bottles stays clear at this dose: {} would need {least} ({})",
                salt.formula, salt.why
            ),
            4,
        ));
    }
    out
}

/// Whether one bottle stays clear.
fn clarity(report: &ConcentrateReport) -> String {
    match report.advice.clarity {
        Clarity::ClearWhileClosed if report.advice.pressure_atm.is_some() => {
            "One bottle: clear only under the pressure of its CO2".to_owned()
        }
        Clarity::Clear => format!("One bottle is enough: {}", stays_clear(&report.standing)),
        Clarity::ClearWhileClosed => "One bottle: clear as long as it is kept closed".to_owned(),
        Clarity::Drops => "One bottle, shaken".to_owned(),
    }
}

fn in_one(report: &ConcentrateReport) -> String {
    let title = clarity(report);
    format!("\n{title}\n{}\nLabel\n{}", method(&report.advice), each("  ", &report.advice.label))
        + &keep(&report.advice)
}

fn in_several(bottles: &[SplitBottle]) -> String {
    let total = bottles.first().map_or(0.0, |b| b.total_g);
    let mut out = format!(
        "\n{} bottles of about {} g, the fewest in which nothing precipitates\n",
        bottles.len(),
        show::three_figures(total)
    );
    out.push_str(&wrapped(
        "  Made like the one above; take the dose of each for every litre. Never mix them undiluted.",
        2,
    ));
    for bottle in bottles {
        out.push_str("\nLabel\n");
        out.push_str(&each("  ", &bottle.advice.label));
        out.push_str(&format!("Water: {} g.\n", show::fixed(bottle.water_g, 1)));
        out.push_str(&keep(&bottle.advice));
    }
    out
}

fn method(advice: &Advice) -> String {
    let steps = advice.method.iter().enumerate();
    steps.map(|(n, step)| wrapped(&format!("{:>2}. {step}", n + 1), 4)).collect()
}

fn keep(advice: &Advice) -> String {
    let place = match advice.keep {
        Keeping::Cold => "Cold",
        Keeping::NotCold => "Not cold",
        Keeping::Either => "Cold or not",
    };
    wrapped(&format!("{place}: {}.", advice.keep_because), 2)
}
