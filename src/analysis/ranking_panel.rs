//! The tasters of a ranking: how far they agree with the others and with themselves.

use crate::chance::count;
use crate::scores::reveal::RankingRow;

use super::ranks::{places, quick_p, ranked_trays};
use super::repeat::{Mark, correlation};
use super::table::mean;

/// Risk at which a taster is marked (common practice).
const MARK_AT: f64 = 0.05;

/// One taster of a ranking.
#[derive(Debug, Clone, PartialEq)]
pub struct RankerCheck {
    /// Place of the taster.
    pub taster: usize,
    /// Trays ranked.
    pub trays: usize,
    /// Correlation of this taster's ranks with the mean ranks of the others (Spearman); `None` with
    /// fewer than three waters.
    pub with_others: Option<f64>,
    /// Mean correlation of this taster's own trays, two by two; `None` with fewer than two.
    pub with_self: Option<f64>,
    /// Places between hidden duplicates, on average; 1 is next to each other.
    pub duplicates_apart: Option<f64>,
    /// Why the taster stands apart, if so.
    pub marks: Vec<Mark>,
}

/// One tray: each water with its place, more is better.
type Tray = Vec<(usize, f64)>;

/// Looks at the tasters of a ranking, `waters` waters and `tasters` tasters.
#[must_use]
pub fn ranker_checks(rows: &[RankingRow], waters: usize, tasters: usize) -> Vec<RankerCheck> {
    let trays: Vec<(usize, Tray)> = rows
        .iter()
        .filter_map(|row| Some((row.taster, places(row.order.as_ref()?.iter().map(|c| c.water)))))
        .collect();
    (0..tasters)
        .filter_map(|taster| {
            let own: Vec<&Tray> =
                trays.iter().filter(|(t, _)| *t == taster).map(|(_, p)| p).collect();
            let others: Vec<&Tray> =
                trays.iter().filter(|(t, _)| *t != taster).map(|(_, p)| p).collect();
            let with_others = correlation(&beside(&own, &others, waters));
            let rest_agree = || {
                let rest: Vec<RankingRow> =
                    rows.iter().filter(|row| row.taster != taster).cloned().collect();
                quick_p(&ranked_trays(&rest, waters, tasters), waters) < MARK_AT
            };
            let against = with_others.is_some_and(|r| r < 0.0) && rest_agree();
            (!own.is_empty()).then(|| RankerCheck {
                taster,
                trays: own.len(),
                with_others,
                with_self: with_self(&own, waters),
                duplicates_apart: duplicates_apart(rows, taster),
                marks: if against { vec![Mark::AgainstTheOthers] } else { Vec::new() },
            })
        })
        .collect()
}

/// Mean place of each water over some trays.
fn mean_places(trays: &[&Tray], waters: usize) -> Vec<Option<f64>> {
    let of = |water: usize| {
        let own: Vec<f64> = trays
            .iter()
            .flat_map(|tray| tray.iter())
            .filter(|(w, _)| *w == water)
            .map(|(_, place)| *place)
            .collect();
        mean(&own)
    };
    (0..waters).map(of).collect()
}

/// Mean places of the waters that both had.
fn beside(one: &[&Tray], other: &[&Tray], waters: usize) -> Vec<(f64, f64)> {
    let (one, other) = (mean_places(one, waters), mean_places(other, waters));
    // Places are ranked again, so that the correlation is of ranks.
    let both: Vec<(f64, f64)> =
        one.into_iter().zip(other).filter_map(|(a, b)| Some((a?, b?))).collect();
    let rank = |value: f64, all: &[f64]| {
        let below = all.iter().filter(|v| **v < value).count();
        let equal = all.iter().filter(|v| (**v - value).abs() <= f64::EPSILON).count();
        count(below) + f64::midpoint(count(equal), 1.0)
    };
    let (a, b): (Vec<f64>, Vec<f64>) = both.into_iter().unzip();
    a.iter().zip(&b).map(|(x, y)| (rank(*x, &a), rank(*y, &b))).collect()
}

fn with_self(own: &[&Tray], waters: usize) -> Option<f64> {
    let mut found = Vec::new();
    for (at, one) in own.iter().enumerate() {
        for other in own.iter().skip(at + 1) {
            found.extend(correlation(&beside(&[*one], &[*other], waters)));
        }
    }
    mean(&found)
}

fn duplicates_apart(rows: &[RankingRow], taster: usize) -> Option<f64> {
    let mut gaps = Vec::new();
    for order in rows.iter().filter(|row| row.taster == taster).filter_map(|r| r.order.as_ref()) {
        for (at, cup) in order.iter().enumerate().filter(|(_, cup)| cup.copy > 1) {
            let first = order.iter().position(|c| c.water == cup.water && c.copy == 1);
            gaps.extend(first.map(|first| count(first.abs_diff(at))));
        }
    }
    mean(&gaps)
}
