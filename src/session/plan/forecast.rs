//! What a plan can find, in numbers: smallest differences, and the panel that smaller differences need.

use serde::Serialize;

use crate::numerics::{count, normal_quantile};

use crate::session::plan::Method;
use crate::session::plan::Plan;
use crate::session::plan::Test;
use crate::session::plan::least_p::least_p;
use crate::session::plan::panel::{Needed, USUAL_ALPHA, USUAL_POWER};
use crate::session::plan::ranking_blocks::{RankingBlock, ranking_blocks};
use crate::session::plan::{AssumedScatter, ChoiceTest};

/// What can be found of one attribute.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundScore {
    /// The attribute.
    pub name: String,
    /// Whether it is tested; else it is described, since another was named beforehand.
    pub tested: bool,
    /// So many attributes are tested together.
    pub tested_together: usize,
    /// The smallest difference of two waters that is found with the usual power, in points, even where
    /// waters differ in no other attribute; `None` when nothing is left to judge by, or it is not tested.
    pub smallest: Option<f64>,
    /// The residual error counted on.
    pub assumed_scatter: AssumedScatter,
    /// Over so many earlier sessions it was measured; `None` when it is assumed.
    pub measured_in: Option<usize>,
    /// The length of the scale, in points.
    pub scale: f64,
    /// A difference worth finding, in points: as large a part of the scale as
    /// [`crate::session::plan::panel::USUAL_SD`].
    pub wanted: f64,
    /// Tasters who would find it; `None` beyond the most that are looked at, or for one taster alone.
    pub tasters_for_wanted: Option<usize>,
}

/// What the panel can find, in numbers; the report puts them in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "method", rename_all = "snake_case")]
pub enum Forecast {
    /// For scores, for each attribute.
    Scores {
        /// The attributes.
        attributes: Vec<FoundScore>,
        /// Degrees of freedom behind a comparison.
        degrees: usize,
        /// Whether the answer will hold for one taster only.
        one_taster: bool,
    },
    /// For rankings.
    Ranking {
        /// Rankings that count: of a taster's trays that share waters, one.
        blocks: usize,
        /// The smallest p that perfect agreement of the panel can reach.
        smallest_p: f64,
        /// How far apart the mean ranks of two waters must be to be found to differ among all pairs with
        /// the usual power; `None` when even first and last of every ranking would not do.
        apart: Option<f64>,
        /// The most that mean ranks can be apart.
        most_apart: f64,
        /// Rankings of a tray that would find half of that.
        blocks_for_half: usize,
    },
    /// For tests of two waters, for each pair.
    Choice {
        /// The test.
        test: ChoiceTest,
        /// So many pairs are tested together, each at its share of the usual risk.
        tested_together: usize,
        /// Answers for each pair; where tasters vote, tasters.
        answers: usize,
        /// Whether each taster counts once: a paired test of several rounds.
        tasters_vote: bool,
        /// Right answers needed; where tasters vote, of tasters who always name the same water.
        least_right: Option<usize>,
        /// Smallest share of tasters who can tell that is found with the usual power.
        #[serde(rename = "smallest_tellers")]
        smallest_discriminators: Option<f64>,
        /// The same as d′.
        smallest_distance: Option<f64>,
        /// Answers that would find it if half of the tasters could tell.
        needed_for_half: Option<Needed>,
        /// Whether some answers come from the same taster.
        repeated: bool,
    },
}

/// What a plan of rankings or of tests of two waters can find, at the usual risks; `None` for scores,
/// whose analysis is drawn beforehand (`analysis::power`). `trays` are the rankings that will be made, each
/// with its taster and its waters.
#[must_use]
pub fn forecast_of_answers(plan: &Plan, trays: &[(usize, Vec<usize>)]) -> Option<Forecast> {
    if let Some(test) = ChoiceTest::of(&plan.method, USUAL_ALPHA) {
        return Some(forecast_choice(plan, test.one_of(plan.pairs)));
    }
    let blocks = || ranking_blocks(trays);
    matches!(plan.method, Method::Ranking { .. }).then(|| forecast_ranking(plan.waters, &blocks()))
}

