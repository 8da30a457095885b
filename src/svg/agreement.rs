//! Each taster's scores beside the mean of the panel, one small field for each taster.

use crate::quantities::show::three_figures;
use crate::svg::drawing::{SMALL, TEXT, WIDTH, count};
use crate::svg::plot::Axis;
use crate::svg::text_width::{em, wrapped};
use crate::svg::{Anchor, Drawing, Weight};

/// One taster.
#[derive(Debug, Clone, PartialEq)]
pub struct TasterScores {
    /// The name.
    pub taster: String,
    /// Place of a water, and the score; a water may have several.
    pub scores: Vec<(usize, f64)>,
}

/// Height of a field, and fields in a row.
const FIELD: f64 = 80.0;
const ACROSS: usize = 3;

/// Draws the tasters; `waters` with their means, in order. Nothing without scores.
#[must_use]
pub fn draw(
    id: &str,
    title: &str,
    waters: &[(String, f64)],
    tasters: &[TasterScores],
) -> Option<Drawing> {
    let all = tasters.iter().flat_map(|t| t.scores.iter().map(|(_, score)| *score));
    let axis = Axis::holding("", all.chain(waters.iter().map(|(_, mean)| *mean)))?;
    let said = |t: &TasterScores| {
        let one = |(water, score): &(usize, f64)| {
            let name = waters.get(*water).map_or("", |(name, _)| name.as_str());
            format!("{name} {}", three_figures(*score))
        };
        format!("{}: {}", t.taster, t.scores.iter().map(one).collect::<Vec<_>>().join(", "))
    };
    let words: Vec<String> = tasters.iter().map(said).collect();
    let mut drawing = Drawing::new(id, title, words.join("; "));
    let (first, last) = (axis.marks.ticks.first()?, axis.marks.ticks.last()?);
    let widest = [first, last].iter().map(|t| em(&t.1, false) * SMALL).fold(0.0, f64::max);
    let across = count(waters.len().max(1));
    let mut top = 4.0;
    for row in tasters.chunks(ACROSS) {
        let room = WIDTH / count(ACROSS);
        let names: Vec<Vec<String>> =
            row.iter().map(|t| wrapped(&t.taster, true, (room - 10.0) / TEXT)).collect();
        let lines = names.iter().map(Vec::len).max().unwrap_or(1);
        let upper = top + 18.0 * count(lines) + 6.0;
        let bottom = upper + FIELD;
        for (n, (taster, name)) in (0_u32..).zip(row.iter().zip(&names)) {
            let left = f64::from(n) * room + widest + 8.0;
            let right = f64::from(n + 1) * room - 8.0;
            for (k, line) in (0_u32..).zip(name) {
                let y = top + 14.0 + 17.0 * f64::from(k);
                drawing.text(
                    (f64::from(n) * room + 2.0, y),
                    TEXT,
                    Weight::Bold,
                    Anchor::Start,
                    line,
                );
            }
            let x = |water: usize| left + (count(water) + 0.5) / across * (right - left);
            let y = |score: f64| bottom - axis.share(score) * FIELD;
            for (value, words) in [first, last] {
                drawing.line("guide", (left, y(*value)), (right, y(*value)));
                let at = (left - 5.0, y(*value) + 4.0);
                drawing.text(at, SMALL, Weight::Soft, Anchor::End, words);
            }
            let means: Vec<(f64, f64)> =
                waters.iter().enumerate().map(|(w, (_, mean))| (x(w), y(*mean))).collect();
            drawing.path("mean", &means, false);
            for (water, score) in &taster.scores {
                drawing.circle("m1", (x(*water), y(*score)), 3.5);
            }
            // As many numbers under the field as have room.
            let step = (right - left) / across;
            let every = (20.0 / step).ceil().max(1.0);
            for water in 0..waters.len() {
                if (count(water) / every).fract() < 1e-9 {
                    let at = (x(water), bottom + 15.0);
                    drawing.text(at, SMALL, Weight::Soft, Anchor::Middle, &(water + 1).to_string());
                }
            }
        }
        top = bottom + 24.0;
    }
    drawing.circle("m1", (12.0, top + 8.0), 3.5);
    drawing.text((24.0, top + 12.0), SMALL, Weight::Soft, Anchor::Start, "score of this taster");
    drawing.line("mean", (200.0, top + 8.0), (222.0, top + 8.0));
    drawing.text((228.0, top + 12.0), SMALL, Weight::Soft, Anchor::Start, "mean of the panel");
    let key: Vec<String> = (1..).zip(waters).map(|(n, (name, _))| format!("{n} {name}")).collect();
    let at = (4.0, top + 32.0);
    drawing.wrapped(at, (WIDTH - 8.0, 15.0), Weight::Plain, &key.join(" · "));
    Some(drawing)
}
