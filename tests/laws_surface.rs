//! What is said of the next waters, over panels that are drawn from known waters: how often a slope is
//! seen where there is one and where there is none, how good the water called best really is, and
//! whether the intervals hold what they promise.
//!
//! `SURFACE_PANELS=400 cargo test --test all laws_surface -- --nocapture` draws more and prints them.

use std::error::Error;

use rand_chacha::ChaCha20Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use statrs::distribution::{ContinuousCDF, Normal};
use waterflight::flight::design::grid;
use waterflight::next_flight::{
    OptimumPlace, Panel, Posterior, Shape, TastedMean, Weighed, best_of, shape,
};
use waterflight::session::analysis::design::Wanted;
use waterflight::session::analysis::{
    ModelChoice, Observation, Results, ScoreTable, family_results,
};

type Fallible = Result<(), Box<dyn Error>>;

/// Spread of a single score, half of its variance the taster's taste; that of tasters' levels.
const ONE_SCORE: f64 = 1.2;
const LEVELS: f64 = 1.0;

const TASTERS: usize = 4;

#[derive(Debug, Clone, Copy, PartialEq)]
enum World {
    Flat,
    /// Two and a half points from end to end.
    Slope,
    /// Best inside, five points lower one region away.
    Hill,
    /// Each water its own way, standard deviation 0.8.
    Own,
}

struct Chance {
    random: ChaCha20Rng,
}

impl Chance {
    fn even(&mut self) -> f64 {
        (f64::from(self.random.next_u32()) + 0.5) / 4_294_967_296.0
    }

    fn normal(&mut self) -> f64 {
        Normal::standard().inverse_cdf(self.even())
    }
}

/// What was said of one drawn panel.
struct ParsedAnswer {
    weighed: Weighed,
    /// How much worse the water called best is than the truly best one, and the one with the best mean.
    loss: f64,
    loss_of_best_mean: f64,
    /// Whether the two are one, and whether it is the truly best.
    is_best_mean: bool,
    is_best: bool,
    /// Intervals that hold the truth, of all waters.
    held: usize,
    /// Where the best was placed inside an axis: whether its 80 % hold the truth.
    placed: Vec<bool>,
}

fn panel(
    chance: &mut Chance,
    world: World,
    waters: usize,
    rounds: usize,
) -> Result<ParsedAnswer, Box<dyn Error>> {
    let at: Vec<Vec<f64>> =
        (0..waters).map(|_| vec![0.1 + 0.8 * chance.even(), 0.1 + 0.8 * chance.even()]).collect();
    let angle = std::f64::consts::TAU * chance.even();
    let centre = [0.25 + 0.5 * chance.even(), 0.25 + 0.5 * chance.even()];
    let truth: Vec<f64> = at
        .iter()
        .map(|x| {
            let (a, b) = (x.first().copied().unwrap_or(0.0), x.last().copied().unwrap_or(0.0));
            match world {
                World::Flat => 6.0,
                World::Slope => 6.0 + 2.5 * ((a - 0.5) * angle.cos() + (b - 0.5) * angle.sin()),
                World::Hill => 7.0 - 5.0 * ((a - centre[0]).powi(2) + (b - centre[1]).powi(2)),
                World::Own => 6.0 + 0.8 * chance.normal(),
            }
        })
        .collect();
    let half = ONE_SCORE / std::f64::consts::SQRT_2;
    let mut rows = Vec::new();
    let mut level = 0.0;
    for taster in 0..TASTERS {
        let own = LEVELS * chance.normal();
        level += own / f64::from(u32::try_from(TASTERS)?);
        for (water, truth) in truth.iter().enumerate() {
            let taste = half * chance.normal();
            for round in 1..=rounds {
                let value = truth + own + taste + half * chance.normal();
                rows.push(Observation { taster, water, round, position: 0, previous: None, value });
            }
        }
    }
    let names = |what: &str, count: usize| (0..count).map(|n| format!("{what} {n}")).collect();
    let table = ScoreTable {
        attribute: "liking".to_owned(),
        tasters: names("taster", TASTERS),
        waters: names("water", waters),
        rows,
        missing: 0,
    };
    let choice = ModelChoice { order: Wanted::No, carry_over: Wanted::No, multiplicity: None };
    let results = Results::Scores(family_results(vec![table], choice, None));
    let effects = results.effects("liking").ok_or("no effects")?;
    let first = effects.first().ok_or("no water")?;
    let panels = [Panel { one_score: first.one_score, degrees: first.degrees }];
    let seen: Vec<TastedMean> = effects
        .iter()
        .map(|e| TastedMean {
            session: 0,
            water: e.water,
            at: at.get(e.water).cloned().unwrap_or_default(),
            score: e.score,
            standard_error: e.standard_error,
        })
        .collect();
    let posterior = Posterior::new(&seen, &panels)?;
    let own = posterior.own();
    let place_of_best = |values: &[f64]| {
        values.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map_or(0, |(place, _)| place)
    };
    let best = best_of(&own, &|score| score).ok_or("no best")?;
    let best_mean = place_of_best(&effects.iter().map(|e| e.score).collect::<Vec<_>>());
    let really = place_of_best(&truth);
    let worth = |water: usize| truth.get(water).copied().unwrap_or_default();
    let holds = own.iter().zip(&truth).filter(|(own, truth)| {
        let (low, high) = own.interval;
        (low..=high).contains(&(*truth + level))
    });
    let mut placed = Vec::new();
    if world == World::Hill && posterior.evidence().weighed() == Weighed::Slope {
        let candidates = grid(&[11, 11]);
        let drawn = posterior.draw(&candidates, 1)?;
        let follows = drawn.follows.iter().enumerate().filter(|(_, yes)| **yes).map(|(n, _)| n);
        let strengths = drawn.others.select_columns(&follows.collect::<Vec<_>>());
        if let Shape::Placed(lies) = shape(posterior.evidence(), &strengths, &candidates) {
            for (lie, centre) in lies.iter().zip(centre) {
                if let OptimumPlace::Inside([low, _, high]) = lie {
                    // Half a step of the grid is no miss.
                    placed.push((low - 0.05..=high + 0.05).contains(&centre));
                }
            }
        }
    }
    Ok(ParsedAnswer {
        weighed: posterior.evidence().weighed(),
        loss: worth(really) - worth(best),
        loss_of_best_mean: worth(really) - worth(best_mean),
        is_best_mean: best == best_mean,
        is_best: worth(best) >= worth(really),
        held: holds.count(),
        placed,
    })
}

