//! The next flight to be read.

use crate::next_flight::known::KnownLine;
use crate::next_flight::report::NextReport;
use crate::next_flight::{Reason, Weighed};
use crate::quantities::show::{fixed, three_figures};
use crate::session::plan::Direction;
use crate::session::plan::common_phrases::and_list;
use crate::text::Page;

/// The axes by name: `hardness, alkalinity and magnesium share`.
fn axes_words(axes: &[String]) -> String {
    if axes.is_empty() { "the composition".to_owned() } else { and_list(axes) }
}

impl NextReport {
    /// The page.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        match (&self.of, self.tasted.is_empty()) {
            (Some(of), false) => {
                page.say(format!("What the sessions say of {of}{}", self.wanted_words()));
                page.rest(|page| self.show_tasted(page));
                self.show_known(&mut page);
            }
            (Some(of), true) => page.say(format!("No session can place waters by {of} yet.")),
            _ => page.say("No session was scored or ranked and revealed yet."),
        }
        for assumed in &self.assumed {
            page.say(format!("* {assumed}"));
        }
        for left_out in &self.left_out {
            page.say(format!("Not counted: {left_out}."));
        }
        let region: Vec<String> = self
            .axes
            .iter()
            .map(|a| {
                let [low, high] = [a.low, a.high].map(three_figures);
                format!("{} {low} to {high} {}", a.name, a.unit)
            })
            .collect();
        page.say(format!(
            "Region: {}. The shelf can make {} of {} waters tried there{}.",
            region.join(", "),
            self.in_reach,
            self.tried,
            match self.not_counted.as_slice() {
                [] => String::new(),
                asked => format!(" (not counted in: {})", asked.join(" and ")),
            }
        ));
        if let Some(held) = self.held_hardness_mg_per_l_caco3 {
            let of = if self.tasted.is_empty() { "of the flight" } else { "tasted" };
            page.say(format!(
                "Hardness is held at {} mg/L as CaCO3, the mean of the waters {of}: a share of it needs \
                 some, and no axis asks for it (--over hardness,… does).",
                three_figures(held)
            ));
        }
        page.say(self.shape.clone().unwrap_or_else(|| {
            "Too little is known for a surface over these: the waters are spread through the region."
                .to_owned()
        }));
        let names: Vec<String> = self.axes.iter().map(|axis| axis.name.clone()).collect();
        let axes = axes_words(&names);
        if let Some(evidence) = &self.evidence {
            page.rest(|page| page.say(format!("Weighed: {}.", evidence.words(&axes))));
        }
        let slope =
            self.evidence.as_ref().is_some_and(|evidence| evidence.weighed == Weighed::Slope);
        if let Some(parts) = self.parts.filter(|_| slope) {
            page.say(parts.words(&axes));
        }
        page.say(match self.reason {
            Reason::Spread => "Next, far from each other and from what was tasted, in the units above:",
            Reason::Learn => "Next, where they tell most about what may still be best, in the units above:",
            Reason::Improve => "Next, what promises most above the best so far, then what tells most, in the units above:",
        });
        self.show_next(&mut page);
        if self.waters.len() < self.waters_asked {
            let why = match self.not_counted.as_slice() {
                [] => "no more were found in this region".to_owned(),
                asked => {
                    format!("no more were found that can be made with {}", asked.join(" and "))
                }
            };
            page.say(format!(
                "! {} of the {} new waters asked for: {why}.",
                self.waters.len(),
                self.waters_asked
            ));
        }
        if let Some(reference) = self.reference_is.as_ref().or(self.reference.as_ref()) {
            page.say(format!(
                "and {reference} again: it ties the new scores to the old ones. Serve one cup of it \
                 twice, hidden."
            ));
        }
        page.say(if self.tasted.is_empty() {
            "This follows from what the shelf can make alone: nothing that was tasted is in it."
        } else {
            "This follows from the scores of this panel alone: a guess worth tasting, not a finding."
        });
        page
    }

    /// Which way it is wanted.
    fn wanted_words(&self) -> String {
        match self.wanted {
            None => String::new(),
            Some(Direction::More) => " (more is better)".to_owned(),
            Some(Direction::Less) => " (less is better)".to_owned(),
            Some(Direction::Near(wanted)) => format!(" (the nearer to {wanted} the better)"),
        }
    }

    fn show_tasted(&self, page: &mut Page) {
        let heads = self.heads(&["water"], &[self.scores, "s.e."]);
        for session in &self.sessions {
            page.say(format!("{session}:"));
            let own = self.tasted.iter().filter(|t| t.session == *session);
            let rows = own.map(|t| {
                let mut row = vec![t.water.clone()];
                row.extend(t.at.iter().map(|value| three_figures(*value)));
                row.push(fixed(t.score, 2));
                row.push(fixed(t.standard_error, 2));
                row
            });
            page.show(&heads, rows.collect());
        }
        if self.scores == "mean" {
            page.say(
                "mean: of the tasters, allowing for who tasted what and not for the order of serving, \
                 which the plan balances; s.e.: as between waters.",
            );
        }
    }

    /// Every water by all sessions, best first, and what is best so far.
    fn show_known(&self, page: &mut Page) {
        if let (Some(best), true) = (&self.best, self.known.is_empty()) {
            page.say(format!("Best so far, by its {} alone: {best}.", self.scores));
        }
        if self.known.is_empty() {
            return;
        }
        let rows = self.known.iter().map(|known| {
            let (low, high) = known.interval;
            vec![
                known.water.clone(),
                fixed(known.estimate, 2),
                format!("{} to {}", fixed(low, 2), fixed(high, 2)),
                format!("{} %", fixed(100.0 * known.best, 0)),
            ]
        });
        let rows: Vec<Vec<String>> = rows.collect();
        page.rest(|page| {
            page.say("Every water by all of this, best first:");
            page.show(&["water", "estimate", "95 %", "best of these"], rows);
            page.say(
                "estimate: what its own scores and those of waters near it say together, the better mean \
                 first where two are as good as one; best of these: the probability of that.",
            );
        });
        if let Some(words) = self.best_words() {
            page.say(words);
        }
    }

    /// The best water so far; where another has the best mean, why that one is not first.
    fn best_words(&self) -> Option<String> {
        let best = self.known.first()?;
        let desirability = |score: f64| self.wanted.unwrap_or(Direction::More).desirability(score);
        let probability = |known: &KnownLine| format!("{} %", fixed(100.0 * known.best, 0));
        let likeliest = self.known.iter().max_by(|a, b| a.best.total_cmp(&b.best))?;
        let said = if likeliest.best > best.best {
            format!(
                "Best so far: {} ({}); {} may as well be it ({}).",
                best.water,
                probability(best),
                likeliest.water,
                probability(likeliest)
            )
        } else {
            let probability = probability(best);
            format!(
                "Best so far: {}, the best of these with a probability of {probability}.",
                best.water
            )
        };
        let [session] = self.sessions.as_slice() else { return Some(said) };
        let own = || self.tasted.iter().filter(|t| t.session == *session);
        let mean = own().find(|t| t.water == best.water)?.score;
        let top = own().max_by(|a, b| desirability(a.score).total_cmp(&desirability(b.score)))?;
        let other = self.known.iter().find(|known| known.water == top.water)?;
        if desirability(top.score) <= desirability(mean) {
            return Some(said);
        }
        Some(format!(
            "{said} The {} of {} is better by {}, which waters near the two do not bear out: its estimate \
             is worse by {}.",
            self.scores,
            top.water,
            fixed(desirability(top.score) - desirability(mean), 2),
            fixed(desirability(best.estimate) - desirability(other.estimate), 2)
        ))
    }

    fn show_next(&self, page: &mut Page) {
        let rows = self.waters.iter().enumerate().map(|(n, water)| {
            let mut row = vec![(n + 1).to_string()];
            row.extend(water.at.iter().map(|value| three_figures(*value)));
            if let (Some(mean), Some(sd)) = (water.above_mean, water.standard_deviation) {
                row.push(format!("{mean:+.2}"));
                row.push(fixed(sd, 2));
            }
            row.extend(water.beats_best.map(|p| format!("{} %", fixed(100.0 * p, 0))));
            row
        });
        let expects = self.waters.iter().any(|w| w.above_mean.is_some());
        let last: &[&str] = if expects { &["expected", "s.d.", "beats all"] } else { &[] };
        let heads = self.heads(&["water"], last);
        page.show(&heads, rows.collect());
        if expects {
            page.rest(|page| {
                page.say(
                    "expected: above the mean of the waters tasted; beats all: the probability that it is \
                     better than every one of them.",
                );
            });
        }
    }

    /// Heads with the axes in the middle.
    fn heads(&self, before: &[&str], after: &[&str]) -> Vec<String> {
        let axes = self.axes.iter().map(|a| a.name.clone());
        let before = before.iter().map(|head| (*head).to_owned());
        before.chain(axes).chain(after.iter().map(|head| (*head).to_owned())).collect()
    }
}
