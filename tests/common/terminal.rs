//! A person at a terminal: the program on a pseudo-terminal, what it prints, what is typed.

use std::error::Error;
use std::ffi::OsStr;
use std::fs::{File, OpenOptions};
use std::io::{Read, Write};
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::process::{Child, Command, ExitStatus};
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

/// The program at a terminal.
pub(crate) struct Terminal {
    child: Child,
    keyboard: File,
    screen: Arc<Mutex<String>>,
    /// Ends when the program has closed its side and all that it wrote was read.
    reader: Option<JoinHandle<()>>,
    /// Up to here the screen was read.
    read: usize,
    /// Answers that were typed.
    pub(crate) answers: usize,
}

impl Terminal {
    /// Starts the program in a folder, at a terminal of 80 columns.
    pub(crate) fn start(folder: &Path, arguments: &[&str]) -> Result<Self, Box<dyn Error>> {
        Self::wide(folder, arguments, 80)
    }

    /// Starts the program in a folder, at a terminal of so many columns.
    pub(crate) fn wide(
        folder: &Path,
        arguments: &[&str],
        columns: u16,
    ) -> Result<Self, Box<dyn Error>> {
        let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY)?;
        grantpt(&master)?;
        unlockpt(&master)?;
        let name = ptsname(&master, Vec::new())?;
        tcsetwinsize(&master, Winsize { ws_row: 24, ws_col: columns, ws_xpixel: 0, ws_ypixel: 0 })?;
        let no_control = i32::try_from(rustix::fs::OFlags::NOCTTY.bits())?;
        let slave = OpenOptions::new()
            .read(true)
            .write(true)
            .custom_flags(no_control)
            .open(OsStr::from_bytes(name.as_bytes()))?;
        let program = assert_cmd::cargo::cargo_bin("waterflight");
        let child = Command::new(program)
            .args(arguments)
            .current_dir(folder)
            .env("TERM", "xterm")
            .env("XDG_STATE_HOME", super::state())
            .stdin(slave.try_clone()?)
            .stdout(slave.try_clone()?)
            .stderr(slave)
            .spawn()?;
        let keyboard = File::from(master);
        let mut output = keyboard.try_clone()?;
        let screen = Arc::new(Mutex::new(String::new()));
        let shown = Arc::clone(&screen);
        let reader = std::thread::spawn(move || {
            let mut bytes = Vec::new();
            let mut piece = [0_u8; 4096];
            // A terminal whose program has ended gives an error, not an end.
            while let Ok(n @ 1..) = output.read(&mut piece) {
                bytes.extend_from_slice(piece.get(..n).unwrap_or_default());
                if let Ok(mut shown) = shown.lock() {
                    *shown = String::from_utf8_lossy(&bytes).into_owned();
                }
            }
        });
        Ok(Self { child, keyboard, screen, reader: Some(reader), read: 0, answers: 0 })
    }

    fn screen(&self) -> String {
        self.screen.lock().map(|s| s.clone()).unwrap_or_default()
    }

    /// Waits until the screen shows a text behind what was read before.
    pub(crate) fn expect(&mut self, text: &str) -> Result<(), Box<dyn Error>> {
        let start = Instant::now();
        loop {
            let screen = self.screen();
            let new = screen.get(self.read..).unwrap_or_default();
            if let Some(at) = new.find(text) {
                self.read += at + text.len();
                return Ok(());
            }
            if start.elapsed() > Duration::from_mins(2) {
                return Err(format!("`{text}` was never shown; the screen is:\n{screen}").into());
            }
            std::thread::sleep(Duration::from_millis(5));
        }
    }

    /// Waits for the sign of the prompt, then types an answer with the return key.
    pub(crate) fn answer(&mut self, text: &str) -> Result<(), Box<dyn Error>> {
        self.expect("> ")?;
        self.answers += 1;
        self.keyboard.write_all(text.as_bytes())?;
        self.keyboard.write_all(b"\r")?;
        Ok(())
    }

    /// Waits for the sign of the prompt, then types keys.
    pub(crate) fn keys(&mut self, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
        self.expect("> ")?;
        self.keyboard.write_all(bytes)?;
        Ok(())
    }

    /// Waits for the end; all that was shown.
    pub(crate) fn end(mut self) -> Result<(ExitStatus, String), Box<dyn Error>> {
        let status = self.child.wait()?;
        // What the program wrote last is still on its way.
        if let Some(reader) = self.reader.take() {
            reader.join().map_err(|_| "the screen could not be read to its end")?;
        }
        Ok((status, self.screen()))
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ended = self.child.kill();
    }
}