/// What was said of many panels, as parts of them.
#[derive(Debug)]
struct Shares {
    slope: f64,
    flat: f64,
    best: f64,
    best_mean: f64,
    loss: f64,
    loss_of_best_mean: f64,
    held: f64,
    placed: (usize, usize),
}

#[expect(clippy::print_stdout, reason = "who draws more panels wants to read what was said")]
fn panels(world: World, waters: usize, rounds: usize) -> Result<Shares, Box<dyn Error>> {
    let drawn: u32 =
        std::env::var("SURFACE_PANELS").ok().and_then(|n| n.parse().ok()).unwrap_or(24);
    let mut chance = Chance { random: ChaCha20Rng::seed_from_u64(20) };
    let mut all = Vec::new();
    for _ in 0..drawn {
        all.push(panel(&mut chance, world, waters, rounds)?);
    }
    let n = f64::from(drawn);
    let share = |of: &dyn Fn(&ParsedAnswer) -> f64| all.iter().map(of).sum::<f64>() / n;
    let yes = |is: bool| f64::from(u8::from(is));
    let count = f64::from(u32::try_from(waters)?);
    let shares = Shares {
        slope: share(&|s| yes(s.weighed == Weighed::Slope)),
        flat: share(&|s| yes(s.weighed == Weighed::Flat)),
        best: share(&|s| yes(s.is_best)),
        best_mean: share(&|s| yes(s.is_best_mean)),
        loss: share(&|s| s.loss),
        loss_of_best_mean: share(&|s| s.loss_of_best_mean),
        held: share(&|s| f64::from(u32::try_from(s.held).unwrap_or(0)) / count),
        placed: all
            .iter()
            .flat_map(|s| &s.placed)
            .fold((0, 0), |(held, of), yes| (held + usize::from(*yes), of + 1)),
    };
    println!("{world:?}, {waters} waters, {rounds} rounds: {shares:?}");
    Ok(shares)
}

/// Panels of four tasters and three rounds.
#[test]
fn what_is_said_of_panels_is_true_of_their_waters() -> Fallible {
    for world in [World::Flat, World::Own, World::Slope, World::Hill] {
        for (waters, rounds) in [(5, 3), (8, 3)] {
            let said = panels(world, waters, rounds)?;
            // Where no slope is, none is claimed; where one is, flat is hardly ever said.
            match world {
                World::Flat => assert!(said.slope <= 0.05 && said.flat >= 0.25, "{said:?}"),
                World::Own => assert!(said.slope <= 0.15, "{said:?}"),
                World::Slope | World::Hill if waters == 8 => {
                    assert!(said.slope >= 0.1 && said.flat <= 0.2, "{said:?}");
                }
                World::Slope | World::Hill => {}
            }
            // The water called best is as good as the one with the best mean, and mostly that one.
            assert!(said.loss <= said.loss_of_best_mean + 0.06, "{world:?} {waters}: {said:?}");
            assert!(said.best_mean >= 0.7, "{world:?} {waters}: {said:?}");
            assert!(said.best >= 0.3, "{world:?} {waters}: {said:?}");
            let (held, of) = said.placed;
            assert!(2 * held >= of, "{world:?} {waters}: {said:?}");
            // Intervals of 95 % hold the truth about as often.
            assert!(said.held >= 0.88, "{world:?} {waters}: {said:?}");
        }
    }
    Ok(())
}
