//! Values with their intervals, one below the other, and brackets around what is not told apart.

use crate::svg::drawing::{SMALL, TEXT, WIDTH, count, text_box};
use crate::svg::text_width::{em, wrapped};
use crate::svg::{Anchor, Drawing, Weight};
use crate::text::chart::Chart;

/// Room of one bracket. Our choice.
const BRACKET: f64 = 12.0;

/// Draws the rows of a chart under its own heads.
#[must_use]
pub fn draw(id: &str, chart: &Chart) -> Drawing {
    let (of, what) = &chart.heads;
    titled(id, &format!("{of}: {what}"), chart, &[])
}

/// The same under a title; `brackets` are runs of rows, first and last, that belong together.
#[must_use]
pub fn titled(id: &str, title: &str, chart: &Chart, brackets: &[(usize, usize)]) -> Drawing {
    let words: Vec<String> =
        chart.rows.iter().map(|row| format!("{}: {}", row.label, row.words.trim())).collect();
    let mut drawing = Drawing::new(id, title, words.join("; "));
    let right = WIDTH - 10.0 - BRACKET * count(brackets.len());
    let left = 10.0;
    let (low, high) = chart.ends;
    let at = |value: f64| left + (value - low) / (high - low) * (right - left);
    let mut y = 12.0;
    let top = y + 4.0;
    let mut lines = Vec::new();
    for row in &chart.rows {
        y += 6.0;
        let words = row.words.split_whitespace().collect::<Vec<_>>().join(" ");
        let beside = em(&row.label, true) * TEXT + em(&words, false) * SMALL + 12.0 <= right - left;
        let label = wrapped(&row.label, true, (right - left) / TEXT);
        let last = label.len().saturating_sub(1);
        let start = y;
        for (n, line) in label.iter().enumerate() {
            drawing.text((left, y + 8.0), TEXT, Weight::Bold, Anchor::Start, line);
            if n == last && beside {
                drawing.text((right, y + 8.0), SMALL, Weight::Plain, Anchor::End, &words);
            }
            y += 17.0;
        }
        if !beside {
            let at = (left, y + 6.0);
            y = drawing.wrapped(at, (right - left, 15.0), Weight::Plain, &words) - 6.0;
        }
        lines.push((start, y + 4.0, row.at));
        y += 12.0;
    }
    let bottom = y + 2.0;
    // What guides the eye comes first, so that it lies under the rest: it is short of the words.
    for (value, words) in &chart.ticks {
        let x = at(*value);
        for (_, middle, _) in &lines {
            drawing.line("guide", (x, middle - 4.0), (x, middle + 4.0));
        }
        drawing.line("axis", (x, bottom), (x, bottom + 4.0));
        let half = em(words, false) * SMALL / 2.0;
        let x = x.clamp(half, WIDTH - half);
        let below = (x, bottom + 17.0);
        if drawing.is_free(&text_box(below, SMALL, Weight::Soft, Anchor::Middle, words)) {
            drawing.text(below, SMALL, Weight::Soft, Anchor::Middle, words);
        }
    }
    drawing.line("axis", (left, bottom), (right, bottom));
    if let Some(mark) = chart.mark {
        drawing.line("l2", (at(mark), top), (at(mark), bottom));
    }
    for (_, middle, (from, value, to)) in &lines {
        drawing.line("l1", (at(*from), *middle), (at(*to), *middle));
        for end in [from, to] {
            drawing.line("l1", (at(*end), middle - 4.0), (at(*end), middle + 4.0));
        }
        drawing.circle("m1", (at(*value), *middle), 4.5);
    }
    for (n, (first, last)) in (0_u32..).zip(brackets) {
        let (Some((from, _, _)), Some((_, to, _))) = (lines.get(*first), lines.get(*last)) else {
            continue;
        };
        let x = right + 6.0 + BRACKET * f64::from(n);
        let ends = [(x, *from), (x + 6.0, *from), (x + 6.0, *to), (x, *to)];
        drawing.path("bracket", &ends, false);
    }
    drawing.reach_down_to(bottom + 22.0);
    drawing
}
