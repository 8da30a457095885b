//! A table served by the program, and what a phone without a browser asks of it.

use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::time::Duration;

use assert_cmd::cargo::cargo_bin;
use serde_json::Value;
use waterflight::session::plan::{Code, Plan};

use crate::common::answers::run;

/// A program that serves a table, until this is dropped.
pub(crate) struct ServedTable {
    pub(crate) program: Child,
    _output: BufReader<ChildStdout>,
    /// `127.0.0.1:8420`.
    pub(crate) at: String,
    /// Paths of the host and of the tasters.
    pub(crate) host: String,
    pub(crate) tasters: Vec<String>,
}

/// What came back.
#[derive(Debug)]
pub(crate) struct Reply {
    pub(crate) status: u16,
    /// The head, in small letters.
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Reply {
    /// A field of the head.
    pub(crate) fn field(&self, name: &str) -> Option<&str> {
        let mut fields = self.head.lines().filter_map(|line| line.split_once(": "));
        fields.find(|(key, _)| *key == name).map(|(_, value)| value)
    }

    pub(crate) fn data(&self) -> Result<Value, Box<dyn Error>> {
        Ok(serde_json::from_str(&self.body)?)
    }
}

/// Plans a session of three waters for these tasters, with more of the command behind.
pub(crate) fn planned(bench: &Path, tasters: &str, more: &[&str]) -> Result<(), Box<dyn Error>> {
    let waters = ["--water", "soft", "--water", "middle", "--water", "hard"];
    let begin = ["session", "plan", "--name", "evening", "--tasters", tasters, "--seed", "served"];
    run(bench, &[&begin[..], &waters[..], more].concat())?;
    Ok(())
}

/// The parts of a session scored on body and liking.
pub(crate) const SCORED: [&str; 4] = ["--attribute", "body", "--attribute", "liking"];

impl ServedTable {
    /// Serves the session `evening`.
    pub(crate) fn start(bench: &Path) -> Result<Self, Box<dyn Error>> {
        Self::start_with(bench, &[])
    }

    /// The same with more of the command. Tests run side by side, so each takes a port of its own.
    pub(crate) fn start_with(bench: &Path, more: &[&str]) -> Result<Self, Box<dyn Error>> {
        let links = bench.join("sessions/evening/links.json");
        let mut command = Command::new(cargo_bin("waterflight"));
        command.env("XDG_STATE_HOME", crate::common::state());
        command.current_dir(bench).args(["serve", "evening", "--json"]).args(more);
        if !links.exists() && !more.contains(&"--port") {
            let free = std::net::TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
            command.args(["--port", &free.to_string()]);
        }
        Self::serving(command)
    }

    fn serving(mut command: Command) -> Result<Self, Box<dyn Error>> {
        let mut program =
            command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn()?;
        let mut output = BufReader::new(program.stdout.take().ok_or("no output")?);
        let mut said = String::new();
        let links: Value = loop {
            if output.read_line(&mut said)? == 0 {
                let mut errors = String::new();
                program.stderr.take().ok_or("no errors")?.read_to_string(&mut errors)?;
                return Err(format!("it does not serve: {errors}").into());
            }
            if let Ok(links) = serde_json::from_str(&said) {
                break links;
            }
        };
        let link = |value: &Value| -> Result<(String, String), Box<dyn Error>> {
            let link =
                value.as_str().and_then(|link| link.strip_prefix("http://")).ok_or("no link")?;
            let (at, path) = link.split_once('/').ok_or("no path")?;
            Ok((at.to_owned(), format!("/{path}")))
        };
        let first = links.pointer("/host").or_else(|| links.pointer("/link"));
        let (at, host) = link(first.ok_or("no link")?)?;
        let none = Vec::new();
        let tasters = links.pointer("/tasters").and_then(Value::as_array).unwrap_or(&none);
        let own = |one: &Value| Ok(link(one.get("link").unwrap_or(&Value::Null))?.1);
        let tasters = tasters.iter().map(own).collect::<Result<_, Box<dyn Error>>>()?;
        Ok(Self { program, _output: output, at, host, tasters })
    }

    /// Serves the page of a bench on which a target is moved by hand; its path is the host's.
    pub(crate) fn explore(bench: &Path) -> Result<Self, Box<dyn Error>> {
        let free = std::net::TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let mut command = Command::new(cargo_bin("waterflight"));
        command.current_dir(bench).args(["serve", "--json", "--port", &free.to_string()]);
        Self::serving(command)
    }

