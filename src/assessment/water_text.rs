//! What is known of waters, as text: one on a screen, several side by side, or everything of each.

use crate::assessment::corrosion::IN_THE_STEAM_BOILER;
use crate::assessment::published_text::{legend, published};
use crate::assessment::saturation_text::{clouding, index};
use crate::assessment::scale_range::ScaleRange;
use crate::assessment::{
    CorrosionHint, Onset, Precipitates, State, StateReport, SteamScale, WaterAnswer, machine_text,
    water_glance_text, water_holds_text, water_summary_text,
};
use crate::quantities::show;
use crate::text::cautions;
use crate::text::screen::{Extent, Screen};
use crate::text::table::{Side, each, inner_table, text as table_text, wrapped};

/// One water or many.
#[must_use]
pub fn text(answers: &[WaterAnswer], extent: Extent) -> String {
    let mut screen = Screen::new(extent);
    if answers.len() > 1 {
        water_summary_text::write(&mut screen, answers);
        if extent == Extent::Full {
            screen.push("\n");
        }
    }
    let is_only = answers.len() == 1;
    for answer in answers {
        let all = one(answer) + "\n";
        if is_only {
            screen.instead(&water_glance_text::text(answer));
        }
        screen.rest(&all);
    }
    if let Some(first) = answers.first() {
        screen.rest(&published(&first.published, answers));
        screen.rest(&legend(first));
    }
    if answers.iter().any(|a| !a.unknowns.ions_not_measured().is_empty()) {
        screen.rest(&wrapped(NOT_MEASURED, 0));
    }
    screen.rest(&wrapped(NOTES, 0));
    screen.rest(&wrapped(cautions::MACHINES, 0));
    screen.drinking();
    screen.end()
}

/// What the figures rest on; the sources are those of `waterflight sources`.
const NOTES: &str = "Closed: as mixed, nothing lost. Open: in equilibrium with the air of the \
                     room. Degassed: with what carbon dioxide a vented boiler keeps. A saturation \
                     index above 0 means that the water is oversaturated; n/a means that an ion of \
                     the mineral is absent. CCPP: calcium carbonate precipitation potential, \
                     negative where the water dissolves. Limescale: calcite, gypsum or anhydrite, \
                     brucite and amorphous silica together, all that can precipitate; not counted: \
                     silicates of magnesium, which grow slowly. Two constants are published for \
                     calcite, which differ in the heat; both results are given there. ± is the \
                     expanded uncertainty of model and meter, k = 2, about 95 %.";

/// The same where something was not measured.
const NOT_MEASURED: &str = "n/m: not measured, or not known because something else was not. An index \
is n/a as well where an ion of the mineral was not measured.";

fn one(answer: &WaterAnswer) -> String {
    let mut out = format!("{}\n", answer.report.name);
    out.push_str(&each("  ", &answer.notes));
    out.push_str(&water_holds_text::text(answer));
    out.push_str(&states(answer));
    if answer.report.reports.iter().any(|report| report.extrapolated) {
        out.push_str(&wrapped(
            "  ! ionic strength above 0.5, up to which the activity model was tested: an \
             extrapolation",
            4,
        ));
    }
    out.push_str(&water_holds_text::widened(answer));
    out.push_str(&boilers(answer));
    out.push_str(&water_holds_text::withheld(answer));
    out.push_str(&meter(answer));
    out.push_str(&clouding(answer));
    out.push_str(&hints(answer));
    if let Some(report) = &answer.machine {
        out.push_str(&machine_text::text(report));
    }
    out
}

fn states(answer: &WaterAnswer) -> String {
    if answer.report.reports.is_empty() {
        return String::new();
    }
    let mut rows = inner_table(&[
        (" °C", Side::Right),
        ("state", Side::Left),
        ("pH", Side::Right),
        ("µS/cm", Side::Right),
        ("calcite", Side::Right),
        ("aragon.", Side::Right),
        ("gypsum", Side::Right),
        ("anhyd.", Side::Right),
        ("brucite", Side::Right),
        ("CCPP", Side::Right),
    ]);
    let room = answer.report.reports.first().map_or(f64::NAN, |r| r.celsius);
    // A glass breathes, a boiler vents: the third state is of no interest to either.
    let shown = |r: &&StateReport| match r.state {
        State::Closed => true,
        State::Open => r.celsius.total_cmp(&room).is_eq(),
        State::Degassed => r.celsius.total_cmp(&room).is_ne(),
    };
    for report in answer.report.reports.iter().filter(shown) {
        rows.add_row([
            format!(" {}", show::plain(report.celsius)),
            report.state.label().to_owned(),
            show::fixed(report.ph, 2),
            // Of a range there is room on the line of the meter.
            match report.conductivity_between_us_per_cm {
                Some(_) => "n/m".to_owned(),
                None => show::beside_plus_minus(
                    report.conductivity_us_per_cm,
                    Some(report.conductivity_expanded_us_per_cm),
                ),
            },
            index(report.si.calcite),
            index(report.si.aragonite),
            index(report.si.gypsum),
            index(report.si.anhydrite),
            index(report.si.brucite),
            show::fixed(report.ccpp_mg_per_l_caco3, 1),
        ]);
    }
    table_text(&rows) + &heated_conductivity(answer)
}

