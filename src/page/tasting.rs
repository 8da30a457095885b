//! The sheets of a session that name no water: serving sheet, score sheets, ballots, labels of cups.
//!
//! All of it is made of the plan, in which no water is named, so that none can slip in.

use maud::{Markup, html};

use crate::page::labels::Label;
use crate::page::parts::{qr_code, text_page};
use crate::page::shell;
use crate::session::plan::preparation::PouredCode;
use crate::session::plan::solo::Role;
use crate::session::plan::{Blinding, Method, Plan, Tray};
use crate::session::serve::on_every_sheet::{constants, steps};
use crate::session::serve::pouring_sheet::PouringSheet;
use crate::text::Page;

/// The sheet of the pourer, who knows the key: the page as it is read at a terminal.
#[must_use]
pub fn pourer(plan: &Plan, sheet: &PouringSheet) -> String {
    let body = html! {
        p.warn { "This sheet names the waters. Keep it from everyone who tastes or serves." }
        (text_page(&sheet.page(plan), "pour"))
    };
    shell::document(&format!("Pouring sheet of {}", plan.session), "", &body)
}

/// The sheet of the server: codes only.
#[must_use]
pub fn server(plan: &Plan) -> String {
    let mut same = Page::default();
    constants(&mut same, &plan.serving);
    let mut work = Page::default();
    steps(&mut work, plan, |who| who != Role::Pourer);
    let body = html! {
        p.note { "seal " code { (plan.seal) } }
        (text_page(&same, "same"))
        @for round in 1..=plan.rounds.max(1) {
            section.card {
                @if plan.rounds > 1 { h2 { "Round " (round) } }
                @for tray in plan.trays.iter().filter(|tray| tray.round == round) {
                    section.slip {
                        p { span.box role="img" aria-label="box to tick: served" {} " "
                            strong { (tray.taster) } ", tray " (tray.number) }
                        (codes(plan, tray))
                    }
                }
            }
        }
        section.card { h2 { "Who does what" } (text_page(&work, "work")) }
    };
    shell::document(
        &format!("Serving sheet of {}", plan.session),
        "Codes in the order of serving.",
        &body,
    )
}

fn codes(plan: &Plan, tray: &Tray) -> Markup {
    html! {
        div.codes {
            @if plan.warm_up_cup { span.code { "W" } }
            @if plan.reference_cup { span.code { "R" } }
            @if let Some(code) = tray.reference { span.pause { "reference" } span.code { (code) } span.pause { "then" } }
            @for (n, code) in tray.cups.iter().enumerate() {
                span.code { (code) }
                @if tray.breaks_after.contains(&(n + 1)) { span.pause { "break" } }
            }
        }
    }
}

/// Addresses of the pages on which tasters can enter their scores by phone, each with its taster.
type PhonePages = [(String, String)];

/// The page of a taster as a code; nothing where there is none. `id` is its own on the sheet.
fn phone_page(pages: &PhonePages, name: &str, id: &str) -> Markup {
    let own = pages.iter().find(|(taster, _)| taster == name);
    html! {
        @if let Some((_, address)) = own {
            div.phone { p.note { "or by phone:" } (qr_code(id, address)) }
        }
    }
}

/// The score sheets, one to a page for each taster of `names`; `phones` are the pages for their phones,
/// where there are some.
#[must_use]
pub fn score_sheets(plan: &Plan, names: &[&str], phones: &PhonePages) -> String {
    let body = html! { @for name in names { (score_sheet(plan, name, phones)) } };
    shell::framed(&format!("Score sheets of {}", plan.session), "", &body)
}

fn score_sheet(plan: &Plan, name: &str, phones: &PhonePages) -> Markup {
    let place = plan.tasters.iter().take_while(|taster| *taster != name).count();
    let attributes = plan.method.attributes();
    let mut own = Page::default();
    steps(&mut own, plan, |who| matches!(who, Role::Taster | Role::Alone));
    html! {
        section.sheet {
            header {
                h1 { (name) }
                p.soft { "Score sheet, session " (plan.session) }
            }
            p.lead { (plan.method.instruction()) }
            @if !attributes.is_empty() {
                ul {
                    @for a in attributes {
                        li {
                            strong { (a.name) } ": " (a.low) " (" (a.low_word) ") to " (a.high) " ("
                            (a.high_word) "), in steps of " (a.step)
                        }
                    }
                }
            }
            @for tray in plan.trays_of(name) {
                section.card {
                    h2 { "Tray " (tray.number) @if plan.rounds > 1 { ", round " (tray.round) } }
                    @if tray.reference.is_some() || plan.warm_up_cup || plan.reference_cup {
                        (codes(plan, tray))
                    }
                    (answers(plan, tray))
                }
            }
            (text_page(&own, "own"))
            (phone_page(phones, name, &format!("phone-{place}")))
            p.note { "seal " code { (plan.seal) } }
        }
    }
}

