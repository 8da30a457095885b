//! The journal of a bench: what all its sessions say of each water, and every score as a table.

use serde_json::{Value, json};

use crate::app::all_scores::surface_of_all_scores;
use crate::app::bench_names::targets;
use crate::app::past_scores::{PastScores, WantedAfter};
use crate::bench::Bench;
use crate::files::Diagnostic;
use crate::journal::Journal;
use crate::journal::score_rows::{ScoreRows, score_rows};
use crate::next_flight::report::NextReport;
use crate::session::plan::each_once;
use crate::session::plan::wanted::attributes_of;
use crate::session::results::PastSession;
use crate::text::Page;

/// The journal of a bench.
#[derive(Debug, Clone)]
pub struct BenchJournal {
    /// What the sessions say.
    pub journal: Journal,
    /// The surface through all scores, or why there is none; where it was asked for.
    pub surface: Option<Result<NextReport, String>>,
    /// Sessions that cannot be read, in words.
    pub not_counted: Vec<String>,
}

/// What all sessions of a bench say; with `surface` also the surface through all scores.
///
/// # Errors
/// When the sessions cannot be listed, nothing can be wanted so, or none judged what is asked for.
pub fn bench_journal(
    bench: &Bench,
    wanted: WantedAfter<'_>,
    surface: bool,
) -> Result<BenchJournal, Diagnostic> {
    let mut past = PastScores::of(bench)?;
    let of = past.want(wanted)?;
    let planned: Vec<String> = targets(bench).map(|(_, target)| target).collect();
    let scores = (past.sessions.as_slice(), &past.worked_out);
    let alone = judged_alone(&past.sessions, wanted, of.as_deref())?;
    let journal = Journal::new(&past.sessions, &planned, &past.worked_out, alone);
    let surface = surface.then(|| surface_of_all_scores(bench, scores, of.as_deref()));
    past.keep(bench);
    Ok(BenchJournal { journal, surface, not_counted: past.not_counted })
}

/// Every score of a bench as a row, with composition and doses beside it; and the sessions that cannot be
/// read, in words.
///
/// # Errors
/// As [`bench_journal`].
pub fn score_table(
    bench: &Bench,
    wanted: WantedAfter<'_>,
) -> Result<(ScoreRows, Vec<String>), Diagnostic> {
    let mut past = PastScores::of(bench)?;
    let of = past.want(wanted)?;
    let alone = judged_alone(&past.sessions, wanted, of.as_deref())?;
    Ok((score_rows(&past.sessions, alone), past.not_counted))
}

/// What alone is to be said, where an attribute or a criterion was named: one that was judged.
fn judged_alone<'a>(
    past: &[PastSession],
    wanted: WantedAfter<'_>,
    of: Option<&'a str>,
) -> Result<Option<&'a str>, Diagnostic> {
    let Some(of) = of.filter(|_| wanted.attribute.is_some()) else { return Ok(None) };
    let revealed = past.iter().filter_map(|session| session.revealed.as_ref());
    let judged = each_once(revealed.flat_map(|revealed| attributes_of(&revealed.method)));
    if judged.contains(&of) {
        return Ok(Some(of));
    }
    let refused = Diagnostic::choice(format!("no revealed session judged `{of}`"));
    Err(match judged.as_slice() {
        [] => refused.remedy("reveal a session first, or leave out --attribute"),
        judged => refused.expected(judged.join(", ")),
    })
}

impl BenchJournal {
    /// What is to be read.
    #[must_use]
    pub fn page(&self) -> Page {
        let mut page = self.journal.page();
        for line in &self.not_counted {
            page.say(format!("! {line}"));
        }
        page
    }

    /// The same as data.
    #[must_use]
    pub fn data(&self) -> Value {
        let mut data = json!(self.journal);
        if let Some(data) = data.as_object_mut() {
            if let Some(surface) = &self.surface {
                data.insert("all_scores".to_owned(), json!(surface.as_ref().ok()));
                data.insert("no_surface".to_owned(), json!(surface.as_ref().err()));
            }
            data.insert("not_counted".to_owned(), json!(self.not_counted));
        }
        data
    }
}
