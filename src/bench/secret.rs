//! The secret that opens encrypted keys, and where it is kept: outside of every bench, with what other
//! programs keep for this user on this computer.

use std::env;
use std::path::{Path, PathBuf};

use crate::files::{Diagnostic, Fault, read, unfinished, write};
use crate::session::plan::encrypted_key::Secret;

/// Where the user's secret is kept: in `$XDG_STATE_HOME`, or in the folder that the XDG Base Directory
/// Specification names when that is not set; on Windows in `%LOCALAPPDATA%`.
///
/// # Errors
/// When the user has no home folder.
pub fn usual_place() -> Result<PathBuf, Diagnostic> {
    let folder = |name: &str| env::var_os(name).map(PathBuf::from).filter(|f| f.is_absolute());
    let state = folder("XDG_STATE_HOME")
        .or_else(|| folder("HOME").map(|home| home.join(".local").join("state")))
        .or_else(|| folder("LOCALAPPDATA"));
    state.map(|state| state.join("waterflight").join("session-secret")).ok_or_else(|| {
        Diagnostic::new(Fault::Missing, "there is no home folder to keep the secret in")
            .expected("HOME or XDG_STATE_HOME in the environment")
            .remedy("say where it is kept with `--key FILE`")
    })
}

/// The secret in a file, which is made when it is not there. One that is there serves again: it is
/// never written over, and each key is encrypted with a nonce of its own.
///
/// # Errors
/// When the file is there and holds no secret, or cannot be read or written.
pub fn kept_in(file: &Path) -> Result<Secret, Diagnostic> {
    // What a stopped run left would hold a whole secret.
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    unfinished::remove_unfinished_beside_others(folder.unwrap_or_else(|| Path::new(".")));
    if !file.exists() {
        let secret =
            Secret::fresh().map_err(|error| Diagnostic::new(Fault::Internal, error.to_string()))?;
        if let Some(folder) = folder {
            write::subfolder(folder)?;
        }
        match write::new_private_file(file, &secret.to_text()) {
            Ok(()) => return Ok(secret),
            // Another run made it in between.
            Err(_) if file.exists() => {}
            Err(mistake) => {
                return Err(mistake.remedy("say with `--key FILE` where the secret is to be kept"));
            }
        }
    }
    Secret::from_text(read::text(file)?.text()).ok_or_else(|| {
        Diagnostic::new(Fault::Write, "this file is there and holds no secret")
            .about(file)
            .remedy("choose another name: nothing is ever written over")
    })
}
