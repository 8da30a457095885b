//! `pack` and `unpack`: a bench as one file.

use std::path::Path;

use serde_json::json;

use crate::bench::pack as bench_pack;
use crate::cli::bench;
use crate::cli::outcome::{Outcome, answer};
use crate::files::write;
use crate::text::command_line::typed_path;
use crate::text::table::wrapped;

pub(super) fn pack(bench: Option<&Path>, file: &Path, json: bool) -> Outcome {
    let root = bench::root(bench)?;
    let packed = bench_pack::pack(&root)?;
    write::new_file(file, &packed.text)?;
    let data = json!({"file": file, "files": packed.files, "without_key": packed.without_key});
    answer(&data, json, |_| {
        let text = format!("{} files of the bench are in {}.\n", packed.files, file.display());
        if packed.without_key.is_empty() {
            return text;
        }
        let names = packed.without_key.join(", ");
        let what = "Not in it are the keys of sessions that are not revealed";
        text + &wrapped(&format!("{what}: {names}."), 0)
    })
}

pub(super) fn unpack(file: &Path, folder: &Path, json: bool) -> Outcome {
    let files = bench_pack::unpack(file, folder)?;
    answer(&json!({"bench": folder, "files": files}), json, |_| {
        format!(
            "{files} files were written to {}.\nNext: waterflight check --bench {}\n",
            folder.display(),
            typed_path(folder)
        )
    })
}
