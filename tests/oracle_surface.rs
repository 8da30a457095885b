//! The surface over composition, the hypotheses weighed against it and the choice of the next waters,
//! against scikit-learn, Henderson's equations, scipy, a closed formula and what was built in.
//!
//! Above 400 lines: one reference file, read part by part.

use std::error::Error;

use nalgebra::DMatrix;
use serde_json::Value;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};
use waterflight::flight::design::grid;
use waterflight::next_flight::{
    Hypothesis, OptimumPlace, Panel, Posterior, Scales, Shape, Surface, TastedMean, Weighed,
    d_optimal, far_apart, improving, shape,
};

type Fallible = Result<(), Box<dyn Error>>;

fn list<'a>(of: &'a Value, path: &str) -> Result<&'a Vec<Value>, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_array).ok_or_else(|| format!("no {path}").into())
}

fn numbers(of: &Value, path: &str) -> Result<Vec<f64>, Box<dyn Error>> {
    Ok(list(of, path)?.iter().filter_map(Value::as_f64).collect())
}

fn number(of: &Value, path: &str) -> Result<f64, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_f64).ok_or_else(|| format!("no {path}").into())
}

fn whole(of: &Value, path: &str) -> Result<usize, Box<dyn Error>> {
    let found = of.pointer(path).and_then(Value::as_u64).ok_or_else(|| format!("no {path}"))?;
    Ok(usize::try_from(found)?)
}

fn reference() -> Result<Value, Box<dyn Error>> {
    Ok(serde_json::from_str(include_str!("oracle/surface.json"))?)
}

/// Means of waters that are numbered as they stand where they have no number of their own.
fn tasted(of: &Value, path: &str) -> Result<Vec<TastedMean>, Box<dyn Error>> {
    let mean = |(n, row): (usize, &Value)| {
        Ok(TastedMean {
            session: whole(row, "/session")?,
            water: if row.get("water").is_some() { whole(row, "/water")? } else { n },
            at: if row.get("at").is_some() { numbers(row, "/at")? } else { vec![0.5] },
            score: number(row, "/score")?,
            standard_error: number(row, "/standard_error")?,
        })
    };
    list(of, path)?.iter().enumerate().map(mean).collect()
}

fn read() -> Result<(Value, Vec<TastedMean>), Box<dyn Error>> {
    let data = reference()?;
    let seen = tasted(&data, "/seen")?;
    Ok((data, seen))
}

#[test]
fn the_surface_is_that_of_scikit_learn() -> Fallible {
    let (data, seen) = read()?;
    let scales = Scales {
        signal: number(&data, "/fixed/signal")?,
        misfit: number(&data, "/fixed/misfit")?,
        lengths: numbers(&data, "/fixed/lengths")?,
        errors: Vec::new(),
    };
    let surface = Surface::with(&seen, scales)?;
    assert!((surface.log_evidence() - number(&data, "/fixed/log_evidence")?).abs() < 1e-8);
    let new: Vec<Vec<f64>> =
        (0..6).map(|n| numbers(&data, &format!("/fixed/new/{n}"))).collect::<Result<_, _>>()?;
    let (mean, covariance) = surface.at(&new);
    for (got, want) in mean.iter().zip(numbers(&data, "/fixed/mean")?) {
        assert!((got - want).abs() < 1e-8, "{got} {want}");
    }
    for (n, row) in covariance.row_iter().enumerate() {
        for (got, want) in row.iter().zip(numbers(&data, &format!("/fixed/covariance/{n}"))?) {
            assert!((got - want).abs() < 1e-8, "{got} {want}");
        }
    }
    Ok(())
}

/// What each water has of its own is the best linear unbiased predictor of a mixed model; only the
/// levels of the sessions are wide here and endless there.
#[test]
fn a_water_s_own_score_is_that_of_henderson_s_equations() -> Fallible {
    let data = reference()?;
    let seen = tasted(&data, "/own/seen")?;
    let misfit = number(&data, "/own/misfit")?;
    let scales = Scales { signal: 0.0, misfit, lengths: vec![1.0], errors: Vec::new() };
    let own = Surface::with(&seen, scales)?.own();
    let wanted = numbers(&data, "/own/score")?;
    let deviations = numbers(&data, "/own/standard_deviation")?;
    assert_eq!(own.len(), wanted.len());
    for (((score, deviation), want), want_deviation) in own.iter().zip(wanted).zip(deviations) {
        assert!((score - want).abs() < 5e-3, "{score} {want}");
        assert!((deviation - want_deviation).abs() < 5e-3, "{deviation} {want_deviation}");
    }
    Ok(())
}

