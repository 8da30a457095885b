//! The page of a target that is moved by hand: its goals, and what becomes of them. A plain form; the
//! script asks again while a slider moves.

use maud::{Markup, PreEscaped, html};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, PercentEncode, utf8_percent_encode};

use crate::mix::water_mix::{GoalLine, WaterMix};
use crate::quantities::show;
use crate::serve::blind::frame;
use crate::serve::explore::asked::{MOST_PINNED, SHARE, fields_of};
use crate::serve::explore::{Answer, Asked, AskedError, Shelf};
use crate::water::Measure;

/// Where the script is fetched.
pub(super) const SCRIPT_PATH: &str = "/a/explore.js";

/// Where the style of pictures is fetched.
pub(super) const PICTURES_PATH: &str = "/a/pictures.css";

/// The measures that stand on the page from the beginning; the others unfold.
const FIRST: [Measure; 6] = [
    Measure::Hardness,
    Measure::Alkalinity,
    Measure::Sodium,
    Measure::Chloride,
    Measure::Sulfate,
    Measure::DissolvedSolids,
];

/// What stands above the answer.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Notice<'a> {
    /// Something done.
    pub(super) done: Option<&'a str>,
    /// Something that could not be.
    pub(super) wrong: Option<&'a str>,
}

/// The page.
pub(super) fn page(
    shelf: &Shelf,
    flights: &[String],
    asked: &Asked,
    answer: &Result<Answer, AskedError>,
    notice: Notice<'_>,
    path: &str,
) -> String {
    let body = html! {
        body {
            main.explore data-path=(path) {
                header {
                    h1 { "A water by hand" }
                    p.quiet { "Planned with the stocks and base waters of `" (shelf.stem) "`, doses without steps. Nothing is written before you say so." }
                }
                @if flights.len() > 1 {
                    nav aria-label="flights" { p.actions {
                        @for stem in flights {
                            a.button.second href=(format!("{path}?flight={}", encoded(stem)))
                                aria-current=[(*stem == shelf.stem).then_some("page")] { (stem) }
                        }
                    } }
                }
                form id="goals" method="get" action=(path) autocomplete="off" {
                    input type="hidden" name="flight" value=(shelf.stem);
                    div.two {
                        div { (goals(shelf, asked)) }
                        div {
                            @if let Some(done) = notice.done { p.notice role="status" { (done) } }
                            @if let Some(wrong) = notice.wrong { p.wrong role="alert" { (wrong) } }
                            div id="answer" aria-live="polite" { (outcome(answer)) }
                        }
                    }
                    (begin_from(shelf, path))
                }
            }
        }
    };
    frame::page_with_styles("A water by hand", &[PICTURES_PATH], SCRIPT_PATH, &body)
}

/// What is written otherwise in an address: all but letters, digits and three marks.
const ENCODED: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'.').remove(b'_');

fn encoded(text: &str) -> PercentEncode<'_> {
    utf8_percent_encode(text, ENCODED)
}

fn goals(shelf: &Shelf, asked: &Asked) -> Markup {
    let text =
        |key: &str| asked.goals.iter().find(|(k, _)| *k == key).map(|(_, text)| text.as_str());
    let rest: Vec<Measure> = Measure::ALL.into_iter().filter(|m| !FIRST.contains(m)).collect();
    let any_rest = rest.iter().any(|measure| text(measure.key()).is_some());
    html! {
        @for measure in FIRST { (goal(shelf, measure, text(measure.key()))) }
        div.goal {
            label.field for=(SHARE) { "share of magnesium in hardness" }
            (slider("share of magnesium", SHARE, 1.0, 0.01, "meq/meq"))
            input type="text" id=(SHARE) name=(SHARE) value=[text(SHARE)] placeholder="as in 0.4, 40 %, between 0.3 and 0.5";
        }
        details open[any_rest] {
            summary { "More measures" }
            @for measure in rest { (goal(shelf, measure, text(measure.key()))) }
        }
        label.field for="tolerance" { "Tolerance where a goal states none, %" }
        input.short type="text" id="tolerance" name="tolerance" inputmode="decimal" value=[asked.tolerance.as_deref()] placeholder="5";
        @if !asked.pinned.is_empty() {
            fieldset {
                legend { "Pinned" }
                @for (letter, line) in ["A", "B", "C"].into_iter().zip(&asked.pinned) {
                    label.pinned { input type="checkbox" name="pinned" value=(line) checked; span { (letter) ": " (line) } }
                }
            }
        }
        div.actions {
            button type="submit" id="plan" { "Plan it" }
            @if asked.pinned.len() < MOST_PINNED {
                button.second type="submit" name="pin" value="yes" { "Pin this water" }
            }
        }
        label.field for="name" { "Write it as a new flight of this name" }
        div.actions {
            input type="text" id="name" name="name" maxlength="60" placeholder="a-water-by-hand";
            button.second type="submit" formmethod="post" { "Write" }
        }
    }
}

