//! The links of a table: who has which secret, and the port. They are kept with the session, so that a
//! program started again, or a phone lost, costs nothing.

use std::fs;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::files::{Diagnostic, Fault, read, write};
use crate::serve::transport::Token;
use crate::session::plan::Plan;

/// The file in a session's folder.
pub const LINKS: &str = "links.json";

/// Version of the file.
const LINKS_FORMAT: u32 = 1;

/// The links of a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Links {
    v: u32,
    /// The address and port that the links led to last.
    pub at: String,
    /// The port.
    pub port: u16,
    /// The host's secret.
    pub host: Token,
    /// The tasters' secrets, in the order of the plan.
    pub tasters: Vec<TasterLink>,
    /// Whether the host has called a break.
    #[serde(default)]
    pub on_break: bool,
}

/// The link of one taster.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TasterLink {
    /// The taster.
    pub taster: String,
    /// The secret.
    pub token: Token,
}

/// Where the links of a session are kept.
#[must_use]
pub fn path(folder: &Path) -> PathBuf {
    folder.join(LINKS)
}

impl Links {
    /// Fresh links for everybody of a plan.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub fn drawn(plan: &Plan) -> Result<Self, Diagnostic> {
        let link =
            |taster: &String| Ok(TasterLink { taster: taster.clone(), token: Token::new()? });
        Ok(Self {
            v: LINKS_FORMAT,
            at: String::new(),
            port: 0,
            host: Token::new()?,
            tasters: plan.tasters.iter().map(link).collect::<Result<_, Diagnostic>>()?,
            on_break: false,
        })
    }

    /// The links kept with a session; nothing where it was never served.
    ///
    /// # Errors
    /// When the file cannot be read, or is of another plan or a newer program.
    pub fn kept(folder: &Path, plan: &Plan) -> Result<Option<Self>, Diagnostic> {
        let path = path(folder);
        if !path.exists() {
            return Ok(None);
        }
        let bad = |why: String| {
            Diagnostic::content(format!("the links cannot be read: {why}"))
                .about(&path)
                .remedy("remove this file: new links are drawn, and those given out lead nowhere")
        };
        let links: Self = serde_json::from_str(read::text(&path)?.text())
            .map_err(|error| bad(error.to_string()))?;
        if links.v > LINKS_FORMAT {
            return Err(bad(format!("they have format {}, of a newer program", links.v)));
        }
        let names = links.tasters.iter().map(|link| &link.taster);
        if !names.eq(plan.tasters.iter()) {
            return Err(bad("they are those of other tasters".to_owned()));
        }
        let tokens = links.tasters.iter().map(|link| &link.token);
        if !tokens.chain([&links.host]).all(Token::is_whole) {
            return Err(bad("a secret in it is cut short".to_owned()));
        }
        Ok(Some(links))
    }

    /// Keeps them with the session.
    ///
    /// # Errors
    /// When the disk does not take them.
    pub fn keep(&self, folder: &Path) -> Result<(), Diagnostic> {
        let path = path(folder);
        let text = serde_json::to_string_pretty(self).map_err(|error| {
            Diagnostic::new(Fault::Internal, format!("the links have no text: {error}"))
        })?;
        let text = text + "\n";
        // A table that is opened again at the same place waits for no disk.
        if fs::read_to_string(&path).is_ok_and(|kept| kept == text) {
            return Ok(());
        }
        write::own_file(&path, &text)
    }

    /// The taster who has a secret, by place in the plan.
    #[must_use]
    pub fn taster(&self, token: &str) -> Option<usize> {
        // All are looked at, so that the time taken says nothing.
        let found: Vec<usize> = self
            .tasters
            .iter()
            .enumerate()
            .filter(|(_, link)| link.token.is(token))
            .map(|(n, _)| n)
            .collect();
        found.first().copied()
    }

    /// The path of a taster's page.
    #[must_use]
    pub fn taster_path(&self, taster: usize) -> String {
        self.tasters
            .get(taster)
            .map_or_else(String::new, |link| format!("/t/{}", link.token.text()))
    }

    /// The addresses of the tasters' pages as they were handed out last, each with its taster; none
    /// where the session was served to this machine alone.
    #[must_use]
    pub fn phone_pages(&self) -> Vec<(String, String)> {
        let at = self.at.parse::<SocketAddr>().ok().filter(|at| !at.ip().is_loopback());
        let Some(at) = at else { return Vec::new() };
        let address = |n: usize| format!("http://{at}{}", self.taster_path(n));
        let own = self.tasters.iter().enumerate();
        own.map(|(n, link)| (link.taster.clone(), address(n))).collect()
    }

    /// The path of the host's page.
    #[must_use]
    pub fn host_path(&self) -> String {
        format!("/h/{}", self.host.text())
    }

    /// Draws a new secret for a taster; the one before leads nowhere from now on.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub fn draw_again(&mut self, taster: usize) -> Result<(), Diagnostic> {
        if let Some(link) = self.tasters.get_mut(taster) {
            link.token = Token::new()?;
        }
        Ok(())
    }
}
