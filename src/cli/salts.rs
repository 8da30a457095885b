//! `salts`: what a stock may be made of.

use std::path::Path;

use crate::bench::{OWN_SALT, Unread, built_in_salts, salts_of, unread_in};
use crate::cli::bench::root;
use crate::cli::outcome::{How, Outcome, answer};
use crate::files::{Diagnostic, Mistakes};
use crate::stock::{Catalogue, HydrateReport, LookupError, SaltReport, salt_text};

pub(super) fn run(bench: Option<&Path>, name: Option<&str>, how: How) -> Outcome {
    let (catalogue, unread) = catalogue(bench)?;
    let Some(name) = name else {
        let salts = SaltReport::all(&catalogue);
        return answer(&salts, how.json, |salts| salt_text::list(salts, how.extent));
    };
    let found = catalogue.all_of(name).map_err(|error| {
        unread_in(&unread, "salts", name).cloned().unwrap_or_else(|| unknown(&error))
    })?;
    answer(&HydrateReport::of(&found), how.json, |hydrates| {
        salt_text::found(&found, hydrates, how.extent)
    })
}

/// The bench's salts with what cannot be read of them; the built-in ones where there is no bench.
fn catalogue(named: Option<&Path>) -> Result<(Catalogue, Vec<Unread>), Mistakes> {
    match root(named) {
        Ok(root) => salts_of(&root),
        Err(_) => Ok((Catalogue::new(built_in_salts()?), Vec::new())),
    }
}

fn unknown(error: &LookupError) -> Diagnostic {
    let diagnostic = Diagnostic::choice(error.to_string())
        .expected("a name or formula that `waterflight salts` lists");
    match error {
        LookupError::Unknown { near: Some(near), .. } => {
            diagnostic.remedy(format!("did you mean `{near}`?"))
        }
        _ => diagnostic.remedy(format!(
            "write the formula that stands on the bag; a salt of your own is one file: {OWN_SALT}"
        )),
    }
}
