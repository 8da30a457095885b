//! What a planned session can find, in words, and the plan as the host reads it.

use crate::quantities::show::{fixed, three_figures};
use crate::report::page::Page;
use crate::tasting::panel::{USUAL_POWER, forecast};
use crate::tasting::{Blinding, CodeScope, Forecast, Plan};

/// Our choice: smaller chances are not told apart in words.
const LEAST_SAID: f64 = 0.0001;

/// What the panel can find, one line for each thing.
#[must_use]
pub fn lines(plan: &Plan) -> Vec<String> {
    let chance = fixed(100.0 * USUAL_POWER, 0);
    match forecast(plan, None) {
        Forecast::Scores { attributes, degrees, one_taster } => {
            let mut lines: Vec<String> = attributes
                .iter()
                .map(|(name, found, _)| match found {
                    Some(points) => format!(
                        "{name}: two waters {} points apart are told apart with a chance of {chance} %",
                        three_figures(*points)
                    ),
                    None => format!(
                        "{name}: nothing can be found, since nothing is repeated; ask for more rounds or tasters"
                    ),
                })
                .collect();
            lines.push(format!(
                "assumed: tasters scatter by a fifth of the scale; {degrees} degrees of freedom"
            ));
            if one_taster {
                lines.push("the answer will hold for one taster only".to_owned());
            }
            lines
        }
        Forecast::Ranking { smallest_p, preference } => vec![
            match smallest_p {
                p if p < LEAST_SAID => format!("if all tasters agree, p < {LEAST_SAID}"),
                p => format!("if all tasters agree, p = {}", fixed(p, 4)),
            },
            match preference {
                Some(share) => format!(
                    "two waters are told apart with a chance of {chance} % when {} % of the rankings put one above the other",
                    fixed(100.0 * share, 0)
                ),
                None => {
                    "so few rankings cannot tell two waters apart; ask for more tasters or rounds"
                        .to_owned()
                }
            },
        ],
        Forecast::Choice { answers, least_right, smallest_tellers, needed_for_half, .. } => {
            let mut lines = vec![match least_right {
                Some(right) => {
                    format!(
                        "{right} of {answers} answers for a pair must agree to show a difference"
                    )
                }
                None => format!("{answers} answers for a pair cannot show any difference"),
            }];
            if let Some(share) = smallest_tellers {
                lines.push(format!(
                    "a difference is found with a chance of {chance} % when {} % of the tasters can tell",
                    fixed(100.0 * share, 0)
                ));
            }
            if let Some(needed) = needed_for_half {
                lines.push(format!(
                    "{} answers would find it if half of the tasters could tell",
                    needed.always_from
                ));
            }
            lines
        }
    }
}

/// The plan as everyone may read it.
#[must_use]
pub fn page(plan: &Plan) -> Page {
    let mut page = Page::default();
    page.say(format!("Session {}: {} by {}", plan.session, plan.question, plan.method.name()));
    page.say(format!(
        "{} waters, {} tasters ({}), {} round(s), {} cups on a tray, {} trays",
        plan.waters,
        plan.tasters.len(),
        plan.tasters.join(", "),
        plan.rounds,
        plan.cups_per_tray,
        plan.trays.len()
    ));
    let extras = [
        (plan.hidden_duplicates > 0).then(|| format!("{} hidden twice", plan.hidden_duplicates)),
        plan.reference_cup.then(|| "a named reference cup R".to_owned()),
        plan.warm_up_cup.then(|| "a warm-up cup W".to_owned()),
        plan.break_after.map(|n| format!("a break after every {n} cups")),
    ];
    let extras: Vec<String> = extras.into_iter().flatten().collect();
    if !extras.is_empty() {
        page.say(format!("with {}", extras.join(", ")));
    }
    page.say(match plan.blinding {
        Blinding::Solo => "blind alone: stickers under the cups, a shuffle out of sight",
        Blinding::Pourer => "blind: one pours and knows, the others taste",
        Blinding::Double => "double-blind: who serves knows only codes",
    });
    page.say(match plan.codes {
        CodeScope::PerSession => "codes: one for each water and round, the same for everyone",
        CodeScope::PerTaster => "codes: one for each cup",
    });
    if let Some(balance) = plan.balance {
        let (places, follows) = (balance.places, balance.follows);
        page.say(format!(
            "orders: each water stands {} to {} times at each place and follows each other {} to {} times",
            places.0, places.1, follows.0, follows.1
        ));
    }
    page.say("");
    page.say("What this panel can find:");
    for line in lines(plan) {
        page.say(format!("  {line}"));
    }
    page.say("");
    page.say(format!("seal {}", plan.seal));
    page.say(format!("drawn by {}", plan.generator));
    page
}
