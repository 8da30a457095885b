//! What is said at the table where scores are entered.

use crate::session::plan::{Attribute, Method};
use crate::session::plan::{Plan, Tray};

use crate::session::score::Desk;
use crate::session::score::Entry;
use crate::session::score::entry_text::{codes_in_a_row, entry_words, owed_words, status_words};
use crate::session::score::score_log::answer_of;
use crate::session::score::{Book, Owed, OwedWhat};

/// Words that can be typed, for naming the nearest to a slip.
const WORDS: [&str; 11] = [
    "correct", "end", "enough", "entries", "help", "note", "owed", "skip", "taster", "tray", "undo",
];

/// Our choice: two slips of the finger still mean the same word.
const SLIPS: usize = 2;

/// The word of the prompt, or the taster, that was probably meant.
pub(crate) fn nearest_word(plan: &Plan, found: &str) -> Option<String> {
    let slips = |word: &&str| strsim::damerau_levenshtein(word, &found.to_lowercase());
    let names = plan.tasters.iter().map(String::as_str);
    let nearest = WORDS.into_iter().chain(names).min_by_key(slips);
    nearest.filter(|word| slips(word) <= SLIPS && slips(word) < word.len()).map(str::to_owned)
}

/// What can be typed.
pub(crate) fn help(plan: &Plan) -> Vec<String> {
    let names: Vec<&str> = plan.method.attributes().iter().map(|a| a.name.as_str()).collect();
    let answer = match &plan.method {
        Method::Scoring { .. } => format!(
            "scores in the order {}, then a note; one at a time or all in one line; `-` leaves one out",
            names.join(" ")
        ),
        Method::Ranking { .. } => "all codes of the tray, most first, then a note".to_owned(),
        Method::Tetrad => "two codes that belong together, then a note".to_owned(),
        _ => "the code chosen, then a note".to_owned(),
    };
    let (jump, correct) = if names.is_empty() {
        ("tray 2: that tray is asked for", "correct 317 …: another answer for the tray with 317")
    } else {
        (
            "317: that cup is asked for; 317 6 7: it is scored",
            "correct 317 body=5: a score changed; the rest and the old line are kept",
        )
    };
    [
        answer.as_str(),
        jump,
        correct,
        "undo: the last entry is taken back; it is kept, marked",
        "skip: the next one first; enough: a cup is written without what it lacks",
        "ann: that taster goes on; ann 317 …: an answer of ann",
        "note …: a remark on the session; `;` before a note that begins with a number",
        "owed, entries: who owes what; what was entered; end: leave, and go on another time",
    ]
    .iter()
    .map(|line| format!("  {line}"))
    .collect()
}

/// Who owes what.
pub(crate) fn owed(book: &Book) -> Vec<String> {
    let owes = |owed: &[Owed]| match owed {
        [] => "nothing".to_owned(),
        owed => owed.iter().map(owed_words).collect::<Vec<_>>().join(" "),
    };
    book.progress().iter().map(|one| format!("{} owes {}", one.taster, owes(&one.owed))).collect()
}

/// What was entered, of one taster or of everyone.
pub(crate) fn entries(book: &Book, taster: Option<&str>) -> Vec<String> {
    let by = |entry: &Entry| match entry {
        Entry::Answer(answer) | Entry::Correction { answer, .. } => {
            taster.is_none_or(|taster| answer.taster() == taster)
        }
        Entry::Undo { of } => {
            let undone = book.line(*of).and_then(|recorded| answer_of(&recorded.line.entry));
            undone.is_none_or(|answer| taster.is_none_or(|taster| answer.taster() == taster))
        }
        _ => true,
    };
    let lines = book.lines().iter().filter(|recorded| by(&recorded.line.entry));
    lines
        .map(|recorded| {
            let words = entry_words(book.plan(), &recorded.line.entry);
            match status_words(recorded.status).as_str() {
                "" => format!("line {}: {words}", recorded.line.n),
                status => format!("line {}: {words} ({status})", recorded.line.n),
            }
        })
        .collect()
}

/// What is asked now.
pub(crate) fn asks(desk: &Desk, book: &Book) -> Vec<String> {
    if book.revealed_in().is_some() {
        return vec!["the session is revealed and its scores are closed; `end` leaves".to_owned()];
    }
    if let Some(half) = &desk.half {
        let attribute = half
            .lacks()
            .first()
            .and_then(|name| book.plan().method.attributes().iter().find(|a| a.name == **name));
        return vec![match attribute {
            Some(attribute) => format!("{}: {}?", half.code, scale(attribute)),
            None => format!("{}: a note? (an empty line for none)", half.code),
        }];
    }
    if book.owing() == 0 {
        return vec!["nobody owes an answer: `end`, and `session reveal` opens the key".to_owned()];
    }
    let Some(taster) = &desk.taster else {
        let owing = book.progress();
        let owing = owing.iter().filter(|one| !one.owed.is_empty());
        let owing: Vec<String> =
            owing.map(|one| format!("{} ({} owed)", one.taster, one.owed.len())).collect();
        return vec![format!("who? {}", owing.join(", "))];
    };
    match desk.current(book) {
        Some(owed) => asked(book, taster, &owed),
        None => vec![format!("{taster} owes nothing more; another name, or `end`")],
    }
}

fn scale(attribute: &Attribute) -> String {
    format!(
        "{}, {} ({}) to {} ({})",
        attribute.name, attribute.low, attribute.low_word, attribute.high, attribute.high_word
    )
}

/// The question about a cup, a tray or its turning.
fn asked(book: &Book, taster: &str, owed: &Owed) -> Vec<String> {
    let plan = book.plan();
    let Some(tray) = plan.trays_of(taster).find(|tray| tray.number == owed.tray) else {
        return Vec::new();
    };
    let trays = plan.trays_of(taster).count();
    match &owed.what {
        OwedWhat::Cup { code, attributes } => {
            let place = tray.cups.iter().position(|cup| cup == code).unwrap_or(0);
            let mut lines = Vec::new();
            if tray.breaks_after.contains(&place) {
                lines.push("a break comes before this cup".to_owned());
            }
            lines.push(format!(
                "{taster}, tray {} of {trays}, cup {} of {}: {code} ({})",
                tray.number,
                place + 1,
                tray.cups.len(),
                attributes.join(" ")
            ));
            lines
        }
        OwedWhat::Tray => {
            let mut lines = Vec::new();
            if comes_after_a_break(plan, tray) {
                lines.push("a break comes before this tray".to_owned());
            }
            let reference =
                tray.reference.map_or(String::new(), |code| format!("reference {code}, "));
            lines.push(format!(
                "{taster}, tray {} of {trays}, {reference}cups {}. {}",
                tray.number,
                codes_in_a_row(&tray.cups),
                plan.method.instruction()
            ));
            lines
        }
        OwedWhat::Turning => vec![format!(
            "{taster}, tray {} of {trays} is answered: turn its cups over and enter TOP=UNDER for {}",
            tray.number,
            codes_in_a_row(&tray.cups)
        )],
    }
}

fn comes_after_a_break(plan: &Plan, tray: &Tray) -> bool {
    let before = plan.trays_of(&tray.taster).find(|other| other.number + 1 == tray.number);
    before.is_some_and(|before| before.breaks_after.contains(&before.cups.len()))
}