fn slider(label: &str, key: &str, most: f64, step: f64, unit: &str) -> Markup {
    html! {
        input type="range" min="0" max=(most) step=(step) data-for=(key) data-unit=(unit)
            aria-label=(format!("{label}, slider")) hidden;
    }
}

fn goal(shelf: &Shelf, measure: Measure, text: Option<&str>) -> Markup {
    let (key, label) = (measure.key(), measure.key().replace('_', " "));
    let unit = measure.usual_unit().symbol();
    let most = shelf.most(measure);
    html! {
        div.goal {
            label.field for=(key) { (label) }
            (slider(&label, key, most, if most > 50.0 { 1.0 } else { 0.5 }, unit))
            input type="text" id=(key) name=(key) value=[text] placeholder=(format!("as in {} {unit}", show::plain(most / 4.0)));
        }
    }
}

/// What becomes of the goal, as a part of the page.
pub(super) fn outcome(answer: &Result<Answer, AskedError>) -> Markup {
    match answer {
        Ok(answer) => found(answer),
        Err(error) => html! { p.wrong role="alert" { (error.to_string()) } },
    }
}

fn found(answer: &Answer) -> Markup {
    let Some(first) = answer.waters.first() else { return html! {} };
    html! {
        p.state { (if first.reached { "In reach: every goal within its tolerance." } else { "Out of reach: this is the nearest." }) }
        div.scroll tabindex="0" role="region" aria-label="goals" {
            table {
                thead { tr { th scope="col" { "goal" } th scope="col" { "wanted" } th scope="col" { "got" } th scope="col" { "off by" } } }
                tbody {
                    @for goal in &first.goals {
                        tr {
                            th scope="row" { (goal.measure) }
                            td { (goal.in_words) }
                            td { (got(goal)) }
                            td { @if goal.reached { "–" } @else { (show::three_figures(goal.miss)) " " (goal.unit) } }
                        }
                    }
                }
            }
        }
        @if let Some(map) = &answer.map { figure { (PreEscaped(map.inline())) } }
        (beside(answer))
    }
}

/// What became of a goal, in its unit.
fn got(goal: &GoalLine) -> String {
    let in_unit = |got: f64| format!("{} {}", show::three_figures(got), goal.unit);
    goal.got.map_or_else(|| "not measured".to_owned(), in_unit)
}

/// A row of the comparison: what it is of, and each water's figure.
type Row = (String, Vec<Option<f64>>);

