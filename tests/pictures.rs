//! Pictures: texts that do not lie over each other, and what a shelf can make as the planner says.

use std::error::Error;

use waterflight::bench::Bench;
use waterflight::flight::{Flight, Goal, Target};
use waterflight::planner::explain::reach_region;
use waterflight::planner::plan_flight;
use waterflight::svg::agreement::{self, TasterScores};
use waterflight::svg::charge_stacks::{self, ChargeStack};
use waterflight::svg::drawing::WIDTH;
use waterflight::svg::lines::{self, Scales, Series, Stop};
use waterflight::svg::map::{Map, MapPoint, PointKind, PublishedRange};
use waterflight::svg::{Drawing, intervals};
use waterflight::text::chart::{Chart, ChartRow, RoundAxis};
use waterflight::water::Measure;

use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

const LONG: &str = "the hardest water of them all, made with calcium chloride and gypsum";

/// Names of every length.
fn name(n: usize) -> String {
    let letters = 1 + (n * 7) % LONG.len();
    LONG.chars().take(letters).collect()
}

fn is_readable(drawing: &Drawing, of: &str) {
    let boxes = drawing.texts();
    for (n, a) in boxes.iter().enumerate() {
        let inside = a.left >= -0.01
            && a.left + a.width <= WIDTH + 0.01
            && a.top >= -0.01
            && a.top + a.height <= drawing.height() + 0.01;
        assert!(inside, "{of}: `{}` leaves the picture: {a:?}", a.text);
        for b in boxes.iter().skip(n + 1) {
            assert!(!a.overlaps(b), "{of}: `{}` lies over `{}`", a.text, b.text);
        }
    }
}

fn map(waters: usize, crowded: bool) -> Map {
    let step = |n: usize, of: u32| {
        let n = u32::try_from(n).unwrap_or(0);
        if crowded { f64::from(n % 3) } else { f64::from((n * of) % 97) }
    };
    let kinds = [PointKind::Reached, PointKind::OutOfReach, PointKind::Base, PointKind::Proposed];
    let point = |n: usize| MapPoint {
        label: (n + 1).to_string(),
        name: name(n),
        at: (20.0 + step(n, 13), 30.0 + step(n, 31)),
        kind: kinds.get(n % 4).copied().unwrap_or(PointKind::Reached),
    };
    Map {
        x: "hardness, mg/L as CaCO3".to_owned(),
        y: "alkalinity, mg/L as CaCO3".to_owned(),
        points: (0..waters).map(point).collect(),
        region: vec![(0.0, 0.0), (900.0, 0.0), (0.0, 700.0)],
        published: vec![PublishedRange {
            label: "recommended".to_owned(),
            source: LONG.to_owned(),
            x: None,
            y: Some((40.0, 40.0)),
        }],
        lines: Vec::new(),
        shades: Vec::new(),
        shades_mean: String::new(),
        from_zero: true,
    }
}

#[test]
fn no_text_of_a_picture_lies_over_another_or_leaves_it() -> Fallible {
    for waters in [1, 2, 8, 24] {
        for crowded in [false, true] {
            let drawing = map(waters, crowded).draw("map", "map").ok_or("no map")?;
            is_readable(&drawing, &format!("map of {waters}"));
        }
        let small = |n: usize| f64::from(u32::try_from(n % 9).unwrap_or(0)) / 2.0;
        let rows: Vec<ChartRow> = (0..waters)
            .map(|n| ChartRow {
                label: name(n),
                words: format!("{:.2} ({:.2} to {:.2})", small(n), small(n) - 1.0, small(n) + 1.0),
                at: (small(n) - 1.0, small(n), small(n) + 1.0),
            })
            .collect();
        let chart = Chart::new(("water", "mean (95 %)".to_owned()), rows, Some(0.5), &[]);
        let brackets = if waters > 2 { vec![(0, 1), (1, waters - 1)] } else { Vec::new() };
        is_readable(
            &intervals::titled("i", "means", &chart.ok_or("no chart")?, &brackets),
            "intervals",
        );
        let stacks: Vec<ChargeStack> = (0..waters)
            .map(|n| ChargeStack {
                name: name(n),
                cations: vec![("Ca", small(n)), ("Mg", 0.3), ("Na", 0.01), ("K", 0.0)],
                anions: vec![("HCO3", small(n)), ("Cl", 0.31)],
                not_measured: if n % 3 == 2 { vec!["SO4", "NO3"] } else { Vec::new() },
            })
            .collect();
        let drawing = charge_stacks::draw("c", "charges", &stacks).ok_or("no stacks")?;
        is_readable(&drawing, "charges");
        let means: Vec<(String, f64)> = (0..waters).map(|n| (name(n), small(n))).collect();
        let tasters: Vec<TasterScores> = (0..7)
            .map(|t| TasterScores {
                taster: name(t * 5 + 3),
                scores: (0..waters).map(|w| (w, small(w + t))).collect(),
            })
            .collect();
        let drawing = agreement::draw("a", "tasters", &means, &tasters).ok_or("no tasters")?;
        is_readable(&drawing, "agreement");
        let series: Vec<Series> = (0..waters.min(4))
            .map(|n| Series {
                name: name(n + 8),
                points: (0..9).map(|k| (small(k) * 40.0, (0.0, small(n + k), 5.0))).collect(),
                single: n % 2 == 0,
                joined: n % 4 == 0,
            })
            .collect();
        let stops = [(93.0, "brew boiler"), (96.0, "steam boiler")]
            .map(|(at, name)| Stop { at, name: name.to_owned() });
        let names: Vec<String> = (0..waters).map(name).collect();
        for places in [&[][..], &names] {
            let scales =
                Scales { x: "°C", y: "limescale, g per 1,000 L", from_zero: true, places };
            let stops = if places.is_empty() { &stops[..] } else { &[] };
            let drawing =
                lines::draw("l", "limescale", scales, &series, stops).ok_or("no lines")?;
            is_readable(&drawing, "lines");
        }
    }
    Ok(())
}

