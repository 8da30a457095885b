//! What the prompt for scores shows.

use crate::session::plan::session::nearest;
use crate::session::plan::{Attribute, Method};
use crate::session::plan::{Plan, Tray};

use crate::session::score::Entry;
use crate::session::score::entry_text::{codes_in_a_row, entry_words, pending_words, status_words};
use crate::session::score::partial_cup::PartialCup;
use crate::session::score::score_log::answer_of;
use crate::session::score::{Pending, PendingKind, ScoreLog};

/// Words that can be typed, for naming the nearest to a slip.
const WORDS: [&str; 13] = [
    "back", "correct", "end", "enough", "entries", "help", "leave", "missing", "note", "skip",
    "taster", "tray", "undo",
];

/// The word of the prompt, or the taster, that was probably meant.
pub(crate) fn nearest_word(plan: &Plan, found: &str) -> Option<String> {
    let names = plan.tasters.iter().map(String::as_str);
    nearest(found, WORDS.into_iter().chain(names)).map(str::to_owned)
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
        "undo or back: the last entry is taken back; it is kept, marked",
        "skip: the next one first; enough: a cup is written without what it lacks",
        "ann: that taster goes on; ann 317 …: an answer of ann",
        "note …: a note on the cup that is half typed, else a remark on the session",
        "; …: a note on the cup, where it begins with a number",
        "missing, entries: whose answers are missing; what was entered; end or leave: go on another time",
    ]
    .iter()
    .map(|line| format!("  {line}"))
    .collect()
}

/// Who has answers missing, and which.
pub(crate) fn pending(score_log: &ScoreLog) -> Vec<String> {
    let owes = |pending: &[Pending]| match pending {
        [] => "nothing".to_owned(),
        pending => pending.iter().map(pending_words).collect::<Vec<_>>().join(" "),
    };
    score_log
        .progress()
        .iter()
        .map(|one| format!("{}: {}", one.taster, owes(&one.pending)))
        .collect()
}

/// What was entered, of one taster or of everyone.
pub(crate) fn entries(score_log: &ScoreLog, taster: Option<&str>) -> Vec<String> {
    let by = |entry: &Entry| match entry {
        Entry::Answer(answer) | Entry::Correction { answer, .. } => {
            taster.is_none_or(|taster| answer.taster() == taster)
        }
        Entry::Undo { of } => {
            let undone = score_log.line(*of).and_then(|recorded| answer_of(&recorded.line.entry));
            undone.is_none_or(|answer| taster.is_none_or(|taster| answer.taster() == taster))
        }
        _ => true,
    };
    let lines = score_log.lines().iter().filter(|recorded| by(&recorded.line.entry));
    lines
        .map(|recorded| {
            let words = entry_words(score_log.plan(), &score_log.shown(&recorded.line).entry);
            match status_words(recorded.status).as_str() {
                "" => format!("line {}: {words}", recorded.line.n),
                status => format!("line {}: {words} ({status})", recorded.line.n),
            }
        })
        .collect()
}

/// What is asked now: the rest of a cup that is half typed, or what comes next of the taster whose turn it is.
pub(crate) fn asks(
    score_log: &ScoreLog,
    partial: Option<&PartialCup>,
    turn: Option<(&str, Option<Pending>)>,
) -> Vec<String> {
    if score_log.revealed_in().is_some() {
        return vec!["the session is revealed and its scores are closed; `end` leaves".to_owned()];
    }
    if let Some(partial) = partial {
        let attribute = partial.lacks().first().and_then(|name| {
            score_log.plan().method.attributes().iter().find(|a| a.name == **name)
        });
        return vec![match attribute {
            Some(attribute) => format!("{}: {}?", partial.code, scale(attribute)),
            None => format!("{}: a note? (an empty line for none)", partial.code),
        }];
    }
    if score_log.missing_answers() == 0 {
        return vec![
            "no answer is missing: `end`, and `session reveal NAME` opens the key".to_owned(),
        ];
    }
    let Some((taster, next)) = turn else {
        let missing_answers = score_log.progress();
        let missing_answers = missing_answers.iter().filter(|one| !one.pending.is_empty());
        let missing_answers: Vec<String> = missing_answers
            .map(|one| format!("{} ({} missing)", one.taster, one.pending.len()))
            .collect();
        return vec![format!("who? {}", missing_answers.join(", "))];
    };
    match next {
        Some(pending) => asked(score_log, taster, &pending),
        None => vec![format!("of {taster} nothing is missing; another name, or `end`")],
    }
}

fn scale(attribute: &Attribute) -> String {
    format!(
        "{}, {} ({}) to {} ({})",
        attribute.name, attribute.low, attribute.low_word, attribute.high, attribute.high_word
    )
}

/// The question about a cup, a tray or its turning.
fn asked(score_log: &ScoreLog, taster: &str, pending: &Pending) -> Vec<String> {
    let plan = score_log.plan();
    let Some(tray) = plan.trays_of(taster).find(|tray| tray.number == pending.tray) else {
        return Vec::new();
    };
    let trays = plan.trays_of(taster).count();
    match &pending.what {
        PendingKind::Cup { code, attributes } => {
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
        PendingKind::Tray => {
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
        PendingKind::Turning => vec![format!(
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
