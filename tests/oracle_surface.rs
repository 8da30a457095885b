//! The surface over composition and the choice of the next waters, against scikit-learn, a closed
//! formula and what was built in.

use std::error::Error;

use nalgebra::DMatrix;
use serde_json::Value;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};
use waterflight::next_flight::{
    Lie, Scales, Seen, Shape, Surface, d_optimal, far_apart, improving, shape,
};
use waterflight::waters::design::grid;

type Fallible = Result<(), Box<dyn Error>>;

fn numbers(of: &Value, path: &str) -> Result<Vec<f64>, Box<dyn Error>> {
    let list = of.pointer(path).and_then(Value::as_array).ok_or_else(|| format!("no {path}"))?;
    Ok(list.iter().filter_map(Value::as_f64).collect())
}

fn number(of: &Value, path: &str) -> Result<f64, Box<dyn Error>> {
    of.pointer(path).and_then(Value::as_f64).ok_or_else(|| format!("no {path}").into())
}

fn read() -> Result<(Value, Vec<Seen>), Box<dyn Error>> {
    let data: Value = serde_json::from_str(include_str!("oracle/surface.json"))?;
    let rows = data.pointer("/seen").and_then(Value::as_array).ok_or("nothing seen")?;
    let seen = rows
        .iter()
        .map(|row| {
            let session = row.pointer("/session").and_then(Value::as_u64).ok_or("no session")?;
            Ok(Seen {
                session: usize::try_from(session)?,
                at: numbers(row, "/at")?,
                score: number(row, "/score")?,
                standard_error: number(row, "/standard_error")?,
            })
        })
        .collect::<Result<Vec<Seen>, Box<dyn Error>>>()?;
    Ok((data, seen))
}