/// The ± of the conductivities of the table, of the states of one temperature the largest; the whole
/// range where salt was not measured.
fn heated_conductivity(answer: &WaterAnswer) -> String {
    let mut of_temperatures: Vec<(f64, f64, Option<[f64; 2]>)> = Vec::new();
    for report in &answer.report.reports {
        let expanded = report.conductivity_expanded_us_per_cm;
        let between = report.conductivity_between_us_per_cm;
        match of_temperatures.iter_mut().find(|(t, ..)| t.total_cmp(&report.celsius).is_eq()) {
            Some((_, most, range)) => {
                *most = most.max(expanded);
                *range = range.zip(between).map(|([a, b], [c, d])| [a.min(c), b.max(d)]);
            }
            None => of_temperatures.push((report.celsius, expanded, between)),
        }
    }
    let each = of_temperatures.iter().map(|(celsius, expanded, between)| {
        let celsius = show::plain(*celsius);
        match between {
            Some([low, high]) => {
                let [low, high] = [low, high].map(|us_per_cm| show::three_figures(*us_per_cm));
                format!("{low} to {high} at {celsius} °C")
            }
            None => format!("± {} at {celsius} °C", show::plus_minus(*expanded)),
        }
    });
    wrapped(&format!("  µS/cm {}", each.collect::<Vec<_>>().join(", ")), 4)
}

fn boilers(answer: &WaterAnswer) -> String {
    let mut out = String::new();
    for state in [State::Closed, State::Degassed] {
        if let Some(brew) = answer.report.brew(state) {
            let text = format!(
                "  brew boiler, {} °C, {}: {}; {}",
                show::plain(brew.celsius),
                state.label(),
                calcite_between(answer, brew),
                limescale(brew.scale(), &brew.precipitates_g_per_1000_l, ("", "")),
            );
            out.push_str(&wrapped(&text, 4));
        }
    }
    for steam in &answer.report.steam {
        out.push_str(&wrapped(&steam_line(steam), 4));
    }
    out
}

/// The calcite index between the two constants, or why there is none.
fn calcite_between(answer: &WaterAnswer, brew: &StateReport) -> String {
    if let Some([low, high]) = brew.si_calcite_between {
        return format!("saturation index (calcite) {} to {}", index(Some(low)), index(Some(high)));
    }
    let has = |key: &str| answer.mmol_per_l.0.iter().any(|(k, mmol)| *k == key && *mmol > 0.0);
    if has("Ca") {
        "without carbonate no calcite can precipitate".to_owned()
    } else {
        "without calcium no calcite, gypsum or anhydrite can precipitate".to_owned()
    }
}

/// `14 to 20 g of limescale per 1,000 L fed (calcite)`.
fn limescale(range: ScaleRange, of: &Precipitates, (fed, at): (&str, &str)) -> String {
    // The grams of each are an estimate, and no least.
    let with_grams = range.least_since.is_none();
    range.in_words(&format!(" per 1,000 L{fed}{}{at}", of_minerals(of, with_grams)))
}

/// Our choice: a mineral with less than this part of the whole is not named.
const NAMED: f64 = 0.01;

/// `(calcite)`, or each with its grams where there are several; by the default calcite constant. Without
/// grams they are those of what was measured: another mineral may take the place of one of them.
fn of_minerals(of: &Precipitates, with_grams: bool) -> String {
    let mut each: Vec<(&str, f64)> =
        of.each().into_iter().filter(|(_, g)| *g > NAMED * of.total()).collect();
    each.sort_by(|a, b| b.1.total_cmp(&a.1));
    let named = |(key, g): &(&str, f64)| match each.len() {
        2.. if with_grams => format!("{key} {}", show::fixed(*g, 0)),
        _ => (*key).to_owned(),
    };
    let named: Vec<String> = each.iter().map(named).collect();
    let whose = if with_grams { "" } else { "of what was measured: " };
    if named.is_empty() { String::new() } else { format!(" ({whose}{})", named.join(", ")) }
}