/// What is summed up by water and session gives what the dense equations give.
#[test]
fn waters_tasted_again_are_those_of_the_dense_equations() -> Fallible {
    let data: Value = serde_json::from_str(include_str!("oracle/surface_dense.json"))?;
    for of in data.as_array().ok_or("no cases")? {
        let seen = tasted(of, "/seen")?;
        let scales = Scales {
            signal: number(of, "/signal")?,
            misfit: number(of, "/misfit")?,
            lengths: numbers(of, "/lengths")?,
            errors: numbers(of, "/errors")?,
        };
        let surface = Surface::with(&seen, scales)?;
        let near = |got: f64, want: f64, what: &str| {
            assert!(
                (got - want).abs() < 1e-9 * want.abs().max(1.0),
                "{what}: {got} and not {want}"
            );
        };
        near(surface.log_evidence(), number(of, "/log_evidence")?, "ln of the evidence");
        let (scores, deviations) = (numbers(of, "/own")?, numbers(of, "/standard_deviation")?);
        let own = surface.own();
        assert_eq!(own.len(), scores.len());
        for (((score, deviation), want), want_deviation) in own.iter().zip(scores).zip(deviations) {
            near(*score, want, "a water's own score");
            near(*deviation, want_deviation, "its standard deviation");
        }
        let new: Vec<Vec<f64>> =
            (0..4).map(|n| numbers(of, &format!("/new/{n}"))).collect::<Result<_, _>>()?;
        let (mean, covariance) = surface.at(&new);
        for (got, want) in mean.iter().zip(numbers(of, "/mean")?) {
            near(*got, want, "the surface");
        }
        for (n, row) in covariance.row_iter().enumerate() {
            for (got, want) in row.iter().zip(numbers(of, &format!("/covariance/{n}"))?) {
                near(*got, want, "its covariance");
            }
        }
    }
    Ok(())
}

/// Scores of one session with their panel.
fn case(of: &Value) -> Result<(Vec<TastedMean>, [Panel; 1]), Box<dyn Error>> {
    let standard_error = number(of, "/standard_error")?;
    let seen = numbers(of, "/score")?
        .into_iter()
        .enumerate()
        .map(|(water, score)| {
            let at = numbers(of, &format!("/at/{water}"))?;
            Ok(TastedMean { session: 0, water, at, score, standard_error })
        })
        .collect::<Result<Vec<TastedMean>, Box<dyn Error>>>()?;
    let (one_score, degrees) = (number(of, "/one_score")?, Some(number(of, "/degrees")?));
    Ok((seen, [Panel { one_score, degrees }]))
}

#[test]
fn the_evidence_is_the_integral_that_scipy_finds() -> Fallible {
    let data = reference()?;
    for of in list(&data, "/evidence")? {
        let (seen, panels) = case(of)?;
        let posterior = Posterior::new(&seen, &panels)?;
        let ln = |account: &str| number(of, &format!("/ln/{account}"));
        let (alike, own, surface) = (ln("alike")?, ln("own")?, ln("surface")?);
        let (want, rival) = if own > alike {
            (surface - own, Hypothesis::Own)
        } else {
            (surface - alike, Hypothesis::Alike)
        };
        let evidence = posterior.evidence();
        let got = evidence.ln_bayes_factor();
        assert!((got - want).abs() < 0.03, "{of}: ln B {got} and not {want}");
        assert_eq!(evidence.rival(), rival, "{of}");
        let before = [0.25 * alike.exp(), 0.25 * own.exp(), 0.5 * surface.exp()];
        let sum: f64 = before.iter().sum();
        for (got, want) in evidence.probabilities().iter().zip(before) {
            assert!((got - want / sum).abs() < 0.01, "{of}");
        }
    }
    Ok(())
}

