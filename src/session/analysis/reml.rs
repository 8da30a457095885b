//! Restricted maximum likelihood for scores of waters by tasters.
//!
//! Model: y = Xβ + Zu + e with tasters among the columns of X (each taster is a block), u of tasters by
//! waters, e of cups, independent and normal. With H = I + θZZ′, θ = σ²(taster × water)/σ²(cup), the
//! criterion made least is (n−p)(1 + ln 2πσ̂²) + ln|H| + ln|X′H⁻¹X| (Patterson H. D., Thompson R.,
//! Biometrika 58 (1971) 545).
//!
//! θ may come out negative, as a classical analysis of variance lets it: it is cut off only where H
//! would be no covariance. Cut off at zero instead, the residual error that waters are judged by would be taken
//! too small whenever it fell below that of a cup at random, and too many differences would be seen
//! (Stroup W. W., Littell R. C., Impact of variance component estimates on fixed effect inference in
//! unbalanced linear mixed models, Conference on Applied Statistics in Agriculture (2002), from memory).

use crate::numerics::count;

use crate::session::analysis::MixedError;
use crate::session::analysis::criterion::State;
use crate::session::analysis::nested::Nested;
use crate::session::analysis::reml_fit::Fit;

/// Newton steps allowed. Our choice: quadratic convergence takes about ten; more means that the
/// surface is flat, and a flat surface is reported.
const STEPS: usize = 100;

/// Halvings of a step. Our choice: 2⁻⁴⁰ of a step changes no digit.
const HALVINGS: usize = 40;

/// Gain of the criterion that a further Newton step may still promise. Our choice: 1e-13 is
/// beyond what the criterion itself can resolve.
const SETTLED: f64 = 1e-13;

/// Largest variance ratio looked for. Our choice: there the residual error of a cup is a ten-thousandth of
/// the component's spread, and scores given in steps cannot show less residual error than that but none.
const CEILING: f64 = 1e8;

/// How near to its lower end the ratio may come, as a share of it. Our choice: nearer, the last digits of the
/// machine's numbers decide.
const NEAR_FLOOR: f64 = 1e-12;

/// Our choice: a ratio that is nearer to its lower end than this is looked at for whether the criterion has
/// a least value there.
const NEAR: f64 = 1e-4;

/// Our choice: a ratio nearer to its lower end than this is there but for rounding: scores given in steps
/// cannot agree so well without agreeing exactly.
const ROUNDING: f64 = 1e-8;

/// Places below zero at which the criterion is looked at for hollows: our choice.
const PLACES: u32 = 64;

/// Our choice: what the criterion rises by, at least, from a least value to the end of the ratio; −2 ln L
/// less than this apart says nothing.
const RISE: f64 = 1e-3;

/// Share of the spread between cells, of what cups lead to expect of it, that counts as none. Our choice:
/// rounding leaves less.
const AGREE: f64 = 1e-12;

/// Ratios from which the search starts. Our choice: one start below and one above the usual ratios,
/// since the surface may have two hollows when cups are missing.
const STARTS: [f64; 2] = [0.2, 3.0];

/// Fits the model; `cells_vary` puts tasters by waters into it.
pub(crate) fn fit(sums: &Nested, cells_vary: bool) -> Result<Fit, MixedError> {
    if sums.spare() == 0 {
        return Err(MixedError::TooFew);
    }
    if !cells_vary {
        let state = sums.at(0.0)?;
        let curves = sums.curves(&state);
        return Ok(Fit::new(state, &curves, count(sums.spare()), None));
    }
    if sums.spare_cells() < 1.0 {
        return Err(MixedError::NoCommonWaters);
    }
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut failure = MixedError::NotSettled;
    for start in STARTS {
        match search(sums, start) {
            Ok(end) => found.push(end),
            Err(reason) => failure = reason,
        }
    }
    if found.is_empty() {
        return Err(failure);
    }
    let lowest = |found: &[(f64, f64)]| {
        let hollows =
            found.iter().filter(|(theta, criterion)| !falls_to_the_floor(sums, *theta, *criterion));
        hollows.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(theta, _)| *theta)
    };
    // Below zero a long step may lead past a hollow, or out of it.
    if found.iter().any(|(theta, _)| *theta < 0.0) {
        found.extend(below_zero(sums));
    }
    let theta = lowest(&found).map_or_else(|| without_hollow(sums), Ok)?;
    let state = sums.at(theta)?;
    let curves = sums.curves(&state);
    let bend = sums.bend(&state);
    Ok(Fit::new(state, &curves, count(sums.spare()), Some(bend)))
}

