//! A water moved by hand in a real browser: a slider moves, and doses, map and goals follow at once.

use std::error::Error;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::starter_bench;
use crate::common::table::ServedTable;
use crate::common::webdriver::{axe, chromium};

type Fallible = Result<(), Box<dyn Error>>;

#[test]
fn a_slider_moves_the_water_at_once() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let page = ServedTable::explore(&bench)?;
    let Some(browser) = chromium("the checks of a water by hand")? else { return Ok(()) };
    browser.wide(1280)?;
    browser.visit(&format!("http://{}{}", page.at, page.host))?;
    let got = "return document.querySelector('#answer tbody td:nth-of-type(2)').textContent";
    let dots = "return [...document.querySelectorAll('#answer svg path, #answer svg circle, #answer svg polygon')].map(e => e.outerHTML).join()";
    let (before, drawn) = (browser.script(got, &[])?, browser.script(dots, &[])?);
    let start = Instant::now();
    browser.script(
        "const s = document.querySelector('input[data-for=hardness]'); s.value = 91; \
         s.dispatchEvent(new Event('input', {bubbles: true}))",
        &[],
    )?;
    while browser.script(got, &[])? == before {
        assert!(start.elapsed() < Duration::from_secs(10), "nothing follows the slider");
    }
    let field = browser.script("return document.getElementById('hardness').value", &[])?;
    assert_eq!(field, json!("91 ± 1.75 mg/L as CaCO3"), "the tolerance is lost");
    let after = browser.script(got, &[])?;
    let number = after.as_str().and_then(|got| got.split_whitespace().next());
    let hardness: f64 = number.ok_or("nothing is shown")?.parse()?;
    assert!((hardness - 91.0).abs() <= 1.76, "{after}");
    assert_ne!(browser.script(dots, &[])?, drawn, "the water does not move on the map");
    assert!(browser.script("return location.search", &[])?.to_string().contains("hardness=91"));
    // A limit stays a limit, in whatever unit and with whatever sign for decimals; two values become one.
    for (typed, becomes) in [
        ("at most 35,5 mg/L as CaCO3", "at most 80 mg/L as CaCO3"),
        ("max 3,5 °dH", "max 80 mg/L as CaCO3"),
        (">= 2 °dH", ">= 80 mg/L as CaCO3"),
        ("40-60 mg/L as CaCO3", "80 mg/L as CaCO3"),
    ] {
        let script = format!(
            "document.getElementById('hardness').value = '{typed}'; \
             const s = document.querySelector('input[data-for=hardness]'); s.value = 80; \
             s.dispatchEvent(new Event('input', {{bubbles: true}})); \
             return document.getElementById('hardness').value"
        );
        assert_eq!(browser.script(&script, &[])?, json!(becomes), "{typed}");
    }
    for width in [390, 1280] {
        browser.wide(width)?;
        let wide =
            browser.script("return document.documentElement.scrollWidth - innerWidth", &[])?;
        assert!(wide.as_f64().is_some_and(|wide| wide < 1.5), "{wide} too wide at {width}");
        let Some(axe) = axe("the checks of a water by hand")? else { continue };
        for scheme in ["light", "dark"] {
            let found = browser.axe_violations(&axe, scheme)?;
            assert_eq!(found, Value::Array(Vec::new()), "{width}, {scheme}");
        }
    }
    Ok(())
}
