//! Everything that a shelf can make, seen along two measures.
//!
//! Waters are linear in the doses, so that what can be made is a convex area. Its corners are found by
//! asking the planner for the most in one direction after another: first four, then across each edge,
//! until no edge can be moved outward.

use crate::flight::Flight;
use crate::planner::lp::program::{Form, PourableColumns, Priorities, Row};
use crate::planner::lp::solution::SolveError;
use crate::planner::lp::stages::Planner;
use crate::planner::plan;
use crate::stock::Stock;
use crate::water::Measure;

/// Corners at most. Our choice: with eight stocks there are a dozen.
const MOST_CORNERS: usize = 200;

/// A corner nearer to an edge than this part of the whole area lies on it. Our choice, far below what a
/// picture shows.
const ON_THE_EDGE: f64 = 1e-6;

/// What is asked for when the most is wanted, in units of the largest value there is. Our choice: a water
/// of this size is far beyond every limit.
const BEYOND: f64 = 100.0;

/// The corners of what the stocks and base waters of a flight can make within its limits, in the usual
/// units of the two measures, counter-clockwise.
///
/// # Errors
/// When the planner has no answer, or a measure was not measured of a base water.
pub fn reach_region(
    flight: &Flight,
    stocks: &[Stock],
    measures: [Measure; 2],
) -> Result<Vec<(f64, f64)>, SolveError> {
    let pourable = PourableColumns::of(flight, stocks);
    let mut planner = Planner::default();
    let mut most = |direction: (f64, f64), size: f64| {
        extreme(&pourable, &mut planner, measures, direction, size)
    };
    // The size of what can be made scales the directions, so that both measures count alike.
    let mut size = (1.0, 1.0);
    size.0 = most((1.0, 0.0), 1e5)?.0.abs().max(1.0);
    size.1 = most((0.0, 1.0), 1e5)?.1.abs().max(1.0);
    let mut toward = |direction: (f64, f64)| {
        let scaled = (direction.0 / size.0, direction.1 / size.1);
        most(scaled, BEYOND).map(|(x, y)| (x / size.0, y / size.1))
    };
    let mut corners: Vec<(f64, f64)> = Vec::new();
    for direction in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
        let corner = toward(direction)?;
        if corners.iter().all(|c| apart(*c, corner) > ON_THE_EDGE) {
            corners.push(corner);
        }
    }
    let mut place = 0;
    while place < corners.len() && corners.len() > 1 && corners.len() < MOST_CORNERS {
        let next = (place + 1) % corners.len();
        let (Some(a), Some(b)) = (corners.get(place).copied(), corners.get(next).copied()) else {
            break;
        };
        // The normal that points outward, corners going round counter-clockwise.
        let normal = (b.1 - a.1, a.0 - b.0);
        let length = normal.0.hypot(normal.1);
        let outward = (normal.0 / length, normal.1 / length);
        let corner = toward(outward)?;
        let beyond = (corner.0 - a.0) * outward.0 + (corner.1 - a.1) * outward.1;
        if length > ON_THE_EDGE && beyond > ON_THE_EDGE {
            corners.insert(place + 1, corner);
        } else {
            place += 1;
        }
    }
    Ok(corners.into_iter().map(|(x, y)| (x * size.0, y * size.1)).collect())
}

fn apart(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).hypot(a.1 - b.1)
}

/// The water with the most in a direction, by both measures in their usual units.
fn extreme(
    pourable: &PourableColumns,
    planner: &mut Planner,
    measures: [Measure; 2],
    (right, up): (f64, f64),
    size: f64,
) -> Result<(f64, f64), SolveError> {
    let [x, y] = measures;
    let mut form = Form::default();
    let per = |measure: Measure| measure.native_per_usual_unit();
    let parts = x.coefficients().iter().zip(y.coefficients());
    for (slot, (a, b)) in form.iter_mut().zip(parts) {
        *slot = right * a / per(x) + up * b / per(y);
    }
    // All that is missed of far too much is least where there is most.
    let rows = [Row::band(form, size, size, f64::INFINITY, 1.0)];
    let priorities = Priorities { largest_first: false, preference: Vec::new() };
    let solution = planner.solve(pourable, &rows, &priorities)?;
    let water = plan::pour(pourable, &solution);
    let usual = |measure: Measure| measure.of(&water) / per(measure);
    Ok((usual(x), usual(y)))
}
