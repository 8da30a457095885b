//! The sheets of a session that name no water: the server's and the tasters'.

use crate::session::plan::key::in_groups;
use crate::session::plan::order_balance::whole_set;
use crate::session::plan::preparation::{USUAL_CUPS, cups_of_a_taster};
use crate::session::plan::solo::{Role, procedure};
use crate::session::plan::{Blinding, Code, Plan, Tray};
use crate::session::serve::commands::{score_command, turned_command};
use crate::session::serve::forecast_page::times;
use crate::session::serve::pouring_sheet::constants;
use crate::text::Page;
use crate::text::command_line::{for_session, typed};

/// The steps of the procedure that concern some.
pub(crate) fn steps(page: &mut Page, plan: &Plan, wanted: impl Fn(Role) -> bool) {
    for (n, step) in procedure(plan).iter().filter(|s| wanted(s.who)).enumerate() {
        let what = for_session(&step.what, &plan.session);
        page.say(format!("{}. {}: {what}", n + 1, step.who.word()));
    }
}

/// The serving sheet: codes only.
#[must_use]
pub fn server(plan: &Plan) -> Page {
    let mut page = Page::default();
    page.say(format!("Serving sheet of {}", plan.session));
    page.say(format!("seal {}", in_groups(&plan.seal)));
    constants(&mut page, &plan.serving);
    let rows = plan.trays.iter().map(|tray| {
        vec![
            tray.round.to_string(),
            tray.taster.clone(),
            tray.number.to_string(),
            on_tray(plan, tray),
        ]
    });
    page.show(&["round", "taster", "tray", "cups, in this order"], rows.collect());
    steps(&mut page, plan, |who| who != Role::Pourer);
    page
}

fn on_tray(plan: &Plan, tray: &Tray) -> String {
    let mut words = Vec::new();
    if plan.warm_up_cup {
        words.push("W".to_owned());
    }
    if plan.reference_cup {
        words.push("R".to_owned());
    }
    if let Some(code) = tray.reference {
        words.push(format!("reference {code}:"));
    }
    for (n, code) in tray.cups.iter().enumerate() {
        words.push(code.to_string());
        if tray.breaks_after.contains(&(n + 1)) {
            words.push("| break |".to_owned());
        }
    }
    words.join(" ")
}

/// The attributes by what they are scored on; those of one scale stand together.
fn scales(plan: &Plan) -> Vec<String> {
    let mut scales: Vec<(String, Vec<String>)> = Vec::new();
    for a in plan.method.attributes() {
        let scale = format!("{} to {} in steps of {}", a.low, a.high, a.step);
        let ends = format!("{} ({} – {})", a.name, a.low_word, a.high_word);
        match scales.iter_mut().find(|(same, _)| *same == scale) {
            Some((_, attributes)) => attributes.push(ends),
            None => scales.push((scale, vec![ends])),
        }
    }
    scales.into_iter().map(|(scale, of)| format!("{scale}: {}", of.join(", "))).collect()
}

/// The score sheets of several, one below the other.
#[must_use]
pub fn of_tasters(plan: &Plan, names: &[&str]) -> Page {
    let mut page = Page::default();
    for (n, name) in names.iter().enumerate() {
        if n > 0 {
            page.say("");
        }
        page.parts.extend(taster(plan, name).parts);
    }
    page
}

/// Whose score sheets there are, where all of them would be more than a screen.
#[must_use]
pub fn whose(plan: &Plan, names: &[&str]) -> Page {
    let mut page = Page::default();
    page.say(format!("Score sheets of session {}", plan.session));
    page.say(format!("seal {}", in_groups(&plan.seal)));
    page.say(format!("for {}", names.join(", ")));
    let one = names.first().copied().unwrap_or_default();
    page.say(format!(
        "`--taster {}` shows one; --full all of them; `--print scores.html` writes them for paper.",
        typed(one)
    ));
    page
}

