//! The pages of what was learnt: the verdict of a session, and the journal of a bench.

use maud::{Markup, html};

use crate::assessment::WaterAnswer;
use crate::assessment::unknowns_text;
use crate::journal::Journal;
use crate::page::parts::{Cell, figure, notes, table, text_page};
use crate::page::{pictures, shell};
use crate::quantities::show;
use crate::session::plan::Plan;
use crate::session::results::results_page::{SessionResults, WaterResult};
use crate::session::results::{PlannedWaterRecipe, given::TasterNote};
use crate::svg::lines::{self, Series};
use crate::svg::map::{Map, MapPoint, PointKind};
use crate::svg::{Drawing, intervals};
use crate::text::chart::{Chart, ChartRow};
use crate::text::{Page, Part};

/// The water that came first, looked at beside the limits of the machine.
pub struct Winner<'a> {
    /// The water.
    pub answer: &'a WaterAnswer,
}

/// The verdict page of a session; `noted` are the notes of its log.
#[must_use]
pub fn verdict(
    results: &SessionResults,
    plan: &Plan,
    winner: Option<&Winner<'_>>,
    noted: &Page,
) -> String {
    let below = format!(
        "{} by {}; {} tasters, {} round{}.",
        plan.question,
        results.method,
        plan.tasters.len(),
        plan.rounds,
        if plan.rounds == 1 { "" } else { "s" }
    );
    let text = results.page();
    let body = html! {
        @for verdict in &results.verdicts { p.lead { (verdict.headline) } }
        @if let Some(aim) = &results.wanted { p.soft { "Wanted: " (aim) } }
        (figures(results, &text))
        (remarks(&results.remarks))
        (recipes(results))
        @if let Some(winner) = winner { (machine(results, winner)) }
        (next_steps(results, winner))
        section.card {
            h2 { "All that can be said" }
            (text_page(&without_charts(&text), "said"))
            (text_page(noted, "noted"))
        }
        footer { p { "seal " code { (plan.seal) } } }
    };
    shell::document(&format!("Results of {}", results.session), &below, &body)
}

/// The text of a page without its charts, which stand above as pictures.
fn without_charts(page: &Page) -> Page {
    let parts = page.all_parts().into_iter().filter(|part| !matches!(part, Part::Chart(_)));
    Page { parts: parts.cloned().collect() }
}

fn figures(results: &SessionResults, text: &Page) -> Markup {
    let mut drawings: Vec<Drawing> = Vec::new();
    for (n, scores) in results.scores.iter().enumerate() {
        drawings.extend(pictures::effects(scores, &format!("effects-{n}")));
        drawings.extend(pictures::taster_agreement(scores, &format!("tasters-{n}")));
    }
    drawings.extend(mean_ranks(results));
    if results.scores.is_empty() {
        let charts = text.all_parts().into_iter().filter_map(|part| match part {
            Part::Chart(chart) => Some(chart),
            _ => None,
        });
        let of = |(n, chart): (usize, &Chart)| intervals::draw(&format!("chart-{n}"), chart, &[]);
        drawings.extend(charts.enumerate().map(of));
    }
    let names: Vec<&str> = results.scores.iter().map(|s| s.attribute.as_str()).collect();
    drawings.extend(map(results));
    html! {
        section.card {
            h2 { "What was found" @if !names.is_empty() { ": " (names.join(", ")) } }
            @if results.scores.iter().any(|s| !s.not_told_apart.is_empty()) {
                p.note { "A bracket at the right holds waters of which no two were told apart." }
            }
            @for drawing in &drawings { (figure(drawing)) }
        }
    }
}

/// Mean ranks, which have no interval.
fn mean_ranks(results: &SessionResults) -> Option<Drawing> {
    let ranked = |r: &&WaterResult| r.kind == "mean_rank";
    let rows: Vec<ChartRow> = results
        .standings
        .iter()
        .filter(ranked)
        .map(|r| ChartRow {
            label: r.water.clone(),
            words: show::fixed(r.value, 2),
            at: (r.value, r.value, r.value),
        })
        .collect();
    let chart = Chart::new(("water", "mean rank, 1 is the most".to_owned()), rows, None, &[1.0])?;
    Some(intervals::draw("ranks", &chart, &[]))
}

/// The waters of a session by hardness and alkalinity.
fn map(results: &SessionResults) -> Option<Drawing> {
    let cups = results.in_the_cups.as_ref()?;
    let points = (1..).zip(&cups.waters).filter_map(|(n, water)| {
        Some(MapPoint {
            label: n.to_string(),
            name: water.water.clone(),
            at: (water.hardness_mg_per_l_caco3?, water.alkalinity_mg_per_l_caco3?),
            kind: PointKind::Reached,
        })
    });
    let unit = "mg/L as CaCO3";
    let map = Map {
        x: format!("hardness, {unit}"),
        y: format!("alkalinity, {unit}"),
        points: points.collect(),
        region: Vec::new(),
        published: Vec::new(),
        lines: Vec::new(),
        shades: Vec::new(),
        shades_mean: String::new(),
        from_zero: true,
    };
    map.draw("map", "The waters by hardness and alkalinity")
}

fn remarks(list: &[TasterNote]) -> Markup {
    let mut waters: Vec<&str> = Vec::new();
    for remark in list {
        if !waters.contains(&remark.of.as_str()) {
            waters.push(&remark.of);
        }
    }
    html! {
        @if !waters.is_empty() {
            section.card {
                h2 { "What the tasters said" }
                @for water in waters {
                    h3 { (water) }
                    ul { @for one in list.iter().filter(|r| r.of == water) { li { (one.text) " (" (one.taster) ")" } } }
                }
            }
        }
    }
}

