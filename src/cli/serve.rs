//! `serve`: the tasting table as a page for the phones of the tasters, or the bench as a page where a water
//! is moved by hand.

use std::io::Write;
use std::path::{Path, PathBuf};

use clap::Args;
use serde_json::json;

use crate::bench::taken_back::session_stands;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, shown};
use crate::files::{Diagnostic, Fault};
use crate::serve::explore::ExploreServer;
use crate::serve::transport::On;
use crate::serve::{Settings, TableServer};
use crate::text::Page;

/// What is served, and where.
#[derive(Debug, Clone, Args)]
pub(super) struct ServeOptions {
    /// The session; left out, a page of the bench opens on which a target is moved by hand.
    #[arg(value_name = "SESSION")]
    name: Option<String>,
    /// Where it can be reached: `lan` for the phones of the local network, or an address of this
    /// machine; this machine alone when left out.
    #[arg(long, value_name = "lan|ADDRESS", requires = "name")]
    on: Option<String>,
    /// The port; that of the last time, or the first free one from 8420 on, when left out.
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// File of the secret that opens the key, where `session plan --key` named one; read at the reveal.
    #[arg(long, value_name = "FILE", requires = "name")]
    key: Option<PathBuf>,
}

pub(super) fn run(
    bench: Option<&Path>,
    options: &ServeOptions,
    json: bool,
    (out, in_colour): (&mut dyn Write, bool),
) -> Outcome {
    let root = bench::root(bench)?;
    let Some(name) = &options.name else {
        let server = ExploreServer::open(&root, options.port)?.named(bench);
        let mut page = Page::default();
        page.say(format!("A water by hand: {}", server.link()));
        page.say("Only this machine reaches it. Ctrl-C ends it.");
        say(out, &shown(&page, &json!({ "link": server.link() }), json)?)?;
        server.run()?;
        return Ok(String::new());
    };
    session_stands(&root, name)?;
    let on = options.on.as_deref().map_or(Ok(On::Loopback), On::parse)?;
    let settings = Settings { on, port: options.port, key: options.key.clone() };
    let server = TableServer::open(&root, name, settings)?;
    let mut text = shown(&server.page(), &json!(server.links()), json)?;
    if !json {
        text.push_str(&server.codes(in_colour));
    }
    say(out, &text)?;
    server.run()?;
    Ok(if json { String::new() } else { "ended; what was confirmed is on disk\n".to_owned() })
}

/// Says the links before anyone waits for them; a page whose link nobody can read is no use.
fn say(out: &mut dyn Write, text: &str) -> Result<(), Diagnostic> {
    out.write_all(text.as_bytes()).and_then(|()| out.flush()).map_err(|error| {
        Diagnostic::new(Fault::Write, format!("the links cannot be shown: {error}"))
    })
}
