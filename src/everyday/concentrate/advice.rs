//! What is done with a bottle: method, label, shaking, keeping, cautions. Everything follows from
//! what the bottle holds and what precipitates in it.

use serde::Serialize;

use crate::assessment::State;
use crate::assessment::clouding::MAY_PRECIPITATE;
use crate::chemistry::{Conserved, Ion};
use crate::everyday::SaltCautions;
use crate::everyday::concentrate::bottle::Bottle;
use crate::everyday::concentrate::{ConcentrateContext, DoseBy, Filled, RestState, WeighedSalt};
use crate::quantities::show;
use crate::stock::bottle_pressure;

/// Whether something lies at the bottom at the temperature of the room.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Clarity {
    /// Nothing precipitates.
    Clear,
    /// Nothing precipitates as long as its carbon dioxide stays in.
    ClearWhileClosed,
    /// Something precipitates.
    Drops,
}

impl Clarity {
    pub(crate) fn of(standing: &[RestState]) -> Self {
        let room = |state: State| {
            let found = standing.iter().find(|s| s.state == state);
            found.is_some_and(RestState::is_clear)
        };
        match (room(State::Closed), room(State::Open)) {
            (true, true) => Clarity::Clear,
            (true, false) => Clarity::ClearWhileClosed,
            (false, _) => Clarity::Drops,
        }
    }

    /// What to do before a dose.
    #[must_use]
    pub fn shake(self) -> &'static str {
        match self {
            Clarity::Clear => "no need to shake",
            Clarity::ClearWhileClosed => "once it is cloudy, SHAKE before every dose",
            Clarity::Drops => "SHAKE before every dose until nothing lies at the bottom",
        }
    }
}

/// Where to keep a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Keeping {
    /// In the fridge.
    Cold,
    /// Not in the fridge.
    NotCold,
    /// Its salts do not mind.
    Either,
}

/// What is done with a bottle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// Whether something drops.
    pub clarity: Clarity,
    /// Where to keep it.
    pub keep: Keeping,
    /// Why there.
    pub keep_because: String,
    /// Pressure of carbon dioxide that builds up in the full, closed bottle in the room, atm;
    /// nothing below what counts as pressure.
    pub pressure_atm: Option<f64>,
    /// Steps, in their order.
    pub method: Vec<String>,
    /// Lines of the label.
    pub label: Vec<String>,
    /// What to mind with each salt.
    pub cautions: Vec<SaltCautions>,
}

/// What a bottle is called.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Named<'a> {
    pub(crate) water: &'a str,
    /// Which of how many bottles.
    pub(crate) part: Option<(usize, usize)>,
    /// What it is dosed into, in words.
    pub(crate) rest: &'a str,
}

/// Part of the water that is poured first: our choice, room enough for the salts.
const FIRST_WATER: f64 = 2.0 / 3.0;

/// Difference between cold and warm that counts, g: our choice, less than anyone sees.
const SEEN_G: f64 = 0.001;

impl Advice {
    pub(crate) fn new(
        bottle: &Bottle,
        standing: &[RestState],
        named: Named<'_>,
        (filled, dose): (Filled, DoseBy),
        context: &ConcentrateContext<'_>,
    ) -> Self {
        let clarity = Clarity::of(standing);
        let (keep, keep_because) = keeping(bottle, standing);
        let salts = in_order(bottle, context);
        let pressure_atm = standing.iter().find(|s| s.is_under_pressure()).map(|s| s.co2_atm);
        let mut method = method(bottle, &salts, (filled, dose), clarity, context);
        if let Some(atm) = pressure_atm {
            method.push(bottle_pressure::pressure_caution(atm));
        }
        Self {
            clarity,
            keep,
            method,
            label: label(
                bottle,
                &salts,
                named,
                (filled, dose),
                (clarity, keep, pressure_atm),
                context,
            ),
            cautions: SaltCautions::of(bottle.salts.iter().map(|(s, _)| &s.salt)),
            keep_because,
            pressure_atm,
        }
    }
}

/// Salts as they go in: those with carbonate last, into what is then most dilute.
fn in_order(bottle: &Bottle, context: &ConcentrateContext<'_>) -> Vec<WeighedSalt> {
    let alkaline = |ion: &Ion| matches!(ion, Ion::Bicarbonate | Ion::Carbonate | Ion::Hydroxide);
    let mut salts: Vec<(bool, WeighedSalt)> = bottle
        .salts
        .iter()
        .map(|(s, _)| s.salt.ions.iter().any(|(ion, _)| alkaline(ion)))
        .zip(bottle.weighed(context.tools))
        .collect();
    salts.sort_by_key(|(alkaline, _)| *alkaline);
    salts.into_iter().map(|(_, salt)| salt).collect()
}

