//! How to stay blind: the steps of each procedure, as data for the sheets.
//!
//! All steps are common practice; what makes them hold is who may look at what.

use crate::session::plan::Method;
use crate::session::plan::Plan;
use crate::session::plan::{Blinding, CodeScope};

/// Who does a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The one who fills cups or jugs and knows the key.
    Pourer,
    /// The one who carries and knows only codes.
    Server,
    /// A taster.
    Taster,
    /// The one who does it all, alone.
    Alone,
    /// Whoever runs the program.
    Host,
}

impl Role {
    /// In one word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Role::Pourer => "pourer",
            Role::Server => "server",
            Role::Taster => "taster",
            Role::Alone => "you",
            Role::Host => "host",
        }
    }
}

/// Which page lies open at a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OpenPage {
    /// The pourer's sheet, which names the waters.
    PouringSheet,
    /// The serving sheet, codes only.
    ServingSheet,
    /// The score sheet.
    ScoreSheet,
    /// No page.
    Nothing,
    /// The revealed results.
    Results,
}

/// One step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// Who does it.
    pub who: Role,
    /// What is done.
    pub what: String,
    /// The only page that may lie open.
    pub sees: OpenPage,
}

/// The steps of a plan, in order.
#[must_use]
pub fn procedure(plan: &Plan) -> Vec<Step> {
    let mut steps = match plan.blinding {
        Blinding::Solo => alone(plan),
        Blinding::Pourer => with_pourer(plan),
        Blinding::Double => double_blind(plan),
    };
    steps.push(step(Role::Host, "Reveal only when no answer is missing.", OpenPage::Nothing));
    steps.push(step(
        Role::Host,
        "Compare the seal printed in the plan with the SHA-256 sum of the opened key.",
        OpenPage::Results,
    ));
    steps
}

fn step(who: Role, what: impl Into<String>, sees: OpenPage) -> Step {
    Step { who, what: what.into(), sees }
}

/// One person alone. With several trays all are poured and shuffled before the first is tasted, and
/// none is turned over before the last is: the sheet is never read again, and what stood under one tray
/// tells nothing of the next.
fn alone(plan: &Plan) -> Vec<Step> {
    let you = |what: &str, sees| step(Role::Alone, what, sees);
    let trays = plan.trays.len();
    let several = trays > 1;
    // Brewed cups would be cold when their tray comes, so the waters are poured first and brewed then.
    let vessels = several && plan.serving.brewing.is_some();
    let cup = if vessels { "vessel" } else { "cup" };
    let cups: usize = plan.trays.iter().map(|tray| tray.cups.len()).sum();
    let many = if several {
        format!("Use {cup}s that look alike, {cups} in all: the {trays} trays are poured now.")
    } else {
        format!("Use {cup}s that look alike, as many as the tray has.")
    };
    let mut steps = vec![step(Role::Alone, many, OpenPage::PouringSheet)];
    let pour = format!(
        "Stick each code of the pouring sheet under a {cup}, then pour the water named beside it{}.{}",
        if vessels { ", as much as one brew takes" } else { "" },
        if several { " Stand each tray by itself." } else { "" }
    );
    steps.push(step(Role::Alone, pour, OpenPage::PouringSheet));
    if matches!(plan.method, Method::DuoTrio { .. }) {
        steps.push(you(
            "Stand the reference cup apart with its code on top; it is not shuffled.",
            OpenPage::PouringSheet,
        ));
    }
    steps.push(you("Put the pouring sheet away, face down.", OpenPage::Nothing));
    steps.push(step(
        Role::Alone,
        format!(
            "Shuffle the {cup}s {}: eyes shut, at least twenty exchanges, then turn the tray. A lid \
             or a cloth keeps level and foam from telling.",
            if several { "of each tray out of sight" } else { "out of sight" }
        ),
        OpenPage::Nothing,
    ));
    steps.push(step(
        Role::Alone,
        format!(
            "Eyes open: from left to right, put the codes of the score sheet on the {cup}s{}, in its \
             order.",
            if several { " of each tray" } else { "" }
        ),
        OpenPage::ScoreSheet,
    ));
    if vessels {
        steps.push(you(
            "When a tray comes, brew the water of each vessel into a cup with the same code on top.",
            OpenPage::ScoreSheet,
        ));
    }
    steps.extend(tasting(plan, Role::Alone));
    let turn = if several {
        format!(
            "Only when every tray is written down and entered: turn the {cup}s of each tray over and \
             enter which code stood under which. A turning is final. Until then the {cup}s stay \
             unturned; where they are too few, keep each sticker, unread, with the code that stood on \
             top of it."
        )
    } else {
        "Only when the whole tray is written down and entered: turn the cups over and enter which code \
         stood under which. A turning is final."
            .to_owned()
    };
    steps.push(step(Role::Alone, turn, OpenPage::ScoreSheet));
    if plan.method.compares_two() && plan.method.cups_of_choice() != Some(2) {
        steps.push(you(
            "You know which water is the single one on a tray, so judge by taste alone and count the result as a hint.",
            OpenPage::Nothing,
        ));
    }
    steps.push(you(
        "If the shuffle was seen or a cup was known by its look, the session is not blind: record it with `session note NAME … --unblinded`.",
        OpenPage::Nothing,
    ));
    steps
}

