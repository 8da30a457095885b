//! The journal to be read.

use std::collections::BTreeMap;

use crate::quantities::show::{decimals_for, fixed, three_figures};
use crate::session::analysis::recipe_scores::Kind;
use crate::session::analysis::verdict::p_words;
use crate::session::plan::common_phrases::{and_list, counted};
use crate::session::plan::{Direction, each_once};
use crate::text::Page;

use crate::journal::{ComparedPair, Journal, Recipe, ServedWater};
use crate::session::analysis::over_time::OverTime;
use crate::session::results::PlannedWaterRecipe;
use crate::session::results::leading::better_words;
use crate::session::results::pairs::distance_words;

/// 1st, 2nd, 3rd …
fn place_words(place: usize) -> String {
    let ending = match (place % 10, place % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{place}{ending}")
}

/// Digits that an interval deserves: three figures of its half width.
fn cut_for(interval: Option<(f64, f64)>) -> usize {
    interval.map_or(2, |(low, high)| decimals_for((high - low) / 2.0, 3, 2))
}

fn value_words(served: &ServedWater) -> String {
    let cut = cut_for(served.score.interval);
    match (served.score.kind, served.score.interval) {
        (Kind::Mean, Some((low, high))) => {
            format!(
                "{} ({} to {})",
                fixed(served.score.value, cut),
                fixed(low, cut),
                fixed(high, cut)
            )
        }
        (Kind::Mean, None) => fixed(served.score.value, cut),
        (Kind::MeanRank, _) => format!("mean rank {}", fixed(served.score.value, 2)),
    }
}

/// The distance of a pair; `turned` as seen from its second water.
fn d_prime_words(pair: &ComparedPair, turned: bool) -> String {
    let (low, high) = pair.comparison.d_prime_interval;
    // Only a paired test has a direction.
    let turned = turned && pair.comparison.criterion.is_some();
    let seen = |end: Option<f64>| end.map(|d| if turned { -d } else { d });
    let (low, high) = if turned { (seen(high), seen(low)) } else { (low, high) };
    let [d_prime, low, high] = [seen(pair.comparison.d_prime), low, high].map(distance_words);
    format!("d′ {d_prime} ({low} to {high})")
}

/// What was found of a pair, in one line.
fn pair_words(pair: &ComparedPair) -> String {
    let both = format!("{} / {}", pair.comparison.pair.0, pair.comparison.pair.1);
    let p = p_words(pair.comparison.p);
    let of = method_words(pair);
    match &pair.comparison.more {
        Some(more) => {
            let d_prime = d_prime_words(pair, *more == pair.comparison.pair.1);
            format!("{both}, {of}: {more} has more, {d_prime}, {p}")
        }
        None if pair.comparison.told_apart => {
            format!("{both}, {of}: they differ, {}, {p}", d_prime_words(pair, false))
        }
        None => {
            let d_prime = d_prime_words(pair, false);
            format!("{both}, {of}: this panel could not tell, {d_prime}, {p}")
        }
    }
}

/// The method, and by what.
fn method_words(pair: &ComparedPair) -> String {
    pair.comparison
        .criterion
        .as_ref()
        .map_or_else(|| pair.comparison.method.clone(), |of| format!("paired {of}"))
}

fn recipe_words(made: &PlannedWaterRecipe) -> String {
    let doses: Vec<String> = made
        .doses_ml_per_l
        .iter()
        .map(|(stock, ml)| format!("{stock} {}", three_figures(*ml)))
        .collect();
    let doses =
        if doses.is_empty() { "no stock".to_owned() } else { format!("{} mL/L", doses.join(", ")) };
    let known = |value: Option<f64>| value.map_or("unknown".to_owned(), three_figures);
    format!(
        "hardness {}, alkalinity {} mg/L as CaCO3; {doses}",
        known(made.hardness_mg_per_l_caco3),
        known(made.alkalinity_mg_per_l_caco3)
    )
}

/// What one session found.
struct SessionFindings<'a> {
    session: String,
    day: String,
    served: Vec<&'a ServedWater>,
    pairs: Vec<&'a ComparedPair>,
    unsaid: Vec<&'a str>,
}