/// z(α/2m) + z(power) for the m pairs of some waters.
fn rank_reach(waters: usize) -> f64 {
    let pairs = (count(waters) * (count(waters) - 1.0) / 2.0).max(1.0);
    normal_quantile(1.0 - USUAL_ALPHA / (2.0 * pairs)) + normal_quantile(USUAL_POWER)
}

/// How far apart the mean ranks of two waters must be to be found to differ among all pairs with the usual
/// power, when `tasters` rank all `waters`; `None` when even first and last of every ranking would not
/// do. Two waters are a paired test, which is exact; for more see the normal law below.
///
/// ```
/// use waterflight::session::plan::forecast::ranks_apart;
/// // z(0.05/12) + z(0.8) = 2.638 + 0.842, times √(4·5/36).
/// assert!(ranks_apart(6, 4).is_some_and(|apart| (apart - 2.594).abs() < 1e-3));
/// assert_eq!(ranks_apart(3, 4), None);
/// ```
#[must_use]
pub fn ranks_apart(tasters: usize, waters: usize) -> Option<f64> {
    let k = count(waters);
    if waters == 2 {
        let pair = ChoiceTest { test: Test::TwoAfc, two_sided: true, alpha: USUAL_ALPHA };
        return pair.smallest_share(tasters, USUAL_POWER).map(|share| 2.0 * share - 1.0);
    }
    let apart = rank_reach(waters) * (k * (k + 1.0) / (6.0 * count(tasters.max(1)))).sqrt();
    (apart <= k - 1.0).then_some(apart)
}

/// Two mean ranks differ among all m pairs when they differ by z(α/2m) standard errors, and
/// with the wanted probability when they really differ by z of that probability more. The standard error of a
/// difference over λ rankings of k cups is √(k(k+1)/6λ) when ranks fall at random (Nemenyi P. B.,
/// Distribution-free multiple comparisons, 1963; ISO 8587, from memory), and less when they do not:
/// the cautious side. Blocks of several sizes are averaged by how many pairs they hold. Two waters are a
/// paired test, which is exact.
fn forecast_ranking(waters: usize, blocks: &[RankingBlock]) -> Forecast {
    let complete = blocks.iter().all(|block| block.waters.len() >= waters);
    let sizes = || blocks.iter().map(|block| count(block.waters.len()));
    let pairs = (count(waters) * (count(waters) - 1.0)).max(1.0);
    // Blocks that hold a given pair, on average.
    let together = sizes().map(|k| k * (k - 1.0) / pairs).sum::<f64>().max(f64::MIN_POSITIVE);
    let averaged = |of: &dyn Fn(f64) -> f64| {
        sizes().map(|k| k * (k - 1.0) / pairs * of(k)).sum::<f64>() / together
    };
    let most_apart = averaged(&|k| k - 1.0);
    let reach = rank_reach(waters);
    let variance = averaged(&|k| k * (k + 1.0) / 6.0);
    let apart = if complete {
        ranks_apart(blocks.len(), waters)
    } else {
        let apart = reach * (variance / together).sqrt();
        (apart <= most_apart).then_some(apart)
    };
    let for_half =
        (2.0 * reach / most_apart.max(1.0)).powi(2) * variance * count(blocks.len()) / together;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a positive number of rankings, cut off where nobody would plan them"
    )]
    let blocks_for_half = for_half.ceil().clamp(1.0, 1e6) as usize;
    Forecast::Ranking {
        blocks: blocks.len(),
        smallest_p: least_p(blocks, waters),
        apart,
        most_apart,
        blocks_for_half,
    }
}

fn forecast_choice(plan: &Plan, test: ChoiceTest) -> Forecast {
    // A preference is no guess: whoever is asked again says the same again.
    let tasters_vote = test.test == Test::TwoAfc && plan.rounds > 1;
    let answers = plan.tasters.len() * if tasters_vote { 1 } else { plan.rounds };
    let share = test.smallest_share(answers, USUAL_POWER);
    Forecast::Choice {
        test,
        tested_together: plan.pairs,
        answers,
        least_right: test.least_right(answers),
        smallest_discriminators: share.map(|share| test.test.discriminators(share)),
        smallest_distance: share.and_then(|share| test.test.d_prime(share)),
        needed_for_half: test.needed(test.test.right_with_discriminators(0.5), USUAL_POWER),
        tasters_vote,
        repeated: plan.rounds > 1,
    }
}
