//! `serve`: the tasting table as a page for the phones of the tasters.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::files::{Diagnostic, Fault};
use crate::serve::transport::On;
use crate::serve::{Settings, TableServer};

/// What is served, and where.
#[derive(Debug, Clone, Args)]
pub(super) struct ServeOptions {
    /// The session.
    name: String,
    /// Where it can be reached: `lan` for the phones of the local network, or an address of this
    /// machine; this machine alone when left out.
    #[arg(long, value_name = "lan|ADDRESS")]
    on: Option<String>,
    /// The port; that of the last time, or the first free one from 8420 on, when left out.
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Where the key is kept, if not in the session's folder; it is read at the reveal.
    #[arg(long, value_name = "FILE")]
    key: Option<PathBuf>,
}

pub(super) fn run(
    bench: Option<&Path>,
    options: &ServeOptions,
    json: bool,
    out: &mut dyn Write,
) -> Outcome {
    let on = options.on.as_deref().map_or(Ok(On::Loopback), On::parse)?;
    let settings = Settings { on, port: options.port, key: options.key.clone() };
    let server = TableServer::open(&bench::root(bench)?, &options.name, settings)?;
    let mut text = shown(&server.page(), &json!(server.links()), json)?;
    if !json {
        text.push_str(&server.codes());
    }
    // The links are said before anyone waits for them; a table whose links nobody can read is no use.
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| {
        Diagnostic::new(Fault::Write, format!("the links cannot be shown: {error}"))
    })?;
    server.run()?;
    Ok(if json { String::new() } else { "ended; what was confirmed is on disk\n".to_owned() })
}
