//! What a planned session can find, in words, and the plan as the host reads it.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::quantities::show::{decimals_for, fixed, plain, three_figures};
use crate::session::analysis::power::forecast;
use crate::session::analysis::verdict::p_words;
use crate::session::plan::common_phrases::counted;
use crate::session::plan::key::in_groups;
use crate::session::plan::panel::{USUAL_POWER, USUAL_SD};
use crate::session::plan::wanted::attributes_of;
use crate::session::plan::{Blinding, CodeScope, Forecast, FoundScore, Key, Plan, Scatter, Test};
use crate::text::Page;

/// What a planned session can find.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SessionForecast {
    /// In words, one line for each thing.
    pub can_find: Vec<String>,
    /// In numbers.
    pub forecast: Forecast,
}

impl SessionForecast {
    /// What a plan can find; `known` is the scatter of attributes that the bench has measured. The key
    /// is needed to make the analysis beforehand, and nothing of it is said.
    #[must_use]
    pub fn new(plan: &Plan, key: &Key, known: &BTreeMap<String, Scatter>) -> Self {
        let forecast = forecast(plan, key, known);
        let can_find = match &forecast {
            Forecast::Scores { attributes, one_taster, .. } => scores(attributes, *one_taster),
            Forecast::Ranking { .. } => ranking(&forecast),
            Forecast::Choice { .. } => choices(&forecast),
        };
        Self { can_find, forecast }
    }
}

fn with_power() -> String {
    format!("with a probability of {} %", fixed(100.0 * USUAL_POWER, 0))
}

/// Attributes that say the same are said together.
fn scores(attributes: &[FoundScore], one_taster: bool) -> Vec<String> {
    let mut groups: Vec<(&FoundScore, Vec<&str>)> = Vec::new();
    for found in attributes.iter().filter(|found| found.tested) {
        let alike = |other: &FoundScore| FoundScore { name: found.name.clone(), ..other.clone() };
        match groups.iter_mut().find(|(first, _)| alike(first) == *found) {
            Some((_, names)) => names.push(&found.name),
            None => groups.push((found, vec![&found.name])),
        }
    }
    let mut lines = Vec::new();
    for (found, names) in groups {
        let names = names.join(", ");
        let Some(points) = found.smallest else {
            lines.push(format!(
                "{names}: nothing can be found, since nothing is repeated; ask for more rounds or tasters"
            ));
            continue;
        };
        lines.push(if points > found.scale {
            format!(
                "{names}: not even waters at both ends of the scale are found to differ {}",
                with_power()
            )
        } else {
            let points = three_figures(points);
            format!(
                "{names}: two waters {points} points apart are found to differ {}",
                with_power()
            )
        });
        let together = found.assumed_scatter.together();
        let scatter = fixed(together, decimals_for(together, 2, 2));
        lines.push(match found.measured_in {
            Some(1) => format!("  SD of one score: {scatter}, from your own session"),
            Some(n) => {
                format!("  SD of one score: {scatter}, from your own {n} sessions")
            }
            None => format!(
                "  SD of one score: {scatter}, {} % of the scale, assumed, since no session of this bench has measured it",
                plain(100.0 * USUAL_SD)
            ),
        });
        if points > found.wanted && !one_taster {
            let wanted = plain(found.wanted);
            lines.push(match found.tasters_for_wanted {
                Some(tasters) => format!("  {wanted} points apart would need {tasters} tasters"),
                None => format!("  {wanted} points apart are beyond any panel of this kind"),
            });
        }
    }
    match attributes.iter().find(|found| found.tested) {
        Some(found) if found.tested_together > 1 => lines.push(format!(
            "{} attributes are tested together, which takes larger differences: `--primary` names one \
             beforehand, and the others are then described",
            found.tested_together
        )),
        Some(found) if attributes.len() > 1 => {
            lines.push(format!("{} alone is tested; the others are described", found.name));
        }
        _ => {}
    }
    if one_taster {
        lines.push("the answer will hold for one taster only".to_owned());
    }
    lines
}

fn ranking(forecast: &Forecast) -> Vec<String> {
    let Forecast::Ranking { blocks, smallest_p, apart, most_apart, blocks_for_half } = forecast
    else {
        return Vec::new();
    };
    let most = plain(*most_apart);
    vec![
        format!("if all tasters agree, {}", p_words(*smallest_p)),
        match apart {
            Some(apart) => format!(
                "two waters are found to differ {} when their mean ranks are {} apart (first and last of every ranking: {most})",
                with_power(),
                three_figures(*apart)
            ),
            None => format!(
                "{}: too few to tell any two waters apart {}, even the first and the last of every ranking; ask for more tasters",
                counted(*blocks, "ranking"),
                with_power()
            ),
        },
        format!(
            "{blocks_for_half} rankings by different tasters would find mean ranks {} apart",
            plain(*most_apart / 2.0)
        ),
    ]
}