/// The score sheet of a taster.
#[must_use]
pub fn taster(plan: &Plan, name: &str) -> Page {
    let mut page = Page::default();
    page.say(format!("Score sheet of {name}, session {}", plan.session));
    page.say(format!("seal {}", in_groups(&plan.seal)));
    for scale in scales(plan) {
        page.say(format!("  {scale}"));
    }
    let mut round = 1;
    for tray in plan.trays_of(name) {
        page.say("");
        if tray.round > round {
            round = tray.round;
            page.say("| break |");
        }
        page.say(format!("Tray {}, round {}: {}", tray.number, tray.round, on_tray(plan, tray)));
        if plan.method.attributes().is_empty() {
            page.say("  answer: ____________  note: ____________");
        } else {
            let names = plan.method.attributes().iter().map(|a| a.name.as_str());
            let heads: Vec<&str> = std::iter::once("cup").chain(names).collect();
            let blank = |code: &Code| {
                let blanks = heads.iter().skip(1).map(|_| "____".to_owned());
                std::iter::once(code.to_string()).chain(blanks).collect()
            };
            page.show(&heads, tray.cups.iter().map(blank).collect());
        }
    }
    page.say("");
    steps(&mut page, plan, |who| matches!(who, Role::Taster | Role::Alone));
    page.say(format!("Enter it with: `{}`", score_command(plan, name)));
    if plan.blinding == Blinding::Solo {
        page.say("When all of it is entered, turn the cups over and type, with the sticker of each for `…`:");
        for tray in plan.trays_of(name) {
            page.say(format!("  `{}`", turned_command(plan, tray)));
        }
    }
    page
}

/// What a host should know of a plan before anyone tastes: too many cups, breaks that never come.
#[must_use]
pub fn cautions(plan: &Plan) -> Vec<String> {
    let mut lines = Vec::new();
    let cups = cups_of_a_taster(plan);
    if cups > USUAL_CUPS {
        lines.push(format!(
            "{cups} cups for each taster: six to eight a sitting are common; compare fewer waters, \
             or taste the trays in several sittings"
        ));
    }
    if let Some(every) = plan.break_after.filter(|_| !plan.shows_breaks()) {
        let falls =
            if plan.rounds > 1 { "breaks fall between rounds alone" } else { "no break falls" };
        lines.push(format!(
            "{falls}: no taster has more than {every} cups in a round; a smaller number gives breaks \
             within it, where cups are not compared with each other"
        ));
    }
    lines
}

/// What the key's file is and what its seal protects from, in plain words; `secret` is the file that
/// opens it.
pub fn on_the_key(page: &mut Page, session: &str, secret: &str) {
    page.say(format!(
        "key: sessions/{session}/key.sealed, encrypted; what opens it is in {secret}"
    ));
    page.say(
        "the reveal needs that file; it guards the key from searches, previews, copies and other people, \
         not from whoever uses this program as you",
    );
    page.rest(|page| {
        page.say("a taster does not ask for the pourer's sheet");
        page.say("no other file of the bench tells which water has which code");
    });
}

/// How uneven the orders are, when they are, and what would make them even.
#[must_use]
pub fn unevenness(plan: &Plan) -> Vec<String> {
    let Some(balance) = plan.balance else { return Vec::new() };
    let complete = plan.cups_per_tray == plan.waters + plan.hidden_duplicates;
    let mut lines = Vec::new();
    if !plan.method.compares_two() && !complete {
        lines.push(format!(
            "incomplete trays: each water is served {}, two waters stand on one tray {}",
            times(balance.servings),
            times(balance.meetings)
        ));
    }
    let trays = plan.tasters.len() * plan.rounds;
    let set = whole_set(&plan.method, plan.cups_per_tray, complete);
    if let Some(set) = set.filter(|set| !balance.is_even() && !trays.is_multiple_of(*set)) {
        let above = trays.div_ceil(set) * set;
        let near = match above - set {
            0 => above.to_string(),
            below => format!("{below} or {above}"),
        };
        lines.push(format!(
            "the orders are not quite even: a whole set has {set}, and tasters × rounds are {trays}; \
             {near} would be even"
        ));
    }
    lines
}
