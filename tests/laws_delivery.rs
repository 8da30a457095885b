//! Answers that arrive twice, late and beside others: whatever the network and a second hand do, an
//! answer is one line, and nothing that was not seen is written over.

use proptest::prelude::*;
use waterflight::session::plan::session::plan;
use waterflight::session::plan::{Attribute, Code, Method, Nonce, Plan, Request, Seed};
use waterflight::session::score::{
    Answer, Delivery, Entry, History, Intent, ParsedAnswer, ScoreLog, Sent, Standing,
};

use crate::common::cases;
use crate::common::requests::{numbered, request as common_request};

fn scale(name: &str) -> Attribute {
    Attribute {
        name: name.into(),
        low: 0.0,
        high: 10.0,
        step: 1.0,
        low_word: String::new(),
        high_word: String::new(),
    }
}

fn public(method: Method) -> Result<Plan, TestCaseError> {
    let request: Request = common_request(method, numbered("water", 2), numbered("taster", 1));
    let drawn = plan(&request, &Seed::from_phrase("delivered"), &Nonce::from_phrase("nonce"));
    Ok(drawn.map_err(|error| TestCaseError::fail(error.to_string()))?.0)
}

/// What happens next.
#[derive(Debug, Clone)]
enum Event {
    /// The phone looks at the page and sends these scores and this note.
    Sends(u8, u8, Option<u8>),
    /// It sends without having looked since an earlier time.
    SendsUnseen(u8, u8, Option<u8>),
    /// An earlier message arrives once more.
    Again(prop::sample::Index),
    /// At the terminal one attribute is entered, where it is missing.
    Enters(bool, u8),
    /// At the terminal a line is corrected.
    Corrects(u8),
    /// At the terminal the last entry is taken back.
    Undoes,
}

fn events() -> impl Strategy<Value = Vec<Event>> {
    let score = || 0_u8..3;
    let note = || prop::option::of(0_u8..2);
    let one = prop_oneof![
        3 => (score(), score(), note()).prop_map(|(a, b, n)| Event::Sends(a, b, n)),
        1 => (score(), score(), note()).prop_map(|(a, b, n)| Event::SendsUnseen(a, b, n)),
        4 => any::<prop::sample::Index>().prop_map(Event::Again),
        1 => (any::<bool>(), score()).prop_map(|(which, s)| Event::Enters(which, s)),
        1 => score().prop_map(Event::Corrects),
        1 => Just(Event::Undoes),
    ];
    prop::collection::vec(one, 1..25)
}

struct Table {
    log: ScoreLog,
    taster: String,
    code: Code,
    tray: Vec<Code>,
}

impl Table {
    fn new(method: Method) -> Result<Self, TestCaseError> {
        let plan = public(method)?;
        let tray = plan.trays.first().cloned().ok_or(TestCaseError::fail("no tray"))?;
        let code = *tray.cups.first().ok_or(TestCaseError::fail("no cup"))?;
        Ok(Self { log: ScoreLog::new(&plan), taster: tray.taster, code, tray: tray.cups })
    }

    fn sent(&self, a: u8, b: u8, note: Option<u8>) -> Sent {
        let note = note.map(|n| format!("note {n}"));
        let taster = self.taster.clone();
        if self.log.plan().method.attributes().is_empty() {
            let mut order = self.tray.clone();
            if a > 0 {
                order.reverse();
            }
            return Sent::Answer(Answer::Ranking { taster, tray: 1, order, note });
        }
        let values = [("body".to_owned(), f64::from(a)), ("liking".to_owned(), f64::from(b))];
        let values = values.into_iter().collect();
        Sent::Answer(Answer::Scores { taster, code: self.code, values, note })
    }