fn steam_line(steam: &SteamScale) -> String {
    let of = steam.scale_least_since.map_or("", |_| " of what was measured");
    let onset = match steam.onset {
        Onset::FromTheStart => "limescale from the start".to_owned(),
        Onset::AfterLitresOfSteam(litres) => {
            let litres = show::three_figures(litres);
            format!("limescale begins after {litres} L of steam per L of boiler")
        }
        Onset::NotWithin(litres) => {
            let litres = show::three_figures(litres);
            format!("no limescale{of} within {litres} L of steam per L of boiler")
        }
    };
    let first = steam.first.map(|mineral| format!(", {mineral} first{of}")).unwrap_or_default();
    let [early, late] = steam.onset_between.map(litres);
    let between =
        if early == late { String::new() } else { format!(" (between {early} and {late} L)") };
    let cycles = format!("at {} cycles of concentration", show::plain(steam.cycles));
    let grams = match (steam.scale(), &steam.precipitates_g_per_1000_l) {
        // Then the onset has said it.
        (Some(ScaleRange { between: [_, most], least_since: None }), _) if most <= 0.0 => {
            String::new()
        }
        (Some(range), Some(of)) => {
            format!("; {}", limescale(range, of, (" fed", &format!(", {cycles}"))))
        }
        _ => format!("; {cycles} too strong to say how much"),
    };
    format!(
        "  steam boiler, {} °C, {}: {onset}{first}{between}{grams}",
        show::plain(steam.celsius),
        steam.state.label()
    )
}

fn litres(onset: Onset) -> String {
    match onset {
        Onset::FromTheStart => "0".to_owned(),
        Onset::AfterLitresOfSteam(litres) => show::three_figures(litres),
        Onset::NotWithin(litres) => format!("more than {}", show::three_figures(litres)),
    }
}

/// Our choice: a range whose ends differ by more than this factor is worth a reading; one that
/// rests on a reading is narrower.
const WIDE: f64 = 1.25;

fn meter(answer: &WaterAnswer) -> String {
    let reading = &answer.meter;
    let shown: Vec<String> = reading
        .shown
        .iter()
        .map(|s| format!("{} {}", show::with_plus_minus(s.value, s.expanded), s.scale.label()))
        .collect();
    // Above or below 25 °C the sample conducts otherwise; at 25 °C it is the same figure again.
    let at_sample = if (reading.us_per_cm_sample - reading.us_per_cm_25).abs() < 1e-9 {
        String::new()
    } else {
        format!(
            ", {} at the sample's {} °C",
            show::fixed(reading.us_per_cm_sample, 0),
            show::plain(reading.sample_celsius)
        )
    };
    if let Some([low, high]) = reading.us_per_cm_25_between {
        let advice = if high > WIDE * low {
            ". A conductivity that was read (`conductivity: \"520 µS/cm\"` in the file of the base \
             water) bounds the rest"
        } else {
            ""
        };
        return wrapped(
            &format!(
                "  meter: {} to {} µS/cm at 25 °C{at_sample}, since {} not measured{advice}",
                show::fixed(low, 0),
                show::fixed(high, 0),
                water_holds_text::were(&answer.unknowns)
            ),
            4,
        );
    }
    wrapped(
        &format!(
            "  meter: {} µS/cm at 25 °C{}; a meter shows {}",
            show::with_plus_minus(reading.us_per_cm_25, reading.us_per_cm_25_expanded),
            at_sample,
            shown.join(", ")
        ),
        4,
    )
}

fn hints(answer: &WaterAnswer) -> String {
    let hints = &answer.report.corrosion;
    let fed: Vec<String> = hints.fed().into_iter().filter_map(hint).collect();
    let boiler: Vec<String> = hints.boiler().into_iter().filter_map(hint).collect();
    let cycles = show::plain(answer.report.steam_cycles);
    let mut out = wrapped(
        &format!(
            "  hints: {}; in the steam boiler at {cycles} cycles: {}",
            fed.join("; "),
            boiler.join("; ").replace(IN_THE_STEAM_BOILER, "")
        ),
        4,
    );
    out.push_str(&each("    ! ", hints.cautions()));
    out
}

/// A hint with its value, or why it is withheld; `None` where it does not concern the water.
fn hint(hint: &CorrosionHint) -> Option<String> {
    let value = match (hint.value, &hint.withheld) {
        (Some(value), _) if hint.unit == "pH" => return Some(format!("{} {value:.2}", hint.name)),
        (Some(value), _) => format!("{} {}", show::three_figures(value), hint.unit),
        (None, Some(reason)) => format!("withheld, since {reason}"),
        (None, None) => return None,
    };
    let passed = hint.passed.map_or(String::new(), |class| format!(" ({class})"));
    Some(format!("{} {value}{passed}", hint.name))
}
