//! Pairs of waters that are said to differ while tasters are divided on them.
//!
//! The tests of a session take one scatter for all its waters. Where two waters divide a panel into camps,
//! the tasters scatter more on these two than on the rest, and the pair is said to differ too often. So
//! such a pair is also looked at by itself, over the tasters.

use crate::numerics::{count, t_two_sided};
use crate::session::plan::panel::is_significant;

use crate::session::analysis::ranks::RankPair;
use crate::session::analysis::score_table::mean;
use crate::session::analysis::taster_votes::p_of_votes;
use crate::session::analysis::{MixedFit, RankTest, ScoreTable};

/// How the tasters stand to a pair of waters that is said to differ.
struct Camps {
    /// The water that is said to have more, and the other.
    pair: (usize, usize),
    /// Tasters who gave it more, those who gave it less, and all who tasted both.
    with: usize,
    against: usize,
    tasters: usize,
    /// p of this pair by itself, over the tasters.
    p: f64,
}

impl Camps {
    /// What must be borne in mind; nothing where the tasters agree, or the pair differs by itself too.
    fn words(&self, waters: &[String]) -> Option<String> {
        let Self { pair, with, against, tasters, p } = *self;
        if against == 0 || is_significant(p) {
            return None;
        }
        let name = |water: usize| waters.get(water).map_or("?", String::as_str);
        let (more, less) = (name(pair.0), name(pair.1));
        Some(format!(
            "tasters are divided on {more} and {less}: {with} of {tasters} put {more} above, {against} \
             below; by these two waters alone no difference is shown, so that it may be chance"
        ))
    }
}

/// What to bear in mind of the pairs that differ by their scores: the t-test of the tasters' own
/// differences.
pub(crate) fn on_scores(table: &ScoreTable, fit: &MixedFit) -> Vec<String> {
    let means = table.means();
    let camps = |(first, second): (usize, usize)| {
        let gap = |own: &Vec<Option<f64>>| Some((*own.get(first)?)? - (*own.get(second)?)?);
        let gaps: Vec<f64> = means.iter().filter_map(gap).collect();
        let middle = mean(&gaps)?;
        let degrees = count(gaps.len()) - 1.0;
        let variance = gaps.iter().map(|gap| (gap - middle).powi(2)).sum::<f64>() / degrees;
        Some(Camps {
            pair: (first, second),
            with: gaps.iter().filter(|gap| **gap > 0.0).count(),
            against: gaps.iter().filter(|gap| **gap < 0.0).count(),
            tasters: gaps.len(),
            p: t_two_sided(middle / (variance / count(gaps.len())).sqrt(), degrees),
        })
    };
    let clear = fit.differences.iter().filter(|d| is_significant(d.p));
    let higher =
        clear.map(|d| if d.estimate > 0.0 { (d.first, d.second) } else { (d.second, d.first) });
    higher.filter_map(|pair| camps(pair)?.words(&table.waters)).collect()
}

/// What to bear in mind of the pairs that rank differently: the sign test of the tasters, each of whom
/// votes once, whatever the number of trays. `given` are taster and waters, most first.
pub(crate) fn on_ranks(
    waters: &[String],
    test: &RankTest,
    given: &[(usize, Vec<usize>)],
    tasters: usize,
) -> Vec<String> {
    let camps = |pair: &RankPair| {
        let (more, less) = if pair.difference < 0.0 {
            (pair.first, pair.second)
        } else {
            (pair.second, pair.first)
        };
        let votes = (0..tasters).filter_map(|taster| {
            let own = given.iter().filter(|(t, _)| *t == taster);
            let first = own.filter_map(|(_, order)| {
                let place = |water: usize| order.iter().position(|w| *w == water);
                Some(place(more)? < place(less)?)
            });
            let first: Vec<bool> = first.collect();
            let for_it = first.iter().filter(|first| **first).count();
            (!first.is_empty()).then_some((for_it, first.len()))
        });
        let votes: Vec<(usize, usize)> = votes.collect();
        Camps {
            pair: (more, less),
            with: votes.iter().filter(|(first, all)| 2 * first > *all).count(),
            against: votes.iter().filter(|(first, all)| 2 * first < *all).count(),
            tasters: votes.len(),
            p: p_of_votes(&votes, true),
        }
    };
    let clear = test.pairs.iter().filter(|pair| is_significant(pair.p));
    clear.filter_map(|pair| camps(pair).words(waters)).collect()
}
