//! Draws any diagnostic, with the line of the file.

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::files::Diagnostic;
use crate::text::visible;

/// A diagnostic as text, with colour codes when `colour` is asked for.
#[must_use]
pub fn text(diagnostic: &Diagnostic, colour: bool) -> String {
    let details = diagnostic.details();
    let clean = |text: &str| visible(text).into_owned();
    let path = details.path.as_ref().map(|p| clean(&p.display().to_string()));
    let title = clean(&details.title);
    let mut group = Group::with_title(Level::ERROR.primary_title(title.as_str()));
    match (&details.place, &path) {
        (Some(place), Some(path)) => {
            let source = place.source.text();
            let span = place.span.clone().unwrap_or(0..0);
            let mark = AnnotationKind::Primary.span(span);
            let mark = match &details.found {
                Some(found) => mark.label(format!("found {}", clean(found))),
                None => mark,
            };
            group = group
                .element(Snippet::source(source).path(path.as_str()).fold(true).annotation(mark));
        }
        (None, Some(path)) => group = group.element(Origin::path(path.as_str())),
        _ => {}
    }
    if let Some(expected) = &details.expected {
        group = group.element(Level::NOTE.with_name("expected").message(clean(expected)));
    }
    if let Some(remedy) = &details.remedy {
        group = group.element(Level::HELP.with_name("fix").message(clean(remedy)));
    }
    let renderer = if colour { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&[group]) + "\n"
}
