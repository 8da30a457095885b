//! Connections taken in and let go: so many at once, none that sends half a request and waits, and an
//! end that comes while pages still listen.

use std::collections::BTreeMap;
use std::convert::Infallible;
use std::future::Future;
use std::net::IpAddr;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, Response};
use hyper::body::Incoming;
use hyper::server::conn::http1;
use hyper::service::{Service, service_fn};
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::server::graceful::GracefulShutdown;
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpListener;
use tokio::sync::Semaphore;

use crate::serve::transport::guard::{Guard, LONGEST_REQUEST, with_security_headers};

/// Our choice: fifty phones with six connections each, as browsers open, and as many again.
pub const MOST_CONNECTIONS: usize = 600;

/// Our choice: a browser opens six; this leaves others their share whatever one machine does. This
/// machine's own programs are not counted.
pub const MOST_OF_ONE_ADDRESS: usize = 64;

/// Our choice: requests that are being answered when the program ends have this long.
const LONGEST_GOODBYE: Duration = Duration::from_millis(500);

/// Open connections by address.
type Open = Arc<Mutex<BTreeMap<IpAddr, usize>>>;

/// A connection that is counted until this is dropped.
struct Counted {
    open: Open,
    from: IpAddr,
}

impl Counted {
    /// Counts a connection, unless its address has too many already.
    fn new(open: &Open, from: IpAddr) -> Option<Self> {
        let mut counts = open.lock().unwrap_or_else(PoisonError::into_inner);
        let count = counts.entry(from).or_default();
        if *count >= MOST_OF_ONE_ADDRESS && !from.is_loopback() {
            return None;
        }
        *count += 1;
        Some(Self { open: Arc::clone(open), from })
    }
}

impl Drop for Counted {
    fn drop(&mut self) {
        let mut counts = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(count) = counts.get_mut(&self.from) {
            *count -= 1;
            if *count == 0 {
                counts.remove(&self.from);
            }
        }
    }
}

/// Serves until `end` comes. What streams to pages must end by itself when it does; whatever is still
/// open after a moment is cut.
pub async fn serve(
    listener: TcpListener,
    router: Router,
    guard: Arc<Guard>,
    end: impl Future<Output = ()>,
) {
    let places = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let open = Open::default();
    let closing = GracefulShutdown::new();
    tokio::pin!(end);
    loop {
        let next = async {
            // A place first: connections beyond the limit wait in the system's queue.
            let place = Arc::clone(&places).acquire_owned().await;
            (place, listener.accept().await)
        };
        let (place, accepted) = tokio::select! {
            next = next => next,
            () = &mut end => break,
        };
        let (Ok(place), Ok((stream, from))) = (place, accepted) else {
            // Too many files open, or a connection gone already: the next may do better.
            tokio::time::sleep(Duration::from_millis(20)).await;
            continue;
        };
        let Some(counted) = Counted::new(&open, from.ip()) else { continue };
        let _ = stream.set_nodelay(true);
        let (router, guard) = (router.clone(), Arc::clone(&guard));
        let service = service_fn(move |request| {
            answered(request, router.clone(), Arc::clone(&guard), from.ip())
        });
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(LONGEST_REQUEST)
            .max_buf_size(crate::serve::transport::guard::MOST_BYTES)
            .serve_connection(TokioIo::new(stream), service);
        let connection = closing.watch(connection);
        tokio::spawn(async move {
            // A phone that goes away in the middle is no mistake of ours.
            let _ = connection.await;
            drop((place, counted));
        });
    }
    drop(listener);
    let _ = tokio::time::timeout(LONGEST_GOODBYE, closing.shutdown()).await;
}

async fn answered(
    request: Request<Incoming>,
    router: Router,
    guard: Arc<Guard>,
    from: IpAddr,
) -> Result<Response<Body>, Infallible> {
    let response = match guard.checked(request).await {
        Ok(request) => {
            let Ok(response) = TowerToHyperService::new(router).call(request).await;
            guard.limited(response, from)
        }
        Err(refused) => refused,
    };
    Ok(with_security_headers(response))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_address_has_its_share_and_no_more() {
        let open = Open::default();
        let [one, other] = [IpAddr::from([10, 0, 0, 1]), IpAddr::from([10, 0, 0, 2])];
        let mut held: Vec<_> = (0..MOST_OF_ONE_ADDRESS).map(|_| Counted::new(&open, one)).collect();
        assert!(held.iter().all(Option::is_some));
        assert!(Counted::new(&open, one).is_none() && Counted::new(&open, other).is_some());
        held.pop();
        assert!(Counted::new(&open, one).is_some());
        drop(held);
        assert!(open.lock().is_ok_and(|counts| counts.is_empty()));
    }
}
