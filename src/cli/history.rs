//! `log`: what was recorded on a bench, in order. `undo`: a record taken back. `bottle`: what happened to
//! a bottle beside pours.

use std::path::Path;

use clap::Args;
use serde_json::json;

use crate::app::bottles::{bottle as bottle_of, filled};
use crate::app::mistakes::internal;
use crate::bench::history::{HistoryEntry, HistoryLine};
use crate::bench::records::{self, BottleChange, Records};
use crate::bench::session_folder::{self, SessionFolder};
use crate::cli::amount::{above_zero, day};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, numbered};
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::mix::stocktake::Filled;
use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, show};
use crate::session::score::{Entry, Recorded, Status};
use crate::text::Extent;
use crate::text::names;
use crate::text::table::wrapped;

/// Which record, and why.
#[derive(Debug, Args)]
pub(super) struct UndoOptions {
    /// Number of the record, as `log` lists it; a session's name; or SESSION:LINE for a remark on a
    /// session. The last record that stands when left out.
    record: Option<String>,
    /// Why it is taken back.
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,
    /// The day; today when left out.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
}

/// What happened to a bottle; one of the three.
#[derive(Debug, Args)]
#[group(skip)]
pub(super) struct BottleOptions {
    /// Name on the bottle.
    stock: String,
    #[command(flatten)]
    change: Change,
    /// The day; today when left out.
    #[arg(long, value_name = "DATE")]
    date: Option<String>,
    /// Takes the place of this record of a bottle.
    #[arg(long, value_name = "RECORD")]
    instead_of: Option<u64>,
}

#[derive(Debug, Args)]
#[group(required = true, multiple = false)]
struct Change {
    /// So much was spilled, or taken for something else.
    #[arg(long, value_name = "VOLUME")]
    spilled: Option<String>,
    /// So much was found in it, about.
    #[arg(long, value_name = "VOLUME")]
    left: Option<String>,
    /// It was thrown away.
    #[arg(long)]
    thrown_away: bool,
}

/// Our choice: so many lines of the log have room on a small terminal.
const LATEST_LINES: usize = 20;

pub(super) fn log(bench: Option<&Path>, how: How) -> Outcome {
    let root = bench::root(bench)?;
    let lines = entries(&root)?;
    if how.json {
        return crate::text::json::document(&lines).map_err(|e| internal(&e));
    }
    if lines.is_empty() {
        return Ok("Nothing is recorded yet.\n".to_owned());
    }
    let mut entries: Vec<String> = Vec::new();
    for line in &lines {
        let number = line.record.map_or("-".to_owned(), |n| n.to_string());
        let back =
            line.taken_back_by.map_or(String::new(), |by| format!(" [taken back by record {by}]"));
        let text = format!("{number:>3}  {}  {}{back}", line.day, line.what);
        // The blanks that set the number apart are kept: the rest is broken at 17.
        let (head, rest) = text.split_at_checked(17).unwrap_or((&text, ""));
        let broken = wrapped(&format!("{}{rest}", " ".repeat(17)), 17);
        entries.push(format!("{head}{}", broken.get(17..).unwrap_or_default()));
    }
    let mut shown = entries.len();
    if how.extent == Extent::Screen {
        let mut room = LATEST_LINES;
        let fits = |entry: &&String| {
            let lines = entry.lines().count();
            let left = room.checked_sub(lines);
            room = left.unwrap_or(0);
            left.is_some()
        };
        shown = entries.iter().rev().take_while(fits).count().max(1);
    }
    let earlier = entries.len() - shown;
    let mut out = match earlier {
        0 => String::new(),
        1 => "One earlier entry: --full.\n".to_owned(),
        n => format!("{n} earlier entries: --full.\n"),
    };
    entries.iter().skip(earlier).for_each(|entry| out.push_str(entry));
    Ok(out)
}

