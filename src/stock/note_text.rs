//! Notes of several stocks in few lines.

use crate::quantities::show;
use crate::stock::Note;
use crate::text::table::{each, wrapped};

/// Which bottles hold another strength than their files mean, in one line; nothing where none does.
pub(crate) fn against_files<'a>(notes: impl Iterator<Item = &'a Note>) -> String {
    let each: Vec<String> = notes
        .filter_map(|note| match note {
            Note::AgainstFile { stock, differ } => Some((stock, differ)),
            _ => None,
        })
        .map(|(stock, differ)| {
            let [bottle, file] = [differ.g_per_kg, differ.file_g_per_kg].map(show::four_figures);
            let edited = if differ.file_changed_since { ", changed since" } else { "" };
            format!("{stock} batch {}, {bottle} g/kg (file {file} g/kg{edited})", differ.batch)
        })
        .collect();
    if each.is_empty() {
        return String::new();
    }
    let line = format!("* doses follow what is in the bottle, not its file: {}", each.join("; "));
    wrapped(&line, 2)
}

/// Notes, a line each; those on bottles against files together.
pub(crate) fn list<'a>(notes: impl Iterator<Item = &'a Note> + Clone) -> String {
    let others = notes.clone().filter(|note| !matches!(note, Note::AgainstFile { .. }));
    each("* ", others) + &against_files(notes)
}
