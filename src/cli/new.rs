//! `new`: a bench folder to start from.

use std::path::Path;

use serde_json::json;

use crate::bench::starter;
use crate::cli::outcome::{Outcome, answer};
use crate::text::command_line::typed_path;

pub(super) fn run(folder: &Path, empty: bool, json: bool) -> Outcome {
    let files = if empty { starter::empty(folder) } else { starter::start(folder) };
    let files: Vec<String> = files?.iter().map(|file| file.display().to_string()).collect();
    answer(&json!({"bench": folder, "files": files}), json, |_| {
        let mut text = format!("A bench was started in {}:\n", folder.display());
        let bench = typed_path(folder);
        for file in &files {
            text.push_str(&format!("  {file}\n"));
        }
        text + &if empty {
            format!("Next: waterflight add stock --bench {bench}, then add water and add target\n")
        } else {
            format!("All of it is an invented example.\nNext: waterflight mix --bench {bench}\n")
        }
    })
}