/// Records, planned sessions and remarks in the order in which they were made, whatever days they name.
fn entries(root: &Path) -> Result<Vec<HistoryEntry>, Diagnostic> {
    let records = Records::read(root)?;
    // The record that it comes after; what is a record before what is none; then by the time.
    let mut placed: Vec<((u64, bool, String), HistoryEntry)> = Vec::new();
    for line in &records.history {
        placed.push(((line.n, false, String::new()), HistoryEntry::from(line)));
    }
    let last_before = |is_before: &dyn Fn(&HistoryLine) -> bool| {
        records.history.iter().rfind(|record| is_before(record)).map_or(0, |record| record.n)
    };
    for name in session_folder::names(root)? {
        // `journal` says what is wrong with a session that cannot be read.
        let Ok(session) = SessionFolder::open(root, &name) else { continue };
        let waters = &session.waters;
        let taken_back = records.withdrawn_sessions.contains(&name);
        let back = if taken_back { ", taken back" } else { "" };
        let planned = HistoryEntry {
            record: None,
            day: waters.day.clone(),
            what: format!("session {name} planned, of {}{back}", waters.flight),
            taken_back_by: None,
        };
        // Sessions of older programs know their day alone.
        let after = waters.after_record.unwrap_or_else(|| last_before(&|r| r.day <= waters.day));
        placed.push(((after, true, waters.day.clone()), planned));
        for (at, line) in remarks(&session) {
            let made_before = |record: &HistoryLine| match &record.at {
                // Within one second nobody makes both by hand.
                Some(record) => *record < at,
                None => record.day <= line.day,
            };
            let after = last_before(&made_before).max(after);
            placed.push(((after, true, at.clone()), line));
        }
    }
    placed.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(placed.into_iter().map(|(_, line)| line).collect())
}

/// The remarks on a session, with the times at which they were made; those of its log that cannot be read are named by `check`.
fn remarks(session: &SessionFolder) -> Vec<(String, HistoryEntry)> {
    let Ok(score_log) = session.score_log() else { return Vec::new() };
    let of_line = |recorded: &Recorded| {
        let Entry::Note { text, .. } = &recorded.line.entry else { return None };
        let back = if recorded.status == Status::Stands { "" } else { ", taken back" };
        let entry = HistoryEntry {
            record: None,
            day: recorded.line.at.get(..10)?.to_owned(),
            what: format!("session {}, line {}{back}: {text}", session.name, recorded.line.n),
            taken_back_by: None,
        };
        Some((recorded.line.at.clone(), entry))
    };
    score_log.lines().iter().filter_map(of_line).collect()
}

