//! The verdict page of a session: what was asked, what was found, what to do with it.

use maud::{Markup, html};

use crate::everyday::made_water::MadeWater;
use crate::page::parts::{Cell, figure, rows_of, table, text_page};
use crate::page::{pictures, shell};
use crate::quantities::show;
use crate::session::plan::Plan;
use crate::session::results::results_page::SessionResults;
use crate::session::results::standings::WaterResult;
use crate::session::results::{PlannedWaterRecipe, given::TasterNote};
use crate::session::serve::on_every_sheet::constants;
use crate::svg::map::{Map, MapPoint, PointKind};
use crate::svg::{Drawing, intervals};
use crate::text::chart::{Chart, ChartRow};
use crate::text::command_line::typed;
use crate::text::{Page, Part};

/// The verdict page of a session of a flight; `made` is the water that came first, `noted` are the notes
/// of its log.
#[must_use]
pub fn verdict(
    results: &SessionResults,
    (plan, flight): (&Plan, &str),
    made: Option<&MadeWater>,
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
    let first = results.first_words();
    let body = html! {
        @if let Some(first) = &first { p.lead { (first) } }
        @for verdict in &results.verdicts {
            p.lead[first.is_none()] { (verdict.headline) }
        }
        @if let Some(aim) = &results.wanted { p.soft { "Wanted: " (aim) } }
        (asked(plan))
        (figures(results, &text))
        (remarks(&results.remarks))
        (recipes(results))
        @if let Some(made) = made { (machine(results, made)) (cost(made)) }
        (next_steps(results, flight))
        section.card {
            h2 { "All that can be said" }
            (text_page(&without_charts(&text), "said"))
            (text_page(noted, "noted"))
        }
        footer { p { "seal " code { (plan.seal) } } }
    };
    shell::document(&format!("Results of {}", results.session), &below, &body)
}

