//! The page of a taster: one cup or tray on the screen, the others a tap away. A form that works by
//! itself; the script keeps what is typed and sends it when the network is there.

use maud::{Markup, html};
use serde::Serialize;

use crate::serve::blind::frame::{self, TASTER_SCRIPT_PATH};
use crate::serve::blind::places::{Kind, Place, Places, is_open};
use crate::serve::blind::scale::Keys;
use crate::serve::blind::sent_form::{Form, LONGEST_NOTE, fields};
use crate::session::plan::solo::{OpenPage, procedure};
use crate::session::plan::{Attribute, Code, Method, Plan, Tray};
use crate::session::score::ScoreLog;

/// What is shown of a place that is not in the plan.
#[derive(Debug, Clone, Copy)]
pub struct Screen<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// The log as it is on disk.
    pub score_log: &'a ScoreLog,
    /// The taster, by place in the plan.
    pub taster: usize,
    /// The screens of the taster.
    pub places: &'a Places,
    /// The one shown, by its number.
    pub at: usize,
    /// Where the page is.
    pub path: &'a str,
    /// Whether a break is called.
    pub on_break: bool,
}

/// What is message above a form that came back.
#[derive(Debug, Clone, Copy, Default)]
pub struct Message<'a> {
    /// A line that was recorded.
    pub recorded: Option<u64>,
    /// Why what was sent was refused.
    pub refused: Option<&'a str>,
    /// What was sent, to be mended, and the newest line that its sender then knows.
    pub sent: Option<(Form<'a>, u64)>,
}

/// What stands of one place, for the script.
#[derive(Debug, Clone, Serialize)]
pub struct StandingView {
    /// The place.
    pub at: String,
    /// The newest line about it.
    pub seen: u64,
    /// The line that stands.
    pub line: Option<u64>,
    /// Whether anything is missing of it.
    pub open: bool,
    /// The fields of its form.
    pub fields: Vec<(String, String)>,
}

/// What stands of all places of a taster.
#[must_use]
pub fn standing(plan: &Plan, score_log: &ScoreLog, places: &Places) -> Vec<StandingView> {
    let view = |place: &Place| {
        let history = place.history(score_log);
        StandingView {
            at: place.address(),
            seen: history.newest(),
            line: history.stands_in(),
            open: is_open(score_log, place),
            fields: fields(plan, place, history.standing()),
        }
    };
    places.list().iter().map(view).collect()
}

/// The page.
#[must_use]
pub fn page(screen: Screen<'_>, message: Message<'_>) -> String {
    let Screen { plan, score_log, taster, places, at, path, on_break } = screen;
    let name = plan.tasters.get(taster).map_or("", String::as_str);
    let views = standing(plan, score_log, places);
    let current = places.list().get(at);
    let revealed = score_log.revealed_in().is_some();
    let all_done = views.iter().all(|view| !view.open);
    // What a browser keeps for this taster of this session bears this name; it is no secret.
    let store = format!("{}:{taster}", plan.seal.get(..16).unwrap_or(&plan.seal));
    let body = html! {
        body {
            main data-store=(store) data-path=(path) data-kind=(current.map_or("", kind_word)) {
                header {
                    h1 { (plan.session) }
                    p.quiet { (name) " · " (plan.question) }
                }
                p.notice role="status" id="break" hidden[!on_break] { "The host has called a break." }
                p.notice id="revealed" hidden[!revealed] {
                    "The key is open. " a.button href=(format!("{path}/results")) { "What was learnt" }
                }
                p.notice id="all-done" hidden[revealed || !all_done] {
                    "All of yours is on disk. Until the reveal you may still correct it."
                }
                @for (n, (place, view)) in places.list().iter().zip(&views).enumerate() {
                    (head(plan, place, view, (n, places.list().len()), n == at))
                }
                p.state role="status" id="state" { (state_words(message, &views, at)) }
                @if let Some(why) = message.refused { p.wrong role="alert" id="refused" { "Refused: " (why) "." } }
                @else { p.wrong role="alert" id="refused" hidden {} }
                @if let Some((place, view)) = current.zip(views.get(at)).filter(|_| !revealed) {
                    (form(plan, place, view, path, message))
                }
                (list(places, &views, at))
                (what_to_do(plan))
                p.quiet { "The connection is not encrypted: whoever shares this network can read along." }
                noscript { p.quiet { "Without script, wait for the words “on disk” after each cup." } }
                p.quiet id="no-store" hidden { "This browser keeps nothing: wait for the words “on disk” before you close the page." }
            }
        }
    };
    frame::page(&format!("{name}, {}", plan.session), Some(TASTER_SCRIPT_PATH), None, &body)
}

