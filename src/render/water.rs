//! What is known of waters, as text: side by side first, then each one.

use crate::quantities::show;
use crate::render::cautions;
use crate::render::table::{Side, inner_table, table, text as table_text, wrapped};
use crate::render::{unknowns, water_holds};
use crate::report::scale::Onset;
use crate::report::{GuidelineRow, Outlook, State, StateReport, SteamScale, WaterAnswer};

/// One water or many.
#[must_use]
pub fn text(answers: &[WaterAnswer]) -> String {
    let mut out = String::new();
    if answers.len() > 1 {
        out.push_str(&side_by_side(answers));
        out.push('\n');
    }
    for answer in answers {
        out.push_str(&one(answer));
        out.push('\n');
    }
    if let Some(first) = answers.first() {
        out.push_str(&published(&first.published, answers));
        out.push_str(&legend(first));
    }
    if answers.iter().any(|a| !a.unknowns.ions_not_measured().is_empty()) {
        out.push_str(&wrapped(NOT_MEASURED, 0));
    }
    out.push_str(&wrapped(NOTES, 0));
    out.push_str(&wrapped(cautions::MACHINES, 0));
    out.push_str(&wrapped(cautions::DRINKING, 0));
    out
}

/// What the figures rest on; the sources are those of `waterflight sources`.
const NOTES: &str = "Closed: as mixed, nothing lost. Open: in equilibrium with the air of the room. \
Degassed: with what carbon dioxide a vented boiler keeps. An index above 0 is oversaturated; n/a \
means that an ion of the mineral is absent. CCPP: calcium carbonate precipitation potential, \
negative where the water dissolves. The two published calcite constants part in the heat; both \
ends are given there. ± is one standard uncertainty.";

/// The same where something was not measured.
const NOT_MEASURED: &str = "n/m: not measured, or not known because something else was not. An index \
is n/a as well where an ion of the mineral was not measured.";

pub(super) fn index(value: Option<f64>) -> String {
    value.map_or("n/a".to_owned(), |v| format!("{}{}", plus(v), show::fixed(v, 2)))
}

fn plus(value: f64) -> &'static str {
    if value > 0.0 { "+" } else { "" }
}

fn at(answer: &WaterAnswer, place: usize, state: State) -> Option<&StateReport> {
    answer.report.reports.iter().filter(|r| r.state == state).nth(place)
}

/// Places of the three temperatures among the reports of one state.
const ROOM: usize = 0;
const BREW: usize = 1;

fn side_by_side(answers: &[WaterAnswer]) -> String {
    let mut rows = table(&[
        ("water", Side::Left),
        ("hard", Side::Right),
        ("alk", Side::Right),
        ("µS/cm", Side::Right),
        ("pH", Side::Right),
        ("in air", Side::Right),
        ("calcite", Side::Right),
        ("brewing", Side::Right),
        ("g/m³", Side::Right),
    ]);
    for answer in answers {
        let closed = at(answer, ROOM, State::Closed);
        let open = at(answer, ROOM, State::Open);
        let brew = at(answer, BREW, State::Degassed);
        rows.add_row([
            answer.report.name.clone(),
            answer.hardness_mg_per_l_caco3.map_or("n/m".to_owned(), show::three_figures),
            answer.alkalinity_mg_per_l_caco3.map_or("n/m".to_owned(), show::three_figures),
            unknowns::conductivity(answer.meter.us_per_cm_25, answer.meter.us_per_cm_25_between),
            closed.map_or(String::new(), |r| show::fixed(r.ph, 2)),
            open.map_or(String::new(), |r| show::fixed(r.ph, 2)),
            closed.map_or(String::new(), |r| index(r.si.calcite)),
            brew.map_or(String::new(), |r| index(r.si.calcite)),
            brew.map_or(String::new(), |r| show::fixed(r.scale_g_per_1000_l, 0)),
        ]);
    }
    let gaps = if answers.iter().any(|a| !a.unknowns.ions_not_measured().is_empty()) {
        " A range is what salt that was not measured leaves open."
    } else {
        ""
    };
    table_text(&rows)
        + &wrapped(
            &("Hardness and alkalinity in mg/L as CaCO3; calcite index at room temperature as mixed \
             and in the brew boiler degassed, with the grams of scale per 1,000 L there."
                .to_owned()
                + gaps),
            0,
        )
}