/// The waters side by side; with one pinned also how they differ.
fn beside(answer: &Answer) -> Markup {
    let differ = answer.waters.len() == 2;
    let heads = answer.waters.iter().map(|water| water.target.as_str());
    html! {
        div.scroll tabindex="0" role="region" aria-label="the waters side by side" {
            table.numbers {
                thead { tr {
                    td {}
                    @for head in heads { th scope="col" { (head) } }
                    @if differ { th scope="col" { "differs by" } }
                } }
                @for (title, rows) in sections(answer) {
                    tbody {
                        tr { th scope="colgroup" colspan=(answer.waters.len() + 1 + usize::from(differ)) { (title) } }
                        @for (name, values) in &rows {
                            tr {
                                th scope="row" { (name) }
                                @for value in values { td { (value.map_or_else(|| "–".to_owned(), figure)) } }
                                @if differ { td { (difference(values)) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn figure(value: f64) -> String {
    if value.abs() < 1e-6 { "·".to_owned() } else { show::three_figures(value) }
}

fn difference(values: &[Option<f64>]) -> String {
    match values {
        [Some(a), Some(b)] if (a - b).abs() > 1e-6 => {
            let sign = if a > b { "+" } else { "−" };
            format!("{sign}{}", show::three_figures((a - b).abs()))
        }
        [Some(_), Some(_)] => "·".to_owned(),
        _ => "–".to_owned(),
    }
}

fn sections(answer: &Answer) -> Vec<(String, Vec<Row>)> {
    let of = |name: &str, value: &dyn Fn(&WaterMix) -> Option<f64>| -> Row {
        (name.to_owned(), answer.waters.iter().map(value).collect())
    };
    let dose = |stock: &String| {
        of(stock, &|water: &WaterMix| {
            let dose = water.doses.iter().find(|dose| dose.stock == *stock);
            Some(dose.map_or(0.0, |dose| dose.ml_per_l))
        })
    };
    let is_poured = |row: &Row| row.1.iter().any(|value| value.is_some_and(|ml| ml > 0.0));
    let doses: Vec<Row> = answer.stocks.iter().map(dose).filter(is_poured).collect();
    let base_ml = |name: &&str| {
        of(name, &|water: &WaterMix| {
            let part = water.base.iter().find(|part| part.water == **name);
            Some(part.map_or(0.0, |part| 1000.0 * part.share))
        })
    };
    let base =
        each_once(answer.waters.iter().flat_map(|w| w.base.iter().map(|b| b.water.as_str())));
    let keys =
        each_once(answer.waters.iter().flat_map(|w| w.mg_per_l.0.iter().map(|(key, _)| *key)));
    let ion = |key: &&str| {
        of(key, &|water: &WaterMix| {
            water.mg_per_l.0.iter().find(|(k, _)| k == key).map(|(_, amount)| *amount)
        })
    };
    let glance = |name: &str, value: fn(&crate::assessment::Glance) -> f64| {
        of(name, &|water: &WaterMix| water.glance.as_ref().map(value))
    };
    let mut sections = vec![
        ("stocks, mL per litre".to_owned(), doses),
        ("filled up with, mL per litre".to_owned(), base.iter().map(base_ml).collect()),
        ("holds, mg/L".to_owned(), keys.iter().map(ion).collect()),
        (
            "together".to_owned(),
            vec![
                of("hardness, mg/L as CaCO3", &|w: &WaterMix| w.hardness_mg_per_l_caco3),
                of("alkalinity, mg/L as CaCO3", &|w: &WaterMix| w.alkalinity_mg_per_l_caco3),
                of("dissolved solids, mg/L", &|w: &WaterMix| w.dissolved_solids_mg_per_l),
            ],
        ),
        (
            "about".to_owned(),
            vec![
                glance("pH as mixed", |glance| glance.ph_closed),
                glance("conductivity, µS/cm", |glance| glance.conductivity_us_per_cm),
                glance("limescale in the brew boiler, g per 1,000 L", |glance| {
                    glance.brew_scale_g_per_1000_l
                }),
            ],
        ),
    ];
    if let Some(cost) = &answer.cost {
        // A litre costs next to nothing.
        let name = format!("100 litres, {}", cost.money).trim_end_matches([',', ' ']).to_owned();
        let row = (name, cost.waters.iter().map(|water| Some(100.0 * water.per_l)).collect());
        let title = match cost.without_price.as_slice() {
            [] => "cost of salts and base water".to_owned(),
            without => {
                format!("cost; no price is stated for {}: counted as nothing", without.join(", "))
            }
        };
        sections.push((title, vec![row]));
    }
    sections.retain(|(_, rows)| !rows.is_empty());
    sections
}

/// Names in their first order, each once.
fn each_once<'a>(names: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    names.fold(Vec::new(), |mut once, name| {
        if !once.contains(&name) {
            once.push(name);
        }
        once
    })
}

fn begin_from(shelf: &Shelf, path: &str) -> Markup {
    html! {
        h2 { "Begin from a water of this flight" }
        p.actions {
            @for target in &shelf.flight.targets {
                @let fields = fields_of(target);
                @if !fields.is_empty() {
                    a.button.second href=(address(shelf, path, &fields)) { (target.name) }
                }
            }
        }
    }
}

fn address(shelf: &Shelf, path: &str, fields: &[(&'static str, String)]) -> String {
    let goal = |(key, text): &(&'static str, String)| format!("&{key}={}", encoded(text));
    let goals = fields.iter().map(goal).collect::<Vec<_>>().concat();
    format!("{path}?flight={}{goals}", encoded(&shelf.stem))
}