#[test]
fn every_water_of_a_map_is_labelled_and_named() -> Fallible {
    for waters in [1, 24] {
        let drawing = map(waters, true).draw("map", "map").ok_or("no map")?;
        for n in 0..waters {
            let label = (n + 1).to_string();
            // Once beside its point, once in the key.
            let times = drawing.texts().iter().filter(|t| t.text == label).count();
            assert!(times >= 2, "{label}: {times}");
        }
    }
    Ok(())
}

#[test]
fn marks_of_axes_are_round_and_hold_all() {
    for (low, high) in [(0.0, 162.3), (3.2, 3.9), (-4.0, 0.02), (7.0, 7.0), (0.0, 1e-3)] {
        let axis = RoundAxis::new(low, high, 6.0);
        assert!(axis.ends.0 <= low && axis.ends.1 >= high, "{axis:?}");
        let [first, second, ..] = axis.ticks.as_slice() else { continue };
        let step = second.0 - first.0;
        let digit = step / 10_f64.powf(step.log10().floor());
        let is_round = [1.0, 2.0, 5.0, 10.0].iter().any(|d| (digit - d).abs() < 1e-6);
        assert!(is_round && axis.ticks.len() <= 9, "{axis:?}");
    }
}

/// The region is what the planner reaches: a point a little inside of it is reached by doses, one a little
/// outside is not, along every edge and at every corner.
#[test]
fn the_region_of_a_map_ends_where_the_planner_ends() -> Fallible {
    let (_folder, root) = starter_bench()?;
    let bench = Bench::open(&root).map_err(|_| "the bench does not open")?;
    let file = bench.flight_file(None).map_err(|_| "no flight")?;
    let (flight, stocks, _) = bench.ordered_flight(file).map_err(|_| "no flight")?;
    for measures in [
        [Measure::Hardness, Measure::Alkalinity],
        [Measure::Sodium, Measure::Chloride],
        [Measure::DissolvedSolids, Measure::Calcium],
    ] {
        let corners = reach_region(&flight, &stocks, measures)?;
        assert!(corners.len() >= 3, "{corners:?}");
        let count = f64::from(u32::try_from(corners.len())?);
        let sum = |of: fn(&(f64, f64)) -> f64| corners.iter().map(of).sum::<f64>() / count;
        let middle = (sum(|c| c.0), sum(|c| c.1));
        let next = corners.iter().cycle().skip(1);
        let edges = corners
            .iter()
            .zip(next)
            .map(|(a, b)| (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1)));
        let border: Vec<(f64, f64)> = corners.iter().copied().chain(edges).collect();
        for (moved, is_inside) in [(0.98, true), (1.02, false)] {
            let at = |(x, y): &(f64, f64)| {
                (middle.0 + moved * (x - middle.0), middle.1 + moved * (y - middle.1))
            };
            for (x, y) in border.iter().map(at) {
                if x < 0.0 || y < 0.0 {
                    continue;
                }
                let goal = |measure: Measure, value: f64| {
                    let unit = measure.usual_unit().symbol();
                    Goal::parse(measure, &format!("{value} ± {} {unit}", 1e-4 * (1.0 + value)))
                };
                let [a, b] = measures;
                let targets =
                    vec![Target { name: "point".into(), goals: vec![goal(a, x)?, goal(b, y)?] }];
                let plans = plan_flight(&Flight { targets, ..flight.clone() }, &stocks)?;
                let reached = plans.iter().all(waterflight::planner::Plan::reached);
                assert_eq!(reached, is_inside, "{measures:?} at {x}, {y}");
            }
        }
    }
    Ok(())
}
