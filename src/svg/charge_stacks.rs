//! A water as two columns of charge, cations and anions: of a right analysis they are equally high.

use crate::quantities::show::{fixed, three_figures};
use crate::svg::drawing::{SMALL, TEXT, WIDTH, count};
use crate::svg::plot::Axis;
use crate::svg::text_width::{em, wrapped};
use crate::svg::{Anchor, Drawing, Weight};

/// A water by its charges.
#[derive(Debug, Clone, PartialEq)]
pub struct ChargeStack {
    /// Its name.
    pub name: String,
    /// Cations, meq/L, from below.
    pub cations: Vec<(&'static str, f64)>,
    /// Anions, meq/L, from below.
    pub anions: Vec<(&'static str, f64)>,
    /// Ions that were not measured.
    pub not_measured: Vec<&'static str>,
}

/// Height of the column of the largest water. Our choice.
const COLUMN: f64 = 180.0;

/// Waters in one row. Our choice.
const ACROSS: usize = 4;

/// The least height of a part that has room for its name.
const NAMED: f64 = 13.0;

/// Draws the waters side by side on one scale; nothing without any.
#[must_use]
pub fn draw(id: &str, title: &str, waters: &[ChargeStack]) -> Option<Drawing> {
    let sum = |parts: &[(&str, f64)]| parts.iter().map(|(_, meq)| meq).sum::<f64>();
    let sums = waters.iter().flat_map(|w| [sum(&w.cations), sum(&w.anions)]);
    let axis = Axis::holding("meq/L", sums.chain([0.0]))?;
    if waters.is_empty() {
        return None;
    }
    let said = |water: &ChargeStack| {
        let parts = |list: &[(&'static str, f64)]| -> String {
            let one = |(ion, meq): &(&str, f64)| format!("{ion} {}", three_figures(*meq));
            list.iter().map(one).collect::<Vec<_>>().join(", ")
        };
        format!(
            "{}: cations {} ({}); anions {} ({}) meq/L",
            water.name,
            three_figures(sum(&water.cations)),
            parts(&water.cations),
            three_figures(sum(&water.anions)),
            parts(&water.anions)
        )
    };
    let words: Vec<String> = waters.iter().map(said).collect();
    let mut drawing = Drawing::new(id, title, words.join(". "));
    let left = axis.widest_mark() + 12.0;
    let mut top = 26.0;
    for row in waters.chunks(ACROSS) {
        drawing.text((2.0, top - 12.0), SMALL, Weight::Soft, Anchor::Start, "meq/L");
        let bottom = top + COLUMN;
        for (value, words) in &axis.marks.ticks {
            let y = bottom - axis.share(*value) * COLUMN;
            drawing.line("guide", (left, y), (WIDTH - 4.0, y));
            drawing.text((left - 6.0, y + 4.0), SMALL, Weight::Soft, Anchor::End, words);
        }
        let room = ((WIDTH - 4.0 - left) / count(ACROSS.min(waters.len()))).min(130.0);
        let mut lowest = bottom;
        for (n, water) in (0_u32..).zip(row) {
            let x = left + 6.0 + f64::from(n) * room;
            let width = (room - 16.0) / 2.0;
            let at = |meq: f64| bottom - axis.share(meq) * COLUMN;
            column(&mut drawing, (x, width), &water.cations, &at);
            column(&mut drawing, (x + width + 2.0, width), &water.anions, &at);
            let mut y = bottom + 16.0;
            for line in wrapped(&water.name, true, (room - 10.0) / TEXT) {
                drawing.text((x, y), TEXT, Weight::Bold, Anchor::Start, &line);
                y += 16.0;
            }
            let gap = sum(&water.cations) - sum(&water.anions);
            let off = if water.not_measured.is_empty() {
                let sums = sum(&water.cations) + sum(&water.anions);
                // Standard Methods 1030 E counts the difference in per cent of both together.
                let percent = if sums > 0.0 { 100.0 * gap / sums } else { 0.0 };
                format!("charge {} %", fixed(percent, 1))
            } else {
                format!("not measured: {}", water.not_measured.join(", "))
            };
            y = drawing.wrapped((x, y), (room - 10.0, 14.0), Weight::Soft, &off);
            lowest = f64::max(lowest, y);
        }
        drawing.line("axis", (left, bottom), (WIDTH - 4.0, bottom));
        top = lowest + 26.0;
    }
    let words = "left column cations, right column anions; equal heights are a charge of 0 %";
    drawing.wrapped((2.0, top - 8.0), (WIDTH - 8.0, 15.0), Weight::Soft, words);
    Some(drawing)
}

fn column(
    drawing: &mut Drawing,
    (x, width): (f64, f64),
    parts: &[(&'static str, f64)],
    at: &dyn Fn(f64) -> f64,
) {
    let mut from = 0.0;
    for (n, (ion, meq)) in parts.iter().enumerate() {
        let (low, high) = (at(from), at(from + meq));
        let class = if n % 2 == 0 { "part-2" } else { "part" };
        drawing.rectangle(class, (x, high), (width, low - high));
        if low - high >= NAMED && em(ion, false) * SMALL <= width - 2.0 {
            let middle = f64::midpoint(low, high) + 4.0;
            drawing.text((x + width / 2.0, middle), SMALL, Weight::Plain, Anchor::Middle, ion);
        }
        from += meq;
    }
}
