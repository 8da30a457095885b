//! The opened key: which water stood behind which code, and that nobody changed it.

use serde::Serialize;

use crate::session::plan::key::in_groups;
use crate::session::plan::{Key, Verified};
use crate::session::score::ScoreLog;
use crate::text::Page;
use crate::text::command_line::typed;

/// A revealed session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SessionReveal {
    /// The session.
    pub session: String,
    /// The seal, in the plan and of the opened key.
    pub seal: String,
    /// The key.
    pub key: Key,
    /// Line of the reveal in the log.
    pub line: Option<u64>,
    /// Whether drawing again from the opened key gave this very plan.
    pub drawn_again: bool,
    /// Why it was forced, when answers were missing.
    pub forced: Option<String>,
    /// Answers missing.
    pub missing_answers: usize,
    /// What changed since the session was planned.
    pub warnings: Vec<String>,
}

impl SessionReveal {
    /// Puts the key of a log that holds its reveal together.
    #[must_use]
    pub fn new(score_log: &ScoreLog, key: Key, verified: Verified, warnings: Vec<String>) -> Self {
        Self {
            session: score_log.plan().session.clone(),
            seal: score_log.plan().seal.clone(),
            key,
            line: score_log.revealed_in(),
            drawn_again: verified == Verified::DrawnAgain,
            forced: score_log.forced(),
            missing_answers: score_log.missing_answers(),
            warnings,
        }
    }

    /// The page.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = Page::default();
        page.say(format!("{} is revealed; its scores are closed", self.session));
        if let Some(why) = &self.forced {
            page.say(format!(
                "forced with {} missing, which is recorded: {why}",
                self.missing_answers
            ));
        }
        let alone = self.key.cups.iter().any(|cup| cup.tray.is_some());
        let rows = self.key.cups.iter().map(|cup| {
            let tray = cup.tray.map_or(String::new(), |tray| tray.to_string());
            vec![cup.code.to_string(), cup.water.clone(), cup.round.to_string(), tray]
        });
        let heads: [&'static str; 4] = if alone {
            ["underneath", "water", "round", "tray"]
        } else {
            ["code", "water", "round", ""]
        };
        page.show(&heads, rows.collect());
        page.say(format!("the opened key has the seal of the plan: {}", in_groups(&self.seal)));
        page.say(if self.drawn_again {
            "drawing again from its seed gives this very plan"
        } else {
            "the plan names other drawing rules and was not drawn again"
        });
        for warning in &self.warnings {
            page.say(format!("! {warning}"));
        }
        page.say(format!("next: waterflight session results {}", typed(&self.session)));
        page
    }
}