pub(super) fn undo(bench: Option<&Path>, options: &UndoOptions, json: bool) -> Outcome {
    let root = bench::root(bench)?;
    let date = day("--date", options.date.as_deref())?;
    let asked = options.record.as_deref().map(str::trim);
    let sessions = session_folder::names(&root)?;
    let (what, n) =
        match asked {
            Some(text) if sessions.iter().any(|name| names::alike(text, name)) => {
                let known: Vec<&str> = sessions.iter().map(String::as_str).collect();
                let name = names::meant(text, &known).unwrap_or(text);
                let n = records::take_session_back(&root, name, date, options.why.clone());
                (format!("session {name}"), n?)
            }
            Some(text) if text.contains(':') => return undo_note(bench, text, json),
            asked => {
                let of = match asked {
                Some(text) => text.trim_start_matches('#').parse().map_err(|_| {
                    Mistakes::from(Diagnostic::new(Fault::Choice, format!("`{text}` is no record"))
                        .expected("the number of a record, the name of a session, or SESSION:LINE")
                        .remedy("`waterflight log` lists them"))
                })?,
                None => last_standing(&root, &sessions)?,
            };
                let (found, n) = records::take_back(&root, of, date, options.why.clone())?;
                (format!("record {of}, {}", found.what), n)
            }
        };
    if json {
        let document = json!({"taken_back": what, "record": n});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    let said = format!(
        "Taken back: {what}. It stays in `waterflight log`; this is record {n}, and `waterflight undo \
         {n}` lets it stand again."
    );
    Ok(wrapped(&said, 0))
}

/// The last record that stands and is itself no taking back. Sessions are in another log: where one may
/// have been planned later, it is asked which is meant.
fn last_standing(root: &Path, sessions: &[String]) -> Result<u64, Mistakes> {
    use crate::bench::history::What;
    let records = Records::read(root)?;
    let stands = records.history.iter().rev().find(|line| {
        let is_back = matches!(line.what, What::TakenBack { .. } | What::Session { .. });
        line.taken_back_by.is_none() && !is_back
    });
    let later: Vec<&String> = sessions
        .iter()
        .filter(|name| !records.withdrawn_sessions.contains(name))
        .filter(|name| {
            let day = SessionFolder::open(root, name).map(|session| session.waters.day);
            day.is_ok_and(|day| stands.is_none_or(|line| line.day <= day))
        })
        .collect();
    let listed = "`waterflight log` lists what was recorded";
    match (stands, later.as_slice()) {
        (Some(line), []) => Ok(line.n),
        (None, []) => Err(Diagnostic::new(Fault::Choice, "there is nothing to take back")
            .remedy(listed)
            .into()),
        (line, sessions) => {
            let record = line.map(|line| format!("`waterflight undo {}` ({})", line.n, line.what));
            let sessions = sessions.iter().map(|name| format!("`waterflight undo {name}`"));
            let ways: Vec<String> = record.into_iter().chain(sessions).collect();
            Err(Diagnostic::new(Fault::Choice, "it is not clear what is to be taken back")
                .expected(ways.join(", or "))
                .remedy(format!("write the one that is meant; {listed}"))
                .into())
        }
    }
}

/// A remark on a session, taken back in the session's own log.
fn undo_note(bench: Option<&Path>, text: &str, json: bool) -> Outcome {
    let (name, line) = text.rsplit_once(':').unwrap_or((text, ""));
    let session = bench::session(bench, name)?;
    let of: u64 = line.trim().parse().map_err(|_| {
        Mistakes::from(
            Diagnostic::new(Fault::Choice, format!("`{line}` is no line of a session"))
                .expected("SESSION:LINE, as in first-flight-1:4"),
        )
    })?;
    let (_, lines) = session.record(|_| Ok(vec![Entry::Undo { of }]))?;
    if json {
        return crate::text::json::document(&lines).map_err(|e| internal(&e));
    }
    Ok(format!("line {of} of {name} is taken back\n"))
}

/// Our choice: how far a level read off a bottle may be above what was made.
const ABOUT: f64 = 0.1;

pub(super) fn bottle(bench: Option<&Path>, options: &BottleOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let bottle = bottle_of(&bench, &options.stock)?;
    let stock = bottle.written.name().to_owned();
    let Some(batch) = bottle.batch.as_ref().map(|batch| batch.number) else {
        return Err(Mistakes::from(
            Diagnostic::new(Fault::Choice, format!("no batch of {stock} was recorded"))
                .remedy("record first what was weighed: `waterflight weighed STOCK …`"),
        ));
    };
    let Change { spilled, left, thrown_away: _ } = &options.change;
    let change = match (spilled, left) {
        (Some(text), _) => {
            BottleChange::SpilledMl(above_zero("--spilled", text, &[Dimension::Volume])?)
        }
        (_, Some(text)) => {
            let about = ["about", "circa", "ca.", "~", "≈"];
            let text = text.trim();
            let text = about.iter().find_map(|word| text.strip_prefix(word)).unwrap_or(text);
            let text = text.trim_end().strip_suffix("left").unwrap_or(text).trim();
            let is_zero = leading_number(text).is_ok_and(|(ml, _)| ml <= 0.0);
            if is_zero || ["empty", "nothing", "none"].iter().any(|w| text.eq_ignore_ascii_case(w))
            {
                let what = format!("`{text}`: nothing is left in the bottle of {stock}");
                return Err(Diagnostic::new(Fault::Choice, what)
                    .remedy(format!(
                        "`waterflight bottle {stock} --thrown-away` says that it is empty"
                    ))
                    .into());
            }
            BottleChange::LeftMl(above_zero("--left", text, &[Dimension::Volume])?)
        }
        _ => BottleChange::ThrownAway,
    };
    let filled_now = filled(&bench);
    let in_bottle = filled_now.iter().find(|f| f.stock.name() == stock);
    if options.instead_of.is_none()
        && matches!(change, BottleChange::SpilledMl(_) | BottleChange::ThrownAway)
        && in_bottle.and_then(Filled::left_ml).is_some_and(|ml| ml <= 0.0)
    {
        let what = format!("the bottle of {stock} is empty already");
        return Err(Diagnostic::new(Fault::Choice, what)
            .remedy("`waterflight log` names the record; `--left` says what is really in it")
            .into());
    }
    let date = day("--date", options.date.as_deref())?;
    if let (BottleChange::LeftMl(found) | BottleChange::SpilledMl(found), Some(made)) =
        (&change, in_bottle.and_then(Filled::made_ml))
        && *found > made * (1.0 + ABOUT)
    {
        let what = format!("the bottle of {stock} never held {} mL", show::plain(*found));
        return Err(Diagnostic::new(Fault::Choice, what)
            .expected(format!("at most the {} mL that were made", show::fixed(made, 0)))
            .remedy("a new batch is recorded with `waterflight weighed`")
            .into());
    }
    let n = records::add_bottle(&bench.root, date, (&stock, batch), change, options.instead_of)?;
    let now = crate::bench::Bench::open(&bench.root)?;
    let filled = filled(&now);
    let left_ml =
        filled.iter().find(|f| f.stock.name() == stock).and_then(Filled::left_ml).unwrap_or(0.0);
    if json {
        let document = json!({"stock": stock, "batch": batch, "record": n, "left_ml": left_ml});
        return crate::text::json::document(&document).map_err(|e| internal(&e));
    }
    Ok(format!("{stock}: about {} mL are left\n{}", show::fixed(left_ml, 0), numbered(n)))
}
