//! The numbers of reports as pictures.

use crate::assessment::corrosion_levels::{CorrosionLevel, CorrosionMeasure};
use crate::assessment::limescale_curve::LimescaleCurve;
use crate::assessment::{BoilerSettings, WaterAnswer};
use crate::mix::MixReport;
use crate::mix::flight_map::{FlightMap, LimescaleGrid};
use crate::next_flight::report::{AxisLine, NextReport};
use crate::next_flight::slice::SurfaceSlice;
use crate::quantities::{Celsius, show};
use crate::session::results::score_numbers::ScoreNumbers;
use crate::stock::strengths::StrengthHistory;
use crate::svg::agreement::{self, TasterScores};
use crate::svg::charge_stacks::{self, ChargeStack};
use crate::svg::levels::level_pieces;
use crate::svg::lines::{self, Scales, Series, Stop};
use crate::svg::map::{
    DARKEST, LevelKind, LevelLine, Map, MapPoint, PointKind, PublishedRange, Shade,
};
use crate::svg::{Drawing, intervals};
use crate::text::chart::RoundAxis;
use crate::water::charge_columns::ChargeColumns;

/// Levels of limescale that are drawn, g per 1,000 L. Our choice.
const LEVELS: [f64; 4] = [20.0, 50.0, 100.0, 200.0];

/// A flight on its map.
#[must_use]
pub fn flight_map(map: &FlightMap) -> Option<Drawing> {
    let [right, up] = map.measures.map(|key| key.replace('_', " "));
    let name = |what: &str, unit: &str| format!("{what}, {unit}");
    let [unit_x, unit_y] = map.units;
    let waters = map.waters.iter().map(|water| MapPoint {
        label: water.number.to_string(),
        name: water.name.clone(),
        at: water.at,
        kind: if water.reached { PointKind::Reached } else { PointKind::OutOfReach },
    });
    let letters = ('A'..='Z').cycle();
    let base = map.base.iter().zip(letters).map(|(water, letter)| MapPoint {
        label: letter.to_string(),
        name: water.name.clone(),
        at: water.at,
        kind: PointKind::Base,
    });
    let points: Vec<MapPoint> = waters.chain(base).collect();
    let published = map.published.iter().map(|p| {
        let range = match (p.at_least, p.at_most, p.aim) {
            (None, None, aim) => (aim.unwrap_or(0.0), aim.unwrap_or(0.0)),
            (least, most, _) => (least.unwrap_or(0.0), most.unwrap_or(f64::MAX)),
        };
        let is_x = Some(p.measure) == map.measures.first().copied();
        PublishedRange {
            label: p.kind.to_owned(),
            source: format!("{}: {}", p.measure.replace('_', " "), p.source),
            x: is_x.then_some(range),
            y: (!is_x).then_some(range),
        }
    });
    let drawn = Map {
        x: name(&right, unit_x),
        y: name(&up, unit_y),
        points,
        region: map.region.clone(),
        published: published.collect(),
        lines: map.limescale.as_ref().map_or_else(Vec::new, |grid| {
            limescale_lines(grid).into_iter().chain(corrosion_lines(map, grid)).collect()
        }),
        from_zero: true,
        ..Map::default()
    };
    drawn.draw("map", &format!("The flight by {right} and {up}"))
}

fn limescale_lines(grid: &LimescaleGrid) -> Vec<LevelLine> {
    let of = |list: &[Vec<Option<f64>>], i: usize, j: usize| *list.get(j)?.get(i)?;
    let scale = |i: usize, j: usize| of(&grid.g_per_1000_l, i, j);
    let index = |i: usize, j: usize| of(&grid.calcite_index, i, j);
    let celsius = show::plain(grid.celsius);
    let border = LevelLine {
        name: format!(
            "calcite index 0 in the brew boiler at {celsius} °C, closed: below it the water dissolves \
             limescale and gives metals no cover"
        ),
        label: "index 0".to_owned(),
        kind: LevelKind::Border,
        pieces: level_pieces(&grid.columns, &grid.rows, &index, 0.0),
    };
    let levels = LEVELS.into_iter().map(|level| LevelLine {
        name: format!("{level} g of limescale per 1,000 L there, degassed"),
        label: format!("{level} g"),
        kind: LevelKind::Amount,
        pieces: level_pieces(&grid.columns, &grid.rows, &scale, level),
    });
    std::iter::once(border).chain(levels).filter(|line| !line.pieces.is_empty()).collect()
}

/// The published limits of corrosion that run through the map.
fn corrosion_lines(map: &FlightMap, grid: &LimescaleGrid) -> Vec<LevelLine> {
    let one = |limit: &CorrosionLevel| {
        let (values, short, name) = match limit.of {
            CorrosionMeasure::LarsonSkold => (&grid.larson_skold, "L–S", "Larson–Skold ratio"),
            CorrosionMeasure::Chloride => (&grid.chloride_mg_per_l, "Cl", "chloride, mg/L,"),
        };
        let value = |i: usize, j: usize| *values.get(j)?.get(i)?;
        let level = show::plain(limit.level);
        LevelLine {
            name: format!("{name} {level}: {}. {}", limit.means, limit.source),
            label: format!("{short} {level}"),
            kind: LevelKind::Corrosion,
            pieces: level_pieces(&grid.columns, &grid.rows, &value, limit.level),
        }
    };
    map.corrosion_levels.iter().map(one).filter(|line| !line.pieces.is_empty()).collect()
}