/// Surfaces drawn by Matheron's rule have the means and deviations of the formulas.
#[test]
fn draws_are_of_the_posterior() -> Fallible {
    let data = reference()?;
    for of in list(&data, "/evidence")?.iter().take(4) {
        let (seen, panels) = case(of)?;
        let posterior = Posterior::new(&seen, &panels)?;
        let axes = seen.first().map_or(0, |s| s.at.len());
        let points = grid(&vec![3; axes]);
        let drawn = posterior.draw(&points, 7)?;
        for (row, own) in drawn.tasted.row_iter().zip(posterior.own()) {
            let deviation = row.variance().sqrt();
            assert!((row.mean() - own.score).abs() < 0.12 * own.standard_deviation, "{of}");
            assert!((deviation / own.standard_deviation - 1.0).abs() < 0.15, "{of}");
            let inside = row.iter().filter(|x| (own.interval.0..=own.interval.1).contains(*x));
            assert!((915..=985).contains(&inside.count()), "{of}");
        }
    }
    Ok(())
}

/// One candidate against one water known without error: the expected improvement of Jones, Schonlau &
/// Welch 1998, (μ − f)Φ(z) + σφ(z) with z = (μ − f)/σ (from memory).
#[test]
fn improvement_without_noise_is_the_closed_formula() -> Fallible {
    let normal = Normal::standard();
    let count = 20_000_u32;
    for (mean, deviation, best) in [(1.0, 0.5, 0.8), (0.2, 1.0, 1.5), (2.0, 0.3, 0.0)] {
        let draws = DMatrix::from_fn(2, count as usize, |row, column| {
            let middle = (f64::from(u32::try_from(column).unwrap_or(0)) + 0.5) / f64::from(count);
            if row == 0 { best } else { mean + deviation * normal.inverse_cdf(middle) }
        });
        let (pick, gain) = *improving(&draws, 1, 1).first().ok_or("no pick")?;
        let z = (mean - best) / deviation;
        let want = (mean - best) * normal.cdf(z) + deviation * normal.pdf(z);
        assert_eq!(pick, 0);
        assert!((gain / want - 1.0).abs() < 2e-3, "{gain} {want}");
    }
    Ok(())
}

/// The second pick is not the twin of the first: it has nothing to add where it is as good in the
/// same surfaces.
#[test]
fn picks_complement_each_other() {
    // Two surfaces; candidates 0 and 1 are twins, 2 is good where they are not.
    let draws = DMatrix::from_row_slice(4, 2, &[0.0, 0.0, 3.0, 0.0, 2.9, 0.0, 0.0, 1.0]);
    let picks: Vec<usize> = improving(&draws, 1, 2).into_iter().map(|(pick, _)| pick).collect();
    assert_eq!(picks, [0, 2]);
}

/// On one axis a quadratic is best learnt at both ends and in the middle (Atkinson, Donev & Tobias
/// 2007, section 11.2, from memory); in the plane the corners come first.
#[test]
fn d_optimal_picks_are_the_ones_of_the_books() {
    let line: Vec<Vec<f64>> = grid(&[21]);
    let mut picks: Vec<f64> = d_optimal(&[], &line, 3)
        .into_iter()
        .filter_map(|pick| line.get(pick).and_then(|p| p.first()).copied())
        .collect();
    picks.sort_by(f64::total_cmp);
    for (got, want) in picks.iter().zip([0.0, 0.5, 1.0]) {
        assert!((got - want).abs() < 0.051, "{picks:?}");
    }
    let plane = grid(&[11, 11]);
    let corners = d_optimal(&[], &plane, 4);
    for pick in corners {
        let at = plane.get(pick).cloned().unwrap_or_default();
        assert!(at.iter().all(|x| *x < 0.01 || *x > 0.99), "{at:?}");
    }
}

#[test]
fn with_nothing_known_the_middle_comes_first_and_then_the_corners() {
    let plane = grid(&[11, 11]);
    let picks: Vec<Vec<f64>> =
        far_apart(&[], &plane, 5).into_iter().filter_map(|p| plane.get(p).cloned()).collect();
    assert_eq!(picks.first().map(Vec::as_slice), Some([0.5, 0.5].as_slice()));
    for at in picks.iter().skip(1) {
        assert!(at.iter().all(|x| *x < 0.01 || *x > 0.99), "{at:?}");
    }
}