fn kind_word(place: &Place) -> &'static str {
    if place.kind == Kind::Turning { "turning" } else { "answer" }
}

fn state_words(message: Message<'_>, views: &[StandingView], at: usize) -> String {
    // An address can be opened again when the line in it was taken back, or be typed by anyone.
    let recorded = message.recorded.filter(|line| views.iter().any(|v| v.line == Some(*line)));
    match (recorded, message.refused, views.get(at).and_then(|view| view.line)) {
        (Some(line), _, _) => format!("The answer before is on disk, line {line}."),
        (None, None, Some(line)) => format!("On disk, line {line}."),
        _ => String::new(),
    }
}

/// What stands above the form of a place.
fn head(
    plan: &Plan,
    place: &Place,
    view: &StandingView,
    (n, of): (usize, usize),
    shown: bool,
) -> Markup {
    let tray = plan.trays.get(place.tray);
    let cups = tray.map_or(&[][..], |tray| tray.cups.as_slice());
    let codes: Vec<String> = cups.iter().map(Code::to_string).collect();
    let fields = serde_json::to_string(&view.fields).unwrap_or_default();
    html! {
        section.head hidden[!shown] data-at=(place.address()) data-kind=(kind_word(place))
            data-codes=(codes.join(" ")) data-seen=(view.seen) data-line=[view.line]
            data-open=(view.open) data-fields=(fields)
        {
            h2 { (place.title()) }
            p.quiet { (n + 1) " of " (of) @if plan.rounds > 1 { @if let Some(tray) = tray { ", round " (tray.round) } } }
            @if place.break_before { p.notice { "Take the break of your sheet before this one." } }
            @if let Some(tray) = tray.filter(|_| place.kind != Kind::Turning) {
                (before_tasting(plan, tray, place.begins_tray))
            }
        }
    }
}

fn before_tasting(plan: &Plan, tray: &Tray, begins: bool) -> Markup {
    html! {
        @if begins && plan.warm_up_cup { p.notice { "First taste the cup marked W. It is not scored." } }
        @if begins && plan.reference_cup { p.notice { "The cup marked R is the reference: go back to it whenever you like." } }
        @if let Some(code) = tray.reference { p.notice { "The reference is cup " span.code { (code) } "." } }
    }
}

fn form(
    plan: &Plan,
    place: &Place,
    view: &StandingView,
    path: &str,
    message: Message<'_>,
) -> Markup {
    let (filled, seen) = message.sent.unwrap_or((Form(&view.fields), view.seen));
    let cups = plan.trays.get(place.tray).map_or(&[][..], |tray| tray.cups.as_slice());
    html! {
        form id="answer" method="post" action=(format!("{path}/answer")) autocomplete="off" {
            input type="hidden" name="at" value=(place.address());
            input type="hidden" name="seen" value=(seen);
            @if place.kind == Kind::Turning {
                p { "Turn the cups over and enter the code of the sticker under each. It cannot be taken back." }
                @for (n, code) in cups.iter().enumerate() {
                    div.row {
                        label.code for=(format!("u{n}")) data-code=(n) { (code) }
                        input.short type="text" id=(format!("u{n}")) name=(format!("u{n}")) inputmode="numeric"
                            pattern="[0-9]{3}" maxlength="3" required value=[filled.get(&format!("u{n}"))];
                    }
                }
            } @else {
                @match &plan.method {
                    Method::Scoring { attributes } => {
                        @for (n, attribute) in attributes.iter().enumerate() { (scale(n, attribute, filled)) }
                    }
                    Method::Ranking { .. } => (ranking(plan, cups, filled)),
                    _ => (choice(plan, cups, filled)),
                }
                label.field for="note" { "Note" }
                textarea id="note" name="note" maxlength=(LONGEST_NOTE) { (filled.get("note").unwrap_or_default()) }
            }
            button.main type="submit" { "Send" }
        }
    }
}

