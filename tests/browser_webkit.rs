//! Pages in a second engine, that of many telephones. Where it is not installed they are left out with a
//! line that says so.

use std::error::Error;
use std::fs;

use serde_json::Value;

use crate::browser::{LOOK, WIDTHS};
use crate::common::pages::{all, tasted_bench};
use crate::common::webdriver::{Browser, Engine, is_left_out, say};

type Fallible = Result<(), Box<dyn Error>>;

/// Each page stands in a frame as wide as a telephone, a tablet and a desk: the window of this browser
/// keeps its own least width.
#[test]
fn pages_can_be_read_in_webkit() -> Fallible {
    let found = if is_left_out() { None } else { Browser::start(Engine::WebKit)? };
    let Some(browser) = found else {
        say(
            "no WebKit on this machine (webkit2gtk-driver, xvfb): pages are looked at in one engine only",
        );
        return Ok(());
    };
    let (folder, bench) = tasted_bench()?;
    let mut wrong = Vec::new();
    let mut looked = 0;
    for page in all(&bench, folder.path())? {
        let text = fs::read_to_string(&page.path)?.replace('&', "&amp;").replace('"', "&quot;");
        for width in WIDTHS {
            let frame = format!(
                "<!DOCTYPE html><title>frame</title><iframe style=\"border:0\" width=\"{width}\" \
                 height=\"900\" srcdoc=\"{text}\"></iframe>"
            );
            let path = folder.path().join("frame.html");
            fs::write(&path, frame)?;
            browser.open(&path)?;
            browser.enter_frame()?;
            let inner = browser.script("return window.innerWidth", &[])?;
            assert_eq!(inner.as_u64(), Some(u64::from(width)), "{}", page.name);
            let found = browser.script(LOOK, &[])?;
            let list = found.as_array().cloned().unwrap_or_default();
            let said = |what: &Value| format!("{} at {width} px in WebKit: {what}", page.name);
            wrong.extend(list.iter().map(said));
            looked += 1;
        }
    }
    assert!(wrong.is_empty() && looked > 40, "{looked}\n{}", wrong.join("\n"));
    Ok(())
}
