//! The whole bench read, and everything that is wrong with it: what people wrote, what was recorded,
//! every session.

use std::path::Path;

use serde_json::{Value, json};

use crate::bench::flight_entry::FlightEntry;
use crate::bench::folders::flight_files;
use crate::bench::layout::MARK;
use crate::bench::lost_sessions::lost_sessions;
use crate::bench::no_bench::no_bench_in;
use crate::bench::parse::parse;
use crate::bench::past::past_session;
use crate::bench::ready_targets;
use crate::bench::session_folder::{KEY_ELSEWHERE, OPEN_KEY, SessionFolder, names};
use crate::bench::strays::{Stray, strays};
use crate::bench::{Bench, Records};
use crate::files::{Diagnostic, Fault, Mistakes, append, read};
use crate::text::command_line::typed;

/// What was found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Check {
    /// Stocks, base waters and flights that were read.
    pub files: usize,
    /// Lines of the records that were read.
    pub records: usize,
    /// Sessions that were read.
    pub sessions: usize,
    /// Sessions whose sealed keys stayed where the bench was packed.
    pub keys_elsewhere: Vec<String>,
    /// Everything that is wrong, with its remedy.
    pub damage: Vec<Diagnostic>,
    /// What looks like a file of the bench and is not read.
    pub not_read: Vec<Stray>,
}

/// Reads a whole bench.
///
/// # Errors
/// When there is no bench.
pub fn check(root: &Path) -> Result<Check, Diagnostic> {
    if !root.join(MARK).is_file() {
        return Err(no_bench_in(root));
    }
    let mut found = Check { not_read: strays(root), ..Check::default() };
    match Bench::open(root) {
        Ok(bench) => {
            found.files = bench.stocks.len() + bench.waters.len();
            found.damage.extend(bench.unread.iter().map(|unread| unread.wrong.clone()));
            for file in &bench.flights {
                let read = read::text(&file.path).map_err(Mistakes::from);
                match read.and_then(|source| bench.ordered_or_all_mistakes(&source)) {
                    Ok(_) => found.files += 1,
                    Err(wrong) => found.take_flight(wrong.iter()),
                }
            }
            found.take_records(&bench.records);
        }
        Err(wrong) => {
            // What stands in the records is told apart from what people wrote.
            let records = Records::read(root);
            if let Ok(records) = &records {
                found.take_records(records);
            }
            let is_new = |d: &&Diagnostic| records.is_ok() || Some(*d) != records.as_ref().err();
            found.damage.extend(wrong.iter().filter(is_new).cloned());
            found.damage.extend(records.err());
            // What of a flight needs no shelf is read all the same.
            for file in &flight_files(root).0 {
                let read = read::text(&file.path)
                    .and_then(|source| Ok(parse::<FlightEntry>(&source)?.unread_goals(&source)));
                found.take_flight(read.unwrap_or_else(Mistakes::from).iter());
            }
        }
    }
    match ready_targets::own(root) {
        Ok((_, wrong)) => found.damage.extend(wrong),
        Err(wrong) => found.damage.push(wrong),
    }
    match names(root) {
        Ok(names) => {
            let records = Records::read(root).unwrap_or_default();
            found.take_lost(lost_sessions(root, &records, &names));
            for name in &names {
                found.take_session(root, name, records.withdrawn_sessions.contains(name));
            }
        }
        Err(wrong) => found.damage.push(wrong),
    }
    Ok(found)
}

impl Check {
    /// What was found, as data.
    #[must_use]
    pub fn data(&self) -> Value {
        let damage = |d: &Diagnostic| {
            let details = d.details();
            json!({
                "file": details.path, "what": details.title, "found": details.found,
                "expected": details.expected, "remedy": details.remedy,
            })
        };
        let not_read = self.not_read.iter();
        let not_read = not_read.map(|s| json!({ "file": s.path, "why": s.why.to_string() }));
        json!({
            "files": self.files, "records": self.records, "sessions": self.sessions,
            "damage": self.damage.iter().map(damage).collect::<Vec<_>>(),
            "keys_elsewhere": self.keys_elsewhere,
            "not_read": not_read.collect::<Vec<_>>(),
        })
    }

    /// What is wrong with a flight; of a stock of it that stands there already.
    fn take_flight<'a>(&mut self, wrong: impl Iterator<Item = &'a Diagnostic>) {
        for wrong in wrong {
            if !self.damage.contains(wrong) {
                self.damage.push(wrong.clone());
            }
        }
    }

    fn take_records(&mut self, records: &Records) {
        self.records += records.history.len();
        self.damage.extend(records.damage().cloned());
        self.damage.extend(records.torn.iter().map(|path| torn(path)));
    }

    /// What of the sessions is lost; a folder that is named here is not listed as a stray as well.
    fn take_lost(&mut self, lost: Vec<Diagnostic>) {
        let is_lost = |stray: &Stray| {
            lost.iter()
                .any(|d| d.details().path.as_ref().is_some_and(|p| p.starts_with(&stray.path)))
        };
        self.not_read.retain(|stray| !is_lost(stray));
        self.damage.extend(lost);
    }

    fn take_session(&mut self, root: &Path, name: &str, is_withdrawn: bool) {
        let session = match SessionFolder::open(root, name) {
            Ok(session) => session,
            Err(wrong) => return self.damage.push(wrong),
        };
        self.sessions += 1;
        if let Ok(Some(_)) = session.torn() {
            self.damage.push(torn(&session.log_path()));
        }
        let key = session.key_is_there();
        // A plan that is not the sealed one reads the log wrongly: the log is not to blame.
        if let Err(wrong) = &key
            && wrong.details().fault == Fault::Content
        {
            return self.damage.push(wrong.clone());
        }
        if let Err(wrong) = past_session(&session) {
            return self.damage.push(wrong);
        }
        self.damage.extend(reveal_is_there(&session).err());
        // A key that a secret elsewhere opens is not damaged; one that is not there is.
        match key {
            Err(_) if session.path.join(KEY_ELSEWHERE).is_file() => {
                // Nobody reveals a session that was taken back.
                self.keys_elsewhere.extend((!is_withdrawn).then(|| session.name.clone()));
            }
            key => self.damage.extend(key.err()),
        }
    }
}

/// That no key lies open before its reveal: the tool opens it only behind the line of the log that says so.
fn reveal_is_there(session: &SessionFolder) -> Result<(), Diagnostic> {
    let is_open = session.path.join(OPEN_KEY).is_file();
    if !is_open || session.score_log()?.revealed_in().is_some() {
        return Ok(());
    }
    let what = "the key of this session was opened, and its log has no reveal any more";
    let name = typed(&session.name);
    let wrong = Diagnostic::content(what).about(session.log_path()).found(OPEN_KEY);
    Err(wrong.remedy(format!(
        "restore the log from a copy that has its last lines; without one, `waterflight session reveal \
         {name}` reveals the session with the answers that are left, and no answer entered since the \
         key was opened is blind"
    )))
}

fn torn(path: &Path) -> Diagnostic {
    let what = "the log ends in a piece of a line, as a stopped run or a copy cut short leaves it";
    Diagnostic::content(what).about(path).remedy(format!(
        "if a run was stopped, nothing: it was never confirmed, and the next record moves it to `{}`; if \
         the file was copied, restore it from one that has its last line whole",
        append::aside(path).file_name().unwrap_or_default().to_string_lossy()
    ))
}
