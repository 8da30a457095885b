//! Lines over something that grows: limescale over temperature, strength over time.

use crate::svg::drawing::{SMALL, WIDTH};
use crate::svg::plot::{Axis, Plot};
use crate::svg::text_width::wrapped;
use crate::svg::{Anchor, Drawing, Weight};

/// A line.
#[derive(Debug, Clone, PartialEq)]
pub struct Series {
    /// What it is of.
    pub name: String,
    /// Its points: to the right, and low, value, high upward.
    pub points: Vec<(f64, (f64, f64, f64))>,
    /// Whether the points are single findings and not a course.
    pub single: bool,
}

/// A mark on the axis to the right, such as the temperature of a boiler.
#[derive(Debug, Clone, PartialEq)]
pub struct Stop {
    /// Where.
    pub at: f64,
    /// What.
    pub name: String,
}

/// Our choice: more lines than this are not known from each other by their dashes.
pub const MOST: usize = 4;

/// Draws the lines; nothing without points.
#[must_use]
pub fn draw(
    id: &str,
    title: &str,
    (x, y): (&str, &str),
    series: &[Series],
    stops: &[Stop],
    from_zero: bool,
) -> Option<Drawing> {
    let shown = series.get(..series.len().min(MOST))?;
    let points = || shown.iter().flat_map(|s| &s.points);
    let zero = from_zero.then_some(0.0);
    let x = Axis::holding(x, points().map(|p| p.0).chain(stops.iter().map(|s| s.at)))?;
    let y = Axis::holding(
        y,
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
    let plot = Plot::new(x, y, 0.0, 220.0);
    plot.draw(&mut drawing);
    let (_, top, right, bottom) = plot.field;
    for stop in stops {
        let (x, _) = plot.at((stop.at, 0.0));
        drawing.line("mean", (x, top), (x, bottom));
    }
    for (n, one) in shown.iter().enumerate() {
        let (line, mark) = (format!("l{}", n + 1), format!("m{}", n + 1));
        let at: Vec<(f64, f64)> =
            one.points.iter().map(|(x, (_, value, _))| plot.at((*x, *value))).collect();
        if !one.single {
            drawing.path(&line, &at, false);
            continue;
        }
        for ((x, (low, _, high)), at) in one.points.iter().zip(&at) {
            drawing.line("mean", plot.at((*x, *low)), plot.at((*x, *high)));
            drawing.circle(&mark, *at, 4.5);
        }
    }
    for stop in stops {
        let (x, _) = plot.at((stop.at, 0.0));
        let anchor =
            if x > f64::midpoint(plot.field.0, right) { Anchor::End } else { Anchor::Start };
        let shift = if anchor == Anchor::End { -4.0 } else { 4.0 };
        let mut y = top + 12.0;
        let room = |y: f64| {
            crate::svg::drawing::text_box((x + shift, y), SMALL, Weight::Soft, anchor, &stop.name)
        };
        while drawing.texts().iter().any(|other| other.overlaps(&room(y))) && y < bottom {
            y += 15.0;
        }
        drawing.text((x + shift, y), SMALL, Weight::Soft, anchor, &stop.name);
    }
    drawing.reach_down_to(plot.bottom());
    let mut y = drawing.height() + 16.0;
    for (n, one) in shown.iter().enumerate() {
        if one.single {
            drawing.circle(&format!("m{}", n + 1), (14.0, y - 4.0), 4.5);
        } else {
            drawing.line(&format!("l{}", n + 1), (2.0, y - 4.0), (28.0, y - 4.0));
        }
        for line in wrapped(&one.name, false, (WIDTH - 40.0) / SMALL) {
            drawing.text((34.0, y), SMALL, Weight::Plain, Anchor::Start, &line);
            y += 15.0;
        }
    }
    Some(drawing)
}