    fn history(&self) -> History<'_> {
        let scored = !self.log.plan().method.attributes().is_empty();
        History::at(&self.log, 0, scored.then_some(self.code), false)
    }

    fn add(&mut self, entry: Entry) -> Result<bool, TestCaseError> {
        let Ok(line) = self.log.next_line("", entry) else { return Ok(false) };
        self.log.accept(line).map_err(|error| TestCaseError::fail(error.to_string()))?;
        Ok(true)
    }

    /// What stands by the log's own account.
    fn stands(&self) -> Standing {
        if self.log.plan().method.attributes().is_empty() {
            return match self.log.answer_about(0) {
                Some(Answer::Ranking { order, note, .. }) => {
                    Standing::Codes { codes: order.clone(), note: note.clone() }
                }
                _ => Standing::Nothing,
            };
        }
        match self.log.scores_of(0, self.code).filter(|scores| !scores.is_empty()) {
            None => Standing::Nothing,
            Some(scores) => {
                let mut lines: Vec<u64> = scores.values().map(|score| score.line).collect();
                lines.sort_unstable();
                lines.dedup();
                let notes =
                    lines.iter().filter_map(|line| match &self.log.line(*line)?.line.entry {
                        Entry::Answer(answer) | Entry::Correction { answer, .. } => answer.note(),
                        _ => None,
                    });
                let notes: Vec<&str> = notes.collect();
                Standing::Scores {
                    values: scores.iter().map(|(name, s)| (name.clone(), s.value)).collect(),
                    note: (!notes.is_empty()).then(|| notes.join("; ")),
                }
            }
        }
    }

    /// Delivers a message as the server does; whether it was new.
    fn deliver(&mut self, sent: &Sent, seen: u64) -> Result<bool, TestCaseError> {
        let delivery = sent.delivered(&self.log, seen);
        let delivery = delivery.map_err(|error| TestCaseError::fail(error.to_string()))?;
        let before = self.history().standing().clone();
        let Delivery::New(entries) = delivery else {
            if let Delivery::Known { line } = delivery {
                let stands = self.log.line(line).is_some_and(|recorded| {
                    recorded.status == waterflight::session::score::Status::Stands
                });
                prop_assert!(stands, "line {} is said to stand", line);
            }
            return Ok(false);
        };
        prop_assert!(!entries.is_empty());
        for entry in entries {
            prop_assert!(self.add(entry)?, "a new answer is refused");
        }
        prop_assert!(*self.history().standing() != before, "a line that says nothing new");
        let again = sent.delivered(&self.log, self.history().newest());
        prop_assert!(matches!(again, Ok(Delivery::Known { .. })), "it does not stand: {:?}", again);
        Ok(true)
    }
}

fn played(method: Method, events: Vec<Event>) -> Result<(), TestCaseError> {
    let mut table = Table::new(method)?;
    let mut messages: Vec<(Sent, u64, bool)> = Vec::new();
    let mut looked = 0;
    for event in events {
        match event {
            Event::Sends(a, b, note) | Event::SendsUnseen(a, b, note) => {
                if matches!(event, Event::Sends(..)) {
                    looked = table.history().newest();
                }
                let sent = table.sent(a, b, note);
                let unseen = table.history().newest() > looked;
                let is_new = table.deliver(&sent, looked)?;
                prop_assert!(!(unseen && is_new), "what was not seen is written over");
                messages.push((sent, looked, is_new));
            }
            Event::Again(which) => {
                if messages.is_empty() {
                    continue;
                }
                let at = which.index(messages.len());
                let Some((sent, seen, was_new)) = messages.get(at).cloned() else { continue };
                let lines = table.log.lines().len();
                let is_new = table.deliver(&sent, seen)?;
                prop_assert!(!(was_new && is_new), "a repeat is a line of its own");
                prop_assert!(!was_new || table.log.lines().len() == lines);
                if is_new && let Some(message) = messages.get_mut(at) {
                    message.2 = true;
                }
            }
            Event::Enters(which, score) => {
                let name = if which { "body" } else { "liking" };
                let score = vec![(name.to_owned(), Some(f64::from(score)))];
                let parsed = ParsedAnswer::of_cup(&table.taster, table.code, score, None);
                if let Ok(entry) = Intent::Answer(parsed).entry(&table.log) {
                    table.add(entry)?;
                }
            }
            Event::Corrects(score) => {
                let score = vec![("body".to_owned(), Some(f64::from(score)))];
                let parsed = ParsedAnswer::of_cup(&table.taster, table.code, score, None);
                if let Ok(entry) = (Intent::Correct { of: None, answer: parsed }).entry(&table.log)
                {
                    table.add(entry)?;
                }
            }
            Event::Undoes => {
                if let Ok(entry) = (Intent::Undo { taster: None }).entry(&table.log) {
                    table.add(entry)?;
                }
            }
        }
        let (told, stands) = (table.history().standing().clone(), table.stands());
        prop_assert_eq!(told, stands);
    }
    Ok(())
}

proptest! {
    #![proptest_config(cases(400))]

    #[test]
    fn scores_sent_again_are_one_line_and_write_over_nothing_unseen(events in events()) {
        played(Method::Scoring { attributes: vec![scale("body"), scale("liking")] }, events)?;
    }

    #[test]
    fn rankings_sent_again_are_one_line_and_write_over_nothing_unseen(events in events()) {
        played(Method::Ranking { criterion: "liking".into() }, events)?;
    }
}