fn stack(name: &str, columns: &ChargeColumns) -> ChargeStack {
    ChargeStack {
        name: name.to_owned(),
        cations: columns.cations.0.clone(),
        anions: columns.anions.0.clone(),
        not_measured: columns.not_measured.clone(),
    }
}

/// The waters of a flight by charge.
#[must_use]
pub fn flight_charges(report: &MixReport) -> Option<Drawing> {
    let waters: Vec<ChargeStack> = report
        .waters
        .iter()
        .map(|w| stack(&format!("{} {}", w.number, w.target), &w.meq_per_l))
        .collect();
    charge_stacks::draw("charges", "The waters by charge", &waters)
}

/// Some waters by charge.
#[must_use]
pub fn charges(answers: &[WaterAnswer]) -> Option<Drawing> {
    let waters: Vec<ChargeStack> =
        answers.iter().map(|answer| stack(&answer.report.name, &answer.meq_per_l)).collect();
    charge_stacks::draw("charges", "The waters by charge", &waters)
}

/// Limescale of some waters over the temperature, where it was asked for; `boilers` are those of the bench.
#[must_use]
pub fn limescale(answers: &[WaterAnswer], boilers: BoilerSettings) -> Option<Drawing> {
    let curves = answers.iter().filter_map(|answer| answer.limescale_curve.as_ref());
    let curves: Vec<&LimescaleCurve> = curves.collect();
    let one = |curve: &LimescaleCurve, is_closed: bool| Series {
        name: format!("{}, {}", curve.name, if is_closed { "closed" } else { "degassed" }),
        points: curve
            .points
            .iter()
            .map(|p| {
                let g = if is_closed { p.closed_g_per_1000_l } else { p.degassed_g_per_1000_l };
                (p.celsius, (g, g, g))
            })
            .collect(),
        single: false,
        joined: false,
    };
    let series: Vec<Series> = if let [only] = curves.as_slice() {
        vec![one(only, false), one(only, true)]
    } else {
        curves.iter().map(|curve| one(curve, false)).collect()
    };
    let stop = |at: Celsius, name: &str| Stop { at: at.value(), name: name.to_owned() };
    let stops = [stop(boilers.brew, "brew boiler"), stop(boilers.steam, "steam boiler")];
    let scales = Scales { x: "°C", y: "limescale, g per 1,000 L", from_zero: true, places: &[] };
    lines::draw("limescale", "Limescale over the temperature", scales, &series, &stops)
}

/// The strength of a stock over time.
#[must_use]
pub fn strengths(history: &StrengthHistory) -> Option<Drawing> {
    let points = |verified: bool| -> Vec<(f64, (f64, f64, f64))> {
        let own = history.points.iter().filter(|p| p.verified == verified);
        own.map(|p| {
            let half = p.expanded_g_per_kg;
            (p.days_after_the_first, (p.g_per_kg - half, p.g_per_kg, p.g_per_kg + half))
        })
        .collect()
    };
    let all = [
        Series {
            name: "as weighed".to_owned(),
            points: points(false),
            single: true,
            joined: false,
        },
        Series {
            name: "as verified, ± k = 2".to_owned(),
            points: points(true),
            single: true,
            joined: false,
        },
    ];
    let series: Vec<Series> = all.into_iter().filter(|s| !s.points.is_empty()).collect();
    let title = format!("Strength of {} over time", history.stock);
    let scales = Scales { x: &history.axis, y: "g/kg", from_zero: false, places: &[] };
    lines::draw("strength", &title, scales, &series, &[])
}

