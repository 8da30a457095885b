//! Amounts as they are said in one line: `calcium 44, magnesium 6.2 mg/L; hardness max 3 °dH`.

use crate::bench::flight_writer::quoted;
use crate::bench::trade_answer::{AskedIn, answer};
use crate::files::near_name::nearest;
use crate::flight::LimitSubject;
use crate::water::{Measure, trade_words};

/// What stands before a measure that was not measured and is taken to be something.
pub(super) const ASSUMED: &str = "assumed";

/// A line split into its measures, each with the text that follows it. Units that stand at the end
/// alone hold for those before them that have none.
pub(super) fn split(line: &str, asked_in: AskedIn) -> Result<Vec<(String, String)>, String> {
    let mut pieces: Vec<(String, String)> = Vec::new();
    // As it stands in a file, `hardness: "8 °dH"`, it means the same.
    let line = line.replace(['"', '“', '”', '„'], "");
    for piece in separated(&line) {
        let word = piece.split_whitespace().next().unwrap_or_default().trim_end_matches([':', '=']);
        match head(&piece) {
            Some((key, rest)) => pieces.push((key, rest)),
            None if from_elsewhere(&piece).is_some() => return Err(unknown(&piece, asked_in)),
            // `, weight 3` and `, tolerance 5 mg/L` belong to what stands before them.
            None => match pieces.last_mut() {
                Some((_, before)) if belongs_to_a_goal(word) => {
                    *before = format!("{before}, {piece}");
                }
                _ => return Err(unknown(&piece, asked_in)),
            },
        }
    }
    if let Some((key, _)) = pieces.iter().find(|(_, text)| text.is_empty()) {
        return Err(format!("how much {key}? write it as in `{key} 44 mg/L`"));
    }
    Ok(pieces)
}

/// At semicolons, at commas that are not part of a number, and before a measure with its number that
/// follows another one.
fn separated(line: &str) -> Vec<String> {
    at_signs(line).iter().flat_map(|piece| at_measures(piece)).collect()
}

/// `Ca 80 Mg 12` in two.
fn at_measures(piece: &str) -> Vec<String> {
    let words: Vec<&str> = piece.split_whitespace().collect();
    let mut pieces: Vec<Vec<&str>> = vec![Vec::new()];
    for (n, word) in words.iter().enumerate() {
        let amount =
            |next: &&str| next.starts_with(|c: char| c.is_ascii_digit() || "<~≈".contains(c));
        let begins = Measure::from_key(word.trim_end_matches([':', '='])).is_some()
            && words.get(n + 1).is_some_and(amount);
        let has_number = pieces
            .last()
            .is_some_and(|p| p.iter().any(|w| w.contains(|c: char| c.is_ascii_digit())));
        if begins && has_number {
            pieces.push(Vec::new());
        }
        if let Some(last) = pieces.last_mut() {
            last.push(word);
        }
    }
    pieces.into_iter().map(|words| words.join(" ")).collect()
}

/// At semicolons, and at commas that are not part of a number.
fn at_signs(line: &str) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let characters: Vec<char> = line.chars().collect();
    for (n, c) in characters.iter().enumerate() {
        let digit = |at: Option<&char>| at.is_some_and(char::is_ascii_digit);
        let in_number = *c == ','
            && digit(n.checked_sub(1).and_then(|before| characters.get(before)))
            && digit(characters.get(n + 1));
        if *c == ';' || (*c == ',' && !in_number) {
            pieces.push(String::new());
        } else if let Some(last) = pieces.last_mut() {
            last.push(*c);
        }
    }
    let trimmed = pieces.iter().map(|p| p.trim().to_owned());
    trimmed.filter(|p| !p.is_empty()).collect()
}

/// The measure that a piece begins with, and the rest of it. `ph` and `conductivity` are no measures
/// and are passed through.
fn head(piece: &str) -> Option<(String, String)> {
    if let Some(rest) = piece.strip_prefix(ASSUMED).and_then(|rest| rest.strip_prefix(' ')) {
        return head(rest.trim_start()).map(|(key, rest)| (format!("{ASSUMED} {key}"), rest));
    }
    beginning(piece, |name| match Measure::from_key(name) {
        Some(measure) => Some(measure.key().to_owned()),
        None => {
            Some(name.to_lowercase()).filter(|name| matches!(name.as_str(), "ph" | "conductivity"))
        }
    })
}

/// What the first words of a piece mean, three of them at most, and the rest of it.
fn beginning(piece: &str, meant: impl Fn(&str) -> Option<String>) -> Option<(String, String)> {
    let words: Vec<&str> = piece.split_whitespace().collect();
    (1..=words.len().min(3)).rev().find_map(|many| {
        let (name, rest) = words.split_at(many);
        let meant = meant(name.join(" ").trim_end_matches([':', '=']).trim())?;
        Some((meant, rest.join(" ").trim_start_matches([':', '=']).trim().to_owned()))
    })
}

