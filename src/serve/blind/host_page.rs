//! The pages of the host before the reveal: counts, never scores, because the host may be the pourer,
//! who knows the waters; the links to hand out; the question before the key is opened.

use maud::{Markup, html};

use crate::serve::blind::frame::{self, HOST_SCRIPT_PATH};
use crate::serve::blind::table::{HostView, TasterView};
use crate::session::plan::Plan;

/// Our choice: a page without script is loaded again so often, seconds.
const AGAIN: u32 = 15;

/// A link as the host hands it out.
#[derive(Debug, Clone)]
pub struct HandedOut {
    /// Whose it is.
    pub taster: String,
    /// The whole address.
    pub address: String,
    /// The address as a picture, where there is one.
    pub picture: Option<Markup>,
}

/// How far the table is.
#[must_use]
pub fn page(plan: &Plan, view: &HostView, path: &str, message: Option<&str>) -> String {
    let body = html! {
        body {
            main data-path=(path) {
                header {
                    h1 { (plan.session) }
                    p.quiet { "Host · " (plan.question) " by " (plan.method.name()) }
                }
                @if let Some(message) = message { p.notice role="status" { (message) } }
                p.state role="status" id="missing" { (missing_words(view)) }
                div.scroll tabindex="0" role="region" aria-label="how far the tasters are" {
                    table {
                        thead { tr {
                            th scope="col" { "taster" }
                            th scope="col" { "done" }
                            th scope="col" { "to look after" }
                        } }
                        tbody {
                            @for (n, one) in view.tasters.iter().enumerate() { (row(n, one)) }
                        }
                    }
                }
                div.actions {
                    form method="post" action=(format!("{path}/break")) {
                        input type="hidden" name="on" value=(if view.on_break { "no" } else { "yes" }) id="break-on";
                        button.second type="submit" id="break" { (break_words(view.on_break)) }
                    }
                    a.button.second href=(format!("{path}/links")) { "Links and codes" }
                    @if view.revealed {
                        a.button href=(format!("{path}/results")) { "What was learnt" }
                    } @else {
                        a.button href=(format!("{path}/reveal")) { "Reveal" }
                    }
                }
                p.quiet { "Counts alone: no score, no note and no water is shown here before the reveal." }
            }
        }
    };
    frame::page(&format!("Host, {}", plan.session), Some(HOST_SCRIPT_PATH), Some(AGAIN), &body)
}

/// How many answers are missing, in words.
#[must_use]
pub fn missing_words(view: &HostView) -> String {
    match (view.revealed, view.missing_answers) {
        (true, _) => "Revealed: the scores are closed.".to_owned(),
        (false, 0) => "Complete: no answer is missing.".to_owned(),
        (false, 1) => "1 answer is missing.".to_owned(),
        (false, n) => format!("{n} answers are missing."),
    }
}

fn break_words(on_break: bool) -> &'static str {
    if on_break { "End the break" } else { "Call a break" }
}

fn row(n: usize, one: &TasterView) -> Markup {
    html! {
        tr data-taster=(n) {
            th scope="row" { (one.taster) }
            td data-cell="done" { (one.done) " of " (one.of) }
            td data-cell="remark" class=[one.late.then_some("late")] { (one.remark) }
        }
    }
}

/// The links of all tasters, to be shown, printed, or drawn anew.
#[must_use]
pub fn links(plan: &Plan, links: &[HandedOut], path: &str, warning: &str) -> String {
    let body = html! {
        body {
            main data-path=(path) {
                header { h1 { "Links of " (plan.session) } p.quiet { (warning) } }
                p.screen { a.button.second href=(path) { "Back" } }
                div.links {
                    @for (n, one) in links.iter().enumerate() {
                        section.link {
                            h2 { (one.taster) }
                            @if let Some(picture) = &one.picture { (picture) }
                            p { code { (one.address) } }
                            form.screen method="post" action=(format!("{path}/link")) {
                                input type="hidden" name="taster" value=(n);
                                button.second type="submit" { "New link for " (one.taster) }
                            }
                        }
                    }
                }
                p.quiet.screen {
                    "Each link is one taster's. A new one leads to the same answers; the one before then \
                     leads nowhere."
                }
            }
        }
    };
    frame::page(&format!("Links of {}", plan.session), None, None, &body)
}

/// The question before the key is opened.
#[must_use]
pub fn reveal(plan: &Plan, view: &HostView, path: &str, refused: Option<&str>) -> String {
    let late: Vec<&TasterView> = view.tasters.iter().filter(|one| one.late).collect();
    let body = html! {
        body {
            main data-path=(path) {
                header { h1 { "Reveal " (plan.session) } }
                @if let Some(why) = refused { p.wrong role="alert" { (why) } }
                p.state { (missing_words(view)) }
                @if !late.is_empty() {
                    p.notice { "Something may still be on these phones. What arrives after the reveal is refused:" }
                    ul { @for one in &late { li { (one.taster) ": " (one.remark) } } }
                }
                p { "The key is opened and the scores are closed for good. Everybody at the table then sees the results." }
                form method="post" action=(format!("{path}/reveal")) {
                    @if view.missing_answers > 0 {
                        label.field for="why" { "Why although answers are missing (recorded)" }
                        input type="text" id="why" name="why" required maxlength="200";
                    }
                    div.row {
                        label.key.wide { input type="checkbox" name="sure" value="yes" required; span { "Yes, open the key" } }
                    }
                    button.main type="submit" { "Reveal" }
                }
                p { a.button.second href=(path) { "Back" } }
            }
        }
    };
    frame::page(&format!("Reveal {}", plan.session), None, None, &body)
}