impl Journal {
    /// The journal as a page.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        if self.sessions.is_empty() {
            page.say("No session of this bench is revealed yet.");
        } else {
            page.say(format!(
                "{} revealed, {} tasted",
                counted(self.sessions.len(), "session"),
                counted(self.recipes.len(), "recipe")
            ));
            let found = self.by_session();
            self.what_won(&found, &mut page);
            page.say("");
            for recipe in &self.recipes {
                Self::recipe_page(recipe, &found, &mut page);
            }
        }
        page.say("");
        if !self.not_revealed.is_empty() {
            page.say(format!("not revealed: {}", self.not_revealed.join("; ")));
        }
        if !self.never_tasted.is_empty() {
            page.say(format!("never tasted: {}", self.never_tasted.join("; ")));
        }
        page
    }

    /// What each session found, in the order of the sessions.
    fn by_session(&self) -> Vec<SessionFindings<'_>> {
        let mut served: BTreeMap<&str, Vec<&ServedWater>> = BTreeMap::new();
        for one in &self.served {
            served.entry(&one.score.session).or_default().push(one);
        }
        let mut pairs: BTreeMap<&str, Vec<&ComparedPair>> = BTreeMap::new();
        for one in &self.pairs {
            pairs.entry(&one.comparison.session).or_default().push(one);
        }
        let mut unsaid: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
        for (session, why) in &self.unsaid {
            unsaid.entry(session).or_default().push(why);
        }
        let found = |(session, day): &'_ (String, String)| SessionFindings {
            session: session.clone(),
            day: day.clone(),
            served: served.remove(session.as_str()).unwrap_or_default(),
            pairs: pairs.remove(session.as_str()).unwrap_or_default(),
            unsaid: unsaid.remove(session.as_str()).unwrap_or_default(),
        };
        self.sessions.iter().map(found).collect()
    }

    /// What won, by what is wanted, and after it what else was found.
    fn what_won(&self, found: &[SessionFindings<'_>], page: &mut Page) {
        page.say("");
        if self.anything_wanted {
            page.say("What won");
            each_session(found, page, true);
        } else if let Some(of) = self.not_wanted.first() {
            page.say(format!(
                "Nothing won: of what was judged ({}), nothing is said to be wanted. `waterflight \
                 journal --attribute \"{of}\" --wanted more` (or less, or near=VALUE) says it.",
                self.not_wanted.join(", ")
            ));
        }
        let described = self.served.iter().any(|served| served.score.wanted.is_none())
            || self.pairs.iter().any(|pair| pair.wanted.is_none());
        if described || !self.unsaid.is_empty() {
            page.rest(|page| {
                page.say("");
                page.say("What else was found");
                each_session(found, page, false);
            });
        }
    }

    fn recipe_page(recipe: &Recipe, found: &[SessionFindings<'_>], page: &mut Page) {
        page.rest(|page| page.say(""));
        let wins = match recipe.wins {
            0 => String::new(),
            1 => ", better than every other once".to_owned(),
            n => format!(", better than every other {n} times"),
        };
        page.say(format!("{}: {}{wins}", recipe.name, counted(recipe.sessions, "session")));
        page.say(format!("  {}", recipe_words(&recipe.made)));
        let others: Vec<&str> = recipe.waters.iter().skip(1).map(String::as_str).collect();
        if !others.is_empty() {
            page.say(format!("  also poured as {}", others.join(", ")));
        }
        let mut rows = Vec::new();
        for SessionFindings { session, day, served, pairs, .. } in found {
            for served in served.iter().filter(|served| served.recipe == recipe.number) {
                rows.push(vec![
                    day.clone(),
                    session.clone(),
                    served.score.of.clone(),
                    value_words(served),
                    if served.score.comparable {
                        format!("{} of {}", place_words(served.score.place), served.score.waters)
                    } else {
                        "not compared".to_owned()
                    },
                    differs_words(served),
                ]);
            }
            let own = |pair: &&&ComparedPair| {
                pair.recipes.0 == recipe.number || pair.recipes.1 == recipe.number
            };
            for pair in pairs.iter().filter(own) {
                let second = pair.recipes.0 != recipe.number;
                let other = if second { &pair.comparison.pair.0 } else { &pair.comparison.pair.1 };
                rows.push(vec![
                    day.clone(),
                    session.clone(),
                    method_words(pair),
                    d_prime_words(pair, second),
                    String::new(),
                    if pair.comparison.told_apart {
                        other.clone()
                    } else {
                        format!("{other}: cannot tell")
                    },
                ]);
            }
        }
        page.rest(|page| {
            page.show(&["day", "session", "of", "value (95 %)", "place", "differs from"], rows);
            for trend in &recipe.over_time {
                page.say(format!("  {}", trend_words(trend)));
            }
        });
    }
}

/// What each session says of what is wanted, or of the rest.
fn each_session(found: &[SessionFindings<'_>], page: &mut Page, wanted: bool) {
    for SessionFindings { session, day, served, pairs, unsaid } in found {
        let served: Vec<&ServedWater> =
            served.iter().copied().filter(|s| s.score.wanted.is_some() == wanted).collect();
        for of in each_once(served.iter().map(|one| one.score.of.as_str())) {
            let own: Vec<&ServedWater> =
                served.iter().copied().filter(|s| s.score.of == of).collect();
            page.say(format!("  {day} {session}, {of}: {}", answer(&own)));
        }
        for pair in pairs.iter().filter(|pair| pair.wanted.is_some() == wanted) {
            page.say(format!("  {day} {session}, {}", pair_words(pair)));
        }
        for why in unsaid.iter().filter(|_| !wanted) {
            page.say(format!("  {day} {session}, {why}"));
        }
    }
}

fn differs_words(served: &ServedWater) -> String {
    let others = served.score.waters.saturating_sub(1);
    match served.score.differs_from.len() {
        0 => "none".to_owned(),
        n if n == others && others > 1 => format!("all {n}"),
        _ => served.score.differs_from.join(", "),
    }
}

/// What a measure of a session says of its waters together.
fn answer(own: &[&ServedWater]) -> String {
    let Some(first) = own.iter().min_by_key(|served| served.score.place) else {
        return String::new();
    };
    let first_named = match first.score.wanted {
        Some(_) => first.score.water.clone(),
        None => format!("most in {}", first.score.water),
    };
    if own.iter().all(|served| served.score.kind == Kind::Mean && served.score.interval.is_none()) {
        return untested(own, first);
    }
    if !own.iter().any(|served| served.told_apart) {
        return "this panel could not tell any apart".to_owned();
    }
    let how = better_words(first.score.wanted.unwrap_or(Direction::More));
    let shares = |served: &&&ServedWater| served.score.place == first.score.place;
    let shared: Vec<&ServedWater> = own.iter().filter(shares).copied().collect();
    if shared.len() > 1 {
        return share_words(&shared, &first.score.above, &how);
    }
    match first.score.above.as_slice() {
        [] if first.score.wanted.is_none() => {
            format!("{first_named}, which is not shown to differ from any other")
        }
        [] if first.score.differs_from.is_empty() => {
            format!("{first_named} came first, and is not shown to differ from any other")
        }
        [] => format!("{first_named} came first, and is not shown to be {how} any other"),
        below if below.len() + 1 == first.score.waters && below.len() > 1 => {
            format!("{first_named}, {how} every other")
        }
        below => format!("{first_named}, {how} {}", below.join(", ")),
    }
}

/// What is said of waters that share the first place, one of which is better than `above`.
fn share_words(shared: &[&ServedWater], above: &[String], how: &str) -> String {
    let names: Vec<String> = shared.iter().map(|served| served.score.water.clone()).collect();
    let place =
        if shared.iter().any(|s| s.score.wanted.is_some()) { "first place" } else { "the most" };
    let all = |other: &&String| shared.iter().all(|served| served.score.above.contains(other));
    let below: Vec<String> = above.iter().filter(all).cloned().collect();
    match below.as_slice() {
        [] => format!("{} share {place}", and_list(&names)),
        below => format!("{} share {place}, {how} {}", and_list(&names), below.join(", ")),
    }
}

/// What scores say in which no error could be seen.
fn untested(own: &[&ServedWater], first: &ServedWater) -> String {
    let value = value_words(first);
    let tied = own.iter().filter(|served| served.score.place == first.score.place).count();
    if own.len() == 1 {
        return format!("{} alone was scored ({value})", first.score.water);
    }
    if !first.score.comparable {
        let waters = counted(own.len(), "water");
        return format!("{waters} not compared: not every taster scored each equally often");
    }
    if tied > 1 {
        return format!("{tied} waters alike ({value}), not tested");
    }
    let most = match first.score.wanted {
        None | Some(Direction::More) => "highest in".to_owned(),
        Some(Direction::Less) => "lowest in".to_owned(),
        Some(Direction::Near(wanted)) => format!("nearest to {wanted} in"),
    };
    format!("{most} {} ({value}), not tested", first.score.water)
}

/// How a measure went over time, in words.
fn trend_words(trend: &OverTime) -> String {
    let each: Vec<String> = trend
        .values
        .iter()
        .map(|(value, place, of)| match trend.kind {
            Kind::Mean => fixed(*value, 2),
            Kind::MeanRank => format!("{} of {of}", place_words(*place)),
        })
        .collect();
    let values = format!("over time, {}: {}", trend.of, each.join(", then "));
    match (trend.change, trend.not_compared) {
        (Some((moved, (low, high))), _) => {
            let change = format!(
                "{} by {} ({} to {})",
                if moved < 0.0 { "down" } else { "up" },
                fixed(moved.abs(), 2),
                fixed(low, 2),
                fixed(high, 2)
            );
            if low > 0.0 || high < 0.0 {
                format!("{values}; {change}, by the same tasters")
            } else {
                format!("{values}; {change}, by the same tasters: no change is shown")
            }
        }
        (None, Some(why)) => format!("{values}; not compared, since {why}"),
        (None, None) => values,
    }
}

#[cfg(test)]
mod tests {
    use super::place_words;

    #[test]
    fn places_are_written_as_people_say_them() {
        let written: Vec<String> =
            [1, 2, 3, 4, 11, 12, 13, 21, 22, 103, 112].map(place_words).to_vec();
        let wanted =
            ["1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "22nd", "103rd", "112th"];
        assert_eq!(written, wanted);
    }
}