/// Whether the criterion has no least value near the lower end of the ratio, where it was looked for. Where
/// few cells have the most cups, as in incomplete trays, the effects of the waters can meet the means of
/// just those cells: at the lower end these have no variance at all, which costs the criterion nothing, and
/// whatever differs between them would be beyond doubt. So it is where the means of such cells agree by
/// chance to the last digit.
fn falls_to_the_floor(sums: &Nested, theta: f64, criterion: f64) -> bool {
    let within = |share: f64| theta <= sums.floor() * (1.0 - share);
    let last = || sums.at(sums.floor() * (1.0 - 10.0 * NEAR_FLOOR));
    within(ROUNDING)
        || within(NEAR) && last().map_or(true, |last| last.criterion <= criterion + RISE)
}

/// What searches find that start in the hollows of the criterion between the lower end of the ratio and
/// none.
fn below_zero(sums: &Nested) -> Vec<(f64, f64)> {
    // The criterion bends with the logarithm of what is left to the lower end.
    let left = |n: u32| NEAR.powf(f64::from(n) / f64::from(PLACES));
    let places: Vec<f64> = (0..=PLACES).map(|n| sums.floor() * (1.0 - left(n))).collect();
    let criteria: Vec<f64> = places
        .iter()
        .map(|theta| sums.at(*theta).map_or(f64::INFINITY, |state| state.criterion))
        .collect();
    let is_hollow = |three: &[f64]| matches!(three, [a, b, c] if b < a && b < c);
    let hollows = criteria.windows(3).zip(places.iter().skip(1));
    let starts = hollows.filter(|(three, _)| is_hollow(three)).map(|(_, theta)| *theta);
    starts.filter_map(|start| search(sums, start).ok()).collect()
}

/// The ratio where the criterion has no hollow: none, as where a negative one is cut off.
///
/// # Errors
/// When the tasters' means agree exactly, so that nothing is left to judge by.
fn without_hollow(sums: &Nested) -> Result<f64, MixedError> {
    let state = sums.at(0.0)?;
    let curves = sums.curves(&state);
    let agree = curves.quad <= AGREE * curves.trace * state.variance;
    if agree { Err(MixedError::TastersAgree) } else { Ok(0.0) }
}

/// Newton steps from a start, within the ends of the ratio; returns the ratio and the criterion.
fn search(sums: &Nested, start: f64) -> Result<(f64, f64), MixedError> {
    let (floor, spare) = (sums.floor() * (1.0 - NEAR_FLOOR), count(sums.spare()));
    let mut state = sums.at(start)?;
    for _ in 0..STEPS {
        let curves = sums.curves(&state);
        let slope = curves.slope(&state);
        let at_end = state.theta <= floor && slope >= 0.0 || state.theta >= CEILING && slope <= 0.0;
        if at_end {
            return Ok((state.theta, state.criterion));
        }
        let step = -slope / curves.bowl(&state, spare);
        if -slope * step < SETTLED {
            // The criterion no longer tells points apart; the last step doubles the digits.
            return Ok(((state.theta + step).clamp(floor, CEILING), state.criterion));
        }
        match better(sums, &state, step, floor) {
            Some(next) => state = next,
            None => return Ok((state.theta, state.criterion)),
        }
    }
    Err(MixedError::NotSettled)
}

/// The first of the halved steps that lowers the criterion; `None` when none does. What cannot be
/// computed at the very end of the range is no better.
fn better(sums: &Nested, from: &State, step: f64, floor: f64) -> Option<State> {
    let mut share = 1.0;
    for _ in 0..HALVINGS {
        let next = sums.at((from.theta + step * share).clamp(floor, CEILING));
        if let Some(next) = next.ok().filter(|next| next.criterion < from.criterion) {
            return Some(next);
        }
        share /= 2.0;
    }
    None
}
