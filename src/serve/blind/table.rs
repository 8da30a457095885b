//! The table: who is how far, when each phone was last heard of, what is taken in.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use serde::Serialize;
use tokio::sync::watch;

use crate::files::Diagnostic;
use crate::serve::blind::Place;
use crate::serve::blind::places::Places;
use crate::serve::blind::writer::{Writer, Written};
use crate::session::blind::BlindSession;
use crate::session::plan::Plan;
use crate::session::score::{Delivery, Refusal, ScoreLog, Sent};

/// Our choice: a phone that is awake is heard of every few seconds.
const SILENT_AFTER: Duration = Duration::from_secs(45);

/// Our choice: who has entered nothing for so long may need help.
const STUCK_AFTER: Duration = Duration::from_mins(5);

/// What is known of a taster's phone. All of it is forgotten when the program ends, and learnt again.
#[derive(Debug, Clone, Copy)]
struct Phone {
    last_contact: Option<Instant>,
    last_progress: Instant,
    done: usize,
    drafts: usize,
    waiting: usize,
}

/// A table with its log.
#[derive(Debug)]
pub struct Table {
    plan: Plan,
    places: Vec<Places>,
    writer: Writer,
    phones: Mutex<Vec<Phone>>,
    on_break: AtomicBool,
}

/// What became of an answer, for whoever sent it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// `on_disk`, `refused`, or `waiting` when the disk did not take it and it is to be sent again.
    pub state: &'static str,
    /// The line of the log that says it.
    pub line: Option<u64>,
    /// The newest line about the same cup or tray.
    pub seen: u64,
    /// In words: where it is, or why it is refused and what to do.
    pub words: String,
}

/// How far the table is, for the host: counts alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct HostView {
    /// Answers still missing.
    pub missing_answers: usize,
    /// Whether the key is open.
    pub revealed: bool,
    /// Whether a break is called.
    pub on_break: bool,
    /// The tasters, in the order of the plan.
    pub tasters: Vec<TasterView>,
}

/// How far a taster is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct TasterView {
    /// The taster.
    pub taster: String,
    /// Screens answered in full.
    pub done: usize,
    /// Screens in all.
    pub of: usize,
    /// What the host should know: stuck, silent, something unsent. Empty when all is well.
    pub remark: String,
    /// Whether something may still be on the phone.
    pub late: bool,
}

impl Table {
    /// Opens the log of a session.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn open(session: BlindSession, on_break: bool) -> Result<Self, Diagnostic> {
        let plan = session.plan().clone();
        let writer = Writer::start(session.open_log())?;
        let places: Vec<Places> = plan.tasters.iter().map(|who| Places::of(&plan, who)).collect();
        let score_log = writer.published.now();
        let phone = |places: &Places| Phone {
            last_contact: None,
            last_progress: Instant::now(),
            done: places.done(&score_log),
            drafts: 0,
            waiting: 0,
        };
        let phones = Mutex::new(places.iter().map(phone).collect());
        Ok(Self { plan, places, writer, phones, on_break: AtomicBool::new(on_break) })
    }

    /// The plan.
    #[must_use]
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The screens of a taster.
    #[must_use]
    pub fn places_of(&self, taster: usize) -> Option<&Places> {
        self.places.get(taster)
    }

    /// The log as it is on disk, with what others have entered.
    pub async fn log(&self) -> Arc<ScoreLog> {
        self.writer.look().await;
        self.writer.published.now()
    }

    /// Wakes when anything changes that the host sees.
    #[must_use]
    pub fn changes(&self) -> watch::Receiver<u64> {
        self.writer.published.changes()
    }

    /// Whether a break is called.
    #[must_use]
    pub fn on_break(&self) -> bool {
        self.on_break.load(Ordering::Relaxed)
    }

    /// Calls a break, or ends it.
    pub fn call_break(&self, on_break: bool) {
        self.on_break.store(on_break, Ordering::Relaxed);
        self.writer.published.notify();
    }

    fn phones(&self) -> MutexGuard<'_, Vec<Phone>> {
        self.phones.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Notes that a phone was heard of, with what it still holds.
    pub fn note_contact(&self, taster: usize, unsent: Option<(usize, usize)>) {
        let mut phones = self.phones();
        let Some(phone) = phones.get_mut(taster) else { return };
        let was_silent = phone.last_contact.is_none_or(|at| at.elapsed() > SILENT_AFTER);
        phone.last_contact = Some(Instant::now());
        let before = (phone.drafts, phone.waiting);
        if let Some((drafts, waiting)) = unsent {
            (phone.drafts, phone.waiting) = (drafts, waiting);
        }
        let changed = was_silent || before != (phone.drafts, phone.waiting);
        drop(phones);
        if changed {
            self.writer.published.notify();
        }
    }

    /// Takes in what a taster sends of a place; `seen` is the newest line of it that the phone knew.
    pub async fn take(&self, place: &Place, sent: Sent, seen: u64) -> Outcome {
        let written = self.writer.deliver(sent, seen).await;
        let score_log = self.writer.published.now();
        let history = place.history(&score_log);
        let newest = history.newest();
        let is_taken_back = history.stands_in().is_none();
        match written {
            Written::OnDisk(line) | Written::Settled(Delivery::Known { line }) => {
                on_disk(line, newest, format!("on disk, line {line}"))
            }
            Written::Settled(Delivery::Replaced { line, by }) => {
                let since = if is_taken_back { "taken back" } else { "changed" };
                on_disk(line, newest, format!("on disk, line {line}; {since} since, in line {by}"))
            }
            Written::Settled(Delivery::Conflict { by }) if is_taken_back => refused(
                newest,
                format!(
                    "the answer before was taken back meanwhile, in line {by}, so that nothing stands. \
                     Send yours again if it is right"
                ),
            ),
            Written::Settled(Delivery::Conflict { by }) => refused(
                newest,
                format!(
                    "something else was entered meanwhile, in line {by}. Look at what stands, and send \
                     yours again if it is right"
                ),
            ),
            Written::Settled(Delivery::New(_)) => refused(newest, "it was not written".to_owned()),
            Written::Refused(refusal) => refused(newest, words_of(&refusal)),
            Written::Failed(diagnostic) => Outcome {
                state: "waiting",
                line: None,
                seen: newest,
                words: format!("not on disk yet: {}", diagnostic.details().title),
            },
        }
    }

    /// How far everybody is.
    #[must_use]
    pub fn host_view(&self, score_log: &ScoreLog) -> HostView {
        let revealed = score_log.revealed_in().is_some();
        let mut phones = self.phones();
        let tasters = self.plan.tasters.iter().zip(&self.places).zip(phones.iter_mut()).map(
            |((taster, places), phone)| {
                let (done, of) = (places.done(score_log), places.list().len());
                if done != phone.done {
                    (phone.done, phone.last_progress) = (done, Instant::now());
                }
                let (remark, late) = phone.remark(done < of && !revealed);
                TasterView { taster: taster.clone(), done, of, remark, late }
            },
        );
        HostView {
            missing_answers: score_log.missing_answers(),
            revealed,
            on_break: self.on_break(),
            tasters: tasters.collect(),
        }
    }

    /// The place that an address means for a taster: the one named, else the first with something
    /// missing, else the last.
    #[must_use]
    pub fn place(
        &self,
        taster: usize,
        key: Option<&str>,
        score_log: &ScoreLog,
    ) -> Option<(usize, &Place)> {
        let places: &Places = self.places.get(taster)?;
        let named = key.and_then(|key| places.find(key));
        named.or_else(|| {
            let at = places.next(score_log, None).unwrap_or(places.list().len().saturating_sub(1));
            Some((at, places.list().get(at)?))
        })
    }
}

