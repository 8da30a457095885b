//! Whatever is typed where scores are entered: nothing breaks, nothing is half written, and what
//! was recorded can be read back.

use std::error::Error;

use proptest::prelude::*;
use waterflight::session::plan::Nonce;
use waterflight::session::plan::Plan;
use waterflight::session::plan::Request;
use waterflight::session::plan::session::plan;
use waterflight::session::plan::{Attribute, Method};
use waterflight::session::plan::{RequestError, Seed};
use waterflight::session::score::{
    Answer, Entry, EntryPrompt, Line, PromptOutcome, ScoreLog, replay,
};

use crate::common::requests::request as common_request;

fn drawn(method: Method) -> Result<Plan, RequestError> {
    let request = Request {
        session: "table".into(),
        break_after: Some(2),
        ..common_request(
            method,
            vec!["one".into(), "two".into(), "three".into()],
            vec!["ann".into(), "ann b".into(), "7".into()],
        )
    };
    Ok(plan(&request, &Seed::from_phrase("table"), &Nonce::from_phrase("nonce"))?.0)
}

fn scoring() -> Result<Plan, Box<dyn Error>> {
    let attributes = ["body, 0 to 10 by 0.5, thin to heavy", "liking", "salt"];
    let read = |text: &&str| text.parse::<Attribute>();
    let attributes = attributes.iter().map(read).collect::<Result<_, _>>()?;
    Ok(drawn(Method::Scoring { attributes })?)
}

/// A word that may be typed; numbers below a hundred stand for codes of the plan.
fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        6 => (0_usize..12).prop_map(|n| format!("@{n}")),
        6 => (-1_i32..12).prop_map(|n| n.to_string()),
        2 => Just("4.5".to_owned()),
        1 => Just("4,5".to_owned()),
        2 => Just("-".to_owned()),
        1 => Just("body=3".to_owned()),
        1 => Just("bdy=3".to_owned()),
        3 => Just("ann".to_owned()),
        2 => Just("ann b".to_owned()),
        1 => Just("; 2 sips".to_owned()),
        2 => Just("chalky".to_owned()),
        1 => Just("918=542".to_owned()),
        3 => prop::sample::select(vec![
            "undo", "skip", "enough", "missing", "entries", "help", "correct", "note", "taster", "tray",
            "end", "",
        ])
        .prop_map(str::to_owned),
        1 => "\\PC{0,6}",
    ]
}

fn typed() -> impl Strategy<Value = Vec<String>> {
    let line = prop::collection::vec(words(), 0..5).prop_map(|words| words.join(" "));
    prop::collection::vec(line, 0..40)
}

/// Types lines at the table; gives the log.
fn log(plan: &Plan, lines: &[String]) -> Result<(ScoreLog, String), Box<dyn Error>> {
    let codes: Vec<String> =
        plan.trays.iter().flat_map(|tray| &tray.cups).map(ToString::to_string).collect();
    let mut score_log = ScoreLog::new(plan);
    let mut prompt = EntryPrompt::new(&score_log, None)?;
    let mut text = String::new();
    for line in lines {
        let mut line = line.clone();
        for (n, code) in codes.iter().enumerate().rev() {
            line = line.replace(&format!("@{n}"), code);
        }
        if let Ok(PromptOutcome::Record(intent)) = prompt.handle_line(&score_log, &line)
            && let Ok(entry) = intent.entry(&score_log)
        {
            let written: Line = score_log.next_line("2031-05-04T10:00:00Z", entry)?;
            text.push_str(&written.to_text()?);
            score_log.accept(written)?;
            prompt.recorded();
        }
        let asked = prompt.asks(&score_log);
        if asked.is_empty() {
            return Err("nothing is asked".into());
        }
    }
    Ok((score_log, text))
}

proptest! {
    #![proptest_config(crate::common::cases(128))]

    #[test]
    fn scores_typed_anyhow_are_whole_or_not_there(lines in typed()) {
        let plan = scoring().map_err(|e| TestCaseError::fail(e.to_string()))?;
        let (score_log, text) = log(&plan, &lines).map_err(|e| TestCaseError::fail(e.to_string()))?;
        // Only who says so leaves attributes out.
        let leaves_out = lines.iter().any(|l| l.contains('-') || l.contains("enough"));
        for recorded in score_log.lines() {
            if let Entry::Answer(Answer::Scores { values, .. }) = &recorded.line.entry {
                prop_assert!(values.len() == 3 || leaves_out, "{values:?}");
            }
        }
        let again = replay(&plan, text.as_bytes()).map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(again.lines(), score_log.lines());
    }

    #[test]
    fn trays_typed_anyhow_can_be_read_back(lines in typed()) {
        let ranking = drawn(Method::Ranking { criterion: "liking".into() });
        for plan in [ranking, drawn(Method::Tetrad)] {
            let plan = plan.map_err(|e| TestCaseError::fail(e.to_string()))?;
            let (score_log, text) = log(&plan, &lines).map_err(|e| TestCaseError::fail(e.to_string()))?;
            let again =
                replay(&plan, text.as_bytes()).map_err(|e| TestCaseError::fail(e.to_string()))?;
            prop_assert_eq!(again.lines(), score_log.lines());
        }
    }
}

/// Typed step by step or in one line, the same is recorded.
#[test]
fn steps_and_one_line_come_to_the_same() -> Result<(), Box<dyn Error>> {
    let plan = scoring()?;
    let lines = |text: &str| -> Vec<String> { text.split('/').map(str::to_owned).collect() };
    let (whole, _) = log(&plan, &lines("ann/4 5 6 dull/@1 3 3 3"))?;
    let (steps, _) = log(&plan, &lines("ann/4/5/6/dull/@1/3/3/3/"))?;
    let answers = |score_log: &ScoreLog| -> Vec<Entry> {
        score_log.lines().iter().map(|recorded| recorded.line.entry.clone()).collect()
    };
    assert_eq!(answers(&whole), answers(&steps));
    assert_eq!(whole.lines().len(), 2);
    Ok(())
}