/// The surface of what is wanted, with what was tasted and what is proposed; nothing without two axes.
#[must_use]
pub fn surface(next: &NextReport) -> Option<Drawing> {
    let slice = next.surface.as_ref()?;
    let [x, y] = next.axes.get(..2)? else { return None };
    let place = |at: &[f64]| Some((*at.first()?, *at.get(1)?));
    let mut tasted: Vec<(&str, (f64, f64))> = Vec::new();
    for water in &next.tasted {
        let at = place(&water.at)?;
        if !tasted.iter().any(|(name, _)| *name == water.water) {
            tasted.push((&water.water, at));
        }
    }
    let point =
        |label: String, name: &str, at, kind| MapPoint { label, name: name.to_owned(), at, kind };
    let mut points: Vec<MapPoint> = (1..)
        .zip(&tasted)
        .map(|(n, (name, at))| point(n.to_string(), name, *at, PointKind::Reached))
        .collect();
    for (letter, water) in ('A'..='Z').cycle().zip(&next.waters) {
        points.push(point(
            letter.to_string(),
            &water.target,
            place(&water.at)?,
            PointKind::Proposed,
        ));
    }
    let of = |list: &[Vec<Option<f64>>], i: usize, j: usize| *list.get(j)?.get(i)?;
    let value = |i: usize, j: usize| of(&slice.above_mean, i, j);
    let all = || slice.above_mean.iter().flatten().flatten().copied();
    let (low, high) =
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    if low > high {
        return None;
    }
    let is_flat = next.verdict == Some("flat");
    let of_what = next.of.clone().unwrap_or_default();
    let mut held: Vec<String> = Vec::new();
    for (axis, at) in next.axes.iter().skip(2).zip(&slice.held) {
        held.push(format!("{} {} {}", axis.name, show::three_figures(*at), axis.unit));
    }
    let held = if held.is_empty() { String::new() } else { format!(", at {}", held.join(", ")) };
    let axis = |axis: &AxisLine| format!("{}, {}", axis.name, axis.unit);
    let marks = RoundAxis::new(low, high, LINES).ticks;
    let lines = marks.into_iter().map(|(level, words)| LevelLine {
        name: format!("{words} expected above the mean of the waters tasted"),
        label: words,
        kind: LevelKind::Amount,
        pieces: level_pieces(&slice.columns, &slice.rows, &value, level),
    });
    let drawn = Map {
        x: axis(x),
        y: axis(y),
        points,
        lines: if is_flat { Vec::new() } else { lines.filter(|l| !l.pieces.is_empty()).collect() },
        shades: shades(slice, (low, high), is_flat),
        shades_mean: if is_flat {
            "within reach of the shelf; the scores follow no slope, so it is flat".to_owned()
        } else {
            "darker: more is expected; it fades where less is known; blank: out of reach".to_owned()
        },
        ..Map::default()
    };
    drawn.draw("surface", &format!("What is expected of {of_what}{held}"))
}

/// Lines of a surface, about. Our choice.
const LINES: f64 = 5.0;

/// The cells of a surface: darker for more, fainter for less certain.
fn shades(slice: &SurfaceSlice, (low, high): (f64, f64), is_flat: bool) -> Vec<Shade> {
    let deviations = || slice.standard_deviation.iter().flatten().flatten().copied();
    let surest = deviations().fold(f64::INFINITY, f64::min);
    let half = |values: &[f64]| match values {
        [first, second, ..] => (second - first) / 2.0,
        _ => 0.0,
    };
    let (across, up) = (half(&slice.columns), half(&slice.rows));
    let ends = |values: &[f64]| {
        (values.first().copied().unwrap_or(0.0), values.last().copied().unwrap_or(0.0))
    };
    let ((left, right), (bottom, top)) = (ends(&slice.columns), ends(&slice.rows));
    let mut shades = Vec::new();
    for (j, row) in slice.rows.iter().enumerate() {
        for (i, column) in slice.columns.iter().enumerate() {
            let of = |list: &[Vec<Option<f64>>]| *list.get(j)?.get(i)?;
            let (Some(value), Some(sd)) = (of(&slice.above_mean), of(&slice.standard_deviation))
            else {
                continue;
            };
            let height = if is_flat || high <= low { 0.4 } else { (value - low) / (high - low) };
            let sure = if sd > 0.0 { surest / sd } else { 1.0 };
            let corners = [
                ((column - across).max(left), (row - up).max(bottom)),
                ((column + across).min(right), (row + up).min(top)),
            ];
            shades.push(Shade { corners, depth: DARKEST * (0.1 + 0.9 * height) * sure });
        }
    }
    shades
}

/// The means of an attribute with brackets around what is not told apart.
#[must_use]
pub fn effects(scores: &ScoreNumbers, id: &str) -> Option<Drawing> {
    let chart = scores.chart()?;
    let place = |water: &String| scores.means.iter().position(|m| m.water == *water);
    let brackets: Vec<(usize, usize)> = scores
        .not_found_to_differ
        .iter()
        .filter_map(|run| Some((place(run.first()?)?, place(run.last()?)?)))
        .collect();
    let title = format!("{}: {}", scores.attribute, chart.heads.1);
    Some(intervals::titled(id, &title, &chart, &brackets))
}

/// Each taster's scores of an attribute beside the means.
#[must_use]
pub fn taster_agreement(scores: &ScoreNumbers, id: &str) -> Option<Drawing> {
    let mut waters: Vec<(String, f64)> =
        scores.means.iter().map(|m| (m.water.clone(), m.mean)).collect();
    if waters.is_empty() {
        waters = scores.given.raw_means.iter().map(|m| (m.water.clone(), m.mean)).collect();
    }
    let mut tasters: Vec<TasterScores> = Vec::new();
    for given in &scores.given.scores {
        let Some(water) = waters.iter().position(|(name, _)| *name == given.water) else {
            continue;
        };
        let found = tasters.iter_mut().find(|t| t.taster == given.taster);
        match found {
            Some(taster) => taster.scores.push((water, given.score)),
            None => tasters.push(TasterScores {
                taster: given.taster.clone(),
                scores: vec![(water, given.score)],
            }),
        }
    }
    let title = format!("{}: each taster beside the panel", scores.attribute);
    agreement::draw(id, &title, &waters, &tasters)
}