fn recipes(results: &SessionResults) -> Markup {
    let Some(cups) = &results.in_the_cups else { return html! {} };
    let known = |value: Option<f64>, at: String| {
        value.map_or(Cell::Words("not measured".to_owned()), |v| {
            Cell::Number(at, show::three_figures(v))
        })
    };
    let rows: Vec<Vec<Cell>> = cups
        .waters
        .iter()
        .enumerate()
        .map(|(n, water)| {
            let at = format!("/in_the_cups/waters/{n}");
            vec![
                Cell::Head(water.water.clone()),
                known(water.hardness_mg_per_l_caco3, format!("{at}/hardness_mg_per_l_caco3")),
                known(water.alkalinity_mg_per_l_caco3, format!("{at}/alkalinity_mg_per_l_caco3")),
            ]
        })
        .collect();
    html! {
        section.card {
            h2 { "The waters" }
            (table("hardness and alkalinity, mg/L as CaCO3", "", &["mg/L as CaCO3", "hardness", "alkalinity"], &rows))
            @for (n, water) in cups.waters.iter().enumerate() { (recipe(n, water)) }
        }
    }
}

fn recipe(place: usize, water: &PlannedWaterRecipe) -> Markup {
    let at = format!("/in_the_cups/waters/{place}");
    let rows: Vec<Vec<Cell>> = water
        .doses_ml_per_l
        .iter()
        .enumerate()
        .map(|(n, (stock, ml))| {
            vec![
                Cell::Head(stock.clone()),
                Cell::Number(format!("{at}/doses_ml_per_l/{n}/1"), show::three_figures(*ml)),
            ]
        })
        .collect();
    let ions = unknowns_text::present(&water.mg_per_l).unwrap_or_default();
    let base: Vec<&str> = water.base.iter().map(|(name, _)| name.as_str()).collect();
    html! {
        h3 { (water.water) }
        (table(&format!("doses of {}", water.water), "", &["stock", "mL/L"], &rows))
        p.note { "In " (base.join(" and ")) ". Holds " (ions) " mg/L." }
    }
}

fn machine(results: &SessionResults, winner: &Winner<'_>) -> Markup {
    let Some(report) = &winner.answer.machine else { return html! {} };
    html! {
        section.card {
            h2 { "In the machine: " (winner.answer.report.name) }
            @if results.cannot_tell_what_is_wanted() {
                p.note { "It came first, and this panel cannot tell it from the others." }
            }
            ul { @for line in crate::assessment::machine_text::verdicts(report) { li { (line) } } }
            p.note { (crate::text::cautions::MACHINES) }
        }
    }
}

fn next_steps(results: &SessionResults, winner: Option<&Winner<'_>>) -> Markup {
    let session = &results.session;
    let water = winner.map_or("WATER".to_owned(), |w| {
        let name = &w.answer.report.name;
        name.rsplit_once('/').map_or(name.clone(), |(_, water)| water.to_owned())
    });
    let of = format!("\"{session}/{water}\"");
    html! {
        section.card {
            h2 { "What to do next" }
            ul {
                li { "Know it: " code { "waterflight water " (of) } }
                li { "Make much of it: " code { "waterflight batch " (of) " --make \"20 L\"" } }
                li { "Keep it in a bottle: " code { "waterflight concentrate " (of) } }
                li { "Taste on: " code { "waterflight next --into next-flight" } }
            }
        }
    }
}

/// The journal of a bench.
#[must_use]
pub fn journal(journal: &Journal) -> String {
    let text = journal.page();
    let drawings = trends(journal);
    let body = html! {
        (text_page(&text, "journal"))
        @if !drawings.is_empty() {
            section.card {
                h2 { "Over time" }
                @for drawing in &drawings { (figure(drawing)) }
            }
        }
        footer { (notes(&["Means of one session are not means of another: other tasters, other days."])) }
    };
    shell::document("Journal", "All sessions of this bench, by recipe.", &body)
}

/// How the recipes did in each session, by measure; those tasted once are points.
fn trends(journal: &Journal) -> Vec<Drawing> {
    let mut measures: Vec<&str> = Vec::new();
    for served in &journal.served {
        if served.score.interval.is_some() && !measures.contains(&served.score.of.as_str()) {
            measures.push(&served.score.of);
        }
    }
    let place = |session: &str| {
        let found = journal.sessions.iter().position(|(name, _)| name == session);
        found.and_then(|n| u32::try_from(n + 1).ok()).map(f64::from)
    };
    let of_measure = |of: &str| -> Vec<Series> {
        let own = |recipe: usize| -> Vec<(f64, (f64, f64, f64))> {
            let served = journal.served.iter().filter(|s| s.score.of == of && s.recipe == recipe);
            served
                .filter_map(|s| {
                    let (low, high) = s.score.interval?;
                    Some((place(&s.score.session)?, (low, s.score.value, high)))
                })
                .collect()
        };
        let all = journal.recipes.iter().map(|recipe| Series {
            name: recipe.name.clone(),
            points: own(recipe.number),
            single: true,
        });
        all.filter(|series| series.points.len() > 1).collect()
    };
    let drawn = measures.iter().enumerate().flat_map(|(n, of)| {
        let series = of_measure(of);
        // So many lines are told apart; what is left stands in the next picture.
        let groups = series.chunks(lines::MOST).map(<[Series]>::to_vec).collect::<Vec<_>>();
        groups.into_iter().enumerate().filter_map(move |(k, group)| {
            let axes = ("session, in the order of time", *of);
            lines::draw(
                &format!("trend-{n}-{k}"),
                &format!("{of} over the sessions"),
                axes,
                &group,
                &[],
                false,
            )
        })
    });
    drawn.collect()
}
