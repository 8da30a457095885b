//! A table opened and served until it is ended.

use std::io::{self, BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use serde::Serialize;
use tokio::sync::watch;

use crate::bench::session_folder::folder_of;
use crate::files::{Diagnostic, Mistakes};
use crate::serve::blind::{Blind, Links, Table, routes};
use crate::serve::revealed::{self, Revealing};
use crate::serve::transport::{Guard, On, Opened, run};
use crate::session::blind::BlindSession;
use crate::svg::qr_code;
use crate::text::Page;

/// How a table is served.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Where it can be reached.
    pub on: On,
    /// The port, if it is not to be the one of the last time.
    pub port: Option<u16>,
    /// Where the key is kept, if not with the session. It is read at the reveal and not before.
    pub key: Option<PathBuf>,
}

/// The links of a table, whole.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TableLinks {
    /// The session.
    pub session: String,
    /// The host's.
    pub host: String,
    /// The tasters'.
    pub tasters: Vec<TasterAddress>,
    /// Where the links led before, when that was elsewhere.
    pub before: Option<String>,
}

/// The link of one taster.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TasterAddress {
    /// The taster.
    pub taster: String,
    /// The link.
    pub link: String,
}

/// A table that is open and not yet served.
#[derive(Debug)]
pub struct TableServer {
    opened: Opened,
    blind: Arc<Blind>,
    revealing: Revealing,
    ending: watch::Sender<bool>,
    before: Option<String>,
    is_served_there: bool,
    is_alone: bool,
}

impl TableServer {
    /// Opens a session for its tasters: its plan and its log, and nothing else of it.
    ///
    /// # Errors
    /// When there is no such session, a file of it cannot be read, or the address cannot be opened.
    pub fn open(root: &Path, name: &str, settings: Settings) -> Result<Self, Mistakes> {
        let folder = folder_of(root, name)?;
        let session = BlindSession::open(&folder)?;
        let kept = Links::kept(&folder, session.plan())?;
        let wanted = settings.port.or(kept.as_ref().map(|links| links.port));
        let opened = settings.on.open(wanted)?;
        let mut links = match kept {
            Some(links) => links,
            None => Links::drawn(session.plan())?,
        };
        let at = opened.at.to_string();
        let before = (!links.at.is_empty() && links.at != at).then(|| links.at.clone());
        let is_served_there =
            before.as_deref().is_some_and(|before| answers(before, &links.host_path()));
        links.at = at;
        links.port = opened.at.port();
        // What is kept stays that of the table which is served already.
        if !is_served_there {
            links.keep(&folder)?;
        }
        let table = Table::open(session, links.on_break)?;
        let (ending, ends) = watch::channel(false);
        let blind = Arc::new(Blind::new(table, links, folder, opened.origin(), ends));
        let revealing =
            Revealing { root: root.to_owned(), name: name.to_owned(), key: settings.key };
        let is_alone = opened.at.ip().is_loopback();
        Ok(Self { opened, blind, revealing, ending, before, is_served_there, is_alone })
    }

    /// The links.
    #[must_use]
    pub fn links(&self) -> TableLinks {
        let links = self.blind.links();
        let origin = self.opened.origin();
        let taster = |(n, link): (usize, &crate::serve::blind::links::TasterLink)| TasterAddress {
            taster: link.taster.clone(),
            link: format!("{origin}{}", links.taster_path(n)),
        };
        TableLinks {
            session: self.revealing.name.clone(),
            host: format!("{origin}{}", links.host_path()),
            tasters: links.tasters.iter().enumerate().map(taster).collect(),
            before: self.before.clone(),
        }
    }

    /// The links as they are read at a terminal, and what the address means.
    #[must_use]
    pub fn page(&self) -> Page {
        let links = self.links();
        let mut page = Page::default();
        page.say(format!("{} is served at {}", links.session, self.opened.origin()));
        if self.is_alone {
            page.say(
                "Only this machine reaches it. `--on lan` opens it to the phones of the local network.",
            );
        } else {
            page.say(
                "Everyone in this network can reach the page and read along, because it is not \
                 encrypted; only who has a link can answer. Guest networks often isolate phones: use a \
                 hotspot then.",
            );
        }
        if let Some(before) = &links.before {
            page.say(if self.is_served_there {
                format!(
                    "! it is served at {before} already, and the links handed out there still work; end \
                     one of the two"
                )
            } else {
                format!("! before, the links led to {before}; those handed out then lead nowhere")
            });
        }
        page.say(format!("host: {}", links.host));
        for one in &links.tasters {
            page.say(format!("{}: {}", one.taster, one.link));
        }
        page.say(
            "The host's page has the codes of all links to print. Ctrl-C ends it; the links stay as \
             they are for the next time.",
        );
        page
    }

    /// The links as codes for the camera of a phone, in the characters of a terminal and, where it shows
    /// them, in the colours that cameras want.
    #[must_use]
    pub fn codes(&self, in_colour: bool) -> String {
        let links = self.links();
        let host = std::iter::once(("host", links.host.as_str()));
        let tasters = links.tasters.iter().map(|one| (one.taster.as_str(), one.link.as_str()));
        let code = |(whose, link): (&str, &str)| {
            qr_code::in_characters(link, in_colour).map(|code| format!("\n{whose}\n{code}"))
        };
        host.chain(tasters).filter_map(code).collect()
    }

    /// Serves until the program is told to end.
    ///
    /// # Errors
    /// When the system gives no means to wait for connections.
    pub fn run(self) -> Result<(), Diagnostic> {
        let Self { opened, blind, revealing, ending, .. } = self;
        let guard = Arc::new(Guard::new(opened.hosts()));
        let router = routes::routes(Arc::clone(&blind)).merge(revealed::routes(blind, revealing));
        run(opened, router, guard, move || {
            // Pages that listen let go; nobody listening is no mistake.
            let _ = ending.send(true);
        })
    }
}

/// Whether a table answers at an address: it knows the host's link.
fn answers(at: &str, host_path: &str) -> bool {
    /// Our choice: a program on this machine or in this network answers sooner.
    const PATIENCE: Duration = Duration::from_millis(500);
    let asked = || -> io::Result<String> {
        let at: SocketAddr = at.parse().map_err(io::Error::other)?;
        let mut stream = TcpStream::connect_timeout(&at, PATIENCE)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        write!(stream, "GET {host_path} HTTP/1.1\r\nHost: {at}\r\nConnection: close\r\n\r\n")?;
        let mut line = String::new();
        BufReader::new(stream).take(64).read_line(&mut line)?;
        Ok(line)
    };
    asked().is_ok_and(|line| line.split(' ').nth(1) == Some("200"))
}
