//! The flight, and the target of it, that a typed name means.

use crate::bench::session_folder::SessionFolder;
use crate::bench::{Bench, FlightFile, no_such};
use crate::files::Diagnostic;
use crate::flight::{Flight, Target};
use crate::text::names;

/// A name that fits nothing.
pub(super) fn unknown_name(what: &str, name: &str, known: &[&str]) -> Diagnostic {
    no_such(what, name, known).near(name, known)
}

/// A target by its name, or by its number in the flight.
///
/// # Errors
/// Lists the targets when there is none of that name.
pub(super) fn named_target<'a>(flight: &'a Flight, name: &str) -> Result<&'a Target, Diagnostic> {
    let known: Vec<&str> = flight.targets.iter().map(|t| t.name.as_str()).collect();
    let found = place_of(&known, name).and_then(|n| flight.targets.get(n));
    found.ok_or_else(|| unknown_name("target", name, &known))
}

/// The place of a target by its name, or by its number.
fn place_of(known: &[&str], name: &str) -> Option<usize> {
    let meant = names::meant(name, known);
    let by_name = known.iter().position(|known| Some(*known) == meant);
    let number = || name.trim().parse::<usize>().ok().and_then(|n| n.checked_sub(1));
    by_name.or_else(|| number().filter(|n| *n < known.len()))
}

/// The flight that is named before a target, `FLIGHT/TARGET`, or that a session named there was planned of,
/// `SESSION/WATER`; beside it the name of the target alone.
fn named_before<'a, 't>(bench: &'a Bench, typed: &'t str) -> Option<(&'a FlightFile, &'t str)> {
    let (before, target) = typed.split_once('/')?;
    let file = bench.flight_file(Some(before)).or_else(|_| {
        let session = SessionFolder::open(&bench.root, before)?;
        bench.flight_file(Some(&session.waters()?.flight))
    });
    file.ok().map(|file| (file, target))
}

/// What was typed of a target of a flight, without the name of the flight or of a session before it.
#[must_use]
pub(super) fn without_flight<'t>(bench: &Bench, file: &FlightFile, typed: &'t str) -> &'t str {
    match named_before(bench, typed) {
        Some((named, target)) if named.stem == file.stem => target,
        _ => typed,
    }
}

/// Whether a target of a flight is meant, by its name alone or behind `FLIGHT/`.
#[must_use]
pub(super) fn is_target(typed: &str, stem: &str, target: &str) -> bool {
    let is_behind =
        |(flight, name): (&str, &str)| names::alike(flight, stem) && names::alike(name, target);
    names::alike(typed, target) || typed.split_once('/').is_some_and(is_behind)
}

/// A target as its flight calls it, by whatever spelling it was typed: its name in any case, its number,
/// or either behind `FLIGHT/` or `SESSION/`. What fits none is given back as it was typed.
#[must_use]
pub fn target_name(bench: &Bench, file: &FlightFile, known: &[&str], typed: &str) -> String {
    let name = without_flight(bench, file, typed);
    let found = place_of(known, name).and_then(|n| known.get(n));
    found.map_or_else(|| typed.to_owned(), |found| (*found).to_owned())
}

/// The flight that is meant, and the one water of it where `FLIGHT/TARGET`, `SESSION/WATER` or the
/// name of a target is typed.
///
/// # Errors
/// As [`Bench::flight_file`].
pub fn flight_or_water<'a, 't>(
    bench: &'a Bench,
    typed: Option<&'t str>,
) -> Result<(&'a FlightFile, Option<&'t str>), Diagnostic> {
    let flight = bench.flight_file(typed);
    let (Some(typed), Err(_)) = (typed, &flight) else { return flight.map(|file| (file, None)) };
    if let Some((file, target)) = named_before(bench, typed) {
        return Ok((file, Some(target)));
    }
    match having_target(bench, typed).as_slice() {
        [only] => Ok((only, Some(typed))),
        _ => flight.map(|file| (file, None)),
    }
}

/// The flights that have a target of that name.
fn having_target<'a>(bench: &'a Bench, target: &str) -> Vec<&'a FlightFile> {
    let has = |flight: &Flight| flight.targets.iter().any(|t| names::alike(target, &t.name));
    let having = bench.readable_flights().filter(|(_, (flight, ..))| has(flight));
    having.map(|(file, _)| file).collect()
}

/// The flight of a target: the one that an option names, that of `FLIGHT/TARGET` or `SESSION/WATER`, the only one that has
/// a target of that name, or the only one there is. Beside it the name of the target alone.
///
/// # Errors
/// Lists the flights when it is not clear which one is meant.
pub fn in_flight<'a, 't>(
    bench: &'a Bench,
    flight: Option<&str>,
    target: &'t str,
) -> Result<(&'a FlightFile, &'t str), Diagnostic> {
    if flight.is_some() {
        let file = bench.flight_file(flight)?;
        return Ok((file, without_flight(bench, file, target)));
    }
    if let Some(named) = named_before(bench, target) {
        return Ok(named);
    }
    if bench.flights.len() > 1
        && let [only] = having_target(bench, target).as_slice()
    {
        return Ok((only, target));
    }
    bench.flight_file(None).map(|file| (file, target))
}
