//! Lines over something that grows: limescale over temperature, strength over time.

use crate::svg::drawing::{SMALL, WIDTH, count, text_box};
use crate::svg::plot::{Axis, Plot};
use crate::svg::{Anchor, Drawing, Weight};
use crate::text::chart::RoundAxis;

/// A line.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is of.
    pub name: String,
    /// Its points: to the right, and low, value, high upward.
    pub points: Vec<(f64, (f64, f64, f64))>,
    /// Whether the points are single findings and not a course.
    pub single: bool,
    /// Whether a line leads from one of these to the next.
    pub joined: bool,
}

/// A mark on the axis to the right, such as the temperature of a boiler.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Where.
    pub at: f64,
    /// What.
    pub name: String,
}

/// What stands on the axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales<'a> {
    /// What is to the right, with its unit.
    pub x: &'a str,
    /// What is upward.
    pub y: &'a str,
    /// Whether the axis upward holds zero.
    pub from_zero: bool,
    /// Names of the places 1, 2, … to the right, which is then no scale; empty for a scale.
    pub places: &'a [String],
}

/// Room between marks of several lines at one place. Our choice.
const BESIDE: f64 = 9.0;

/// Our choice: more lines than this are not known from each other by their dashes.
pub const MOST: usize = 4;

/// Draws the lines; nothing without points.
#[must_use]
pub fn draw(
    id: &str,
    title: &str,
    scales: Scales<'_>,
    series: &[Series],
    stops: &[Stop],
) -> Option<Drawing> {
    let shown = series.get(..series.len().min(MOST))?;
    let points = || shown.iter().flat_map(|s| &s.points);
    let zero = scales.from_zero.then_some(0.0);
    let mut x = Axis::holding(scales.x, points().map(|p| p.0).chain(stops.iter().map(|s| s.at)))?;
    if !scales.places.is_empty() {
        x.marks = named_places(scales.places.len());
    }
    let y = Axis::holding(
        scales.y,
        points().flat_map(|(_, (low, value, high))| [*low, *value, *high]).chain(zero),
    )?;
    let said = |s: &Series| {
        let one = |(x, (_, value, _)): &(f64, (f64, f64, f64))| {
            use crate::quantities::show::{plain, three_figures};
            format!("{} at {}", three_figures(*value), plain(*x))
        };
        format!("{}: {}", s.name, s.points.iter().map(one).collect::<Vec<_>>().join(", "))
    };
    let words: Vec<String> = shown.iter().map(said).collect();
    let mut drawing = Drawing::new(id, title, words.join(". "));
    let plot = Plot::new(x, y, 220.0);
    plot.draw(&mut drawing);
    let (_, top, right, bottom) = plot.field;
    for stop in stops {
        let (x, _) = plot.at((stop.at, 0.0));
        drawing.line("mean", (x, top), (x, bottom));
    }
    for (n, one) in shown.iter().enumerate() {
        let (line, mark) = (format!("l{}", n + 1), format!("m{}", n + 1));
        // Marks of several lines at one place stand side by side.
        let aside = if scales.places.is_empty() {
            0.0
        } else {
            BESIDE * (count(n) - (count(shown.len()) - 1.0) / 2.0)
        };
        let place = |x: f64, y: f64| {
            let (x, y) = plot.at((x, y));
            (x + aside, y)
        };
        let at: Vec<(f64, f64)> =
            one.points.iter().map(|(x, (_, value, _))| place(*x, *value)).collect();
        if !one.single {
            drawing.path(&line, &at, false);
            continue;
        }
        if one.joined {
            drawing.path(&line, &at, false);
        }
        for ((x, (low, _, high)), at) in one.points.iter().zip(&at) {
            drawing.line("mean", place(*x, *low), place(*x, *high));
            shape(&mut drawing, n, &mark, *at);
        }
    }
    for stop in stops {
        let (x, _) = plot.at((stop.at, 0.0));
        let anchor =
            if x > f64::midpoint(plot.field.0, right) { Anchor::End } else { Anchor::Start };
        let shift = if anchor == Anchor::End { -4.0 } else { 4.0 };
        let mut y = top + 12.0;
        let room = |y: f64| text_box((x + shift, y), SMALL, Weight::Soft, anchor, &stop.name);
        while !drawing.is_free(&room(y)) && y < bottom {
            y += 15.0;
        }
        drawing.text((x + shift, y), SMALL, Weight::Soft, anchor, &stop.name);
    }
    drawing.reach_down_to(plot.bottom());
    let mut y = drawing.height() + 16.0;
    for (n, one) in shown.iter().enumerate() {
        if one.single {
            shape(&mut drawing, n, &format!("m{}", n + 1), (14.0, y - 4.0));
        } else {
            drawing.line(&format!("l{}", n + 1), (2.0, y - 4.0), (28.0, y - 4.0));
        }
        y = drawing.wrapped((34.0, y), (WIDTH - 40.0, 15.0), Weight::Plain, &one.name);
    }
    let named: Vec<String> =
        (1..).zip(scales.places).map(|(n, name)| format!("{n} {name}")).collect();
    drawing.wrapped((4.0, y), (WIDTH - 8.0, 15.0), Weight::Soft, &named.join(" · "));
    Some(drawing)
}

/// The mark of a line: its shape tells it as well as its colour.
fn shape(drawing: &mut Drawing, line: usize, class: &str, at: (f64, f64)) {
    match line % MOST {
        0 => drawing.circle(class, at, 4.5),
        1 => drawing.diamond(class, at, 4.5),
        2 => drawing.square(class, at, 4.5),
        _ => drawing.triangle(class, at, 4.5),
    }
}

/// An axis with so many places, each a mark; as many of them have their number as there is room for.
fn named_places(places: usize) -> RoundAxis {
    let every = places.div_ceil(MOST_PLACES).max(1);
    let ticks = (1..=places).step_by(every).map(|n| (count(n), n.to_string())).collect();
    RoundAxis { ends: (0.5, count(places) + 0.5), ticks }
}

/// Our choice: so many numbers stand under a drawing.
const MOST_PLACES: usize = 15;
