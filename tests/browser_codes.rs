//! QR codes as a browser draws them, read by another program: `zbarimg` of Debian's package zbar-tools.

use std::error::Error;
use std::fs;
use std::path::Path;
use std::process::Command;

use maud::html;
use waterflight::page::{parts, shell};

use crate::common::webdriver::{chromium, is_required, say};

type Fallible = Result<(), Box<dyn Error>>;

/// What `zbarimg` reads in a picture; nothing where it is not installed.
pub(crate) fn read_codes(picture: &Path) -> Result<Option<String>, Box<dyn Error>> {
    let mut command = Command::new("zbarimg");
    command.args(["--quiet", "--raw", "-Sdisable", "-Sqrcode.enable"]).arg(picture);
    let Ok(output) = command.output() else {
        assert!(!is_required(), "zbarimg of the package zbar-tools is not installed");
        say("zbarimg is not installed: QR codes are not read from pages");
        return Ok(None);
    };
    Ok(Some(String::from_utf8(output.stdout)?.trim_end_matches('\n').to_owned()))
}

/// Where a session is served to phones, every score sheet and every slip leads its taster there.
#[cfg(feature = "serve")]
#[test]
fn score_sheets_lead_to_the_phone_page_of_their_taster() -> Fallible {
    use crate::common::pages::{run, tasted_bench};

    let (folder, bench) = tasted_bench()?;
    let tokens = ["0123456789abcdefghjk", "mnpqrstvwxyz01234567", "89abcdefghjkmnpqrstv"];
    let tasters: Vec<_> = ["ann", "bo", "cy"]
        .iter()
        .zip(tokens)
        .map(|(taster, token)| serde_json::json!({"taster": taster, "token": token}))
        .collect();
    let links = |at: &str| {
        serde_json::json!({"v": 1, "at": at, "port": 8420, "host": "wxyz0123456789abcdef",
            "tasters": tasters})
    };
    let file = bench.join("sessions/evening/links.json");
    let page = folder.path().join("sheets.html");
    let target = page.to_str().ok_or("a path that is no text")?;
    let sheet = ["session", "sheet", "evening", "--for", "taster", "--print", target];
    // A table served to this machine alone leads no phone anywhere.
    fs::write(&file, links("127.0.0.1:8420").to_string())?;
    run(&bench, &sheet)?;
    assert!(!fs::read_to_string(&page)?.contains("class=\"qr\""));
    fs::write(&file, links("192.0.2.7:8420").to_string())?;
    let Some(browser) = chromium("the codes of score sheets")? else { return Ok(()) };
    for more in [&[][..], &["--ballots"]] {
        let command: Vec<&str> = sheet.iter().chain(more).copied().collect();
        run(&bench, &command)?;
        browser.open(&page)?;
        browser.wide(1280)?;
        let whole = serde_json::json!({"captureBeyondViewport": true});
        let seen = browser.own("Page.captureScreenshot", &whole)?;
        let data = seen.get("data").and_then(serde_json::Value::as_str).ok_or("no picture")?;
        let picture = folder.path().join("seen.png");
        fs::write(&picture, crate::common::webdriver::decoded(data))?;
        let Some(read) = read_codes(&picture)? else { return Ok(()) };
        let mut read: Vec<&str> = read.lines().collect();
        read.sort_unstable();
        let mut wanted = tokens.map(|token| format!("http://192.0.2.7:8420/t/{token}"));
        wanted.sort_unstable();
        assert_eq!(read, wanted, "{more:?}");
    }
    Ok(())
}

#[test]
fn codes_of_a_page_are_read_on_every_screen_and_ground() -> Fallible {
    let Some(browser) = chromium("the checks of QR codes")? else { return Ok(()) };
    let folder = tempfile::tempdir()?;
    let long =
        "http://192.0.2.255:65535/evening/a-taster-of-a-long-name?".to_owned() + &"k=1&".repeat(40);
    let texts = [
        "7",
        "http://192.0.2.7:8080/s/evening/ann#c3f9b1a2d4e5f60718293a4b5c6d7e8f",
        "wörd <b> & \"quote\" 水",
        &long,
    ];
    for (n, text) in texts.into_iter().enumerate() {
        let page = folder.path().join(format!("code-{n}.html"));
        let body = html! { p { "Open this page:" } (parts::qr_code("link", text)) };
        fs::write(&page, shell::document("A code", "", &body))?;
        browser.open(&page)?;
        for width in [390, 1280] {
            for scheme in ["light", "dark"] {
                browser.wide(width)?;
                browser.scheme(scheme)?;
                let picture = folder.path().join("seen.png");
                fs::write(&picture, browser.screenshot()?)?;
                let Some(read) = read_codes(&picture)? else { return Ok(()) };
                assert_eq!(read, text, "{width} px, {scheme}");
            }
        }
        let wide = browser
            .script("return document.querySelector('.qr').getBoundingClientRect().width", &[])?;
        // Wide enough for a telephone held at a hand's distance.
        assert!(wide.as_f64().is_some_and(|px| px * 25.4 / 96.0 >= 25.0), "{wide}");
    }
    Ok(())
}
