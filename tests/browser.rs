//! Pages as a browser shows and prints them. Without a browser they are left out, with a line that says
//! so; `WATERFLIGHT_BROWSER=required` makes that a failure, `none` leaves them out where there is one. `WATERFLIGHT_AXE` is the file `axe.min.js` of
//! axe-core, which is not part of this repository.

use std::env;
use std::error::Error;
use std::fs;

use serde_json::{Value, json};
use waterflight::page::label_sheet::LabelSheet;

use crate::common::pages::{Written, all, crowded_bench, run, tasted_bench};
use crate::common::webdriver::{Browser, chromium, decoded, is_required, say};

type Fallible = Result<(), Box<dyn Error>>;

/// A telephone, a tablet, a desk.
pub(crate) const WIDTHS: [u32; 3] = [390, 800, 1280];

/// A4 and Letter, inches.
const PAPERS: [(&str, f64, f64); 2] = [("A4", 8.267_717, 11.692_913), ("Letter", 8.5, 11.0)];

/// What sticks out, is cut off, or lies over something else.
pub(crate) const LOOK: &str = r"
const found = [], name = e => e.tagName + '.' + e.className + ' ' + e.textContent.trim().slice(0, 40);
const wide = document.documentElement.scrollWidth;
if (wide > window.innerWidth + 1) found.push('the page is ' + wide + ' wide in ' + window.innerWidth);
for (const e of document.querySelectorAll('main *')) {
  if (e.closest('.scroll, .sheets, svg, .ruled') || !e.getClientRects().length) continue;
  const box = e.getBoundingClientRect();
  if (box.right > window.innerWidth + 1 || box.left < -1) found.push(name(e) + ' sticks out');
}
for (const e of document.querySelectorAll('.label')) {
  if (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1) found.push(name(e) + ' is cut off');
  const a = e.getBoundingClientRect(), mm = 96 / 25.4;
  for (const line of e.children) {
    const range = document.createRange();
    range.selectNodeContents(line);
    const b = range.getBoundingClientRect();
    // The text itself keeps away from the edge of the label: printers miss by a millimetre or two.
    if (b.left < a.left + 2 * mm || b.right > a.right - 2 * mm || b.bottom > a.bottom - mm) found.push(name(line) + ' is too near the edge');
  }
}
for (const svg of document.querySelectorAll('svg')) {
  const edge = svg.getBoundingClientRect();
  const texts = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
  texts.forEach(([a, p], n) => {
    if (p.left < edge.left - 1 || p.right > edge.right + 1 || p.top < edge.top - 1 || p.bottom > edge.bottom + 1)
      found.push('`' + a + '` leaves its picture');
    for (const [b, q] of texts.slice(n + 1))
      if (p.left + 1 < q.right && q.left + 1 < p.right && p.top + 1 < q.bottom && q.top + 1 < p.bottom)
        found.push('`' + a + '` lies over `' + b + '`');
  });
}
return found;";

/// Places of labels on their paper, mm.
const LABELS: &str = "
return [...document.querySelectorAll('.label')].map(e => {
  const a = e.getBoundingClientRect(), b = e.parentElement.getBoundingClientRect();
  return [a.left - b.left, a.top - b.top, a.width, a.height].map(px => px * 25.4 / 96);
});";

const AXE: &str = "
const done = arguments[arguments.length - 1];
axe.run(document).then(
  found => done(found.violations.map(v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.html.slice(0, 80)).join('; '))),
  error => done(['axe failed: ' + error]));";

