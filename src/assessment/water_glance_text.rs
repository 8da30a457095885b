//! One water on one screen: what it holds, how it behaves in the cup, the boilers and the bottle, and
//! what there is to keep in mind.

use crate::assessment::saturation_text::{clouding, index};
use crate::assessment::{
    Onset, State, SteamScale, WaterAnswer, machine_text, unknowns_text, water_holds_text,
};
use crate::chemistry::conductivity::REFERENCE_CELSIUS;
use crate::quantities::show;
use crate::text::table::{each, wrapped};

/// The water.
pub(crate) fn text(answer: &WaterAnswer) -> String {
    let mut out = format!("{}\n", answer.report.name);
    out.push_str(&each("  ", &answer.notes));
    out.push_str(&water_holds_text::text(answer));
    out.push_str(&in_the_room(answer));
    out.push_str(&water_holds_text::widened(answer));
    out.push_str(&boilers(answer));
    out.push_str(&water_holds_text::withheld(answer));
    out.push_str(&clouding(answer));
    let corrosion = &answer.report.corrosion;
    // Chloride that is too much already as it is fed is too much in the steam boiler: said once here.
    let is_fed = corrosion.chloride.caution.is_some();
    let repeated = corrosion.boiler_chloride.caution.filter(|_| is_fed);
    out.push_str(&each("  ! ", corrosion.cautions().filter(|caution| Some(*caution) != repeated)));
    if let Some(machine) = &answer.machine {
        let outside = machine_text::outside_in_short(machine);
        let verdict = outside.unwrap_or_else(|| "all that were checked are kept".to_owned());
        out.push_str(&wrapped(&format!("  limits of {}: {verdict}", machine.machine), 4));
    }
    out
}

fn in_the_room(answer: &WaterAnswer) -> String {
    let closed = answer.report.room(State::Closed);
    let open = answer.report.room(State::Open);
    let mut parts: Vec<String> = Vec::new();
    if let Some(closed) = closed {
        let open = open.map_or(String::new(), |r| format!(", {} in air", show::fixed(r.ph, 2)));
        parts.push(format!("pH {} as mixed{open}", show::fixed(closed.ph, 2)));
    }
    // A conductivity is stated at 25 °C, whatever the room has.
    let celsius = closed.map_or(REFERENCE_CELSIUS, |room| room.celsius);
    let at = if (celsius - REFERENCE_CELSIUS).abs() > 0.0 {
        format!(" at {} °C", show::plain(REFERENCE_CELSIUS))
    } else {
        String::new()
    };
    let reading = &answer.meter;
    parts.push(match reading.us_per_cm_25_between {
        Some(_) => {
            let range =
                unknowns_text::conductivity(reading.us_per_cm_25, reading.us_per_cm_25_between);
            format!("{range} µS/cm{at}")
        }
        None => format!(
            "{} µS/cm{at}",
            show::with_plus_minus(reading.us_per_cm_25, reading.us_per_cm_25_expanded)
        ),
    });
    if let Some(closed) = closed {
        parts.push(format!(
            "saturation index of calcite {} (the calcite index; LSI-like)",
            index(closed.si.calcite)
        ));
    }
    wrapped(&format!("  in the cup, {} °C: {}", show::plain(celsius), parts.join("; ")), 4)
}

/// The boilers, each with the whole range of its states.
fn boilers(answer: &WaterAnswer) -> String {
    let mut out = String::new();
    let states = || [State::Closed, State::Degassed].into_iter();
    let brew: Vec<_> = states().filter_map(|state| answer.report.brew(state)).collect();
    if let Some(first) = brew.first() {
        let si = brew.iter().filter_map(|r| r.si_calcite_between);
        let si = si
            .reduce(|[a, b], [c, d]| [a.min(c), b.max(d)])
            .map_or("no calcite can precipitate".to_owned(), |[low, high]| {
                format!("calcite index {} to {}", index(Some(low)), index(Some(high)))
            });
        let scale = answer
            .report
            .brew_scale()
            .map_or(String::new(), |range| format!("; {}", range.in_words(" per 1,000 L")));
        out.push_str(&wrapped(
            &format!("  brew boiler, {} °C: {si}{scale}", show::plain(first.celsius)),
            4,
        ));
    }
    if let Some(first) = answer.report.steam.first() {
        let start =
            if answer.report.steam.iter().any(from_the_start) { ", from the start" } else { "" };
        let scale = answer.report.steam_scale();
        let scale = scale.map_or("too strong to say how much limescale".to_owned(), |range| {
            range.in_words(&format!(" per 1,000 L fed{start}"))
        });
        out.push_str(&wrapped(
            &format!(
                "  steam boiler, {} °C, at {} cycles of concentration: {scale}",
                show::plain(first.celsius),
                show::plain(first.cycles)
            ),
            4,
        ));
    }
    out
}

fn from_the_start(steam: &SteamScale) -> bool {
    matches!(steam.onset, Onset::FromTheStart)
}
