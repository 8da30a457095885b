//! The secret that opens encrypted keys, and where it is kept: outside of every bench, with what other
//! programs keep for this user on this computer.

use std::path::{Component, Path, PathBuf};
use std::{env, fs, path};

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

/// Tests that a secret is kept outside of a bench. Whoever searches a bench, copies it or sends it to
/// somebody must not meet what opens its keys.
///
/// # Errors
/// When the file, or what a link of its name leads to, is or would be inside.
pub fn must_be_outside(root: &Path, file: &Path) -> Result<(), Diagnostic> {
    let Ok(whole) = path::absolute(file) else { return Ok(()) };
    let root = without_links(root);
    // A link inside the bench to a file elsewhere is followed by whoever copies the bench.
    let places = [whole.parent().map(without_links), Some(without_links(&whole))];
    if places.into_iter().flatten().all(|place| !place.starts_with(&root)) {
        return Ok(());
    }
    Err(Diagnostic::choice("the secret would be kept inside the bench that it protects")
        .about(file)
        .expected(format!("a file outside of {}", root.display()))
        .remedy("name one with `--key FILE`, as in \"--key ../session-secret\""))
}

/// A path from the root of the disk, each link in it followed; of what is not there yet as it would be.
fn without_links(path: &Path) -> PathBuf {
    let whole = path::absolute(path).unwrap_or_else(|_| path.to_owned());
    whole.components().fold(PathBuf::new(), |mut known, part| {
        // What comes before is free of links, so that `..` is the folder above it.
        match part {
            Component::ParentDir => _ = known.pop(),
            other => known.push(other),
        }
        fs::canonicalize(&known).unwrap_or(known)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_secret_is_kept_outside_of_the_bench() -> Result<(), Box<dyn std::error::Error>> {
        let folder = tempfile::tempdir()?;
        let above = folder.path();
        let bench = above.join("bench");
        fs::create_dir_all(bench.join("sessions"))?;
        let inside = ["sessions/secret", "mykey", "../bench/mykey", "new/folder/../../mykey"];
        for file in inside {
            assert!(must_be_outside(&bench, &bench.join(file)).is_err(), "{file}");
        }
        for file in ["../mykey", "sessions/../../mykey", "../bench-2/mykey", "../new/mykey"] {
            assert_eq!(must_be_outside(&bench, &bench.join(file)), Ok(()), "{file}");
        }
        #[cfg(unix)]
        {
            std::os::unix::fs::symlink(&bench, above.join("link"))?;
            assert!(must_be_outside(&bench, &above.join("link/mykey")).is_err());
            assert!(must_be_outside(&above.join("link"), &bench.join("mykey")).is_err());
        }
        Ok(())
    }
}
