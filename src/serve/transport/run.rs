//! Serving until the program is told to end.

use std::sync::Arc;

use axum::Router;

use crate::files::{Diagnostic, Fault};
use crate::serve::transport::{Guard, Opened, accept};

/// Serves on one thread until Ctrl-C or the system's request to end; `at_end` is then called, so that
/// what streams to pages ends.
///
/// # Errors
/// When the system gives no means to wait for connections.
pub fn run(
    opened: Opened,
    router: Router,
    guard: Arc<Guard>,
    at_end: impl FnOnce(),
) -> Result<(), Diagnostic> {
    let fail = |error: &std::io::Error| {
        Diagnostic::new(Fault::Internal, format!("the page cannot be served: {error}"))
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|error| fail(&error))?;
    runtime.block_on(async move {
        opened.listener.set_nonblocking(true).map_err(|error| fail(&error))?;
        let listener =
            tokio::net::TcpListener::from_std(opened.listener).map_err(|error| fail(&error))?;
        let end = async move {
            shutdown_signal().await;
            at_end();
        };
        accept::serve(listener, router, guard, end).await;
        Ok(())
    })
}

/// Ctrl-C, or the system's request to end.
async fn shutdown_signal() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = tokio::signal::ctrl_c() => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = tokio::signal::ctrl_c().await;
}
