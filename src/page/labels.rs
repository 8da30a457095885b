//! Labels, as many to a sheet as it holds; text is made smaller and wrapped until all of it fits.

use maud::{Markup, html};

use crate::page::label_sheet::LabelSheet;
use crate::page::shell;
use crate::svg::drawing::count;
use crate::svg::text_width::{em, wrapped};

/// A label.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// What is read from afar: a name or a code.
    pub name: String,
    /// What else is on it, each line as it is broken at will.
    pub lines: Vec<String>,
}

/// Text as it fits: sizes in points, lines that are not broken any more.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// Size of the name, pt.
    pub name_pt: f64,
    /// Size of the rest, pt.
    pub line_pt: f64,
    /// Lines of the name.
    pub name: Vec<String>,
    /// Lines of the rest.
    pub lines: Vec<String>,
}

/// Millimetres of a point: 1/72 inch (CSS Values and Units 3, 5.2).
const MM_PER_PT: f64 = 25.4 / 72.0;

/// Height of a line in units of its font size. Our choice.
const LINE: f64 = 1.18;

/// White around the text, mm: printers miss by a millimetre or two. Our choice.
const MARGIN: f64 = 2.5;

/// The largest sizes, pt, and the step by which both are made smaller; smaller than the last is said.
/// Our choice.
const LARGEST_NAME: f64 = 30.0;
const LARGEST_LINE: f64 = 11.0;
const SMALLER: f64 = 0.96;
const SMALLEST_READ: f64 = 5.0;

impl Label {
    /// The largest text that fits into a label of a width and height in millimetres.
    #[must_use]
    pub fn fitted(&self, (width, height): (f64, f64)) -> Fitted {
        let (wide, high) = ((width - 2.0 * MARGIN).max(1.0), (height - 2.0 * MARGIN).max(1.0));
        let mut scale = 1.0;
        loop {
            // A name without anything below it may be as large as the label allows.
            let name_pt =
                scale * if self.lines.is_empty() { 2.0 * LARGEST_NAME } else { LARGEST_NAME };
            let name_pt = name_pt.max(scale.sqrt() * LARGEST_LINE).min(name_pt);
            let line_pt = (scale.sqrt() * LARGEST_LINE).min(name_pt);
            let width_of = |pt: f64| wide / (pt * MM_PER_PT);
            let name = wrapped(&self.name, true, width_of(name_pt));
            let lines: Vec<String> =
                self.lines.iter().flat_map(|l| wrapped(l, false, width_of(line_pt))).collect();
            let used =
                LINE * MM_PER_PT * (count(name.len()) * name_pt + count(lines.len()) * line_pt);
            // Wrapping breaks even a single letter's line: it fits once every line does.
            let fits = |list: &[String], bold, pt: f64| {
                list.iter().all(|l| em(l, bold) <= width_of(pt) + 1e-9)
            };
            let whole_words = name.len() <= self.name.split_whitespace().count();
            if used <= high
                && whole_words
                && fits(&name, true, name_pt)
                && fits(&lines, false, line_pt)
            {
                return Fitted { name_pt, line_pt, name, lines };
            }
            scale *= SMALLER;
        }
    }
}

