//! Numbers of every JSON document: no digits that only the arithmetic left behind, no noise in the place of
//! zero, and nothing but numbers.

use std::collections::BTreeSet;
use std::error::Error;

use crate::common::pages::{run, tasted_bench};

type Fallible = Result<(), Box<dyn Error>>;

/// Every command that gives JSON, on a bench where a session was tasted.
const COMMANDS: &[&[&str]] = &[
    &["salts"],
    &["salts", "CaCl2"],
    &["stock"],
    &["stock", "calcium"],
    &["weigh", "epsom", "--make", "1 L"],
    &["weighed", "epsom", "--salt", "40.1 g", "--total", "1000.3 g"],
    &["advise"],
    &["verify", "calcium", "--read", "250 µS/cm"],
    &["mix"],
    &["mix", "--dispenser", "dropper"],
    &["mix", "--dispenser", "syringe"],
    &["mix", "--fewest"],
    &["stocktake"],
    &["poured"],
    &["stocktake"],
    &["water"],
    &["water", "1.1x middle"],
    &["water", "0.1 mL/L epsom"],
    &["read", "middle", "300"],
    &["why", "middle"],
    &["alternatives", "middle"],
    &["ladder", "middle", "--into", "rungs", "--vary", "hardness=1.1..4.7 °dH", "--steps", "7"],
    &["batch", "middle", "--make", "100 L"],
    &["concentrate", "middle"],
    &["journal"],
    &["next", "first-flight", "--over", "hardness,alkalinity", "--waters", "3"],
    &["check"],
    &["sources"],
    &["session", "progress", "evening"],
    &["session", "results", "evening"],
    &["session", "sheet", "evening", "--for", "server"],
    &["session", "sheet", "evening", "--for", "pourer"],
    &[
        "session",
        "plan",
        "first-flight",
        "--tasters",
        "ann, bo",
        "--attribute",
        "body, 0 to 1 by 0.1",
    ],
];

/// The numbers of a document as they are written, outside of its words.
fn numbers(document: &str) -> Vec<String> {
    let mut found = Vec::new();
    let (mut number, mut in_words, mut escaped) = (String::new(), false, false);
    for c in document.chars() {
        if in_words {
            (in_words, escaped) = (escaped || c != '"', !escaped && c == '\\');
            continue;
        }
        if c.is_ascii_digit()
            || (matches!(c, '-' | '+' | '.' | 'e' | 'E') && !number.is_empty())
            || c == '-'
        {
            number.push(c);
        } else if !number.is_empty() {
            found.push(std::mem::take(&mut number));
        }
        in_words = c == '"';
    }
    found
}

fn significant_digits(number: &str) -> usize {
    let mantissa = number.split(['e', 'E']).next().unwrap_or_default();
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let digits = digits.trim_start_matches('0');
    if mantissa.contains('.') { digits.trim_end_matches('0').len() } else { 0 }
}

#[test]
fn no_document_holds_the_noise_of_arithmetic() -> Fallible {
    assert_eq!(numbers("{\"a 1.5\\\" 2\": [-0.3, 1e-17], \"b\":12}"), ["-0.3", "1e-17", "12"]);
    assert_eq!(significant_digits("0.30000000000000004"), 17);
    let (_folder, bench) = tasted_bench()?;
    let (mut many, mut tiny) = (BTreeSet::new(), BTreeSet::new());
    let mut seen = 0;
    for command in COMMANDS {
        let arguments: Vec<&str> = command.iter().copied().chain(["--json"]).collect();
        let document = run(&bench, &arguments)?;
        let all = numbers(&document);
        seen += all.len();
        for number in all {
            if significant_digits(&number) > 12 {
                many.insert(format!("{command:?}: {number}"));
            }
            // No bench tells less from nothing; probabilities may well be smaller.
            let value: f64 = number.parse()?;
            if value != 0.0 && value.abs() < 1e-12 {
                tiny.insert(format!("{command:?}: {number}"));
            }
        }
    }
    assert!(seen > 5_000, "only {seen} numbers were looked at");
    assert!(many.is_empty(), "{many:#?}");
    assert!(tiny.is_empty(), "{tiny:#?}");
    Ok(())
}
