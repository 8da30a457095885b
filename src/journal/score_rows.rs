//! Every score of a bench as tidy rows, with the composition and the doses of its water beside it.

use crate::session::plan::Method;
use crate::session::plan::wanted::attributes_of;
use crate::session::results::{PastSession, PlannedWaterRecipe};
use crate::session::score::tidy_rows::COLUMNS;
use crate::session::score::{Revealed, TidyRow, tidy_rows};

/// A table of text, every row as long as the heads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScoreRows {
    /// The heads.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

/// Columns that every row has before those of the observation.
const BEFORE: [&str; 1] = ["day"];

/// Columns of every water besides its constituents and doses.
const ALWAYS: [&str; 2] = ["hardness_mg_per_l_caco3", "alkalinity_mg_per_l_caco3"];

/// All rows of the revealed sessions, in the order of time. Composition and doses are empty where a
/// row is of a pair and not of one water, and a constituent where it was not measured; a stock that a
/// water does not hold is 0. With `of` only what was judged by that.
#[must_use]
pub fn score_rows(past: &[PastSession], of: Option<&str>) -> ScoreRows {
    let judges =
        |revealed: &Revealed| of.is_none_or(|of| attributes_of(&revealed.method).contains(&of));
    let own = |session: &&PastSession| session.revealed.as_ref().is_some_and(judges);
    let past: Vec<&PastSession> = past.iter().filter(own).collect();
    let (mut keys, mut stocks, mut base): (Vec<&str>, Vec<&str>, Vec<&str>) =
        (Vec::new(), Vec::new(), Vec::new());
    for made in past.iter().flat_map(|s| &s.made) {
        keys.extend(made.mg_per_l.iter().map(|(key, _)| key.as_str()));
        keys.extend(made.not_measured.iter().map(String::as_str));
        stocks.extend(made.doses_ml_per_l.iter().map(|(stock, _)| stock.as_str()));
        base.extend(made.base.iter().map(|(water, _)| water.as_str()));
    }
    for list in [&mut keys, &mut stocks, &mut base] {
        list.sort_unstable();
        list.dedup();
    }
    let fixed = BEFORE.into_iter().chain(COLUMNS).chain(ALWAYS).map(str::to_owned);
    let heads = fixed
        .chain(keys.iter().map(|key| format!("{key}_mg_per_l")))
        .chain(stocks.iter().map(|stock| format!("{stock}_ml_per_l")))
        .chain(base.iter().map(|water| format!("{water}_share")))
        .collect();
    let beside = |made: Option<&PlannedWaterRecipe>| -> Vec<String> {
        let Some(made) = made else {
            return vec![String::new(); ALWAYS.len() + keys.len() + stocks.len() + base.len()];
        };
        let share = |water: &&str| {
            made.base.iter().find(|(name, _)| name == water).map_or(0.0, |(_, share)| *share)
        };
        let hardness = [made.hardness_mg_per_l_caco3, made.alkalinity_mg_per_l_caco3];
        hardness
            .into_iter()
            .chain(keys.iter().map(|key| made.mg_per_l(key)))
            .chain(stocks.iter().map(|stock| Some(made.ml_per_l(stock))))
            .chain(base.iter().map(|water| Some(share(water))))
            .map(|amount| amount.map_or(String::new(), |amount| amount.to_string()))
            .collect()
    };
    let measure = COLUMNS.iter().position(|column| *column == "measure").unwrap_or(COLUMNS.len());
    let mut rows = Vec::new();
    for session in past {
        let Some(revealed) = &session.revealed else { continue };
        // Ranks and choices are all of the one thing that their session judges.
        let scored = matches!(revealed.method, Method::Scoring { .. });
        let is_asked = |row: &TidyRow| {
            of.is_none_or(|of| !scored || row.cells.get(measure).is_some_and(|cell| cell == of))
        };
        for TidyRow { water, cells } in tidy_rows(revealed).into_iter().filter(is_asked) {
            let name = water.and_then(|water| revealed.waters.get(water));
            let made = name.and_then(|name| session.made.iter().find(|m| m.water == *name));
            let mut row = vec![session.day().to_owned()];
            row.extend(cells);
            row.extend(beside(made));
            rows.push(row);
        }
    }
    ScoreRows { heads, rows }
}