fn one(answer: &WaterAnswer) -> String {
    let mut out = format!("{}\n", answer.report.name);
    out.push_str(&water_holds::text(answer));
    out.push_str(&states(answer));
    if answer.report.reports.iter().any(|report| report.extrapolated) {
        out.push_str(&wrapped(
            "  ! stronger than the activity model is backed for (ionic strength 0.5): an \
             extrapolation",
            4,
        ));
    }
    out.push_str(&water_holds::widened(answer));
    out.push_str(&boilers(answer));
    out.push_str(&water_holds::not_said(answer));
    out.push_str(&meter(answer));
    out.push_str(&clouding(answer));
    out.push_str(&hints(answer));
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
                None => show::fixed(report.conductivity_us_per_cm, 0),
            },
            index(report.si.calcite),
            index(report.si.aragonite),
            index(report.si.gypsum),
            index(report.si.anhydrite),
            index(report.si.brucite),
            show::fixed(report.ccpp_mg_per_l_caco3, 1),
        ]);
    }
    table_text(&rows)
}

fn boilers(answer: &WaterAnswer) -> String {
    let mut out = String::new();
    for state in [State::Closed, State::Degassed] {
        if let Some(brew) = at(answer, BREW, state)
            && let Some([low, high]) = brew.si_calcite_between
        {
            let [least, most] = brew.ccpp_between_mg_per_l_caco3;
            out.push_str(&wrapped(
                &format!(
                    "  brew boiler, {} °C, {}: calcite index {} to {}, {} to {} g of scale per \
                     1,000 L",
                    show::plain(brew.celsius),
                    state.label(),
                    index(Some(low)),
                    index(Some(high)),
                    show::fixed(least.max(0.0), 0),
                    show::fixed(most.max(0.0), 0),
                ),
                4,
            ));
        }
    }
    for steam in &answer.report.steam {
        out.push_str(&wrapped(&steam_line(steam), 4));
    }
    out
}

fn steam_line(steam: &SteamScale) -> String {
    let onset = match steam.onset {
        Onset::FromTheStart => "scale from the start".to_owned(),
        Onset::AfterLitresOfSteam(litres) => {
            format!("scale begins after {} L of steam per L of boiler", show::three_figures(litres))
        }
        Onset::NotWithin(litres) => {
            format!("no scale within {} L of steam per L of boiler", show::three_figures(litres))
        }
    };
    let first = steam.first.map(|mineral| format!(", {mineral} first")).unwrap_or_default();
    let [early, late] = steam.onset_between.map(litres);
    let between =
        if early == late { String::new() } else { format!(" (between {early} and {late} L)") };
    let grams =
        steam.scale_g_per_1000_l.map_or("too strong to say how much by then".to_owned(), |grams| {
            format!(
                "{} g per 1,000 L fed at {} cycles of concentration",
                show::fixed(grams, 0),
                show::plain(steam.cycles)
            )
        });
    format!(
        "  steam boiler, {} °C, {}: {onset}{first}{between}; {grams}",
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
        .map(|s| {
            format!(
                "{} ± {} {}",
                show::fixed(s.value, 0),
                show::three_figures(s.uncertainty),
                s.scale.label()
            )
        })
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
                water_holds::were(&answer.unknowns)
            ),
            4,
        );
    }
    wrapped(
        &format!(
            "  meter: {} ± {} µS/cm at 25 °C{}; a meter shows {}",
            show::fixed(reading.us_per_cm_25, 0),
            show::three_figures(reading.us_per_cm_25_uncertainty),
            at_sample,
            shown.join(", ")
        ),
        4,
    )
}