#[test]
fn the_surface_is_that_of_scikit_learn() -> Fallible {
    let (data, seen) = read()?;
    let scales = Scales {
        signal: number(&data, "/fixed/signal")?,
        misfit: number(&data, "/fixed/misfit")?,
        lengths: numbers(&data, "/fixed/lengths")?,
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

#[test]
fn the_scales_are_the_most_probable_ones() -> Fallible {
    let (data, seen) = read()?;
    let surface = Surface::fit(&seen)?;
    let scales = surface.scales();
    assert!((scales.signal / number(&data, "/fitted/signal")? - 1.0).abs() < 5e-3, "{scales:?}");
    assert!((scales.misfit / number(&data, "/fitted/misfit")? - 1.0).abs() < 5e-3, "{scales:?}");
    for (got, want) in scales.lengths.iter().zip(numbers(&data, "/fitted/lengths")?) {
        assert!((got / want - 1.0).abs() < 5e-3, "{scales:?}");
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
fn built(of: impl Fn(f64, f64) -> f64) -> Vec<Seen> {
    grid(&[4, 4])
        .into_iter()
        .enumerate()
        .map(|(n, at)| {
            let (x, y) = (at.first().copied().unwrap_or(0.0), at.last().copied().unwrap_or(0.0));
            // A fixed pattern in the place of noise, of the size of the error.
            let noise = 0.1 * [1.0, -1.0, -0.6, 0.6, 0.2].get(n % 5).copied().unwrap_or(0.0);
            Seen { session: 0, at, score: of(x, y) + noise, standard_error: 0.12 }
        })
        .collect()
}

fn seen_shape(seen: &[Seen]) -> Result<Shape, Box<dyn Error>> {
    let surface = Surface::fit(seen)?;
    let candidates = grid(&[11, 11]);
    let draws = surface.draws(&candidates, 400, 1)?;
    Ok(shape(&surface, &draws, 0, &candidates))
}

fn placed(seen: &[Seen]) -> Result<Vec<Lie>, Box<dyn Error>> {
    match seen_shape(seen)? {
        Shape::Placed(lies) => Ok(lies),
        other => Err(format!("not placed: {other:?}").into()),
    }
}

#[test]
fn what_was_built_in_is_seen() -> Fallible {
    let hill = built(|x, y| 5.0 - 6.0 * (x - 0.4).powi(2) - 5.0 * (y - 0.6).powi(2));
    for (lie, want) in placed(&hill)?.into_iter().zip([0.4, 0.6]) {
        let Lie::Inside([low, middle, high]) = lie else { return Err("not inside".into()) };
        assert!((middle - want).abs() < 0.11 && low <= middle && middle <= high, "{lie:?}");
    }
    let slope = placed(&built(|x, y| 3.0 * x - 2.0 * (y - 0.5).powi(2)))?;
    let end = slope.first();
    assert!(matches!(end, Some(Lie::End { upper: true, share }) if *share > 0.9), "{slope:?}");
    assert_eq!(seen_shape(&built(|_, _| 5.0))?, Shape::Flat);
    // A saddle is best at both ends of one axis: no place on it is the best.
    let saddle = placed(&built(|x, y| 2.0 * ((x - 0.5).powi(2) - (y - 0.5).powi(2))))?;
    assert!(!matches!(saddle.first(), Some(Lie::Inside(_))), "{saddle:?}");
    // What does not matter is said to be open.
    let ridge = placed(&built(|x, _| 5.0 - 8.0 * (x - 0.5).powi(2)))?;
    assert!(matches!(ridge.as_slice(), [Lie::Inside(_), Lie::Open]), "{ridge:?}");
    Ok(())
}

/// Two waters at nearly one place with scores far apart: the axes do not tell what makes them differ,
/// so that the surface stays calm and the rest is the waters' own.
#[test]
fn what_the_axes_do_not_tell_is_no_cliff() -> Fallible {
    let scores = [(0.20, 8.4), (0.24, 1.2), (0.5, 5.0), (0.52, 4.2), (0.8, 5.6), (0.95, 4.9)];
    let seen: Vec<Seen> = scores
        .iter()
        .map(|(at, score)| Seen { session: 0, at: vec![*at], score: *score, standard_error: 0.2 })
        .collect();
    let surface = Surface::fit(&seen)?;
    assert!(surface.scales().misfit > 1.0, "{:?}", surface.scales());
    let line = grid(&[21]);
    let (mean, _) = surface.at(&line);
    let (low, high) = (mean.min(), mean.max());
    assert!(high - low < 8.4 - 1.2, "{low} {high}");
    // The same water in two sessions has the same of its own.
    let twice: Vec<Seen> = seen
        .iter()
        .chain(&seen)
        .enumerate()
        .map(|(n, s)| Seen { session: n / 6, ..s.clone() })
        .collect();
    assert!(Surface::fit(&twice)?.scales().misfit > 1.0);
    Ok(())
}

/// Where the shelf reaches a part of an axis only, best places spread through that part are open.
#[test]
fn a_short_reach_is_not_a_place() -> Fallible {
    let exact = |at: Vec<f64>| {
        let y = at.last().copied().unwrap_or(0.0);
        Seen { session: 0, at, score: 5.0 - 8.0 * (y - 0.5).powi(2), standard_error: 0.12 }
    };
    let seen: Vec<Seen> = grid(&[4, 4]).into_iter().map(exact).collect();
    let surface = Surface::fit(&seen)?;
    let reach: Vec<Vec<f64>> = grid(&[9, 11])
        .into_iter()
        .map(|p| vec![0.4 + 0.2 * p.first().unwrap_or(&0.0), *p.last().unwrap_or(&0.0)])
        .collect();
    let draws = surface.draws(&reach, 400, 1)?;
    let found = shape(&surface, &draws, 0, &reach);
    assert!(matches!(&found, Shape::Placed(lies) if lies.first() == Some(&Lie::Open)), "{found:?}");
    Ok(())
}

/// The level of a session is its own: a panel that scores two points higher moves nothing.
#[test]
fn the_level_of_a_session_does_not_matter() -> Fallible {
    let (_, seen) = read()?;
    let raised: Vec<Seen> = seen
        .iter()
        .map(|s| Seen { score: s.score + if s.session == 1 { 2.0 } else { 0.0 }, ..s.clone() })
        .collect();
    let points = grid(&[3, 3]);
    let scales = Scales { signal: 1.0, misfit: 0.2, lengths: vec![0.6, 0.6] };
    let [one, other] = [&seen, &raised].map(|s| Surface::with(s, scales.clone()));
    let (one, other) = (one?.at(&points).0, other?.at(&points).0);
    for (a, b) in one.iter().zip(&other) {
        // The levels are wide, not endless: a hundredth of a point is left of two.
        assert!((a - b).abs() < 0.02, "{a} {b}");
    }
    Ok(())
}
