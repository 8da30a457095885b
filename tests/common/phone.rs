//! A phone at a table: a browser on the page of a taster, and what a thumb does there.

use std::error::Error;
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::common::webdriver::{Browser, Engine, chromium, is_left_out, say};

type Fallible = Result<(), Box<dyn Error>>;

/// A taster with a browser the size of a phone.
pub(crate) struct Phone {
    pub(crate) browser: Browser,
    pub(crate) address: String,
}

impl Phone {
    /// In Chromium, with a network that can be cut.
    pub(crate) fn new(address: String) -> Result<Option<Self>, Box<dyn Error>> {
        let Some(browser) = chromium("the checks of a table in browsers")? else { return Ok(None) };
        browser.wide(390)?;
        browser.own("Network.enable", &json!({}))?;
        browser.visit(&address)?;
        Ok(Some(Self { browser, address }))
    }

    /// In WebKit; nothing where that is not installed.
    pub(crate) fn in_webkit(address: String) -> Result<Option<Self>, Box<dyn Error>> {
        let found = if is_left_out() { None } else { Browser::start(Engine::WebKit)? };
        let Some(browser) = found else {
            say(
                "no WebKit on this machine (webkit2gtk-driver, xvfb): phones are tried in one engine only",
            );
            return Ok(None);
        };
        browser.visit(&address)?;
        Ok(Some(Self { browser, address }))
    }

    pub(crate) fn script(&self, script: &str) -> Result<Value, Box<dyn Error>> {
        self.browser.script(script, &[])
    }

    /// Waits until a script says yes.
    pub(crate) fn until(&self, what: &str, script: &str) -> Fallible {
        let start = Instant::now();
        while start.elapsed() < Duration::from_secs(30) {
            // A page that is still being read has not got what is looked for.
            let tried =
                format!("try {{ return Boolean({script}); }} catch (error) {{ return false; }}");
            if self.script(&tried)? == Value::Bool(true) {
                return Ok(());
            }
            sleep(Duration::from_millis(50));
        }
        let page = self.script("return document.body.innerText")?;
        Err(format!("{what}: not within 30 s: {page}").into())
    }

    /// The state of a cup in the list.
    pub(crate) fn said(&self, at: &str) -> Result<String, Box<dyn Error>> {
        let script =
            format!("return document.querySelector('[data-to=\"{at}\"] .status').textContent");
        Ok(self.script(&script)?.as_str().unwrap_or_default().to_owned())
    }

    pub(crate) fn until_said(&self, at: &str, words: &str) -> Fallible {
        let script = format!(
            "document.querySelector('[data-to=\"{at}\"] .status').textContent.includes('{words}')"
        );
        self.until(&format!("{at}: {words}"), &script)
    }

    pub(crate) fn tap(&self, field: &str, value: &str) -> Fallible {
        let script =
            format!("document.querySelector('input[name=\"{field}\"][value=\"{value}\"]').click()");
        self.script(&script)?;
        Ok(())
    }

    pub(crate) fn go_to(&self, at: &str) -> Fallible {
        self.script(&format!("document.querySelector('[data-to=\"{at}\"]').click()"))?;
        self.until(at, &format!("document.querySelector('[name=at]').value === '{at}'"))
    }

    /// Taps scores of the cup shown and presses the button so often, one press after the other.
    pub(crate) fn answer(&self, at: &str, body: &str, liking: &str, presses: usize) -> Fallible {
        self.go_to(at)?;
        self.tap("v0", body)?;
        self.tap("v1", liking)?;
        let press = "document.querySelector('button.main').click();";
        self.script(&press.repeat(presses))?;
        Ok(())
    }

    pub(crate) fn network(&self, is_there: bool) -> Fallible {
        let how = json!({"offline": !is_there, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1});
        self.browser.own("Network.emulateNetworkConditions", &how)?;
        Ok(())
    }
}
