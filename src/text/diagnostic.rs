//! Draws any diagnostic, with the line of the file.

use std::borrow::Cow;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::files::Diagnostic;
use crate::text::table::wrapped_within;
use crate::text::visible;

/// A diagnostic as text, with colour codes when `colour` is asked for, and broken into lines of at most
/// `width` letters where that is given.
#[must_use]
pub fn text(diagnostic: &Diagnostic, colour: bool, width: Option<usize>) -> String {
    let details = diagnostic.details();
    let clean = |text: &str| visible(text).into_owned();
    // The renderer sets what goes on in a next line below the first word.
    let broken = |text: &str, before: &str| match width {
        Some(width) => wrapped_within(&visible(text), width.saturating_sub(before.chars().count())),
        None => clean(text),
    };
    let path = details.path.as_ref().map(|p| clean(&p.display().to_string()));
    let title = broken(&details.title, "error: ");
    let mut group = Group::with_title(Level::ERROR.primary_title(title.as_str()));
    match (&details.place, &path) {
        (Some(place), Some(path)) => {
            let source = as_drawn(place.source.text());
            let span = place.span.clone().unwrap_or(0..0);
            let mark = AnnotationKind::Primary.span(span);
            // Beside the mark there is room for it only where nothing has to fit.
            let mark = match (&details.found, width) {
                (Some(found), None) => mark.label(format!("found {}", clean(found))),
                _ => mark,
            };
            group = group
                .element(Snippet::source(source).path(path.as_str()).fold(true).annotation(mark));
        }
        (None, Some(path)) => group = group.element(Origin::path(path.as_str())),
        _ => {}
    }
    if let (Some(found), Some(_), Some(_)) = (&details.found, &details.place, width) {
        group =
            group.element(Level::NOTE.with_name("found").message(broken(found, "    = found: ")));
    }
    if let Some(expected) = &details.expected {
        group = group.element(
            Level::NOTE.with_name("expected").message(broken(expected, "    = expected: ")),
        );
    }
    if let Some(remedy) = &details.remedy {
        group = group.element(Level::HELP.with_name("fix").message(broken(remedy, "    = fix: ")));
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    let renderer = width.map_or(renderer.clone(), |width| renderer.term_width(width));
    renderer.render(&[group]) + "\n"
}

/// The text of a file for the renderer, which itself draws the control characters of 7 bits and lets
/// those of 8 through to the terminal. What stands for them has as many bytes, so that marks keep their
/// places.
fn as_drawn(source: &str) -> Cow<'_, str> {
    let passes = |c: char| ('\u{80}'..='\u{9f}').contains(&c);
    if !source.contains(passes) {
        return Cow::Borrowed(source);
    }
    Cow::Owned(source.replace(passes, "\u{b7}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::SourceText;

    #[test]
    fn no_control_character_of_a_file_reaches_the_terminal() {
        let line = "a\u{9b}2J\u{85}b\u{1b}[31m\u{7f}\u{80}c wrong";
        let source = SourceText::new("x.csv", line);
        let at = line.find("wrong").map(|start| start..start + 5);
        let diagnostic = Diagnostic::content("this is wrong").at(&source, at);
        for width in [None, Some(60)] {
            let drawn = text(&diagnostic, false, width);
            assert!(!drawn.contains(|c: char| c.is_control() && c != '\n'), "{drawn:?}");
            let column = |wanted: &str| {
                let line = drawn.lines().find(|line| line.contains(wanted));
                line.and_then(|line| Some(line.split_once(wanted)?.0.chars().count()))
            };
            assert!(column("c wrong").is_some(), "{drawn}");
            assert_eq!(column("c wrong").map(|n| n + 2), column("^^^^^"), "{drawn}");
        }
    }
}