/// `CaCl2·2H2O 1.75 g, KHCO3 1.31 g`.
pub(crate) fn listed(salts: &[WeighedSalt]) -> String {
    let one = |s: &WeighedSalt| format!("{} {} g", s.formula, s.g_shown);
    salts.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn keeping(bottle: &Bottle, standing: &[RestState]) -> (Keeping, String) {
    let [room, open, fridge] = standing else { return (Keeping::Either, String::new()) };
    // Crystals that come in the room as well are no reason against the cold, unless more come.
    let in_room = |formula: &str| {
        let same = room.own_crystals.iter().find(|c| c.formula == formula);
        same.filter(|c| c.expected()).map_or(0.0, |c| c.percent_of_saturation)
    };
    let crystals = fridge
        .own_crystals
        .iter()
        .find(|c| c.expected() && c.percent_of_saturation > in_room(&c.formula));
    if let Some(crystals) = crystals {
        let does = if crystals.percent_of_saturation < 100.0 {
            "is close to crystallising"
        } else {
            "crystallises"
        };
        let why = format!("at {} °C {} {does}", celsius(fridge), crystals.formula);
        return (Keeping::NotCold, why);
    }
    let more_of = |here: &RestState, there: &RestState| -> String {
        // If all together are more by what is seen, one of them is by its part of it.
        let seen = SEEN_G / f64::from(u32::try_from(MAY_PRECIPITATE.len()).unwrap_or(u32::MAX));
        let more = here.solids.iter().filter(|s| s.g > there.g_of(s.mineral) + seen);
        more.map(|s| s.mineral).collect::<Vec<_>>().join(" and ")
    };
    // A bottle that presses is kept for its pressure; what lies in it is shaken up anyway.
    let presses = room.is_under_pressure();
    if fridge.solids_g() > room.solids_g() + SEEN_G && !presses {
        let why = format!("at {} °C more {} precipitates", celsius(fridge), more_of(fridge, room));
        return (Keeping::NotCold, why);
    }
    let has_carbon = bottle.per_kg.mmol_per_l(Conserved::Dic) > 0.0;
    if has_carbon && room.co2_atm > open.co2_atm && room.co2_atm > fridge.co2_atm {
        let less = fridge.co2_atm / room.co2_atm;
        let why = format!(
            "its CO2 has {} % less pressure at {} °C than at {} °C",
            show::fixed(100.0 * (1.0 - less), 0),
            celsius(fridge),
            celsius(room)
        );
        return (Keeping::Cold, why);
    }
    if room.solids_g() > fridge.solids_g() + SEEN_G {
        let why = format!("at {} °C less {} precipitates", celsius(fridge), more_of(room, fridge));
        return (Keeping::Cold, why);
    }
    let why = match fridge.unknown_crystals.as_slice() {
        [] => "nothing more precipitates in the cold".to_owned(),
        unknown => format!(
            "nothing more is known to precipitate in the cold, but whether {} crystallises there is \
             not known",
            unknown.join(" or ")
        ),
    };
    (Keeping::Either, why)
}

fn celsius(standing: &RestState) -> String {
    show::plain(standing.celsius)
}

/// The dose with its other measure: `4 mL (4.07 g)`.
pub(crate) fn dose_text(bottle: &Bottle, dose: DoseBy) -> String {
    let rho = bottle.g_per_ml();
    match dose {
        DoseBy::Volume(ml) => format!("{} ({} g)", dose.text(), show::three_figures(ml * rho)),
        DoseBy::Mass(g) => format!("{} ({} mL)", dose.text(), show::three_figures(g / rho)),
    }
}

fn method(
    bottle: &Bottle,
    salts: &[WeighedSalt],
    (filled, dose): (Filled, DoseBy),
    clarity: Clarity,
    context: &ConcentrateContext<'_>,
) -> Vec<String> {
    let water_g = bottle.total_g - bottle.salts_g();
    let water = |part: f64| show::fixed(water_g * part, 0);
    let cloudy = if clarity == Clarity::Drops { "evenly cloudy" } else { "clear" };
    let mut steps = match filled {
        Filled::IntoWater(_) | Filled::IntoWaterVolume(_) => {
            vec![format!("Pour {} g of cold water into the bottle.", water(1.0))]
        }
        _ => vec![format!(
            "Pour about {} g of cold distilled water into the bottle.",
            water(FIRST_WATER)
        )],
    };
    steps
        .push(format!("Weigh and add, each dissolved before the next goes in: {}.", listed(salts)));
    match filled {
        Filled::ToMass(g) => steps.push(format!(
            "Fill with distilled water until the contents weigh {} g ({} g of water in all); turn \
             over until {cloudy}.",
            show::plain(g),
            show::fixed(water_g, 1)
        )),
        Filled::ToVolume(ml) => steps.push(format!(
            "At 20 °C, fill with distilled water to {} mL (the contents then weigh {} g); turn over \
             until {cloudy}.",
            show::plain(ml),
            show::fixed(bottle.total_g, 1)
        )),
        _ => steps.push(format!("Turn over until {cloudy}.")),
    }
    steps.push(if dose.is_undiluted() {
        format!("Pour it as it is; {}.", clarity.shake())
    } else {
        let dose = dose_text(bottle, dose);
        format!("Per litre of finished water take {dose}; {}.", clarity.shake())
    });
    steps.extend(badly_weighed(salts, 100.0 * context.tools.weighing.value()));
    steps
}

/// What would weigh the salts as accurately as wanted; nothing where they are, to the digits that
/// are shown.
fn badly_weighed(salts: &[WeighedSalt], wanted_percent: f64) -> Option<String> {
    /// Our choice: the figures of an accuracy (JCGM 100:2008, 7.2.6).
    const FIGURES: i32 = 2;
    let worst = salts.iter().max_by(|a, b| a.expanded_percent.total_cmp(&b.expanded_percent))?;
    let percent = worst.expanded_percent;
    show::is_above_as_shown(percent, wanted_percent).then(|| {
        format!(
            "This balance weighs {} to ± {} %: for ± {} % make {} times as much, or weigh with \
             a finer one.",
            worst.formula,
            show::fixed(percent, show::decimals_for(percent, FIGURES, 4)),
            show::plain(wanted_percent),
            show::plain(show::up_to_two_figures(percent / wanted_percent))
        )
    })
}

fn label(
    bottle: &Bottle,
    salts: &[WeighedSalt],
    named: Named<'_>,
    (filled, dose): (Filled, DoseBy),
    (clarity, keep, pressure_atm): (Clarity, Keeping, Option<f64>),
    context: &ConcentrateContext<'_>,
) -> Vec<String> {
    let which = named.part.filter(|(_, of)| *of > 1);
    let which = which.map_or(String::new(), |(n, of)| format!(", bottle {n} of {of}"));
    let made = context.made_on.map_or("____-__-__".to_owned(), |day| day.to_string());
    let each = if which.is_empty() { "" } else { " of each bottle" };
    let shut = match pressure_atm {
        Some(atm) if bottle_pressure::is_too_much_for_a_bottle(atm) => "do NOT close it",
        Some(_) => "cap LOOSE",
        None => "keep closed",
    };
    let keep = match keep {
        Keeping::Cold => format!("{shut}, in the fridge"),
        Keeping::NotCold => format!("{shut}, NOT in the fridge"),
        Keeping::Either => shut.to_owned(),
    };
    let there = |ion: Ion| bottle.salts.iter().any(|(s, _)| s.salt.ions.iter().any(|i| i.0 == ion));
    let diets: Vec<&str> = [(Ion::Sodium, "sodium"), (Ion::Potassium, "potassium")]
        .into_iter()
        .filter(|(ion, _)| there(*ion))
        .map(|(_, name)| name)
        .collect();
    let mut lines = vec![
        format!("{}, concentrate{which}, made on {made}", named.water),
        "lot __________, keep until __________".to_owned(),
        format!("{}; {}", listed(salts), filled.text()),
        if dose.is_undiluted() {
            format!("poured as it is, {} L", show::three_figures(bottle.litres(dose)))
        } else {
            format!(
                "{}{each} per litre of finished water, the rest {}; makes {} L",
                dose_text(bottle, dose),
                named.rest,
                show::three_figures(bottle.litres(dose))
            )
        },
        format!("{}; {keep}", clarity.shake()),
    ];
    lines.push(if dose.is_undiluted() {
        "food-grade salts".to_owned()
    } else {
        "food-grade salts; not to be drunk undiluted".to_owned()
    });
    if let Some(atm) = pressure_atm {
        lines.push(bottle_pressure::pressure_in_short(atm));
    }
    if !diets.is_empty() {
        lines.push(format!("contains {}: mind restricted diets", diets.join(" and ")));
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_weighed_as_wished_to_the_digits_shown_is_not_complained_of() {
        let salt = |expanded_percent| WeighedSalt {
            name: "calcium".to_owned(),
            formula: "CaCl2·2H2O".to_owned(),
            g: 2.45,
            g_shown: "2.45".to_owned(),
            expanded_percent,
        };
        for enough in [0.2, 0.999, 1.000_4, 1.049] {
            assert_eq!(badly_weighed(&[salt(0.1), salt(enough)], 1.0), None, "{enough}");
        }
        for (percent, words) in
            [(1.051, "± 1.1 %: for ± 1 % make 1.1 times"), (12.3, "make 13 times")]
        {
            let said = badly_weighed(&[salt(0.1), salt(percent)], 1.0).unwrap_or_default();
            assert!(said.contains(words), "{said}");
        }
    }
}
