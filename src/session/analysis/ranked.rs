//! What was ranked, by a taster or on a tray: scores and orders as ranks.

use crate::numerics::count;
use crate::session::analysis::ScoreTable;
use crate::session::analysis::score_table::mean;
use crate::session::plan::ranking_blocks::ranking_blocks;
use crate::session::score::{CupPlace, RankingRow};

/// Rounding of statistics that are compared with each other. Our choice: they are sums of at most a
/// few thousand terms of order one, and distinct values differ by more than a millionth.
pub(crate) const ROUNDING: f64 = 1e-9;

/// What one taster, or one tray, ranked: each water with its rank, 1 for the most; ties share the
/// mean of their ranks.
#[derive(Debug, Clone, PartialEq)]
pub struct Ranked {
    pub(crate) waters: Vec<usize>,
    /// Twice the ranks, so that they are whole.
    pub(crate) twice: Vec<u32>,
}

impl Ranked {
    /// Ranks values, the largest first. Values closer than a billionth of the larger are ties.
    #[must_use]
    pub fn from_values(values: &[(usize, f64)]) -> Self {
        let above = |a: f64, b: f64| a - b > ROUNDING * (1.0 + a.abs().max(b.abs()));
        let twice = values
            .iter()
            .map(|&(_, own)| {
                let higher = values.iter().filter(|(_, v)| above(*v, own)).count();
                let equal =
                    values.iter().filter(|(_, v)| !above(*v, own) && !above(own, *v)).count();
                u32::try_from(2 * higher + equal + 1).unwrap_or(u32::MAX)
            })
            .collect();
        Self { waters: values.iter().map(|(water, _)| *water).collect(), twice }
    }

    /// Twice the rank of a water, if it was ranked.
    #[must_use]
    pub fn of(&self, water: usize) -> Option<u32> {
        let place = self.waters.iter().position(|&w| w == water)?;
        self.twice.get(place).copied()
    }

    /// Variance of a rank when ranks fall on waters at random.
    pub(crate) fn variance(&self) -> f64 {
        let k = count(self.twice.len());
        let centre = f64::midpoint(k, 1.0);
        self.twice.iter().map(|&r| (f64::from(r) / 2.0 - centre).powi(2)).sum::<f64>() / k
    }
}

/// Ranks of each taster's mean scores. Tasters with fewer than two waters tell nothing and are
/// left out.
#[must_use]
pub fn ranked_scores(table: &ScoreTable) -> Vec<Ranked> {
    table
        .means()
        .iter()
        .map(|row| {
            row.iter()
                .enumerate()
                .filter_map(|(water, mean)| Some((water, (*mean)?)))
                .collect::<Vec<_>>()
        })
        .filter(|values| values.len() > 1)
        .map(|values| Ranked::from_values(&values))
        .collect()
}

/// Rankings as blocks. A taster's trays that share waters are one block, since a taster's repeats are no
/// further tasters: each water's places, counted from the middle of its tray, are averaged and ranked anew.
#[must_use]
pub fn ranked_trays(rows: &[RankingRow]) -> Vec<Ranked> {
    let from_middle = |order: &[CupPlace]| -> Vec<(usize, f64)> {
        let middle = (count(order.len()) - 1.0) / 2.0;
        let places = places(order.iter().map(|cup| cup.water));
        places.into_iter().map(|(water, place)| (water, place + middle)).collect()
    };
    let given: Vec<(usize, Vec<(usize, f64)>)> = rows
        .iter()
        .filter_map(|row| Some((row.taster, from_middle(row.order.as_ref()?))))
        .collect();
    let trays: Vec<(usize, Vec<usize>)> = given
        .iter()
        .map(|(taster, places)| (*taster, places.iter().map(|(water, _)| *water).collect()))
        .collect();
    ranking_blocks(&trays)
        .iter()
        .map(|block| {
            let own = || block.trays.iter().filter_map(|tray| given.get(*tray));
            let mean_of = |water: usize| {
                let places = own().flat_map(|(_, places)| places);
                let places: Vec<f64> =
                    places.filter(|(w, _)| *w == water).map(|(_, place)| *place).collect();
                Some((water, mean(&places)?))
            };
            block.waters.iter().filter_map(|water| mean_of(*water)).collect::<Vec<_>>()
        })
        .filter(|values| values.len() > 1)
        .map(|values| Ranked::from_values(&values))
        .collect()
}

/// Waters of an order with the mean of their places, counted so that more is better.
#[must_use]
pub fn places(order: impl IntoIterator<Item = usize>) -> Vec<(usize, f64)> {
    let mut sums: Vec<(usize, f64, usize)> = Vec::new();
    for (place, water) in order.into_iter().enumerate() {
        match sums.iter_mut().find(|(w, _, _)| *w == water) {
            Some((_, sum, n)) => {
                *sum -= count(place);
                *n += 1;
            }
            None => sums.push((water, -count(place), 1)),
        }
    }
    sums.into_iter().map(|(water, sum, n)| (water, sum / count(n))).collect()
}

/// Half of a whole number of half ranks.
#[expect(clippy::cast_precision_loss, reason = "rank sums stay far below 2^53")]
pub(crate) fn difference(twice: i64) -> f64 {
    twice as f64 / 2.0
}
