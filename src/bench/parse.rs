//! A file that a person wrote, parsed; names from elsewhere are answered with what they are here, and those
//! that stand in the wrong part of a file with where they belong.

use serde::de::DeserializeOwned;

use crate::bench::explain::OWN_SALT;
use crate::bench::trade_answer::{AskedIn, answer};
use crate::files::read::Names;
use crate::files::{Diagnostic, SourceText, read};
use crate::water::Measure;

/// A part of a file with round brackets of its own.
struct Part {
    /// How it begins.
    begins: &'static str,
    /// Names that only the part has.
    inside: &'static [&'static str],
    /// Names that only stand beside it.
    beside: &'static [&'static str],
}

const PARTS: &[Part] = &[
    Part {
        begins: "lot: (",
        inside: &["purity", "moisture", "grade", "price"],
        beside: &["name", "salt", "made", "temperature", "storage", "keeps"],
    },
    Part {
        begins: "Target(",
        inside: &["name", "goals", "ratios", "with", "without", "tasted", "tolerance"],
        beside: &["title", "base", "bottle", "convention", "misses", "prefer", "stocks", "limits"],
    },
    Part {
        begins: "tools: (",
        inside: &["balance", "large_balance", "flask", "fill", "weighing"],
        beside: &["title", "distilled_price", "boilers", "machine", "dispensers", "labels"],
    },
];

/// Spellings that are read and not offered: of a balance in earlier files, and of pH.
const OUTDATED: [&str; 4] = ["Scale", "scale", "pH", "PH"];

/// The folder of salts of one's own.
const SALTS: &str = "salts";

/// Parses it.
pub(super) fn parse<T: DeserializeOwned>(source: &SourceText) -> Result<T, Diagnostic> {
    let is_of_salt = source.path().parent().is_some_and(|folder| folder.ends_with(SALTS));
    let shown = if is_of_salt {
        format!("a salt of your own is one file: {OWN_SALT}")
    } else {
        "the starter bench (`waterflight new DIR`) shows every file".to_owned()
    };
    read::parse(source, Names { meaning: &meaning, outdated: &OUTDATED, shown: &shown })
}

/// What to do about a name that is not among those expected.
fn meaning(name: &str, typed: &str, expected: &[&str]) -> Option<String> {
    let is_here = |names: &[&str]| names.iter().all(|name| expected.contains(name));
    for Part { begins, inside, beside } in PARTS {
        if inside.contains(&name) && is_here(beside) {
            let listed = if begins.ends_with(": (") { "" } else { " of the list" };
            return Some(format!("it belongs inside `{begins} … )`{listed}"));
        }
        if beside.contains(&name) && is_here(inside) {
            return Some(format!(
                "close `{begins}` with a `)` before it: it stands beside, not inside"
            ));
        }
    }
    match name {
        "Target" => {
            let before = "close the target before it: its `goals: (` or `Target(` lacks a `)`";
            return Some(before.to_owned());
        }
        "weight" if expected.contains(&"goals") => {
            let behind = "it stands behind the goal it belongs to: `\"70 mg/L, weight 3\"`";
            return Some(behind.to_owned());
        }
        _ => {}
    }
    if Measure::from_key(name).is_some() {
        let part = ["goals", "analysis"].into_iter().find(|part| expected.contains(part));
        if let Some(part) = part {
            return Some(format!("it belongs inside `{part}: ( … )`"));
        }
    }
    let asked_in = if expected.contains(&"goals") { AskedIn::Goal } else { AskedIn::Analysis };
    answer(name, typed, asked_in)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::flight_entry::FlightEntry;
    use crate::bench::settings_entry;
    use crate::bench::stock_entry::StockEntry;
    use crate::files::Mistakes;

    /// The names that a file may have where `zzz` stands.
    fn known(found: Result<(), Diagnostic>) -> String {
        found.err().and_then(|e| e.details().expected.clone()).unwrap_or_default()
    }

    #[test]
    fn every_name_of_a_part_is_one_there_and_nowhere_beside() {
        let stock = |text| known(parse::<StockEntry>(&SourceText::new("x", text)).map(|_| ()));
        let flight = |text| known(parse::<FlightEntry>(&SourceText::new("x", text)).map(|_| ()));
        let settings = |text| settings_entry::settings(&SourceText::new("x", text));
        let bench = |text| known(settings(text).map(|_| ()).map_err(Mistakes::into_first));
        let found = [
            ("lot: (", stock("Stock(lot: (zzz: 1))"), stock("Stock(zzz: 1)")),
            ("Target(", flight("Flight(targets: [Target(zzz: 1)])"), flight("Flight(zzz: 1)")),
            ("tools: (", bench("Bench(tools: (zzz: 1))"), bench("Bench(zzz: 1)")),
        ];
        assert_eq!(found.len(), PARTS.len());
        for (part, (begins, inside, beside)) in PARTS.iter().zip(found) {
            assert_eq!(part.begins, begins);
            let has = |list: &str, name: &&str| list.contains(&format!("`{name}`"));
            assert!(part.inside.iter().all(|n| has(&inside, n) && !has(&beside, n)), "{inside}");
            assert!(part.beside.iter().all(|n| has(&beside, n) && !has(&inside, n)), "{beside}");
        }
    }
}
