//! Labels beside points, none over another.

use crate::svg::drawing::{SMALL, TextBox, text_box};
use crate::svg::{Anchor, Drawing, Weight};

/// A label where it can be read.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedLabel {
    /// Where the point is.
    pub point: (f64, f64),
    /// Where the text stands.
    pub at: (f64, f64),
    /// Which end of it.
    pub anchor: Anchor,
    /// The text.
    pub text: String,
    /// Whether it is so far away that a line has to lead to it.
    pub is_far: bool,
}

/// Distances that are tried one after the other, and the first at which a line leads there.
const RINGS: [f64; 8] = [8.0, 12.0, 18.0, 26.0, 36.0, 48.0, 64.0, 84.0];
const FAR: f64 = 15.0;

/// Directions that are tried, the right-hand side first.
const DIRECTIONS: [(f64, f64); 8] = [
    (1.0, -0.4),
    (-1.0, -0.4),
    (0.0, -1.0),
    (0.0, 1.0),
    (0.8, -0.9),
    (0.8, 0.9),
    (-0.8, -0.9),
    (-0.8, 0.9),
];

/// Room of a point.
const POINT: f64 = 5.0;

/// Finds a place for every label inside `field` (left, top, right, bottom), away from all points and
/// from `taken`; one that has no room is left out, as the key beside the picture names it too.
#[must_use]
pub fn placed(
    points: &[((f64, f64), String)],
    field: (f64, f64, f64, f64),
    taken: &[TextBox],
) -> Vec<PlacedLabel> {
    let mut boxes: Vec<TextBox> = taken.to_vec();
    boxes.extend(points.iter().map(|((x, y), _)| TextBox {
        text: String::new(),
        left: x - POINT,
        top: y - POINT,
        width: 2.0 * POINT,
        height: 2.0 * POINT,
    }));
    let mut found = Vec::new();
    for (point, text) in points {
        let tried = RINGS.iter().flat_map(|ring| DIRECTIONS.iter().map(move |d| (*ring, *d)));
        for (ring, (dx, dy)) in tried {
            let anchor = if dx > 0.0 {
                Anchor::Start
            } else if dx < 0.0 {
                Anchor::End
            } else {
                Anchor::Middle
            };
            // Letters stand on their line: it lies a third of their height below the middle.
            let at = (point.0 + ring * dx, point.1 + ring * dy + SMALL / 3.0);
            let room = text_box(at, SMALL, Weight::Bold, anchor, text);
            if room.is_inside(field) && !boxes.iter().any(|other| other.overlaps(&room)) {
                boxes.push(room);
                let is_far = ring > FAR;
                found.push(PlacedLabel { point: *point, at, anchor, text: text.clone(), is_far });
                break;
            }
        }
    }
    found
}

/// Draws labels that have their places.
pub fn draw(drawing: &mut Drawing, labels: &[PlacedLabel]) {
    for label in labels.iter().filter(|label| label.is_far) {
        drawing.line("leader", label.point, (label.at.0, label.at.1 - SMALL / 3.0));
    }
    for label in labels {
        drawing.text_over(label.at, Weight::Bold, label.anchor, &label.text);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_four_points_in_one_place_have_labels_that_do_not_touch() {
        let points: Vec<((f64, f64), String)> = (0..24_u32)
            .map(|n| ((200.0 + f64::from(n % 5), 150.0 + f64::from(n % 3)), (n + 1).to_string()))
            .collect();
        let labels = placed(&points, (0.0, 0.0, 400.0, 300.0), &[]);
        assert_eq!(labels.len(), 24);
        let mut drawing = Drawing::new("a", "", "");
        draw(&mut drawing, &labels);
        let boxes = drawing.texts();
        for (n, a) in boxes.iter().enumerate() {
            assert!(boxes.iter().skip(n + 1).all(|b| !a.overlaps(b)));
        }
    }
}