/// A key that is chosen, or one of several.
fn key(kind: &str, name: &str, value: &str, label: &str, checked: bool, required: bool) -> Markup {
    html! {
        label.key { input type=(kind) name=(name) value=(value) checked[checked] required[required]; span { (label) } }
    }
}

fn scale(n: usize, attribute: &Attribute, filled: Form<'_>) -> Markup {
    let (name, half) = (format!("v{n}"), format!("h{n}"));
    let value = filled.get(&name);
    let keys = Keys::of(attribute);
    let low = format!("{} {}", attribute.low, attribute.low_word);
    let high = format!("{} {}", attribute.high, attribute.high_word);
    html! {
        fieldset {
            legend { (attribute.name) }
            div.ends { span { (low.trim()) } span { (high.trim()) } }
            @match &keys {
                Keys::Each(list) | Keys::WholeAndHalf(list) => {
                    div.keys {
                        @for score in list {
                            (key("radio", &name, &score.to_string(), &score.to_string(), value == Some(score.to_string().as_str()), true))
                        }
                        @if matches!(keys, Keys::WholeAndHalf(_)) {
                            label.key {
                                input type="checkbox" name=(half) value="0.5" checked[filled.get(&half).is_some()]
                                    aria-label=(format!("{}: a half more", attribute.name));
                                span { "+ ½" }
                            }
                        }
                    }
                }
                Keys::Typed => {
                    input.short type="number" name=(name) inputmode="decimal" required value=[value]
                        min=(attribute.low) max=(attribute.high) step=(attribute.step)
                        aria-label=(attribute.name);
                }
            }
        }
    }
}

fn ranking(plan: &Plan, cups: &[Code], filled: Form<'_>) -> Markup {
    html! {
        p { (plan.method.instruction()) " Tap the place of each cup, 1 for the most." }
        @for (n, code) in cups.iter().enumerate() {
            @let name = format!("p{n}");
            fieldset data-ranked="" {
                legend { "Cup " span.code data-code=(n) { (code) } }
                div.keys {
                    @for place in 1..=cups.len() {
                        (key("radio", &name, &place.to_string(), &place.to_string(), filled.get(&name) == Some(place.to_string().as_str()), true))
                    }
                }
            }
        }
    }
}

fn choice(plan: &Plan, cups: &[Code], filled: Form<'_>) -> Markup {
    let two = plan.method == Method::Tetrad;
    let chosen =
        |n: usize| filled.0.iter().any(|(name, value)| name == "c" && *value == n.to_string());
    html! {
        fieldset data-wanted=(if two { 2 } else { 1 }) {
            legend { (plan.method.instruction()) }
            div.keys {
                @for (n, code) in cups.iter().enumerate() {
                    label.key.wide {
                        input type=(if two { "checkbox" } else { "radio" }) name="c" value=(n)
                            checked[chosen(n)] required[!two];
                        span data-code=(n) { (code) }
                    }
                }
            }
        }
    }
}

fn list(places: &Places, views: &[StandingView], at: usize) -> Markup {
    html! {
        nav aria-label="Your cups" {
            h3 { "In your order" }
            ol {
                @for (n, (place, view)) in places.list().iter().zip(views).enumerate() {
                    li {
                        a href=(format!("?at={}", place.address())) data-to=(place.address())
                            data-state=(if view.open { "open" } else { "on_disk" }) aria-current=[(n == at).then_some("page")]
                        {
                            span { (place.title()) }
                            span.status {
                                @match view.line {
                                    Some(line) if !view.open => { "on disk, line " (line) }
                                    Some(line) => { "in part on disk, line " (line) }
                                    None => "open",
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The steps of the procedure that a taster does with this page open.
fn what_to_do(plan: &Plan) -> Markup {
    let steps = procedure(plan);
    let own = |who: &str| who != "pourer" && who != "server" && who != "host";
    html! {
        h3 { "How to taste" }
        ol {
            @for step in steps.iter().filter(|s| own(s.who.word()) && s.sees != OpenPage::PouringSheet) {
                li { (step.what) }
            }
        }
    }
}
