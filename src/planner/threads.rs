//! The threads that share out targets. Where the system gives none, one does all the work.

use std::sync::OnceLock;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// Does work that is shared out among threads, or the same work alone where the system gives none. Whoever
/// is one of several threads already shares it out among these.
pub(crate) fn shared<R: Send>(work: impl FnOnce() -> R + Send, alone: impl FnOnce() -> R) -> R {
    if rayon::current_thread_index().is_some() {
        return work();
    }
    match pool() {
        Some(threads) => threads.install(work),
        None => alone(),
    }
}

fn pool() -> Option<&'static ThreadPool> {
    static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();
    POOL.get_or_init(|| ThreadPoolBuilder::new().build().ok()).as_ref()
}