/// What a blank beside a code is for.
fn blank_of(method: &Method) -> &'static str {
    match method {
        Method::Scoring { .. } => "score",
        Method::Ranking { .. } => "place, 1 for the most",
        Method::Triangle => "tick the odd one",
        Method::DuoTrio { .. } => "tick the one like the reference",
        Method::Paired { .. } => "tick the one with more",
        Method::Tetrad => "tick two that belong together",
    }
}

fn answers(plan: &Plan, tray: &Tray) -> Markup {
    let attributes = plan.method.attributes();
    let ticked = !matches!(plan.method, Method::Scoring { .. } | Method::Ranking { .. });
    html! {
        div.scroll tabindex="0" role="region" aria-label=(format!("answers of {}, tray {}", tray.taster, tray.number)) {
            table {
                thead { tr {
                    th scope="col" { "cup" }
                    @if attributes.is_empty() {
                        th scope="col" { (blank_of(&plan.method)) }
                    } @else {
                        @for a in attributes { th scope="col" { (a.name) } }
                    }
                    th scope="col" { "note" }
                } }
                tbody {
                    @for (n, code) in tray.cups.iter().enumerate() {
                        tr {
                            th scope="row" { span.code { (code) } }
                            @if attributes.is_empty() {
                                td { @if ticked { span.box role="img" aria-label="box to tick" {} } @else { span.blank {} } }
                            } @else {
                                @for _ in attributes { td { span.blank {} } }
                            }
                            td style="width:40%" { span.blank.wide {} }
                        }
                        @if tray.breaks_after.contains(&(n + 1)) {
                            tr { td.pause colspan=(attributes.len().max(1) + 2) { "break" } }
                        }
                    }
                }
            }
        }
    }
}

/// Slips to cut apart, one for each tray of each taster of `names`; `phones` as on the score sheets.
#[must_use]
pub fn ballots(plan: &Plan, names: &[&str], phones: &PhonePages) -> String {
    let attributes = plan.method.attributes();
    let body = html! {
        p.lead { (plan.method.instruction()) }
        div.slips {
            @for (n, name) in names.iter().enumerate() {
                @for tray in plan.trays_of(name) {
                    section.slip {
                        p { strong { (name) } ", tray " (tray.number) }
                        @if attributes.is_empty() { p.note { (blank_of(&plan.method)) } }
                        @if let Some(code) = tray.reference { p { "reference " span.code { (code) } } }
                        @for code in &tray.cups {
                            p {
                                span.code { (code) } " "
                                @if attributes.is_empty() {
                                    @if matches!(plan.method, Method::Ranking { .. }) { span.blank {} }
                                    @else { span.box role="img" aria-label="box to tick" {} }
                                } @else {
                                    @for a in attributes { span.note { (a.name) " " span.blank {} " " } }
                                }
                            }
                        }
                        p.note { "note " span.blank.wide {} }
                        (phone_page(phones, name, &format!("phone-{n}-{}", tray.number)))
                    }
                }
            }
        }
    };
    shell::document(&format!("Ballots of {}", plan.session), "Cut along the broken lines.", &body)
}

/// Blind labels for the pourer, by code in rising order, so that they tell nothing: for the bottle or
/// jug of each code, or for one cup where every cup has its own; of a tasting alone those that go under
/// the cups. `on` is the day of filling.
#[must_use]
pub fn bottle_labels(plan: &Plan, sheet: &PouringSheet, on: &str) -> Vec<Label> {
    let mut codes: Vec<&PouredCode> =
        sheet.bottles.iter().flat_map(|bottle| &bottle.codes).collect();
    codes.sort_by_key(|line| line.code);
    let one = |code: &&PouredCode| {
        let round = if plan.rounds > 1 { format!(", round {}", code.round) } else { String::new() };
        let mut lines = vec![format!("{}{round}", plan.session)];
        lines.extend(code.whose.clone());
        lines.push(match plan.blinding {
            Blinding::Solo => "goes under the cup".to_owned(),
            _ => format!("filled on {on}"),
        });
        Label { name: code.code.to_string(), lines }
    };
    codes.iter().map(one).collect()
}

/// A label for every cup: its code, and where it stands.
#[must_use]
pub fn cup_labels(plan: &Plan) -> Vec<Label> {
    let of_tray = |tray| {
        let Tray { taster, number, reference, cups, .. }: &Tray = tray;
        let lines = vec![format!("{}, {taster}, tray {number}", plan.session)];
        let codes = reference.iter().chain(cups);
        codes.map(move |code| Label { name: code.to_string(), lines: lines.clone() })
    };
    plan.trays.iter().flat_map(of_tray).collect()
}
