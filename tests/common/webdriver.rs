//! A browser by the WebDriver protocol (W3C), over the standard library.

use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{TcpListener, TcpStream};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::Duration;

use serde_json::{Value, json};

type Answer = Result<Value, Box<dyn Error>>;

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

    /// Runs a script in the page.
    pub(crate) fn script(&self, script: &str, arguments: &[Value]) -> Answer {
        self.post("execute/sync", &json!({"script": script, "args": arguments}))
    }

    /// The same, with an answer that is given to the last argument.
    pub(crate) fn later(&self, script: &str) -> Answer {
        self.post("execute/async", &json!({"script": script, "args": []}))
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