/// Whether what begins with a word belongs to the goal before it: `weight 3`, `tolerance 5 mg/L`, `± 2`.
fn belongs_to_a_goal(word: &str) -> bool {
    let named = ["weight", "tolerance"].iter().any(|own| word.eq_ignore_ascii_case(own));
    named || !word.starts_with(char::is_alphabetic)
}

/// The word from another list that a piece begins with, and the rest of it.
fn from_elsewhere(piece: &str) -> Option<(String, String)> {
    beginning(piece, |name| trade_words::in_a_sentence(name).map(|_| name.to_owned()))
}

fn unknown(piece: &str, asked_in: AskedIn) -> String {
    if let Some((word, typed)) = from_elsewhere(piece)
        && let Some(said) = answer(&word, &typed, asked_in)
    {
        return said;
    }
    // What a line may name beside measures depends on what is asked.
    let known: Vec<&str> = match asked_in {
        AskedIn::Goal => Measure::KEYS.to_vec(),
        AskedIn::Analysis | AskedIn::Limit => LimitSubject::keys().collect(),
    };
    let word = piece.split(|c: char| c.is_whitespace() || matches!(c, ':' | '=')).next();
    if let Some(word) = word
        && let Some(near) = nearest(word, &known)
    {
        return format!("`{word}` is no measure known here: did you mean `{near}`?");
    }
    format!("`{piece}` begins with no measure known here: {}", known.join(", "))
}

/// Goals, or limits, as lines of a file.
pub(super) fn goal_lines<K: std::fmt::Display>(goals: &[(K, String)], indent: usize) -> String {
    let blanks = " ".repeat(indent);
    let line = |(key, goal): &(K, String)| format!("{blanks}{key}: {},\n", quoted(goal));
    goals.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_are_read_as_they_are_printed() {
        let keys = |line: &str| {
            split(line, AskedIn::Analysis).map(|pieces| {
                pieces.into_iter().map(|(key, text)| format!("{key} {text}")).collect()
            })
        };
        for (line, wanted) in [
            ("Ca 80 Mg 12 Na 5 HCO3 240", "calcium 80|magnesium 12|sodium 5|bicarbonate 240"),
            (
                "Calcium 44,5 mg/l, Magnesium 1.234, Natrium 12",
                "calcium 44,5 mg/l|magnesium 1.234|sodium 12",
            ),
            ("Calcium: 44 ; Hydrogen carbonate: 140", "calcium 44|bicarbonate 140"),
            ("Ca2+ 44, SO₄ 30; HCO₃⁻ 140", "calcium 44|sulfate 30|bicarbonate 140"),
            ("Ca 44 mg Mg 12 mg", "calcium 44 mg|magnesium 12 mg"),
            (
                "total hardness 12 °dH, assumed calcium 60 mg/L",
                "hardness 12 °dH|assumed calcium 60 mg/L",
            ),
        ] {
            let wanted: Vec<String> = wanted.split('|').map(str::to_owned).collect();
            assert_eq!(keys(line), Ok(wanted), "{line}");
        }
        assert!(split("Ca 44, Eisen 3", AskedIn::Analysis).is_err_and(|why| why.contains("Eisen")));
    }

    #[test]
    fn commas_of_numbers_stay_and_clauses_belong_to_what_is_before() {
        let said = split("calcium 4,4 mg/L, hardness 3 °dH, weight 2; Na: 5 mg/L", AskedIn::Goal);
        let text = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(
            said,
            Ok(vec![
                text("calcium", "4,4 mg/L"),
                text("hardness", "3 °dH, weight 2"),
                text("sodium", "5 mg/L")
            ])
        );
        assert!(split("GH 4", AskedIn::Goal).is_err_and(|why| why.contains("hardness")));
        for (line, asked_in, said) in [
            ("EC 320 µS/cm", AskedIn::Analysis, "`conductivity: \"320 µS/cm\"`"),
            ("electrical conductivity: 0,32 mS/cm", AskedIn::Analysis, "\"0,32 mS/cm\"`"),
            ("TDS 260 mg/L", AskedIn::Analysis, "`dissolved_solids: \"260 mg/L\"`"),
            ("EC max 500 µS/cm", AskedIn::Limit, "`conductivity: \"max 500 µS/cm\"`"),
            ("chlorine max 0,05 mg/L", AskedIn::Limit, "another substance than chloride"),
            ("conductivty 3 µS/cm", AskedIn::Analysis, "`conductivity`?"),
        ] {
            assert!(split(line, asked_in).is_err_and(|why| why.contains(said)), "{line}");
        }
        assert!(split("calcium", AskedIn::Goal).is_err());
    }
}