/// The sheets: a cover to check the printer with, then the labels from place `start`, counted from 1.
#[must_use]
pub fn page(title: &str, sheet: &LabelSheet, labels: &[Label], start: usize) -> String {
    let skipped = start.saturating_sub(1);
    let fitted: Vec<Fitted> = labels.iter().map(|label| label.fitted(sheet.label)).collect();
    let smallest = fitted.iter().map(|f| f.line_pt.min(f.name_pt)).fold(f64::INFINITY, f64::min);
    let places: Vec<(usize, &Fitted)> = (skipped..).zip(&fitted).collect();
    let sheets = (skipped + labels.len()).div_ceil(sheet.per_sheet().max(1));
    let (paper_width, paper_height) = sheet.paper;
    let rules = format!(
        "@page{{size:{paper_width}mm {paper_height}mm;margin:0}}\
         .paper{{position:relative;width:{paper_width}mm;height:{paper_height}mm;overflow:hidden;\
         background:#fff;color:#000;break-after:page;margin:0 auto}}\
         .paper:last-child{{break-after:auto}}\
         .label{{position:absolute;left:0;top:0;padding:{MARGIN}mm;overflow:hidden;line-height:{LINE};\
         width:{}mm;height:{}mm}}\
         .label b,.label span{{display:block;white-space:nowrap}}\
         .cover{{padding:14mm 16mm}}.cover .rule{{border-color:#000}}\
         main{{max-width:none;padding:0}}\
         @media screen{{.paper{{box-shadow:0 0 0 1px var(--edge);margin:1rem auto}}\
         .label{{outline:1px dotted #7c8897}}.sheets{{overflow-x:auto}}}}",
        sheet.label.0, sheet.label.1
    );
    let body = html! {
        (cover(title, sheet, labels.len(), sheets, start, smallest))
        @for n in 0..sheets {
            section.paper aria-label=(format!("sheet {}", n + 1)) {
                @for (place, text) in places.iter().filter(|(p, _)| p / sheet.per_sheet().max(1) == n) {
                    (one(sheet, place % sheet.per_sheet().max(1), text))
                }
            }
        }
    };
    shell::framed(
        title,
        &rules,
        &html! { div.sheets tabindex="0" role="region" aria-label="sheets of labels" { (body) } },
    )
}

/// One label. It is moved into its place, since a place as such would be rounded to whole pixels of a
/// screen, of which one is a quarter of a millimetre.
fn one(sheet: &LabelSheet, place: usize, text: &Fitted) -> Markup {
    let (left, top) = sheet.corner(place);
    html! {
        div.label style=(format!("transform:translate({left}mm,{top}mm)")) {
            @for line in &text.name { b style=(format!("font-size:{:.2}pt", text.name_pt)) { (line) } }
            @for line in &text.lines { span style=(format!("font-size:{:.2}pt", text.line_pt)) { (line) } }
        }
    }
}

fn cover(
    title: &str,
    sheet: &LabelSheet,
    count: usize,
    sheets: usize,
    start: usize,
    smallest: f64,
) -> Markup {
    html! {
        section.paper.cover aria-label="check the printer" {
            h1 { (title) }
            p { "Print this page on plain paper first, at 100 % and without \"fit to page\". This rule is 100 mm long:" }
            div.rule role="img" aria-label="rule of 100 mm" {}
            p {
                "Then put " (sheets) " sheet" @if sheets != 1 { "s" } " of " (sheet.columns) " × " (sheet.rows)
                " labels into the printer and print from page 2 on: " (count) " label" @if count != 1 { "s" }
                ", from place " (start) " on."
            }
            @if smallest < SMALLEST_READ {
                p { strong { "Some text is smaller than 5 pt. Take larger labels, or write less." } }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_letter_of_any_label_is_lost_and_none_lies_outside() {
        let long =
            "sulfate side of a very long name that somebody gave Donaudampfschifffahrtswasser";
        let lines: Vec<String> =
            (0..9).map(|n| format!("{n}: 1 mL holds Mg 4.016, SO4 15.87 mg")).collect();
        for name in ["317", "epsom", long] {
            for lines in [&[][..], &lines] {
                let label = Label { name: name.to_owned(), lines: lines.to_vec() };
                for size in [(20.0, 8.0), (38.1, 21.2), (63.5, 38.1), (99.1, 67.7)] {
                    let Fitted { name_pt, line_pt, name, lines } = label.fitted(size);
                    let wide = size.0 - 2.0 * MARGIN + 1e-6;
                    let mm = |l: &str, bold, pt: f64| em(l, bold) * pt * MM_PER_PT;
                    assert!(name.iter().all(|l| mm(l, true, name_pt) <= wide), "{name:?}");
                    assert!(lines.iter().all(|l| mm(l, false, line_pt) <= wide), "{lines:?}");
                    let letters = |t: &str| t.split_whitespace().collect::<String>();
                    assert_eq!(letters(&name.concat()), letters(&label.name));
                    assert_eq!(letters(&lines.concat()), letters(&label.lines.concat()));
                }
            }
        }
    }
}
