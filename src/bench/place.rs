//! Small readers of leaves that keep the place of a mistake.

use std::fmt::Display;

use crate::bench::explain;
use crate::bench::explain::Advice;
use crate::files::{Diagnostic, Fault, SourceText, Written};
use crate::flight::{BaseShare, Subject, not_measured_for};
use crate::quantities::{Dimension, Quantity};

/// A mistake at a leaf, in the words of its error.
pub(super) fn mistake(
    source: &SourceText,
    leaf: &Written,
    error: &impl Display,
    advice: Advice,
) -> Diagnostic {
    let diagnostic = Diagnostic::new(Fault::Content, error.to_string())
        .at(source, source.span_of(leaf))
        .found(format!("`{}`", leaf.text()));
    advice.to(diagnostic)
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
        return Err(Diagnostic::new(Fault::Content, "a share cannot be more than 100 %")
            .at(source, source.span_of(leaf))
            .found(format!("`{}`", leaf.text()))
            .expected("0 % to 100 %"));
    }
    Ok(value)
}

/// A name: a text in quotes that is not empty.
pub(super) fn name(source: &SourceText, leaf: &Written) -> Result<String, Diagnostic> {
    let text = leaf.text().trim();
    if leaf.is_quoted() && !text.is_empty() {
        return Ok(text.to_owned());
    }
    Err(Diagnostic::new(Fault::Content, "a name is needed here")
        .at(source, source.span_of(leaf))
        .found(format!("`{}`", leaf.text()))
        .expected("a text in quotes, as in \"soft\""))
}

/// The second of two things with one name.
pub(super) fn duplicate(
    source: &SourceText,
    leaf: &Written,
    what: &str,
    first: &str,
) -> Diagnostic {
    Diagnostic::new(Fault::Content, format!("{what} `{}` is there twice", leaf.text()))
        .at(source, source.span_of(leaf))
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
    Err(advice.to(Diagnostic::new(Fault::Content, title)
        .at(source, source.span_of(leaf))
        .found(format!("`{}`", leaf.text()))))
}
