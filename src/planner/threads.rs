//! The threads that share out targets. Where the system gives none, one does all the work.

use std::sync::OnceLock;

use rayon::{ThreadPool, ThreadPoolBuilder};

/// The threads; none where the system refuses them.
pub(crate) fn pool() -> Option<&'static ThreadPool> {
    static POOL: OnceLock<Option<ThreadPool>> = OnceLock::new();
    POOL.get_or_init(|| ThreadPoolBuilder::new().build().ok()).as_ref()
}
