//! Sheets of labels: how large they are and where they stand.

use crate::svg::drawing::count;

/// A sheet of labels, all lengths in millimetres.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelSheet {
    /// Its name: columns times rows, or what the bench calls it.
    pub name: String,
    /// Width and height of the paper.
    pub paper: (f64, f64),
    /// Labels across.
    pub columns: usize,
    /// Labels down.
    pub rows: usize,
    /// Width and height of a label.
    pub label: (f64, f64),
    /// Where the first one begins, from the left and from above.
    pub first: (f64, f64),
    /// From the edge of a label to the same edge of the next, across and down.
    pub pitch: (f64, f64),
}

/// A4 (ISO 216).
pub const A4: (f64, f64) = (210.0, 297.0);

/// Letter (ANSI/ASME Y14.1): 8.5 × 11 inches.
pub const LETTER: (f64, f64) = (215.9, 279.4);

/// Sizes that are sold everywhere, as columns × rows: paper, label, first label, pitch. Common practice.
const COMMON: [(&str, (f64, f64), [f64; 6]); 6] = [
    ("2x4", A4, [99.1, 67.7, 4.65, 13.1, 101.6, 67.7]),
    ("2x7", A4, [99.1, 38.1, 4.65, 15.15, 101.6, 38.1]),
    ("3x7", A4, [63.5, 38.1, 7.25, 15.15, 66.0, 38.1]),
    ("3x8", A4, [70.0, 36.0, 0.0, 4.5, 70.0, 36.0]),
    ("4x10", A4, [48.5, 25.4, 8.0, 21.5, 48.5, 25.4]),
    ("3x10", LETTER, [66.675, 25.4, 4.7625, 12.7, 69.85, 25.4]),
];

/// Most columns and rows. Our choice: what is smaller cannot be read.
const MOST: (usize, usize) = (10, 40);

impl LabelSheet {
    /// A sheet by its columns and rows, as in `3x7`: a common size, or A4 divided evenly. Nothing for
    /// other words.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        let (columns, rows) = name.trim().split_once(['x', '×'])?;
        let number =
            |text: &str, most: usize| text.parse::<usize>().ok().filter(|n| (1..=most).contains(n));
        let (columns, rows) = (number(columns, MOST.0)?, number(rows, MOST.1)?);
        let name = format!("{columns}x{rows}");
        let common = COMMON.iter().find(|(n, ..)| *n == name);
        let (paper, [width, height, left, top, across, down]) = common.map_or_else(
            || {
                let (width, height) = (A4.0 / count(columns), A4.1 / count(rows));
                (A4, [width, height, 0.0, 0.0, width, height])
            },
            |(_, paper, sizes)| (*paper, *sizes),
        );
        let (label, first, pitch) = ((width, height), (left, top), (across, down));
        Some(Self { name, paper, columns, rows, label, first, pitch })
    }

    /// Labels on one sheet.
    #[must_use]
    pub fn per_sheet(&self) -> usize {
        self.columns * self.rows
    }

    /// Left upper corner of the label at a place, counted from 0 along the rows.
    #[must_use]
    pub fn corner(&self, place: usize) -> (f64, f64) {
        let columns = self.columns.max(1);
        let (column, row) = (place % columns, place / columns);
        (self.first.0 + count(column) * self.pitch.0, self.first.1 + count(row) * self.pitch.1)
    }

    /// Whether all labels lie on the paper and none over another.
    #[must_use]
    pub fn is_sound(&self) -> bool {
        let (right, bottom) = self.corner(self.per_sheet().saturating_sub(1));
        let rounding = 0.01;
        let apart = (self.columns == 1 || self.pitch.0 >= self.label.0 - rounding)
            && (self.rows == 1 || self.pitch.1 >= self.label.1 - rounding);
        self.per_sheet() > 0
            && self.label.0 > 0.0
            && self.label.1 > 0.0
            && self.first.0 >= 0.0
            && self.first.1 >= 0.0
            && apart
            && right + self.label.0 <= self.paper.0 + rounding
            && bottom + self.label.1 <= self.paper.1 + rounding
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_named_sheet_fits_its_paper() {
        let names = COMMON.iter().map(|(name, ..)| *name).chain(["1x1", "5x13", "10x40"]);
        for name in names {
            let sheet = LabelSheet::named(name);
            assert!(sheet.as_ref().is_some_and(LabelSheet::is_sound), "{sheet:?}");
        }
        for none in ["", "3", "0x7", "3x", "x7", "99x99", "three by seven"] {
            assert_eq!(LabelSheet::named(none), None, "{none}");
        }
    }
}
