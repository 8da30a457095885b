//! A chart of values with intervals, drawn in characters.

use crate::text::chart::Chart;
use crate::text::table::{columns, letters, wrapped};

/// Our choice: longer names are cut, so that the drawing keeps its room.
const LONGEST_LABEL: usize = 26;

/// Our choice: fewer cells than this draw nothing worth seeing.
const FEWEST_CELLS: usize = 20;

fn cut(text: &str, most: usize) -> String {
    if letters(text) <= most {
        return text.to_owned();
    }
    let kept: String = text.chars().take(most.saturating_sub(1)).collect();
    format!("{}…", kept.trim_end())
}

/// The chart: names, numbers, and an interval `├──●──┤` for each row over one axis.
pub(crate) fn text(chart: &Chart) -> String {
    let labels = || chart.rows.iter().map(|row| row.label.as_str()).chain([chart.heads.0]);
    let words = || chart.rows.iter().map(|row| row.words.as_str()).chain([chart.heads.1.as_str()]);
    let label_wide = labels().map(letters).max().unwrap_or(0).min(LONGEST_LABEL);
    let words_wide = words().map(letters).max().unwrap_or(0);
    let before = 2 + label_wide + 2 + words_wide + 2;
    let cells = columns().saturating_sub(1 + before);
    if cells < FEWEST_CELLS {
        return without_a_drawing(chart);
    }
    let cell = |value: f64| place(value, chart.ends, cells);
    let mut out = line(&cut(chart.heads.0, label_wide), label_wide, &chart.heads.1, words_wide);
    out.push_str(&axis(chart, cells));
    let mut text = out.trim_end().to_owned() + "\n";
    for row in &chart.rows {
        let (low, value, high) = (cell(row.at.0), cell(row.at.1), cell(row.at.2));
        let mark = chart.mark.map(cell);
        let drawn: String = (0..cells)
            .map(|at| match at {
                _ if at == value => '●',
                _ if at == low => '├',
                _ if at == high => '┤',
                _ if at > low && at < high => '─',
                _ if Some(at) == mark => '┊',
                _ => ' ',
            })
            .collect();
        let start = line(&cut(&row.label, label_wide), label_wide, &row.words, words_wide);
        text.push_str((start + &drawn).trim_end());
        text.push('\n');
    }
    text
}

/// The same where there is no room to draw: one row a line, the words behind the name.
fn without_a_drawing(chart: &Chart) -> String {
    let mut text = wrapped(&format!("  {}: {}", chart.heads.0, chart.heads.1), 4);
    for row in &chart.rows {
        text.push_str(&wrapped(&format!("  {}: {}", row.label, row.words), 4));
    }
    text
}

fn line(label: &str, label_wide: usize, words: &str, words_wide: usize) -> String {
    format!("  {label:<label_wide$}  {words:<words_wide$}  ")
}

/// The cell of a value.
fn place(value: f64, (low, high): (f64, f64), cells: usize) -> usize {
    let share = ((value - low) / (high - low)).clamp(0.0, 1.0);
    // The nearest of so few cells is found by looking at each: no number is cut.
    let far = |at: &usize| {
        let own = share_of(*at, cells);
        (own - share).abs()
    };
    (0..cells).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
}

fn share_of(at: usize, cells: usize) -> f64 {
    let (at, last) = (u32::try_from(at), u32::try_from(cells.saturating_sub(1)));
    match (at, last) {
        (Ok(at), Ok(last)) if last > 0 => f64::from(at) / f64::from(last),
        _ => 0.0,
    }
}

/// The numbers of the axis, each centred over its place as far as there is room.
fn axis(chart: &Chart, cells: usize) -> String {
    let mut out: Vec<char> = vec![' '; cells];
    let mut free = 0;
    for (at, words) in &chart.ticks {
        let wide = letters(words);
        let centred = place(*at, chart.ends, cells).saturating_sub(wide / 2);
        let start = centred.min(cells.saturating_sub(wide));
        if start < free {
            continue;
        }
        for (cell, letter) in out.iter_mut().skip(start).zip(words.chars()) {
            *cell = letter;
        }
        free = start + wide + 1;
    }
    out.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::chart::ChartRow;

    #[test]
    fn rows_stand_on_one_axis_within_the_width() -> Result<(), &'static str> {
        let row = |label: &str, at: (f64, f64, f64)| ChartRow {
            label: label.to_owned(),
            words: "6.77 (6.13 to 7.40)".to_owned(),
            at,
        };
        let rows = vec![
            row("hard", (6.0, 7.0, 8.0)),
            row("a name far too long for any label of a glass", (2.0, 4.0, 6.0)),
        ];
        let chart =
            Chart::new(("water", "mean".to_owned()), rows, Some(5.0), &[]).ok_or("no chart")?;
        let drawn = text(&chart);
        assert!(drawn.lines().all(|line| line.chars().count() < columns()), "{drawn}");
        let [head, first, second] = drawn.lines().collect::<Vec<_>>()[..] else {
            return Err("three lines");
        };
        let column = |line: &str, what: char| line.chars().position(|c| c == what);
        // One row ends where the other begins, and the axis says where that is.
        assert_eq!(column(first, '├'), column(second, '┤'));
        assert_eq!(column(first, '├'), column(head, '6'));
        assert!(column(first, '┊') < column(first, '├'));
        assert!(second.contains("a name far too long for a…"), "{second}");
        Ok(())
    }
}