fn clouding(answer: &WaterAnswer) -> String {
    let clouding = &answer.clouding;
    let solids: Vec<String> = clouding
        .solids
        .iter()
        .map(|s| {
            format!("{} mg/L of {} ({})", show::three_figures(s.mg_per_l), s.mineral, s.formula)
        })
        .collect();
    let outlook = match clouding.outlook {
        Outlook::NotJudged => return String::new(),
        Outlook::Clear if clouding.not_judged.is_empty() => {
            "stays clear, nothing is oversaturated".to_owned()
        }
        Outlook::Clear => {
            let minerals = clouding.not_judged.join(", ");
            format!(
                "nothing that can be judged is oversaturated; not judged: {minerals} (an ion of it \
                 was not measured)"
            )
        }
        Outlook::SlowIfAtAll => {
            format!("may stay clear for long; in the end {}", solids.join(", "))
        }
        Outlook::Cloudy => format!("CLOUDS: {}", solids.join(", ")),
    };
    wrapped(&format!("  in the bottle at {} °C: {outlook}", show::plain(clouding.celsius)), 4)
}

fn hints(answer: &WaterAnswer) -> String {
    let hints = answer.report.corrosion.all();
    let values: Vec<String> = hints
        .iter()
        .map(|hint| {
            if let Some(withheld) = hint.withheld {
                return format!("{} withheld, since {withheld}", hint.name);
            }
            let value = hint.value.map_or("none".to_owned(), show::three_figures);
            format!("{} {value} {}", hint.name, hint.unit)
        })
        .collect();
    let mut out = wrapped(&format!("  hints: {}", values.join("; ")), 4);
    for caution in hints.iter().filter_map(|hint| hint.caution) {
        out.push_str(&wrapped(&format!("    ! {caution}"), 6));
    }
    out
}

/// What the hints are measured by: the same for every water, so it stands once.
fn legend(answer: &WaterAnswer) -> String {
    let mut out = String::from("Hints at corrosion, never more than that:\n");
    for hint in answer.report.corrosion.all() {
        let line = format!("- {}: {}. {}.", hint.name, hint.limits, hint.source);
        out.push_str(&wrapped(&line, 2));
    }
    out.push('\n');
    out
}

/// Published values with the waters beside them.
fn published(rows: &[GuidelineRow], answers: &[WaterAnswer]) -> String {
    /// Waters that fit beside the published values in 80 columns.
    const ACROSS: usize = 4;
    let mut out = String::from("Published values beside the waters; a table, never a verdict.\n\n");
    for group in answers.chunks(ACROSS) {
        let mut heads = vec![("value", Side::Left), ("published", Side::Left)];
        heads.extend(group.iter().map(|a| (a.report.name.as_str(), Side::Right)));
        let mut lines = table(&heads);
        let mut document = "";
        for (n, row) in rows.iter().enumerate() {
            if row.source != document {
                document = row.source;
            }
            let mark = sources(rows).iter().position(|s| *s == document).map_or(0, |at| at + 1);
            let mut cells =
                vec![format!("{} [{mark}]", row.quantity), format!("{} {}", range(row), row.unit)];
            for answer in group {
                let value = answer.published.get(n).and_then(|r| r.value);
                cells.push(value.map_or("n/m".to_owned(), show::three_figures));
            }
            lines.add_row(cells);
        }
        out.push_str(&table_text(&lines));
        out.push('\n');
    }
    for (n, source) in sources(rows).iter().enumerate() {
        out.push_str(&wrapped(&format!("[{}] {source}", n + 1), 4));
    }
    out.push('\n');
    out
}

fn sources(rows: &[GuidelineRow]) -> Vec<&'static str> {
    let mut sources = Vec::new();
    for row in rows {
        if !sources.contains(&row.source) {
            sources.push(row.source);
        }
    }
    sources
}

fn range(row: &GuidelineRow) -> String {
    let edges = match (row.at_least, row.at_most) {
        (Some(low), Some(high)) => format!("{} to {}", show::plain(low), show::plain(high)),
        (Some(low), None) => format!("at least {}", show::plain(low)),
        (None, Some(high)) => format!("at most {}", show::plain(high)),
        (None, None) => String::new(),
    };
    let aim = row.aim.map(|aim| format!("aim {}", show::plain(aim)));
    let parts: Vec<String> =
        [Some(edges).filter(|e| !e.is_empty()), aim].into_iter().flatten().collect();
    format!("{} ({})", parts.join(", "), row.kind)
}
