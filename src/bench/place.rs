//! Small readers of leaves that keep the place of a mistake.

use std::fmt::Display;

use crate::bench::explain;
use crate::bench::explain::Advice;
use crate::files::{Diagnostic, SourceText, Written};
use crate::flight::{BaseShare, Subject, not_measured_for};
use crate::quantities::name::{self, MOST_LETTERS};
use crate::quantities::{Dimension, Quantity};
use crate::text::names;

/// A mistake where a leaf stands.
pub(super) fn at(source: &SourceText, leaf: &Written, title: impl Into<String>) -> Diagnostic {
    Diagnostic::content(title).at(source, source.span_of(leaf))
}

/// The same, with what stands there.
pub(super) fn wrong(source: &SourceText, leaf: &Written, title: impl Into<String>) -> Diagnostic {
    at(source, leaf, title).found(format!("`{}`", leaf.text()))
}

/// A mistake at a leaf, in the words of its error.
pub(super) fn mistake(
    source: &SourceText,
    leaf: &Written,
    error: &impl Display,
    advice: Advice,
) -> Diagnostic {
    advice.to(wrong(source, leaf, error.to_string()))
}

/// A name that is none of those known `here`.
pub(super) fn unknown(
    source: &SourceText,
    leaf: &Written,
    (what, here): (&str, &str),
    known: &[&str],
) -> Diagnostic {
    wrong(source, leaf, format!("there is no {what} `{}`{here}", leaf.text()))
        .expected(names::listed(known))
        .remedy("use one of the names above")
        .near(leaf.text(), known)
}

/// A name that was typed and is none of those known.
pub(crate) fn no_such(what: &str, name: &str, known: &[&str]) -> Diagnostic {
    Diagnostic::choice(format!("there is no {what} `{name}`")).expected(if known.is_empty() {
        "none is there".to_owned()
    } else {
        names::listed(known)
    })
}

/// An amount of one of the given dimensions, in its base unit.
pub(super) fn amount(
    source: &SourceText,
    leaf: &Written,
    dimensions: &[Dimension],
) -> Result<f64, Diagnostic> {
    Quantity::parse_as(leaf.text(), dimensions).map_err(|error| {
        let units = explain::units_of(dimensions);
        mistake(source, leaf, &error, explain::quantity(&error, &units))
    })
}

/// A share from 0 to 100 %.
pub(super) fn share(source: &SourceText, leaf: &Written) -> Result<f64, Diagnostic> {
    let value = amount(source, leaf, &[Dimension::Percent, Dimension::MassFraction])?;
    if value > 1.0 {
        return Err(
            wrong(source, leaf, "a share cannot be more than 100 %").expected("0 % to 100 %")
        );
    }
    Ok(value)
}

/// A name: a text in quotes that is not empty.
pub(super) fn name(source: &SourceText, leaf: &Written) -> Result<String, Diagnostic> {
    let text = leaf.text().trim();
    if !leaf.is_quoted() || text.is_empty() {
        return Err(wrong(source, leaf, "a name is needed here")
            .expected("a text in quotes, as in \"soft\""));
    }
    can_be_name(text).map_err(|error| error.at(source, source.span_of(leaf)))?;
    Ok(text.to_owned())
}

/// Tests that words can be a name.
pub(super) fn can_be_name(words: &str) -> Result<(), Diagnostic> {
    name::check(words).map_err(|fault| {
        Diagnostic::content(format!("this name cannot be used: {fault}"))
            .expected(format!("up to {MOST_LETTERS} letters, signs and blanks in one line"))
            .remedy("type it anew")
    })
}

/// The second of two things with one name.
pub(super) fn duplicate(
    source: &SourceText,
    leaf: &Written,
    what: &str,
    first: &str,
) -> Diagnostic {
    at(source, leaf, format!("{what} `{}` is there twice", leaf.text()))
        .found(format!("a second `{}`", leaf.text()))
        .expected(format!(
            "names that differ by more than case or hyphens; the first one is {first}"
        ))
        .remedy("rename one of the two")
}

/// What is asked can be answered: every base water that may be used was measured for it.
pub(super) fn measured(
    source: &SourceText,
    leaf: &Written,
    base: &[BaseShare],
    subject: Subject,
    asked: &str,
) -> Result<(), Diagnostic> {
    let Some((water, missing)) = not_measured_for(base, subject) else { return Ok(()) };
    let advice = explain::not_measured(&water.name, missing);
    let title = format!(
        "{asked} counts {missing}, which {} not measured in the base water `{}`",
        if missing.is_one() { "was" } else { "were" },
        water.name
    );
    Err(advice.to(wrong(source, leaf, title)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::parse::parse;
    use crate::files::Mistakes;

    #[derive(Debug, serde::Deserialize)]
    #[serde(rename = "Thing")]
    struct Thing {
        name: Written,
    }

    #[test]
    fn a_name_that_cannot_be_shown_is_refused_where_it_stands() -> Result<(), Mistakes> {
        for (written, why) in [
            ("a".repeat(65_534), Some("it has 65534 letters, and 200 are the most")),
            ("a".repeat(201), Some("it has 201 letters, and 200 are the most")),
            ("é".repeat(200), None),
            ("so\\nft".to_owned(), Some("it holds a line break or another control character")),
            ("so\u{9b}ft".to_owned(), Some("it holds a line break or another control character")),
            (" soft ".to_owned(), None),
        ] {
            let source = SourceText::new("thing.ron", &format!("Thing(name: \"{written}\")"));
            let thing: Thing = parse(&source)?;
            let refused = name(&source, &thing.name).err();
            let title = refused.as_ref().map(|error| error.details().title.clone());
            assert_eq!(title, why.map(|why| format!("this name cannot be used: {why}")));
            assert!(refused.is_none_or(|error| error.details().place.is_some()));
        }
        Ok(())
    }
}
