//! What stands on every sheet of a session: what is the same for all cups, and the steps of the procedure.

use crate::quantities::show::fixed;
use crate::session::plan::solo::{Role, procedure};
use crate::session::plan::{Plan, Serving};
use crate::text::Page;
use crate::text::command_line::for_session;

/// What is the same for all cups.
pub(crate) fn constants(page: &mut Page, serving: &Serving) {
    let served = serving.served_c.map_or(String::new(), |c| format!(" at {} °C", fixed(c, 0)));
    page.say(format!("every cup {} mL{served}", fixed(serving.cup_ml, 0)));
    if let Some(brew) = &serving.brewing {
        page.say(format!(
            "every brew: {} g {} on {} mL water (1 : {}) at {} °C, gives {} mL",
            fixed(brew.dose_g, 1),
            brew.what,
            fixed(brew.water_ml, 0),
            fixed(brew.ratio(), 1),
            fixed(brew.water_c, 0),
            fixed(brew.yield_ml, 0)
        ));
    }
    for note in &serving.notes {
        page.say(format!("the same for all: {note}"));
    }
}

/// The steps of the procedure that concern some.
pub(crate) fn steps(page: &mut Page, plan: &Plan, wanted: impl Fn(Role) -> bool) {
    for (n, step) in procedure(plan).iter().filter(|s| wanted(s.who)).enumerate() {
        let what = for_session(&step.what, &plan.session);
        page.say(format!("{}. {}: {what}", n + 1, step.who.word()));
    }
}
