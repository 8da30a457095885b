//! Browsers by the WebDriver protocol (W3C), over the standard library.

use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use serde_json::{Value, json};

type Answer = Result<Value, Box<dyn Error>>;

/// A line past the capture of the test harness.
pub(crate) fn say(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// Whether a missing browser, or what reads its pictures, is a failure.
pub(crate) fn is_required() -> bool {
    std::env::var("WATERFLIGHT_BROWSER").is_ok_and(|how| how == "required")
}

/// Chromium; without it a line says what is left out, and where it is required the test fails.
pub(crate) fn chromium(what: &str) -> Result<Option<Browser>, Box<dyn Error>> {
    let found = Browser::start()?;
    if found.is_none() {
        assert!(!is_required(), "no browser: chromedriver is not installed");
        say(&format!("no browser on this machine (chromedriver): {what} are left out"));
    }
    Ok(found)
}

/// A browser that ends with this value.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
}

impl Browser {
    /// Starts one; nothing where none is installed.
    pub(crate) fn start() -> Result<Option<Self>, Box<dyn Error>> {
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let mut command = Command::new("chromedriver");
        command.arg(format!("--port={port}")).stdout(Stdio::null()).stderr(Stdio::null());
        let Ok(driver) = command.spawn() else { return Ok(None) };
        let mut browser = Self { driver, port, session: String::new() };
        for _ in 0..300 {
            if TcpStream::connect(("127.0.0.1", port)).is_ok() {
                break;
            }
            sleep(Duration::from_millis(100));
        }
        let arguments =
            ["--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage"];
        let asked =
            json!({"capabilities": {"alwaysMatch": {"goog:chromeOptions": {"args": arguments}}}});
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

    /// Opens an address.
    #[cfg(feature = "serve")]
    pub(crate) fn visit(&self, address: &str) -> Answer {
        self.post("url", &json!({"url": address}))
    }

    /// Runs a script in the page.
    pub(crate) fn script(&self, script: &str, arguments: &[Value]) -> Answer {
        self.post("execute/sync", &json!({"script": script, "args": arguments}))
    }

    /// The same, with an answer that is given to the last argument.
    pub(crate) fn later(&self, script: &str) -> Answer {
        self.post("execute/async", &json!({"script": script, "args": []}))
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
