//! The journal page of a bench: all sessions, each recipe over time, and a surface through all scores.

use maud::html;

use crate::journal::Journal;
use crate::next_flight::report::NextReport;
use crate::page::parts::{figure, notes, text_page};
use crate::page::{pictures, shell};
use crate::svg::Drawing;
use crate::svg::lines::{self, Scales, Series};

/// The journal of a bench of this title; `surface` is that of what is wanted through all scores, or why there is none.
#[must_use]
pub fn page(bench: &str, journal: &Journal, surface: &Result<NextReport, String>) -> String {
    let text = journal.page();
    let drawings = trends(journal);
    let drawn = surface.as_ref().map(pictures::surface);
    let body = html! {
        (text_page(&text, "journal"))
        @if !drawings.is_empty() {
            section.card {
                h2 { "Over time" }
                @for drawing in &drawings { (figure(drawing)) }
            }
        }
        section.card {
            h2 { "All scores together" }
            @match drawn {
                Ok(Some(drawing)) => {
                    (figure(&drawing))
                    p.note { "Through the scores of all sessions, each session by its own level. A guess, not a finding." }
                }
                Ok(None) => p { "No surface can be drawn." }
                Err(why) => p { "No surface: " (why) "." }
            }
        }
        footer { (notes(&["Means of one session are not means of another: other tasters, other days."])) }
    };
    shell::document("Journal", &format!("{bench}: all sessions, by recipe."), &body)
}

/// How the recipes did in each session, by measure; those tasted once are points.
fn trends(journal: &Journal) -> Vec<Drawing> {
    let mut measures: Vec<&str> = Vec::new();
    for served in &journal.served {
        if served.score.interval.is_some() && !measures.contains(&served.score.of.as_str()) {
            measures.push(&served.score.of);
        }
    }
    let place = |session: &str| {
        let found = journal.sessions.iter().position(|(name, _)| name == session);
        found.and_then(|n| u32::try_from(n + 1).ok()).map(f64::from)
    };
    let of_measure = |of: &str| -> Vec<Series> {
        let own = |recipe: usize| -> Vec<(f64, (f64, f64, f64))> {
            let served = journal.served.iter().filter(|s| s.score.of == of && s.recipe == recipe);
            served
                .filter_map(|s| {
                    let (low, high) = s.score.interval?;
                    Some((place(&s.score.session)?, (low, s.score.value, high)))
                })
                .collect()
        };
        let all = journal.recipes.iter().map(|recipe| Series {
            name: recipe.name.clone(),
            points: own(recipe.number),
            single: true,
            joined: true,
        });
        all.filter(|series| series.points.len() > 1).collect()
    };
    let names: Vec<String> = journal.sessions.iter().map(|(name, _)| name.clone()).collect();
    let places = &names;
    let drawn = measures.iter().enumerate().flat_map(|(n, of)| {
        let series = of_measure(of);
        // So many lines are told apart; what is left stands in the next picture.
        let groups = series.chunks(lines::MOST).map(<[Series]>::to_vec).collect::<Vec<_>>();
        groups.into_iter().enumerate().filter_map(move |(k, group)| {
            let scales =
                Scales { x: "session, in the order of time", y: of, from_zero: false, places };
            let (id, title) = (format!("trend-{n}-{k}"), format!("{of} over the sessions"));
            lines::draw(&id, &title, scales, &group, &[])
        })
    });
    drawn.collect()
}
