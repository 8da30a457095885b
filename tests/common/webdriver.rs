//! Browsers by the WebDriver protocol (W3C), over the standard library.

use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

type Answer = Result<Value, Box<dyn Error>>;

/// What draws the pages.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Engine {
    /// Debian's packages `chromium` and `chromium-driver`.
    Chromium,
    /// Debian's package `webkit2gtk-driver`, on a screen of `xvfb`.
    WebKit,
}

/// The small browser of that package, wherever a machine has it.
fn mini_browser() -> Option<std::path::PathBuf> {
    let below = |folder: &std::path::Path| -> Vec<std::path::PathBuf> {
        let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|entry| entry.path()).collect()
    };
    let folders = below("/usr/lib".as_ref()).into_iter().flat_map(|folder| below(&folder));
    let mut found: Vec<_> = folders
        .filter(|folder| folder.to_string_lossy().contains("/webkit2gtk-"))
        .map(|folder| folder.join("MiniBrowser"))
        .filter(|browser| browser.is_file())
        .collect();
    found.sort();
    found.pop()
}

/// A screen that nobody sees, and its name; nothing where `Xvfb` is not installed.
fn screen() -> Result<Option<(Child, String)>, Box<dyn Error>> {
    let mut command = Command::new("Xvfb");
    command.args(["-displayfd", "1", "-screen", "0", "1400x1000x24"]);
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::null());
    let Ok(mut screen) = command.spawn() else { return Ok(None) };
    let mut number = String::new();
    BufReader::new(screen.stdout.take().ok_or("no output")?).read_line(&mut number)?;
    Ok(Some((screen, format!(":{}", number.trim()))))
}