/// Scores built from a known surface, each with the same error, on a grid of one session.
fn built(of: impl Fn(f64, f64) -> f64) -> Vec<TastedMean> {
    grid(&[4, 4])
        .into_iter()
        .enumerate()
        .map(|(n, at)| {
            let (x, y) = (at.first().copied().unwrap_or(0.0), at.last().copied().unwrap_or(0.0));
            // A fixed pattern in the place of noise, of the size of the error.
            let noise = 0.1 * [1.0, -1.0, -0.6, 0.6, 0.2].get(n % 5).copied().unwrap_or(0.0);
            TastedMean { session: 0, water: n, at, score: of(x, y) + noise, standard_error: 0.12 }
        })
        .collect()
}

/// A panel whose means have the errors of [`built`] when four tasters have eight rounds.
const PANEL: [Panel; 1] = [Panel { one_score: 0.7, degrees: Some(45.0) }];

fn seen_shape(seen: &[TastedMean]) -> Result<Shape, Box<dyn Error>> {
    shape_over(seen, &grid(&[11, 11]))
}

fn shape_over(seen: &[TastedMean], candidates: &[Vec<f64>]) -> Result<Shape, Box<dyn Error>> {
    let posterior = Posterior::new(seen, &PANEL)?;
    let drawn = posterior.draw(candidates, 1)?;
    let follows = drawn.follows.iter().enumerate().filter(|(_, yes)| **yes);
    let columns: Vec<usize> = follows.map(|(n, _)| n).collect();
    Ok(shape(posterior.evidence(), &drawn.others.select_columns(&columns), candidates))
}

fn placed(seen: &[TastedMean]) -> Result<Vec<OptimumPlace>, Box<dyn Error>> {
    match seen_shape(seen)? {
        Shape::Placed(lies) => Ok(lies),
        other => Err(format!("not placed: {other:?}").into()),
    }
}

#[test]
fn what_was_built_in_is_seen() -> Fallible {
    let hill = built(|x, y| 5.0 - 6.0 * (x - 0.4).powi(2) - 5.0 * (y - 0.6).powi(2));
    for (lie, want) in placed(&hill)?.into_iter().zip([0.4, 0.6]) {
        let OptimumPlace::Inside([low, middle, high]) = lie else {
            return Err("not inside".into());
        };
        assert!((middle - want).abs() < 0.11 && low <= middle && middle <= high, "{lie:?}");
    }
    let slope = placed(&built(|x, y| 3.0 * x - 2.0 * (y - 0.5).powi(2)))?;
    let end = slope.first();
    assert!(
        matches!(end, Some(OptimumPlace::End { upper: true, share }) if *share > 0.9),
        "{slope:?}"
    );
    assert_eq!(seen_shape(&built(|_, _| 5.0))?, Shape::Flat);
    // A saddle is best at both ends of one axis: no place on it is the best.
    let saddle = placed(&built(|x, y| 2.0 * ((x - 0.5).powi(2) - (y - 0.5).powi(2))))?;
    assert!(!matches!(saddle.first(), Some(OptimumPlace::Inside(_))), "{saddle:?}");
    // What does not matter is said to be open.
    let ridge = placed(&built(|x, _| 5.0 - 8.0 * (x - 0.5).powi(2)))?;
    assert!(matches!(ridge.as_slice(), [OptimumPlace::Inside(_), OptimumPlace::Open]), "{ridge:?}");
    Ok(())
}