fn choices(forecast: &Forecast) -> Vec<String> {
    let Forecast::Choice {
        test,
        tested_together,
        answers,
        least_right,
        smallest_discriminators,
        smallest_distance,
        needed_for_half,
        tasters_vote,
        repeated,
    } = forecast
    else {
        return Vec::new();
    };
    let preference = test.test == Test::TwoAfc;
    let one = if *tasters_vote { "taster" } else { "answer" };
    let which = if test.two_sided { "same" } else { "first" };
    let mut lines = vec![match least_right {
        Some(right) if *tasters_vote => format!(
            "of {answers} tasters who each name one water of a pair every time, {right} must name the {which} one"
        ),
        Some(right) if preference => {
            format!("{right} of {answers} answers for a pair must name the {which} water")
        }
        Some(right) => {
            format!("{right} of {answers} answers for a pair must be right to show a difference")
        }
        None => format!("{} for a pair: no difference can show", counted(*answers, one)),
    }];
    if let Some(discriminators) = smallest_discriminators {
        let d_prime = smallest_distance
            .map_or(String::new(), |d_prime| format!(" (d′ = {})", three_figures(d_prime)));
        lines.push(if preference {
            let same = fixed(50.0 + 50.0 * discriminators, 0);
            format!(
                "a difference is found {} when {same} % name the same water{d_prime}",
                with_power()
            )
        } else {
            let share = fixed(100.0 * discriminators, 0);
            format!(
                "a difference is found {} when {share} % of the tasters can tell{d_prime}",
                with_power()
            )
        });
    }
    if let Some(needed) = needed_for_half {
        let when =
            if preference { "75 % named the same" } else { "half of the tasters could tell" };
        lines.push(match (needed.first, needed.always_from) {
            (first, from) if first == from => {
                format!("{from} {one}s would find it if {when}")
            }
            (first, from) => {
                format!("{first} {one}s would find it if {when}; from {from} on any number will do")
            }
        });
    }
    if *tested_together > 1 {
        lines.push(format!(
            "{tested_together} pairs are tested together, which takes more {one}s for each: `--pair` names \
             those to compare"
        ));
    }
    if *repeated {
        lines.push(
            "a taster's further answers are no further tasters: the answer will be about these people"
                .to_owned(),
        );
    }
    lines
}

/// A range of counts, or the one count.
pub(crate) fn times((least, most): (usize, usize)) -> String {
    match (least, most) {
        (1, 1) => "once".to_owned(),
        (n, m) if n == m => format!("{n} times"),
        _ => format!("{least} to {most} times"),
    }
}

/// The plan as everyone may read it.
#[must_use]
pub fn page(plan: &Plan, forecast: &SessionForecast) -> Page {
    let mut page = Page::default();
    page.say(format!("Session {}: {} by {}", plan.session, plan.question, plan.method.name()));
    page.say(format!(
        "{}, {} ({}), {}, {} on a tray, {}",
        if plan.method.compares_two() {
            counted(plan.pairs, "pair")
        } else {
            counted(plan.waters, "water")
        },
        counted(plan.tasters.len(), "taster"),
        plan.tasters.join(", "),
        counted(plan.rounds, "round"),
        counted(plan.cups_per_tray, "cup"),
        counted(plan.trays.len(), "tray")
    ));
    let extras = [
        (plan.hidden_duplicates > 0).then(|| format!("{} hidden twice", plan.hidden_duplicates)),
        plan.reference_cup.then(|| "a reference cup R".to_owned()),
        plan.warm_up_cup.then(|| "a warm-up cup W".to_owned()),
        plan.break_after
            .filter(|_| plan.shows_breaks())
            .map(|n| format!("a break after every {}", counted(n, "cup"))),
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
        CodeScope::PerSession if plan.method.compares_two() => {
            "codes: one for each water of a pair and round, the same for everyone"
        }
        CodeScope::PerSession if plan.hidden_duplicates > 0 => {
            "codes: one for each water and round, two for a water hidden twice, the same for everyone"
        }
        CodeScope::PerSession => "codes: one for each water and round, the same for everyone",
        CodeScope::PerTaster => "codes: one for each cup",
    });
    // A test of two waters balances the orders of its pair, which this count of waters would hide.
    if let Some(balance) = plan.balance.filter(|_| !plan.method.compares_two()) {
        let (places, follows) = (balance.places, balance.follows);
        page.rest(|page| {
            page.say(format!(
                "orders: each water stands {} at each place and follows each other {}",
                times(places),
                times(follows)
            ));
        });
    }
    page.say(match plan.wanted() {
        Some(aim) => format!("wanted: {aim}"),
        None if attributes_of(&plan.method).is_empty() => {
            "which cups are alike; nothing is best".to_owned()
        }
        None => {
            "nothing is said to be wanted (`--wanted` says it), so no water will be called best"
                .to_owned()
        }
    });
    if !plan.analysis.adjust_for.is_empty() {
        let what: Vec<String> = plan.analysis.adjust_for.iter().map(ToString::to_string).collect();
        page.say(format!("means will be corrected for the {}", what.join(" and the ")));
    }
    page.say("");
    page.say("What this panel can find:");
    for line in &forecast.can_find {
        let says_why = line.starts_with(' ');
        let line = format!("  {line}");
        if says_why {
            page.rest(|page| page.say(line));
        } else {
            page.say(line);
        }
    }
    page.say("");
    page.rest(|page| {
        page.say(format!("seal {}", in_groups(&plan.seal)));
        page.say(format!("drawn by {}", plan.generator));
    });
    page
}
