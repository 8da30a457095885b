//! `pack` and `unpack`: a bench as one file. `names`: what a shell completes.

use std::path::Path;

use serde_json::json;

use crate::app::mistakes::internal;
use crate::bench::{pack as bench_pack, session_folder};
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

/// Names of stocks, waters, targets, flights and sessions, one a line; nothing where there is no bench.
pub(super) fn names(named: Option<&Path>) -> String {
    let Ok(bench) = bench::open(named) else { return String::new() };
    let mut names: Vec<String> = Vec::new();
    names.extend(bench.stocks.iter().map(|s| s.value.name().to_owned()));
    names.extend(bench.waters.iter().map(|w| w.value.name.clone()));
    for file in &bench.flights {
        names.push(file.stem.clone());
        if let Ok((flight, _)) = bench.flight(file) {
            names.extend(flight.targets.into_iter().map(|t| t.name));
        }
    }
    names.extend(session_folder::names(&bench.root).unwrap_or_default());
    names.sort();
    names.dedup();
    names.iter().fold(String::new(), |out, name| out + name + "\n")
}

/// What a shell's script needs beside the commands and options: the names of the bench.
pub(super) fn completes_names(shell: clap_complete::Shell) -> &'static str {
    match shell {
        clap_complete::Shell::Bash => BASH,
        clap_complete::Shell::Fish => {
            "\ncomplete -c waterflight -f -a '(waterflight names 2>/dev/null)'\n"
        }
        _ => "",
    }
}

const BASH: &str = r#"
_waterflight_with_names() {
    _waterflight "$@"
    local cur="${COMP_WORDS[COMP_CWORD]}"
    if [[ "$cur" != -* ]]; then
        local name
        while IFS= read -r name; do
            if [[ "$name" == "${cur#[\"\']}"* ]]; then
                COMPREPLY+=("$(printf '%q' "$name")")
            fi
        done < <(waterflight names 2>/dev/null)
    fi
}
complete -F _waterflight_with_names -o nosort -o bashdefault -o default waterflight
"#;
