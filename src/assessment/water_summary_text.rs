//! Several waters side by side, with what each gives reason to keep in mind.

use crate::assessment::machine::Verdict;
use crate::assessment::scale_range::ScaleRange;
use crate::assessment::{State, WaterAnswer, machine_text, unknowns_text};
use crate::quantities::show;
use crate::text::screen::Screen;
use crate::text::table::{Side, table, text as table_text, wrapped};

/// A table of all of them; on request each caution with the waters that it is for, and the limits that
/// are not kept.
pub(crate) fn write(screen: &mut Screen, answers: &[WaterAnswer]) {
    let mut heads = vec![
        ("water", Side::Left),
        ("hard", Side::Right),
        ("alk", Side::Right),
        ("µS/cm", Side::Right),
        ("pH", Side::Right),
        ("in air", Side::Right),
        ("brew", Side::Right),
        ("steam", Side::Right),
        ("!", Side::Right),
    ];
    let with_machine = answers.iter().any(|answer| answer.machine.is_some());
    if with_machine {
        heads.push(("kept", Side::Right));
    }
    let mut rows = table(&heads);
    for answer in answers {
        let mut row = cells(answer);
        if with_machine {
            row.push(answer.machine.as_ref().map_or(String::new(), |machine| {
                let (kept, out) = (machine.count(Verdict::Within), machine.count(Verdict::Outside));
                format!("{kept}/{}", kept + out)
            }));
        }
        rows.add_row(row);
    }
    let cycles = answers.first().map_or(0.0, |answer| answer.report.steam_cycles);
    let mut legend = format!(
        "Hardness and alkalinity in mg/L as CaCO3; pH and conductivity as mixed; brew and steam: \
         grams of limescale per 1,000 L at most, in the steam boiler at {} cycles of \
         concentration; !: cautions",
        show::plain(cycles)
    );
    let name = answers.iter().find_map(|answer| answer.machine.as_ref()).map(|m| &m.machine);
    if let Some(name) = name {
        legend.push_str(&format!("; kept: limits of {name}"));
    }
    if answers.iter().any(|a| !a.unknowns.ions_not_measured().is_empty()) {
        legend.push_str(
            ". n/m: not measured; a range is what salt that was not measured leaves open",
        );
    }
    let scales = answers.iter().flat_map(|a| [a.report.brew_scale(), a.report.steam_scale()]);
    if scales.flatten().any(|range| range.least_since.is_some()) {
        legend.push_str(". ≥: more where what was not measured precipitates as well");
    }
    screen.push(&table_text(&rows));
    screen.push(&wrapped(&format!("{legend}."), 0));
    screen.rest(&notes(answers));
    screen.rest(&cautions(answers));
    let outside = answers.iter().filter_map(|answer| {
        let outside = machine_text::outside(answer.machine.as_ref()?)?;
        Some(wrapped(&format!("- {}: {outside}", answer.report.name), 2))
    });
    let outside: String = outside.collect();
    if let Some(name) = name.filter(|_| !outside.is_empty()) {
        screen.rest(&wrapped(&format!("Beside the limits of {name}:"), 0));
        screen.rest(&outside);
    }
}

fn cells(answer: &WaterAnswer) -> Vec<String> {
    let closed = answer.report.room(State::Closed);
    let open = answer.report.room(State::Open);
    vec![
        answer.report.name.clone(),
        answer.hardness_mg_per_l_caco3.map_or("n/m".to_owned(), show::three_figures),
        answer.alkalinity_mg_per_l_caco3.map_or("n/m".to_owned(), show::three_figures),
        unknowns_text::conductivity(answer.meter.us_per_cm_25, answer.meter.us_per_cm_25_between),
        closed.map_or(String::new(), |r| show::fixed(r.ph, 2)),
        open.map_or(String::new(), |r| show::fixed(r.ph, 2)),
        most(answer.report.brew_scale()),
        most(answer.report.steam_scale()),
        answer.report.corrosion.cautions().count().to_string(),
    ]
}

/// The most of several states, g; the least where more may be there, and a dash where one of them cannot be
/// computed.
fn most(range: Option<ScaleRange>) -> String {
    match range {
        None => "–".to_owned(),
        Some(ScaleRange { between: [_, most], least_since: None }) => show::fixed(most, 0),
        Some(ScaleRange { between: [least, _], .. }) => format!("≥ {}", show::fixed(least, 0)),
    }
}

fn notes(answers: &[WaterAnswer]) -> String {
    let each = answers.iter().flat_map(|a| a.notes.iter().map(|note| (&a.report.name, note)));
    each.map(|(name, note)| wrapped(&format!("- {name}: {note}"), 2)).collect()
}

/// Each caution once, with the waters that it is for.
fn cautions(answers: &[WaterAnswer]) -> String {
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    for answer in answers {
        for caution in answer.report.corrosion.cautions() {
            match found.iter_mut().find(|(known, _)| *known == caution) {
                Some((_, waters)) => waters.push(&answer.report.name),
                None => found.push((caution, vec![&answer.report.name])),
            }
        }
    }
    let each = found.into_iter();
    each.map(|(caution, waters)| wrapped(&format!("! {}: {caution}", waters.join("; ")), 2))
        .collect()
}
