//! The sheets of a session: the pourer's names waters, the others only codes.

use crate::quantities::show::fixed;
use crate::report::page::Page;
use crate::tasting::prep::Preparation;
use crate::tasting::solo::procedure;
use crate::tasting::{Code, Plan, Tray};

fn codes(cups: &[Code]) -> String {
    cups.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
}

fn steps(page: &mut Page, plan: &Plan, wanted: impl Fn(&str) -> bool) {
    for (n, step) in procedure(plan).iter().filter(|s| wanted(s.who.word())).enumerate() {
        page.say(format!("{}. {}: {}", n + 1, step.who.word(), step.what));
    }
}

/// The pourer's sheet; `base` is what is needed of each base water, L.
#[must_use]
pub fn pourer(plan: &Plan, sheet: &Preparation, base: &[(String, f64)]) -> Page {
    let mut page = Page::default();
    page.say(format!("Pouring sheet of {} — keep it from tasters", sheet.session));
    page.say(format!("seal {}", sheet.seal));
    let serving = &sheet.serving;
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
    let mut rows = Vec::new();
    for bottle in &sheet.bottles {
        for code in &bottle.codes {
            rows.push(vec![
                bottle.water.clone(),
                code.code.to_string(),
                code.round.to_string(),
                code.cups.to_string(),
                code.tray.as_ref().map_or(String::new(), |(t, n)| format!("{t}, tray {n}")),
                if code.reference { "reference".to_owned() } else { String::new() },
            ]);
        }
    }
    page.show(&["bottle", "code", "round", "cups", "for", ""], rows);
    for (role, letter) in [(&sheet.reference, "R"), (&sheet.warm_up, "W")] {
        if let Some(water) = role {
            page.say(format!("On every tray a cup marked {letter} of {water}."));
        }
    }
    let rows = sheet.bottles.iter().map(|b| {
        let brews: usize = b.brews_by_round.iter().sum();
        let brews = if brews > 0 { brews.to_string() } else { "–".to_owned() };
        vec![b.water.clone(), b.cups.to_string(), brews, fixed(b.with_spare.value(), 2)]
    });
    page.say("");
    page.say("Shopping list, with spare");
    page.show(&["water", "cups", "brews", "L"], rows.collect());
    let rows = base.iter().map(|(name, litres)| vec![name.clone(), fixed(*litres, 2)]);
    page.show(&["base water", "L"], rows.collect());
    let rows = sheet.stocks.iter().map(|s| {
        let left = s.left.map_or("not recorded".to_owned(), |v| fixed(v.value(), 1));
        let short = s.missing().map_or(String::new(), |v| format!("{} SHORT", fixed(v.value(), 1)));
        vec![s.stock.clone(), fixed(s.needed.value(), 2), left, short]
    });
    page.show(&["stock", "mL", "left in the bottle", ""], rows.collect());
    if let Some(grams) = sheet.brewed_g {
        page.say(format!("{} g to brew", fixed(grams, 0)));
    }
    page.say("Procedure");
    steps(&mut page, plan, |_| true);
    page
}

/// The serving sheet: codes only.
#[must_use]
pub fn server(plan: &Plan) -> Page {
    let mut page = Page::default();
    page.say(format!("Serving sheet of {}", plan.session));
    page.say(format!("seal {}", plan.seal));
    let rows = plan.trays.iter().map(|tray| {
        vec![
            tray.round.to_string(),
            tray.taster.clone(),
            tray.number.to_string(),
            on_tray(plan, tray),
        ]
    });
    page.show(&["round", "taster", "tray", "cups, in this order"], rows.collect());
    steps(&mut page, plan, |who| who != "pourer");
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

/// The score sheet of a taster.
#[must_use]
pub fn taster(plan: &Plan, name: &str) -> Page {
    let mut page = Page::default();
    page.say(format!("Score sheet of {name}, session {}", plan.session));
    page.say(format!("seal {}", plan.seal));
    page.say(plan.method.instruction());
    for a in plan.method.attributes() {
        page.say(format!(
            "  {}: {} ({}) to {} ({}), in steps of {}",
            a.name, a.low, a.low_word, a.high, a.high_word, a.step
        ));
    }
    for tray in plan.trays_of(name) {
        page.say("");
        page.say(format!("Tray {}, round {}: {}", tray.number, tray.round, on_tray(plan, tray)));
        if plan.method.attributes().is_empty() {
            page.say("  answer: ____________  note: ____________");
        } else {
            for code in &tray.cups {
                let blanks: Vec<String> =
                    plan.method.attributes().iter().map(|a| format!("{} ____", a.name)).collect();
                page.say(format!("  {code}  {}", blanks.join("  ")));
            }
        }
    }
    page.say("");
    steps(&mut page, plan, |who| who != "pourer" && who != "server" && who != "host");
    page
}

/// The codes of a tray in words.
#[must_use]
pub fn cups_of(tray: &Tray) -> String {
    codes(&tray.cups)
}
