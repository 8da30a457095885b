//! Sheets of labels as they come out of a printer: the printed document is drawn as a picture by another
//! program (`gs` of Debian's package ghostscript), and places are measured there.

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::{Value, json};
use waterflight::page::label_sheet::LabelSheet;

use crate::common::pages::run;
use crate::common::starter_bench;
use crate::common::webdriver::{chromium, decoded, is_required, say};

type Fallible = Result<(), Box<dyn Error>>;

/// Dots in a millimetre: 508 to the inch.
const DOTS_PER_MM: f64 = 20.0;

/// A page as grey dots.
struct Dots {
    width: usize,
    grey: Vec<u8>,
}

impl Dots {
    /// Whether the dot at a place in millimetres is dark; off the paper nothing is.
    fn is_dark(&self, (x, y): (f64, f64)) -> bool {
        let dot = |mm: f64| format!("{:.0}", (mm * DOTS_PER_MM).floor()).parse::<usize>().ok();
        let found = dot(x).zip(dot(y)).filter(|(x, _)| *x < self.width);
        let place = found.and_then(|(x, y)| self.grey.get(y * self.width + x));
        place.is_some_and(|grey| *grey < 128)
    }

    /// The longest dark line across, mm.
    fn longest_line(&self) -> f64 {
        let rows = self.grey.chunks(self.width);
        let runs = rows.flat_map(|row| row.chunk_by(|a, b| (*a < 128) == (*b < 128)));
        let dark = runs.filter(|run| run.first().is_some_and(|grey| *grey < 128));
        let longest = dark.map(<[u8]>::len).max().unwrap_or(0);
        f64::from(u32::try_from(longest).unwrap_or(0)) / DOTS_PER_MM
    }
}

/// One page of a printed document; nothing where `gs` is not installed.
fn drawn(pdf: &Path, page: usize) -> Result<Option<Dots>, Box<dyn Error>> {
    let picture = pdf.with_extension(format!("{page}.pgm"));
    let mut command = Command::new("gs");
    command.args(["-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pgmraw", "-r508"]);
    command.args([format!("-dFirstPage={page}"), format!("-dLastPage={page}")]);
    command.arg(format!("-sOutputFile={}", picture.display())).arg(pdf);
    let Ok(status) = command.status() else {
        assert!(!is_required(), "gs of the package ghostscript is not installed");
        say("gs is not installed: places on printed sheets are not measured");
        return Ok(None);
    };
    assert!(status.success(), "gs: {status}");
    let bytes = fs::read(&picture)?;
    // P5, a comment, width and height, the whitest grey; then the dots.
    let mut lines = bytes.splitn(5, |byte| *byte == b'\n');
    let head: Vec<&[u8]> = lines.by_ref().take(4).collect();
    let [magic, _, size, _] = head.as_slice() else { return Err("no picture".into()) };
    assert_eq!(*magic, b"P5");
    let size = std::str::from_utf8(size)?;
    let width = size.split(' ').next().ok_or("no width")?.parse()?;
    let grey = lines.next().ok_or("no dots")?.to_vec();
    Ok(Some(Dots { width, grey }))
}

/// Each label is blackened, so that its edges can be seen; each edge is within a tenth of a millimetre of
/// where it belongs. The rule on the cover is as long as it says.
#[test]
fn printed_labels_stand_where_they_belong() -> Fallible {
    let Some(browser) = chromium("the places on printed sheets")? else { return Ok(()) };
    let (folder, bench) = starter_bench()?;
    for (name, start) in [("3x7", 20), ("4x10", 3), ("3x10", 1)] {
        let page = folder.path().join(format!("{name}.html"));
        let target = page.to_str().ok_or("a path that is no text")?;
        let start_text = start.to_string();
        run(&bench, &["mix", "--labels", name, "--start", &start_text, "--print", target])?;
        browser.open(&page)?;
        browser.script(
            "const s = document.createElement('style'); s.textContent = '.label{background:#000!important}'; document.head.append(s);",
            &[],
        )?;
        let how = json!({"preferCSSPageSize": true, "printBackground": true});
        let printed = browser.own("Page.printToPDF", &how)?;
        let pdf = page.with_extension("pdf");
        fs::write(&pdf, decoded(printed.get("data").and_then(Value::as_str).unwrap_or_default()))?;
        let Some(cover) = drawn(&pdf, 1)? else { return Ok(()) };
        let rule = cover.longest_line();
        assert!((rule - 100.0).abs() <= 0.1, "the rule of {name} is {rule} mm long");
        let sheet = LabelSheet::named(name).ok_or("no sheet")?;
        let places: Vec<usize> = (start - 1..start - 1 + 8).collect();
        let sheets = places.last().map_or(0, |last| last / sheet.per_sheet() + 1);
        for n in 0..sheets {
            let dots = drawn(&pdf, n + 2)?.ok_or("gs is gone")?;
            let own: Vec<(f64, f64)> = places
                .iter()
                .filter(|place| **place / sheet.per_sheet() == n)
                .map(|place| sheet.corner(place % sheet.per_sheet()))
                .collect();
            let (width, height) = sheet.label;
            let is_label = |(x, y): (f64, f64)| {
                let within = |(left, top): &&(f64, f64)| {
                    (*left..=left + width).contains(&x) && (*top..=top + height).contains(&y)
                };
                own.iter().any(|corner| within(&corner))
            };
            let mut edges = 0;
            for (left, top) in &own {
                let (middle, half) = (left + width / 2.0, top + height / 2.0);
                let sides = [(-1.0, 0.0, *left, half), (1.0, 0.0, left + width, half)]
                    .into_iter()
                    .chain([(0.0, -1.0, middle, *top), (0.0, 1.0, middle, top + height)]);
                for (dx, dy, x, y) in sides {
                    let inside = (x - 0.1 * dx, y - 0.1 * dy);
                    let outside = (x + 0.1 * dx, y + 0.1 * dy);
                    assert!(dots.is_dark(inside), "{name}: no label at {inside:?} of sheet {n}");
                    if !is_label(outside) {
                        assert!(
                            !dots.is_dark(outside),
                            "{name}: a label at {outside:?}, sheet {n}"
                        );
                        edges += 1;
                    }
                }
            }
            assert!(edges > 0, "no edge of {name} was looked at");
        }
    }
    Ok(())
}