/// What was asked of the tasters, and of which cups.
fn asked(plan: &Plan) -> Markup {
    let mut same = Page::default();
    constants(&mut same, &plan.serving);
    html! {
        section.card {
            h2 { "What was asked" }
            p { (plan.method.instruction()) }
            @for a in plan.method.attributes() {
                p.in {
                    (a.name) ": " (a.low) " (" (a.low_word) ") to " (a.high) " (" (a.high_word)
                    "), in steps of " (a.step)
                }
            }
            p.note {
                (plan.waters) " waters, " (plan.cups_per_tray) " cups on a tray, codes in place of names. Tasters: "
                (plan.tasters.join(", ")) "."
            }
            (text_page(&same, "same"))
        }
    }
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
        let of = |(n, chart): (usize, &Chart)| intervals::draw(&format!("chart-{n}"), chart);
        drawings.extend(charts.enumerate().map(of));
    }
    let names: Vec<&str> = results.scores.iter().map(|s| s.attribute.as_str()).collect();
    drawings.extend(map(results));
    html! {
        section.card {
            h2 { "What was found" @if !names.is_empty() { ": " (names.join(", ")) } }
            @if results.scores.iter().any(|s| !s.not_found_to_differ.is_empty()) {
                p.note { "A bracket at the right holds waters of which no two were found to differ." }
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
    Some(intervals::draw("ranks", &chart))
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
        from_zero: true,
        ..Map::default()
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
    let mut ions: Vec<&str> = Vec::new();
    let of_any = cups.waters.iter().flat_map(|water| {
        let there = water.mg_per_l.iter().filter(|(_, mg)| *mg > 0.0).map(|(ion, _)| ion);
        there.chain(&water.not_measured)
    });
    for ion in of_any {
        if !ions.contains(&ion.as_str()) {
            ions.push(ion);
        }
    }
    let of_ion = |place: usize, water: &PlannedWaterRecipe, ion: &str| {
        let found = water.mg_per_l.iter().position(|(key, _)| key == ion);
        let amount = found.and_then(|k| Some((k, water.mg_per_l.get(k)?.1)));
        match amount {
            Some((k, mg)) => Cell::Number(
                format!("/in_the_cups/waters/{place}/mg_per_l/{k}/1"),
                show::three_figures(mg),
            ),
            None if water.not_measured.iter().any(|key| key == ion) => {
                Cell::Words("not measured".to_owned())
            }
            None => Cell::Words("–".to_owned()),
        }
    };
    let rows = rows_of(&cups.waters, |n, water| {
        let at = format!("/in_the_cups/waters/{n}");
        let mut row = vec![
            Cell::Head(water.water.clone()),
            known(water.hardness_mg_per_l_caco3, format!("{at}/hardness_mg_per_l_caco3")),
            known(water.alkalinity_mg_per_l_caco3, format!("{at}/alkalinity_mg_per_l_caco3")),
        ];
        row.extend(ions.iter().map(|ion| of_ion(n, water, ion)));
        row
    });
    let heads: Vec<&str> = ["", "hardness", "alkalinity"].into_iter().chain(ions.clone()).collect();
    html! {
        section.card {
            h2 { "The waters" }
            (table("what the waters held", "", &heads, &rows))
            p.note { "Hardness and alkalinity in mg/L as CaCO3, the rest in mg/L; alkalinity as HCO3." }
            div.recipes { @for (n, water) in cups.waters.iter().enumerate() { (recipe(n, water)) } }
        }
    }
}

fn recipe(place: usize, water: &PlannedWaterRecipe) -> Markup {
    let at = format!("/in_the_cups/waters/{place}");
    let rows = rows_of(&water.doses_ml_per_l, |n, (stock, ml)| {
        vec![
            Cell::Head(stock.clone()),
            Cell::Number(format!("{at}/doses_ml_per_l/{n}/1"), show::three_figures(*ml)),
        ]
    });
    let base: Vec<&str> = water.base.iter().map(|(name, _)| name.as_str()).collect();
    html! {
        section.together {
            h3 { (water.water) }
            (table(&format!("doses of {}", water.water), "", &["stock", "mL/L"], &rows))
            p.note { @if rows.is_empty() { "No stock: " } @else { "In " } (base.join(" and ")) "." }
        }
    }
}

fn machine(results: &SessionResults, made: &MadeWater) -> Markup {
    let Some(report) = &made.machine else { return html! {} };
    html! {
        section.card {
            h2 { "In the machine: " (made.name) }
            @if let Some(open) = results.leading.as_ref().filter(|leading| !leading.is_above_all()) {
                p.note { (open.words()) }
            }
            ul { @for line in crate::assessment::machine_text::verdicts(report) { li { (line) } } }
            p.note { (crate::text::cautions::MACHINES) }
        }
    }
}

/// What the water that came first costs, poured from stocks.
fn cost(made: &MadeWater) -> Markup {
    let Some(cost) = &made.cost else { return html! {} };
    let row = |what: &str, key: &str, amount: f64| {
        let at = format!("/first_water/cost/{key}");
        vec![Cell::Head(what.to_owned()), Cell::Number(at, show::three_figures(amount))]
    };
    let rows = [
        row("salts", "salts_per_l", cost.salts_per_l),
        row("base water", "water_per_l", cost.water_per_l),
        row("together", "per_l", cost.per_l),
    ];
    let head = format!("{} a litre", cost.money);
    html! {
        section.card {
            h2 { "What it costs: " (made.name) }
            @if cost.mixed_money {
                p.warn { "Prices are in " (cost.moneys.join(" and in ")) ": they cannot be added up." }
            } @else {
                (table("what a litre costs", "", &["", head.trim()], &rows))
            }
            @if !cost.without_price.is_empty() {
                p.note { "Without a price, and not counted: " (cost.without_price.join(", ")) "." }
            }
        }
    }
}

fn next_steps(results: &SessionResults, flight: &str) -> Markup {
    let water = results
        .leading
        .as_ref()
        .map(|leading| typed(&format!("{}/{}", results.session, leading.water)));
    let command = |of: &str| html! { code { "waterflight " (of) } };
    html! {
        section.card {
            h2 { "What to do next" }
            ul {
                @if let Some(of) = water {
                    li { "Know it: " (command(&format!("water {of}"))) }
                    li { "Make much of it: " (command(&format!("batch {of} --make \"20 L\""))) }
                    li { "Keep it in a bottle: " (command(&format!("concentrate {of}"))) }
                }
                li { "Taste on: " (command(&format!("next {} --into next-flight", typed(flight)))) }
                li { "All sessions: " (command("journal --page journal.html")) }
            }
        }
    }
}