/// One pours, the others taste.
fn with_pourer(plan: &Plan) -> Vec<Step> {
    let pourer = |what: &str| step(Role::Pourer, what, OpenPage::PouringSheet);
    let mut steps = vec![
        pourer(
            "Work where no taster sees you. The pouring sheet is the one page kept from tasters.",
        ),
        pourer(match plan.codes {
            CodeScope::PerSession => {
                "Write each code on its cups, one for every tray that has it, and pour the water named beside it."
            }
            CodeScope::PerTaster => {
                "Write each code on one cup and pour the water named beside it."
            }
        }),
        pourer("Stand the cups of each tray in the order of the serving sheet."),
        step(
            Role::Pourer,
            "Serve without a word or a look about the cups. The pourer does not taste.",
            OpenPage::ServingSheet,
        ),
    ];
    steps.extend(tasting(plan, Role::Taster));
    steps
}

/// The one who fills is gone before the first cup is served.
fn double_blind(plan: &Plan) -> Vec<Step> {
    let vessel = match plan.codes {
        CodeScope::PerSession => "jug",
        CodeScope::PerTaster => "cup",
    };
    let mut steps = vec![
        step(
            Role::Pourer,
            format!("Write each code on a {vessel} and fill it with the water named beside it."),
            OpenPage::PouringSheet,
        ),
        step(
            Role::Pourer,
            "Take every named bottle and the pouring sheet away, and stay away until the reveal.",
            OpenPage::PouringSheet,
        ),
        step(
            Role::Server,
            format!(
                "Come in only now. Serve from the coded {vessel}s, in the order of the serving sheet."
            ),
            OpenPage::ServingSheet,
        ),
    ];
    steps.extend(tasting(plan, Role::Taster));
    steps
}

/// What everyone does while tasting.
fn tasting(plan: &Plan, who: Role) -> Vec<Step> {
    let mut steps = vec![step(
        who,
        "Silence until everyone has finished. Taste in the order given, at the same temperature, \
         and rinse with one neutral water between cups.",
        OpenPage::ScoreSheet,
    )];
    if plan.warm_up_cup {
        steps.push(step(
            who,
            "Taste the first cup, W, without writing it down.",
            OpenPage::ScoreSheet,
        ));
    }
    if plan.reference_cup {
        steps.push(step(
            who,
            "The cup marked R is the reference: go back to it whenever you like.",
            OpenPage::ScoreSheet,
        ));
    }
    steps.push(step(who, plan.method.instruction(), OpenPage::ScoreSheet));
    if let Some(cups) = plan.break_after.filter(|_| plan.shows_breaks()) {
        steps.push(step(
            who,
            format!("After every {cups} cups take the break that the sheet shows."),
            OpenPage::ScoreSheet,
        ));
    }
    if plan.rounds > 1 {
        steps.push(step(
            who,
            if who == Role::Alone {
                "Between rounds take a break; the cups of the next round stand ready."
            } else {
                "Between rounds take a break and start with fresh cups."
            },
            OpenPage::Nothing,
        ));
    }
    steps
}