    /// The path of a taster.
    pub(crate) fn taster(&self, n: usize) -> &str {
        self.tasters.get(n).map_or("", String::as_str)
    }

    /// Ends it as a power cut would.
    pub(crate) fn kill(mut self) -> Result<(), Box<dyn Error>> {
        self.program.kill()?;
        self.program.wait()?;
        Ok(())
    }

    pub(crate) fn get(&self, path: &str) -> Result<Reply, Box<dyn Error>> {
        self.ask("GET", path, &[], "")
    }

    /// Sends a form as the page's script does.
    pub(crate) fn send(
        &self,
        path: &str,
        fields: &[(&str, &str)],
    ) -> Result<Reply, Box<dyn Error>> {
        let origin = format!("http://{}", self.at);
        let head = [("Origin", origin.as_str()), ("Accept", "application/json")];
        self.ask("POST", path, &head, &form(fields))
    }

    /// Sends a form as a page without script does.
    pub(crate) fn submit(
        &self,
        path: &str,
        fields: &[(&str, &str)],
    ) -> Result<Reply, Box<dyn Error>> {
        let origin = format!("http://{}", self.at);
        self.ask("POST", path, &[("Origin", origin.as_str())], &form(fields))
    }

    pub(crate) fn ask(
        &self,
        method: &str,
        path: &str,
        head: &[(&str, &str)],
        body: &str,
    ) -> Result<Reply, Box<dyn Error>> {
        let mut text = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
        if !head.iter().any(|(name, _)| *name == "Host") {
            text += &format!("Host: {}\r\n", self.at);
        }
        if method == "POST" {
            text += &format!("Content-Length: {}\r\n", body.len());
            if !head.iter().any(|(name, _)| *name == "Content-Type") {
                text += "Content-Type: application/x-www-form-urlencoded\r\n";
            }
        }
        for (name, value) in head {
            text += &format!("{name}: {value}\r\n");
        }
        self.raw(&format!("{text}\r\n{body}"))
    }

    /// What an open stream of events says within a time.
    pub(crate) fn listened(&self, path: &str, time: Duration) -> Result<String, Box<dyn Error>> {
        let mut stream = TcpStream::connect(&self.at)?;
        stream.set_read_timeout(Some(time))?;
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {}\r\n\r\n", self.at)?;
        let (mut bytes, mut piece) = (Vec::new(), [0; 4096]);
        // A stream that stays silent for that long has said what it has to say.
        while let Ok(read @ 1..) = stream.read(&mut piece) {
            bytes.extend_from_slice(piece.get(..read).unwrap_or_default());
        }
        Ok(String::from_utf8(bytes)?)
    }

    /// Sends bytes as they are.
    pub(crate) fn raw(&self, text: &str) -> Result<Reply, Box<dyn Error>> {
        let mut stream = TcpStream::connect(&self.at)?;
        stream.set_read_timeout(Some(Duration::from_secs(30)))?;
        // A server that refuses may close before all is sent.
        let _ = stream.write_all(text.as_bytes());
        let mut bytes = Vec::new();
        let read = stream.read_to_end(&mut bytes);
        if bytes.is_empty() {
            read?;
        }
        let text = String::from_utf8(bytes)?;
        let (head, body) = text.split_once("\r\n\r\n").ok_or(format!("no reply: {text}"))?;
        let status = head.split(' ').nth(1).ok_or("no status")?.parse()?;
        Ok(Reply { status, head: head.to_lowercase(), body: body.to_owned() })
    }
}

impl Drop for ServedTable {
    fn drop(&mut self) {
        let _ = self.program.kill();
        let _ = self.program.wait();
    }
}

/// Fields as a form sends them.
pub(crate) fn form(fields: &[(&str, &str)]) -> String {
    let word = |text: &str| -> String {
        text.bytes()
            .map(|byte| match byte {
                b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' => {
                    char::from(byte).to_string()
                }
                _ => format!("%{byte:02X}"),
            })
            .collect()
    };
    let one = |(name, value): &(&str, &str)| format!("{}={}", word(name), word(value));
    fields.iter().map(one).collect::<Vec<_>>().join("&")
}

/// The own cups of a taster, as an address names them.
pub(crate) fn own(plan: &Plan, taster: &str) -> Vec<(String, Code)> {
    let trays = plan.trays_of(taster);
    trays.flat_map(|t| t.cups.iter().map(|c| (format!("{}-{c}", t.number), *c))).collect()
}
