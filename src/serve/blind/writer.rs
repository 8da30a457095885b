//! The one thread that touches the log: whatever waits is decided on the log as it then is, written
//! together, and confirmed once the disk has it.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};

use tokio::sync::{oneshot, watch};

use crate::files::{Diagnostic, Fault};
use crate::session::blind::OpenLog;
use crate::session::score::{Delivery, Entry, Refusal, ScoreLog, Sent};

/// Our choice: so many answers share one wait for the disk.
const MOST_AT_ONCE: usize = 64;

/// What became of something that was to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Written {
    /// It is on disk, in this line.
    OnDisk(u64),
    /// The log had it before, or something else stands.
    Settled(Delivery),
    /// The log refuses it.
    Refused(Refusal),
    /// The disk did not take it; it may be tried again.
    Failed(Diagnostic),
}

/// Why nothing is written.
#[derive(Debug)]
enum NotWritten {
    Settled(Delivery),
    Refused(Refusal),
    Disk(Diagnostic),
}

impl From<Diagnostic> for NotWritten {
    fn from(diagnostic: Diagnostic) -> Self {
        Self::Disk(diagnostic)
    }
}

impl From<Refusal> for NotWritten {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

/// What is asked of the thread.
enum Job {
    Deliver(Sent, u64, oneshot::Sender<Written>),
    Look(oneshot::Sender<()>),
}

/// The log as the disk has it, for whoever reads.
#[derive(Debug)]
pub(crate) struct PublishedLog {
    score_log: Mutex<Arc<ScoreLog>>,
    changes: watch::Sender<u64>,
}

impl PublishedLog {
    pub(crate) fn now(&self) -> Arc<ScoreLog> {
        Arc::clone(&self.score_log.lock().unwrap_or_else(PoisonError::into_inner))
    }

    /// Takes over what is new in the log. A long log is copied only while somebody reads the one before.
    fn publish(&self, score_log: &ScoreLog) {
        let mut held = self.score_log.lock().unwrap_or_else(PoisonError::into_inner);
        let published = Arc::make_mut(&mut held);
        let new = score_log.lines().get(published.lines().len()..);
        let is_taken_over = new.is_some_and(|new| {
            new.iter().all(|recorded| published.accept(recorded.line.clone()).is_ok())
        });
        if !is_taken_over {
            // Another log lies in its place.
            published.clone_from(score_log);
        }
        drop(held);
        self.notify();
    }

    /// Wakes whoever waits for a change.
    pub(crate) fn notify(&self) {
        self.changes.send_modify(|count| *count += 1);
    }

    pub(crate) fn changes(&self) -> watch::Receiver<u64> {
        self.changes.subscribe()
    }
}

/// The thread, and the way to it.
#[derive(Debug)]
pub(crate) struct Writer {
    jobs: Option<Sender<Job>>,
    thread: Option<JoinHandle<()>>,
    pub(crate) published: Arc<PublishedLog>,
}

impl Writer {
    /// Starts the thread on a log.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub(crate) fn start(mut log: OpenLog) -> Result<Self, Diagnostic> {
        let score_log = Mutex::new(Arc::new(log.current()?.clone()));
        let published = Arc::new(PublishedLog { score_log, changes: watch::Sender::new(0) });
        let (jobs, asked) = channel();
        let for_thread = Arc::clone(&published);
        let thread = Builder::new()
            .name("score log".to_owned())
            .spawn(move || work(&mut log, &asked, &for_thread))
            .map_err(|error| {
                Diagnostic::new(Fault::Internal, format!("no thread for the log: {error}"))
            })?;
        Ok(Self { jobs: Some(jobs), thread: Some(thread), published })
    }

    /// Records what arrived; on disk when this is ready.
    pub(crate) async fn deliver(&self, sent: Sent, seen: u64) -> Written {
        let (reply, answer) = oneshot::channel();
        self.ask(Job::Deliver(sent, seen, reply));
        answer.await.unwrap_or_else(|_| {
            Written::Failed(Diagnostic::new(Fault::Internal, "the program is ending"))
        })
    }

    /// Reads what others have written since.
    pub(crate) async fn look(&self) {
        let (reply, answer) = oneshot::channel();
        self.ask(Job::Look(reply));
        // Where the thread has ended, what was read before is all there is.
        let _ = answer.await;
    }

    fn ask(&self, job: Job) {
        if let Some(jobs) = &self.jobs {
            // A thread that has ended drops the job, and whoever waits for it learns of that.
            let _ = jobs.send(job);
        }
    }
}

impl Drop for Writer {
    /// What was taken in is written before the program ends.
    fn drop(&mut self) {
        self.jobs = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

fn work(log: &mut OpenLog, asked: &Receiver<Job>, published: &PublishedLog) {
    while let Ok(first) = asked.recv() {
        let mut waiting = Vec::new();
        let mut looking = Vec::new();
        let more = std::iter::from_fn(|| asked.try_recv().ok()).take(MOST_AT_ONCE - 1);
        for job in std::iter::once(first).chain(more) {
            match job {
                Job::Deliver(sent, seen, reply) => waiting.push((sent, seen, reply)),
                Job::Look(reply) => looking.push(reply),
            }
        }
        let was_behind = log.is_behind();
        let written = write(log, &waiting);
        let is_new = written.iter().any(|one| matches!(one, Written::OnDisk(_)));
        // A log that cannot be read now is published as it was; entering says what is wrong.
        if (is_new || was_behind)
            && let Ok(score_log) = log.current()
        {
            published.publish(score_log);
        }
        for ((_, _, reply), answer) in waiting.into_iter().zip(written) {
            let _ = reply.send(answer);
        }
        for reply in looking {
            let _ = reply.send(());
        }
    }
}

fn write(log: &mut OpenLog, waiting: &[(Sent, u64, oneshot::Sender<Written>)]) -> Vec<Written> {
    if waiting.is_empty() {
        return Vec::new();
    }
    let ask = |(sent, seen, _): &(Sent, u64, oneshot::Sender<Written>)| {
        let (sent, seen) = (sent.clone(), *seen);
        move |score_log: &ScoreLog| -> Result<Vec<Entry>, NotWritten> {
            match sent.delivered(score_log, seen)? {
                Delivery::New(entries) => Ok(entries),
                settled => Err(NotWritten::Settled(settled)),
            }
        }
    };
    let asks = waiting.iter().map(ask).collect();
    let answers = log.record_each(asks);
    let answer = |result: Result<Vec<crate::session::score::Line>, NotWritten>| match result {
        Ok(lines) => Written::OnDisk(lines.last().map_or(0, |line| line.n)),
        Err(NotWritten::Settled(delivery)) => Written::Settled(delivery),
        Err(NotWritten::Refused(refusal)) => Written::Refused(refusal),
        Err(NotWritten::Disk(diagnostic)) => Written::Failed(diagnostic),
    };
    answers.into_iter().map(answer).collect()
}
