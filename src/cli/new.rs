//! `new`: a bench folder to start from.

use std::path::Path;

use serde::Serialize;

use crate::app::mistakes::internal;
use crate::bench::starter;
use crate::cli::outcome::Outcome;

#[derive(Serialize)]
struct Started<'a> {
    bench: &'a Path,
    files: Vec<String>,
}

pub(super) fn run(folder: &Path, json: bool) -> Outcome {
    let files = starter::start(folder)?;
    if json {
        let files = files.iter().map(|f| f.display().to_string()).collect();
        return crate::text::json::document(&Started { bench: folder, files })
            .map_err(|e| internal(&e));
    }
    let mut text = format!("A bench was started in {}:\n", folder.display());
    for file in files {
        text.push_str(&format!("  {}\n", file.display()));
    }
    text.push_str(&format!(
        "All of it is an invented example. Next: waterflight mix --bench {}\n",
        folder.display()
    ));
    Ok(text)
}
