//! `pack` and `unpack`: a bench as one file.

use std::path::Path;

use serde_json::json;

use crate::app::mistakes::internal;
use crate::bench::pack as bench_pack;
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::files::write;
use crate::text::table::wrapped;

pub(super) fn pack(bench: Option<&Path>, file: &Path, json: bool) -> Outcome {
    let root = bench::root(bench)?;
    let packed = bench_pack::pack(&root)?;
    write::new_file(file, &packed.text)?;
    if json {
        let document =
            json!({"file": file, "files": packed.files, "without_key": packed.without_key});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    let mut text = format!("{} files of the bench are in {}.\n", packed.files, file.display());
    if !packed.without_key.is_empty() {
        text.push_str(&wrapped(
            &format!(
                "Not in it are the keys of sessions that are not revealed: {}.",
                packed.without_key.join(", ")
            ),
            0,
        ));
    }
    Ok(text)
}

pub(super) fn unpack(file: &Path, folder: &Path, json: bool) -> Outcome {
    let files = bench_pack::unpack(file, folder)?;
    if json {
        return crate::text::json::document(&json!({"bench": folder, "files": files}))
            .map_err(|e| internal(&e));
    }
    Ok(format!(
        "{files} files were written to {0}.\nNext: waterflight check --bench {0}\n",
        folder.display()
    ))
}
