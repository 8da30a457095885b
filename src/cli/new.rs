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

pub(super) fn run(folder: &Path, empty: bool, json: bool) -> Outcome {
    let files = if empty { starter::empty(folder) } else { starter::start(folder) };
    let files = files?;
    if json {
        let files = files.iter().map(|f| f.display().to_string()).collect();
        return crate::text::json::document(&Started { bench: folder, files })
            .map_err(|e| internal(&e));
    }
    let mut text = format!("A bench was started in {}:\n", folder.display());
    for file in files {
        text.push_str(&format!("  {}\n", file.display()));
    }
    let bench = folder.display();
    text.push_str(&if empty {
        format!("Next: waterflight add stock --bench {bench}, then add water and add target\n")
    } else {
        format!("All of it is an invented example. Next: waterflight mix --bench {bench}\n")
    });
    Ok(text)
}