impl Phone {
    fn remark(&self, is_tasting: bool) -> (String, bool) {
        let mut words = Vec::new();
        let silent = self.last_contact.filter(|at| at.elapsed() > SILENT_AFTER);
        let unsent = self.waiting > 0 || self.drafts > 0;
        if self.waiting > 0 {
            words.push(format!("{} not sent yet", answers(self.waiting)));
        }
        if self.drafts > 0 {
            words.push(format!("{} half typed", answers(self.drafts)));
        }
        match silent {
            Some(at) if is_tasting || unsent => {
                words.push(format!("phone silent for {}", minutes(at.elapsed())));
            }
            None if self.last_contact.is_none() && is_tasting => {
                words.push("link not opened yet".to_owned());
            }
            _ => {}
        }
        if is_tasting && self.last_progress.elapsed() > STUCK_AFTER {
            words.push(format!("nothing entered for {}", minutes(self.last_progress.elapsed())));
        }
        let late = unsent || (silent.is_some() && is_tasting);
        (words.join("; "), late)
    }
}

fn answers(n: usize) -> String {
    if n == 1 { "1 answer".to_owned() } else { format!("{n} answers") }
}

fn minutes(time: Duration) -> String {
    match time.as_secs() / 60 {
        0 => "less than a minute".to_owned(),
        1 => "a minute".to_owned(),
        n => format!("{n} minutes"),
    }
}

fn on_disk(line: u64, seen: u64, words: String) -> Outcome {
    Outcome { state: "on_disk", line: Some(line), seen, words }
}

pub(super) fn refused(seen: u64, words: String) -> Outcome {
    Outcome { state: "refused", line: None, seen, words }
}

/// Why the log refuses something, for a taster, who types no commands.
fn words_of(refusal: &Refusal) -> String {
    match refusal {
        Refusal::Closed { line } => format!(
            "the session was revealed in line {line}, so this came too late. Tell the host, who can \
             still enter it: it is then kept and left out of the analysis"
        ),
        Refusal::TurnedBeforeOthers { open, .. } => {
            format!("{refusal}. Answer tray {open} first: what stood under these cups would tell")
        }
        Refusal::AlreadyTurned { .. } => {
            format!("{refusal}, so it can no longer be answered blind")
        }
        Refusal::OffScale { .. }
        | Refusal::BetweenSteps { .. }
        | Refusal::NamedTwice { .. }
        | Refusal::StickerTwice { .. }
        | Refusal::StickerOnTop { .. }
        | Refusal::TurnedTooSoon { .. } => format!("{refusal}; {}", refusal.remedy()),
        _ => refusal.to_string(),
    }
}
