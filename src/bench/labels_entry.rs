//! Sheets of labels as `bench.ron` describes them.

use serde::Deserialize;

use crate::bench::place;
use crate::files::{Diagnostic, SourceText, Written};
use crate::page::label_sheet::{A4, LETTER, LabelSheet};
use crate::quantities::spelling::leading_number;

/// A sheet as written. Lengths are in millimetres.
#[derive(Debug, Deserialize)]
#[serde(rename = "Labels", deny_unknown_fields)]
pub(super) struct LabelsEntry {
    pub(super) name: Written,
    #[serde(default)]
    paper: PaperEntry,
    columns: Written,
    rows: Written,
    width: Written,
    height: Written,
    left: Written,
    top: Written,
    across: Option<Written>,
    down: Option<Written>,
}

/// Paper, as written.
#[derive(Debug, Clone, Copy, Default, Deserialize)]
enum PaperEntry {
    #[default]
    A4,
    Letter,
}

impl LabelsEntry {
    pub(super) fn meant(&self, source: &SourceText) -> Result<LabelSheet, Diagnostic> {
        let label = (mm(source, &self.width)?, mm(source, &self.height)?);
        let pitch = |leaf: &Option<Written>, usual| {
            leaf.as_ref().map_or(Ok(usual), |leaf| mm(source, leaf))
        };
        let sheet = LabelSheet {
            name: place::name(source, &self.name)?,
            paper: match self.paper {
                PaperEntry::A4 => A4,
                PaperEntry::Letter => LETTER,
            },
            columns: count(source, &self.columns)?,
            rows: count(source, &self.rows)?,
            label,
            first: (mm(source, &self.left)?, mm(source, &self.top)?),
            pitch: (pitch(&self.across, label.0)?, pitch(&self.down, label.1)?),
        };
        if sheet.is_sound() {
            return Ok(sheet);
        }
        Err(place::at(source, &self.name, "these labels lie over each other or beyond the paper")
            .expected(format!(
                "columns and rows that fit {} mm by {} mm",
                sheet.paper.0, sheet.paper.1
            ))
            .remedy(
                "`left` and `top` are where the first label begins, `across` and `down` lead from the \
                 edge of one label to the same edge of the next",
            ))
    }
}

/// A length: `63.5 mm`.
fn mm(source: &SourceText, leaf: &Written) -> Result<f64, Diagnostic> {
    let found = leading_number(leaf.text().trim()).ok();
    let length = found.filter(|(mm, unit)| *unit == "mm" && (0.0..=1000.0).contains(mm));
    length.map(|(mm, _)| mm).ok_or_else(|| {
        place::wrong(source, leaf, "this is no length of a sheet of labels")
            .expected("millimetres, as in \"63.5 mm\"")
    })
}

/// A number of labels.
fn count(source: &SourceText, leaf: &Written) -> Result<usize, Diagnostic> {
    leaf.text().parse::<usize>().ok().filter(|n| (1..=40).contains(n)).ok_or_else(|| {
        place::wrong(source, leaf, "this is no number of labels")
            .expected("a whole number from 1 to 40")
    })
}