/// Two waters at nearly one place with scores far apart: the axes do not tell what makes them differ,
/// so that the surface stays calm, the rest is the waters' own, and that is named as the rival.
#[test]
fn what_the_axes_do_not_tell_is_no_cliff() -> Fallible {
    let scores = [(0.20, 8.4), (0.24, 1.2), (0.5, 5.0), (0.52, 4.2), (0.8, 5.6), (0.95, 4.9)];
    let seen: Vec<TastedMean> = scores
        .iter()
        .enumerate()
        .map(|(water, (at, score))| TastedMean {
            session: 0,
            water,
            at: vec![*at],
            score: *score,
            standard_error: 0.2,
        })
        .collect();
    let panel = Panel { one_score: 0.6, degrees: Some(20.0) };
    let posterior = Posterior::new(&seen, &[panel])?;
    let parts = posterior.parts();
    assert!(parts.of_its_own > 1.0, "{parts:?}");
    assert_eq!(posterior.evidence().rival(), Hypothesis::Own);
    assert_ne!(posterior.evidence().weighed(), Weighed::Slope);
    let drawn = posterior.draw(&grid(&[21]), 1)?;
    let line: Vec<f64> = drawn.others.row_iter().map(|row| row.mean()).collect();
    let (low, high) =
        line.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)));
    assert!(high - low < 8.4 - 1.2, "{low} {high}");
    // The best and the worst water so far are those with the best and the worst mean.
    let own: Vec<f64> = posterior.own().iter().map(|own| own.score).collect();
    let ranked = |better: bool| {
        let all = own.iter().enumerate();
        all.max_by(|a, b| if better { a.1.total_cmp(b.1) } else { b.1.total_cmp(a.1) })
            .map(|(n, _)| n)
    };
    assert_eq!((ranked(true), ranked(false)), (Some(0), Some(1)));
    // The same water in two sessions has the same of its own.
    let twice: Vec<TastedMean> = seen
        .iter()
        .chain(&seen)
        .enumerate()
        .map(|(n, s)| TastedMean { session: n / 6, ..s.clone() })
        .collect();
    assert!(Posterior::new(&twice, &[panel, panel])?.parts().of_its_own > 1.0);
    Ok(())
}

/// Where the shelf reaches a part of an axis only, best places spread through that part are open.
#[test]
fn a_short_reach_is_not_a_place() -> Fallible {
    let seen: Vec<TastedMean> = grid(&[4, 4])
        .into_iter()
        .enumerate()
        .map(|(water, at)| {
            let y = at.last().copied().unwrap_or(0.0);
            let score = 5.0 - 8.0 * (y - 0.5).powi(2);
            TastedMean { session: 0, water, at, score, standard_error: 0.12 }
        })
        .collect();
    let reach: Vec<Vec<f64>> = grid(&[9, 11])
        .into_iter()
        .map(|p| vec![0.4 + 0.2 * p.first().unwrap_or(&0.0), *p.last().unwrap_or(&0.0)])
        .collect();
    let found = shape_over(&seen, &reach)?;
    assert!(
        matches!(&found, Shape::Placed(lies) if lies.first() == Some(&OptimumPlace::Open)),
        "{found:?}"
    );
    Ok(())
}

/// Waters tasted in a corner of a wide region say what they say in a region of their own.
#[test]
fn the_region_does_not_change_what_the_scores_say() -> Fallible {
    let seen = built(|x, y| 5.0 - 3.0 * x + y);
    let near = Posterior::new(&seen, &PANEL)?;
    let shrunk: Vec<TastedMean> = seen
        .iter()
        .map(|s| TastedMean { at: s.at.iter().map(|x| 0.3 + 0.05 * x).collect(), ..s.clone() })
        .collect();
    let far = Posterior::new(&shrunk, &PANEL)?;
    let [one, other] = [&near, &far].map(|p| p.evidence().ln_bayes_factor());
    assert!((one - other).abs() < 1e-6, "{one} {other}");
    for (a, b) in near.own().iter().zip(far.own()) {
        assert!((a.score - b.score).abs() < 1e-6);
    }
    Ok(())
}

/// The level of a session is its own: a panel that scores two points higher moves nothing.
#[test]
fn the_level_of_a_session_does_not_matter() -> Fallible {
    let (_, seen) = read()?;
    let raised: Vec<TastedMean> = seen
        .iter()
        .map(|s| TastedMean {
            score: s.score + if s.session == 1 { 2.0 } else { 0.0 },
            ..s.clone()
        })
        .collect();
    let points = grid(&[3, 3]);
    let scales = Scales { signal: 1.0, misfit: 0.2, lengths: vec![0.6, 0.6], errors: Vec::new() };
    let [one, other] = [&seen, &raised].map(|s| Surface::with(s, scales.clone()));
    let (one, other) = (one?.at(&points).0, other?.at(&points).0);
    for (a, b) in one.iter().zip(&other) {
        // The levels are wide, not endless: a hundredth of a point is left of two.
        assert!((a - b).abs() < 0.02, "{a} {b}");
    }
    Ok(())
}