/// A line past the capture of the test harness.
pub(crate) fn say(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// Whether a missing browser, or what reads its pictures, is a failure.
pub(crate) fn is_required() -> bool {
    std::env::var("WATERFLIGHT_BROWSER").is_ok_and(|how| how == "required")
}

/// What axe-core finds wrong with the page, a line for each rule.
const AXE: &str = "
const done = arguments[arguments.length - 1];
axe.run(document).then(
  found => done(found.violations.map(v => v.id + ': ' + v.nodes.map(n => n.target + ' ' + n.html.slice(0, 80)).join('; '))),
  error => done(['axe failed: ' + error]));";

/// The text of axe-core, from the file that `WATERFLIGHT_AXE` names; without it a line says what is left
/// out, and where a browser is required the test fails.
pub(crate) fn axe(what: &str) -> Result<Option<String>, Box<dyn Error>> {
    if let Ok(path) = std::env::var("WATERFLIGHT_AXE") {
        return Ok(Some(std::fs::read_to_string(path)?));
    }
    assert!(!is_required(), "WATERFLIGHT_AXE names no axe.min.js");
    say(&format!("WATERFLIGHT_AXE is not set: {what} with axe-core are left out"));
    Ok(None)
}

/// Whether browsers are to be left alone, installed or not.
pub(crate) fn is_left_out() -> bool {
    std::env::var("WATERFLIGHT_BROWSER").is_ok_and(|how| how == "none")
}

/// Chromium; without it a line says what is left out, and where it is required the test fails.
pub(crate) fn chromium(what: &str) -> Result<Option<Browser>, Box<dyn Error>> {
    if is_left_out() {
        say(&format!("WATERFLIGHT_BROWSER=none: {what} are left out"));
        return Ok(None);
    }
    let found = Browser::start(Engine::Chromium)?;
    if found.is_none() {
        assert!(!is_required(), "no browser: chromedriver is not installed");
        say(&format!("no browser on this machine (chromedriver): {what} are left out"));
    }
    Ok(found)
}

/// A browser that ends with this value.
pub(crate) struct Browser {
    driver: Child,
    screen: Option<Child>,
    port: u16,
    session: String,
}

impl Browser {
    /// Starts one; nothing where none is installed.
    pub(crate) fn start(engine: Engine) -> Result<Option<Self>, Box<dyn Error>> {
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let (mut command, screen, wanted) = match engine {
            Engine::Chromium => {
                let arguments =
                    ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"];
                let wanted = json!({"goog:chromeOptions": {"args": arguments}});
                (Command::new("chromedriver"), None, wanted)
            }
            Engine::WebKit => {
                let (Some(browser), Some((screen, display))) = (mini_browser(), screen()?) else {
                    return Ok(None);
                };
                let mut command = Command::new("WebKitWebDriver");
                // A machine without a graphics card, and without the rights that a sandbox needs.
                command.env("DISPLAY", display).env("LIBGL_ALWAYS_SOFTWARE", "1");
                command.env("WEBKIT_DISABLE_DMABUF_RENDERER", "1");
                command.env("WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS", "1");
                let options = json!({"binary": browser, "args": ["--automation"]});
                (command, Some(screen), json!({"webkitgtk:browserOptions": options}))
            }
        };
        command.arg(format!("--port={port}")).stdout(Stdio::null()).stderr(Stdio::null());
        let Ok(driver) = command.spawn() else {
            if let Some(mut screen) = screen {
                let _ = screen.kill();
            }
            return Ok(None);
        };
        let mut browser = Self { driver, screen, port, session: String::new() };
        for _ in 0..300 {
            if TcpStream::connect(("127.0.0.1", port)).is_ok() {
                break;
            }
            sleep(Duration::from_millis(100));
        }
        let asked = json!({"capabilities": {"alwaysMatch": wanted}});
        let answer = browser.send("POST", "/session", &asked)?;
        let session = answer.pointer("/sessionId").and_then(Value::as_str);
        session.ok_or(format!("no session: {answer}"))?.clone_into(&mut browser.session);
        Ok(Some(browser))
    }

    fn send(&self, method: &str, path: &str, body: &Value) -> Answer {
        let body = body.to_string();
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.set_read_timeout(Some(Duration::from_mins(3)))?;
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )?;
        // The driver leaves the connection open, whatever it is asked.
        let mut reader = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            if reader.read_line(&mut line)? == 0 || line == "\r\n" {
                break;
            }
            if let Some((head, value)) = line.split_once(':')
                && head.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse()?;
            }
        }
        let mut content = vec![0; length];
        reader.read_exact(&mut content)?;
        let mut value: Value = serde_json::from_slice(&content)?;
        let value = value.pointer_mut("/value").map(Value::take).unwrap_or_default();
        match value.get("error") {
            Some(error) => {
                Err(format!("{path}: {error}: {}", value.get("message").unwrap_or(&Value::Null))
                    .into())
            }
            None => Ok(value),
        }
    }

    fn post(&self, path: &str, body: &Value) -> Answer {
        self.send("POST", &format!("/session/{}/{path}", self.session), body)
    }

    /// Opens a file.
    pub(crate) fn open(&self, path: &std::path::Path) -> Answer {
        self.post("url", &json!({"url": format!("file://{}", path.display())}))
    }

    /// Goes to an address and waits until its page is there whole: on a busy machine the answer may come
    /// before the page before it is gone, or before the scripts of the new one have run.
    #[cfg(feature = "serve")]
    pub(crate) fn visit(&self, address: &str) -> Answer {
        self.script("window.isPageBefore = true", &[])?;
        let answer = self.post("url", &json!({"url": address}))?;
        let is_there = "return document.readyState === 'complete' && !window.isPageBefore";
        let start = Instant::now();
        while self.script(is_there, &[])? != Value::Bool(true) {
            if start.elapsed() > Duration::from_secs(30) {
                return Err(format!("{address} is not there within 30 s").into());
            }
            sleep(Duration::from_millis(20));
        }
        Ok(answer)
    }

    /// Runs a script in the page.
    pub(crate) fn script(&self, script: &str, arguments: &[Value]) -> Answer {
        self.post("execute/sync", &json!({"script": script, "args": arguments}))
    }

    /// The same, with an answer that is given to the last argument.
    pub(crate) fn later(&self, script: &str) -> Answer {
        self.post("execute/async", &json!({"script": script, "args": []}))
    }

    /// Goes into the first frame of the page.
    pub(crate) fn enter_frame(&self) -> Answer {
        self.post("frame", &json!({"id": 0}))
    }

    /// What is seen, as a PNG file.
    pub(crate) fn screenshot(&self) -> Result<Vec<u8>, Box<dyn Error>> {
        let answer =
            self.send("GET", &format!("/session/{}/screenshot", self.session), &json!({}))?;
        Ok(decoded(answer.as_str().ok_or("no picture")?))
    }

    /// Makes the window so wide; a telephone has small ones.
    pub(crate) fn wide(&self, width: u32) -> Answer {
        let size =
            json!({"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500});
        self.own("Emulation.setDeviceMetricsOverride", &size)
    }

    /// Asks the page for its light or dark colours.
    pub(crate) fn scheme(&self, scheme: &str) -> Answer {
        let features = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.own("Emulation.setEmulatedMedia", &features)
    }

    /// Waits until the page has loaded with its style, and nothing in it changes colour any more.
    pub(crate) fn settled(&self) -> Result<(), Box<dyn Error>> {
        const IS_SETTLED: &str = "return document.readyState === 'complete' \
             && document.styleSheets.length > 0 && document.getAnimations().length === 0";
        let start = Instant::now();
        while self.script(IS_SETTLED, &[])? != json!(true) {
            if start.elapsed() > Duration::from_secs(20) {
                return Err("the page does not come to rest".into());
            }
            sleep(Duration::from_millis(20));
        }
        Ok(())
    }

    /// What axe-core finds wrong with the page in light or dark colours. It runs beside the page, whose
    /// own policy keeps every other script out.
    pub(crate) fn axe_violations(&self, axe: &str, scheme: &str) -> Answer {
        self.scheme(scheme)?;
        self.settled()?;
        self.later(&format!("{axe};{AXE}"))
    }

    /// A command of the browser's own protocol.
    pub(crate) fn own(&self, command: &str, parameters: &Value) -> Answer {
        self.post("goog/cdp/execute", &json!({"cmd": command, "params": parameters}))
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.send("DELETE", &format!("/session/{}", self.session), &json!({}));
        let _ = self.driver.kill();
        let _ = self.driver.wait();
        if let Some(screen) = &mut self.screen {
            let _ = screen.kill();
            let _ = screen.wait();
        }
    }
}

/// Bytes of a text in base64 (RFC 4648).
pub(crate) fn decoded(text: &str) -> Vec<u8> {
    let digit = |c: u8| match c {
        b'A'..=b'Z' => Some(c - b'A'),
        b'a'..=b'z' => Some(c - b'a' + 26),
        b'0'..=b'9' => Some(c - b'0' + 52),
        b'+' => Some(62),
        b'/' => Some(63),
        _ => None,
    };
    let mut out = Vec::new();
    let (mut bits, mut held) = (0_u32, 0_u32);
    for value in text.bytes().filter_map(digit) {
        held = (held << 6) | u32::from(value);
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            out.push(u8::try_from((held >> bits) & 0xff).unwrap_or_default());
        }
    }
    out
}
