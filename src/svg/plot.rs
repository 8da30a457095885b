//! A field with two axes that are marked in round numbers.

use crate::svg::drawing::{SMALL, WIDTH};
use crate::svg::text_width::em;
use crate::svg::{Anchor, Drawing, Weight};
use crate::text::chart::RoundAxis;

/// An axis: what it is of, and its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    /// What it is of, with its unit.
    pub name: String,
    /// Its ends and marks.
    pub marks: RoundAxis,
}

impl Axis {
    /// An axis that holds all finite `values`; nothing where there is none.
    #[must_use]
    pub fn holding(name: impl Into<String>, values: impl Iterator<Item = f64>) -> Option<Self> {
        let (low, high) = values
            .filter(|v| v.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        (low <= high).then(|| Self { name: name.into(), marks: RoundAxis::new(low, high, STEPS) })
    }

    /// The room that the widest of its marks takes.
    pub(super) fn widest_mark(&self) -> f64 {
        self.marks.ticks.iter().map(|(_, words)| em(words, false) * SMALL).fold(0.0, f64::max)
    }

    /// The share of the axis at which a value stands.
    #[must_use]
    pub fn share(&self, value: f64) -> f64 {
        let (low, high) = self.marks.ends;
        (value - low) / (high - low)
    }
}

/// Our choice: about so many steps between marks.
const STEPS: f64 = 6.0;

/// A field between two axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Plot {
    /// To the right.
    pub x: Axis,
    /// Upward.
    pub y: Axis,
    /// Left, top, right, bottom of the field.
    pub field: (f64, f64, f64, f64),
}

impl Plot {
    /// A field of a height, as wide as the drawing allows.
    #[must_use]
    pub fn new(x: Axis, y: Axis, height: f64) -> Self {
        let last = x.marks.ticks.last().map_or(0.0, |(_, words)| em(words, false) * SMALL / 2.0);
        // The name of the upward axis stands above it.
        let top = 24.0;
        Self { field: (y.widest_mark() + 12.0, top, WIDTH - 6.0 - last, top + height), x, y }
    }

    /// Where a point stands.
    #[must_use]
    pub fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let (left, top, right, bottom) = self.field;
        (left + self.x.share(x) * (right - left), bottom - self.y.share(y) * (bottom - top))
    }

    /// Whether a point lies in the field.
    #[must_use]
    pub fn holds(&self, (x, y): (f64, f64)) -> bool {
        let inside = |share: f64| (-1e-9..=1.0 + 1e-9).contains(&share);
        inside(self.x.share(x)) && inside(self.y.share(y))
    }

    /// Draws the axes with lines across the field.
    pub fn draw(&self, drawing: &mut Drawing) {
        let (left, top, right, bottom) = self.field;
        drawing.text((2.0, top - 12.0), SMALL, Weight::Soft, Anchor::Start, &self.y.name);
        let mut free_from = f64::NEG_INFINITY;
        for (value, words) in &self.x.marks.ticks {
            let x = left + self.x.share(*value) * (right - left);
            drawing.line("guide", (x, top), (x, bottom));
            let half = em(words, false) * SMALL / 2.0;
            if x - half > free_from {
                drawing.text((x, bottom + 16.0), SMALL, Weight::Soft, Anchor::Middle, words);
                free_from = x + half + 4.0;
            }
        }
        for (value, words) in &self.y.marks.ticks {
            let y = bottom - self.y.share(*value) * (bottom - top);
            drawing.line("guide", (left, y), (right, y));
            drawing.text((left - 6.0, y + 4.0), SMALL, Weight::Soft, Anchor::End, words);
        }
        drawing.line("axis", (left, top), (left, bottom));
        drawing.line("axis", (left, bottom), (right, bottom));
        let name = (right, bottom + 33.0);
        drawing.text(name, SMALL, Weight::Soft, Anchor::End, &self.x.name);
    }

    /// The lowest point that the axes take.
    #[must_use]
    pub fn bottom(&self) -> f64 {
        self.field.3 + 38.0
    }
}

/// The part of a convex area that lies in the field of two axes (Sutherland and Hodgman 1974).
#[must_use]
pub fn clipped(area: &[(f64, f64)], x: &Axis, y: &Axis) -> Vec<(f64, f64)> {
    let ((left, right), (low, high)) = (x.marks.ends, y.marks.ends);
    let mut area = area.to_vec();
    // Each side: how far inside a point is.
    let sides: [&dyn Fn((f64, f64)) -> f64; 4] =
        [&|p| p.0 - left, &|p| right - p.0, &|p| p.1 - low, &|p| high - p.1];
    for inside in sides {
        let mut kept = Vec::new();
        let next = area.iter().cycle().skip(1);
        for (a, b) in area.iter().zip(next) {
            let (in_a, in_b) = (inside(*a), inside(*b));
            if in_a >= 0.0 {
                kept.push(*a);
            }
            if (in_a < 0.0) != (in_b < 0.0) {
                let t = in_a / (in_a - in_b);
                kept.push((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1)));
            }
        }
        area = kept;
    }
    area
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_area_is_cut_at_the_axes() {
        let axis = |low, high| Axis { name: String::new(), marks: RoundAxis::new(low, high, 5.0) };
        let square = [(-10.0, -10.0), (5.0, -10.0), (5.0, 20.0), (-10.0, 20.0)];
        let cut = clipped(&square, &axis(0.0, 10.0), &axis(0.0, 10.0));
        let area: f64 = cut
            .iter()
            .zip(cut.iter().cycle().skip(1))
            .map(|(a, b)| (a.0 * b.1 - b.0 * a.1) / 2.0)
            .sum();
        assert!((area - 50.0).abs() < 1e-9, "{cut:?}");
    }
}
