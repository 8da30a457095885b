//! The tasters of a ranking: how far they agree with the others and with themselves.

use serde::Serialize;

use crate::numerics::count;
use crate::session::plan::panel::is_significant;
use crate::session::score::RankingRow;

use crate::session::analysis::Ranked;
use crate::session::analysis::comparisons::holm;
use crate::session::analysis::page_test::PageTests;
use crate::session::analysis::ranked::{places, ranked_trays};
use crate::session::analysis::ranks::rank_test;
use crate::session::analysis::repeatability::{OutlierFlag, correlation};
use crate::session::analysis::score_table::mean;

/// One taster of a ranking.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankerCheck {
    /// Place of the taster.
    #[serde(skip)]
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
    /// p that the others agree (Friedman) and this taster ranks the waters in the order opposite to
    /// theirs (Page's test of it), the larger of the two, allowing for all tasters (Holm); `None` where
    /// not every tray holds all waters.
    pub p_against: Option<f64>,
    /// Why the taster stands apart, if so.
    pub marks: Vec<OutlierFlag>,
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
    let mut tests = PageTests::default();
    let mut found: Vec<RankerCheck> = (0..tasters)
        .filter_map(|taster| {
            let own: Vec<&Tray> =
                trays.iter().filter(|(t, _)| *t == taster).map(|(_, p)| p).collect();
            let others: Vec<&Tray> =
                trays.iter().filter(|(t, _)| *t != taster).map(|(_, p)| p).collect();
            let with_others = correlation(&beside(&own, &others, waters));
            (!own.is_empty()).then(|| RankerCheck {
                taster,
                trays: own.len(),
                with_others,
                with_self: with_self(&own, waters),
                duplicates_apart: duplicates_apart(rows, taster),
                p_against: against(&own, &others, waters, &mut tests).map(|p| {
                    // Whether the rest agree is asked only where it could mark.
                    if is_significant(p) { p.max(rest_alike(rows, taster, waters)) } else { p }
                }),
                marks: Vec::new(),
            })
        })
        .collect();
    let alone: Vec<f64> = found.iter().filter_map(|check| check.p_against).collect();
    let mut adjusted = holm(&alone).into_iter();
    for check in found.iter_mut().filter(|check| check.p_against.is_some()) {
        check.p_against = adjusted.next();
        if check.p_against.is_some_and(is_significant) {
            check.marks.push(OutlierFlag::AgainstTheOthers);
        }
    }
    found
}

/// p that the tasters but this one rank all waters alike.
fn rest_alike(rows: &[RankingRow], taster: usize, waters: usize) -> f64 {
    let rest: Vec<RankingRow> = rows.iter().filter(|row| row.taster != taster).cloned().collect();
    rank_test(&ranked_trays(&rest), waters).map_or(1.0, |test| test.p())
}

/// p that a taster's trays follow the order opposite to that of the others, which is fixed for the one
/// who is judged by it. Waters that the others place alike stand in the order of the session.
fn against(own: &[&Tray], others: &[&Tray], waters: usize, tests: &mut PageTests) -> Option<f64> {
    let of_others: Option<Vec<f64>> = mean_places(others, waters).into_iter().collect();
    let of_others = of_others?;
    let mut opposite: Vec<usize> = (0..waters).collect();
    let place = |water: &usize| of_others.get(*water).copied().unwrap_or(f64::NAN);
    opposite.sort_by(|a, b| place(a).total_cmp(&place(b)));
    let blocks: Vec<Ranked> = own.iter().map(|tray| Ranked::from_values(tray)).collect();
    let test = tests.test(&blocks, &opposite)?;
    Some(test.p_exact.unwrap_or(test.p_normal))
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