#[test]
fn pages_can_be_read_and_printed_everywhere() -> Fallible {
    let Some(browser) = chromium("the checks of pages in a browser")? else { return Ok(()) };
    let axe = if let Ok(path) = env::var("WATERFLIGHT_AXE") {
        Some(fs::read_to_string(path)?)
    } else {
        assert!(!is_required(), "WATERFLIGHT_AXE names no axe.min.js");
        say("WATERFLIGHT_AXE is not set: the checks with axe-core are left out");
        None
    };
    let (folder, bench) = tasted_bench()?;
    let mut wrong = Vec::new();
    for page in all(&bench, folder.path())? {
        browser.open(&page.path)?;
        wrong.extend(seen(&browser, &page)?);
        if let Some(axe) = &axe {
            wrong.extend(accessible(&browser, &page, axe)?);
        }
        wrong.extend(printed(&browser, &page)?);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

/// Sheets of a flight of one water and of 24 with long names; pictures too.
#[test]
fn pages_of_one_water_and_of_many_with_long_names_fit() -> Fallible {
    let Some(browser) = chromium("the checks of crowded pages")? else { return Ok(()) };
    let mut wrong = Vec::new();
    for waters in [1, 24] {
        let (folder, bench) = crowded_bench(waters)?;
        for (name, how) in [
            ("pour.html", vec![]),
            ("wide.html", vec!["--labels", "2x4"]),
            ("usual.html", vec!["--labels", "3x7"]),
            ("small.html", vec!["--labels", "4x10"]),
            ("tiny.html", vec!["--labels", "5x13"]),
        ] {
            let path = folder.path().join(name);
            let target = path.to_str().ok_or("a path that is no text")?;
            let command: Vec<&str> =
                ["mix"].into_iter().chain(how).chain(["--print", target]).collect();
            run(&bench, &command)?;
            let text = fs::read_to_string(&path)?;
            let labels = text.matches("class=\"label\"").count();
            assert!(name == "pour.html" || labels == waters, "{name}: {labels} labels");
            let page = Written { name, path, command: Vec::new(), whole: Vec::new(), sheets: None };
            browser.open(&page.path)?;
            wrong.extend(seen(&browser, &page)?);
            wrong.extend(printed(&browser, &page)?);
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    Ok(())
}

fn strings(page: &Written, how: &str, found: &Value) -> Vec<String> {
    let list = found.as_array().cloned().unwrap_or_default();
    list.iter().map(|what| format!("{} {how}: {what}", page.name)).collect()
}

fn seen(browser: &Browser, page: &Written) -> Result<Vec<String>, Box<dyn Error>> {
    let mut wrong = Vec::new();
    for width in WIDTHS {
        browser.wide(width)?;
        wrong.extend(strings(page, &format!("at {width} px"), &browser.script(LOOK, &[])?));
    }
    Ok(wrong)
}

fn accessible(browser: &Browser, page: &Written, axe: &str) -> Result<Vec<String>, Box<dyn Error>> {
    let inject = "const s = document.createElement('script'); s.textContent = arguments[0]; document.head.append(s);";
    browser.script(inject, &[json!(axe)])?;
    let mut wrong = Vec::new();
    for scheme in ["light", "dark"] {
        browser.scheme(scheme)?;
        wrong.extend(strings(page, &format!("axe, {scheme}"), &browser.later(AXE)?));
    }
    browser.own("Emulation.setEmulatedMedia", &json!({"features": []}))?;
    Ok(wrong)
}

fn printed(browser: &Browser, page: &Written) -> Result<Vec<String>, Box<dyn Error>> {
    let mut wrong = Vec::new();
    browser.own("Emulation.setEmulatedMedia", &json!({"media": "print"}))?;
    for (paper, width, height) in PAPERS {
        // What is between the margins of 14 mm, in CSS pixels.
        let between = (width * 25.4 - 28.0) / 25.4 * 96.0;
        browser.own(
            "Emulation.setDeviceMetricsOverride",
            &json!({"width": between.floor(), "height": 900, "deviceScaleFactor": 1, "mobile": false}),
        )?;
        let is_label_sheet = fs::read_to_string(&page.path)?.contains("class=\"paper\"");
        if !is_label_sheet {
            wrong.extend(strings(page, paper, &browser.script(LOOK, &[])?));
        }
        let how = json!({"paperWidth": width, "paperHeight": height, "preferCSSPageSize": true, "printBackground": true});
        let pdf = browser.own("Page.printToPDF", &how)?;
        let pages = pages_of(&decoded(pdf.get("data").and_then(Value::as_str).unwrap_or_default()));
        if pages == 0 || page.sheets.is_some_and(|sheets| sheets != pages) {
            wrong.push(format!("{} on {paper}: {pages} pages, not {:?}", page.name, page.sheets));
        }
    }
    if let Some((sheet, first)) = label_sheet(page) {
        browser.wide(1280)?;
        let found = browser.script(LABELS, &[])?;
        for (n, label) in found.as_array().into_iter().flatten().enumerate() {
            let (left, top) = sheet.corner((first + n) % sheet.per_sheet());
            let wanted = [left, top, sheet.label.0, sheet.label.1];
            for (wanted, mm) in wanted.iter().zip(label.as_array().into_iter().flatten()) {
                if mm.as_f64().is_none_or(|mm| (mm - wanted).abs() > 0.1) {
                    wrong.push(format!("{}, label {n}: {mm} mm instead of {wanted}", page.name));
                }
            }
        }
        let rule = browser.script(
            "return document.querySelector('.rule').getBoundingClientRect().width * 25.4 / 96",
            &[],
        )?;
        if rule.as_f64().is_none_or(|mm| (mm - 100.0).abs() > 0.1) {
            wrong.push(format!("{}: the rule is {rule} mm long", page.name));
        }
    }
    browser.own("Emulation.setEmulatedMedia", &json!({"media": ""}))?;
    Ok(wrong)
}

/// The sheet of labels of a page, and the place of its first label.
fn label_sheet(page: &Written) -> Option<(LabelSheet, usize)> {
    let (name, first) = match page.name {
        "bottles.html" => ("3x7", 19),
        "concentrate-label.html" => ("2x4", 0),
        "stock-labels.html" => ("3x7", 0),
        "jugs.html" => ("2x7", 10),
        "cups.html" => ("4x10", 0),
        "stock-label.html" => {
            let (paper, label) = (waterflight::page::label_sheet::LETTER, (80.0, 25.0));
            let own = LabelSheet {
                name: "narrow".into(),
                paper,
                columns: 2,
                rows: 9,
                label,
                first: (20.0, 15.0),
                pitch: (90.0, 25.0),
            };
            return Some((own, 0));
        }
        _ => return None,
    };
    Some((LabelSheet::named(name)?, first))
}

/// Pages of a document, by the objects that describe one.
fn pages_of(pdf: &[u8]) -> usize {
    let mark = b"/Type /Page";
    let is_page = |window: &&[u8]| window.starts_with(mark) && window.last() != Some(&b's');
    pdf.windows(mark.len() + 1).filter(is_page).count()
}
