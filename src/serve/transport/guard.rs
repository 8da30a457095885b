//! What every request passes before anything looks at it, and what every response carries.

use std::collections::{BTreeMap, VecDeque};
use std::net::IpAddr;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

use axum::body::{Body, Bytes, to_bytes};
use axum::http::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HOST, HeaderName, HeaderValue, ORIGIN,
    REFERRER_POLICY, RETRY_AFTER, X_CONTENT_TYPE_OPTIONS,
};
use axum::http::{Method, Request, Response, StatusCode};

/// Largest body of a request, bytes: an answer with a long note is a tenth of it.
pub const MOST_BYTES: usize = 16 * 1024;

/// Our choice: a phone on a poor network sends a kilobyte within this, and a request half sent ends.
pub const LONGEST_REQUEST: Duration = Duration::from_secs(10);

/// Our choice: more wrong links than this within [`GUESSES_FORGOTTEN`] are no slips of typing.
pub const MOST_GUESSES: usize = 10;

/// After this a wrong link is forgotten.
const GUESSES_FORGOTTEN: Duration = Duration::from_mins(1);

/// Our choice: so many addresses are watched for wrong links; the oldest is forgotten first.
const MOST_WATCHED: usize = 1024;

/// Scripts, styles and data from here alone; nothing inline, no frame, no form to elsewhere.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; \
                      connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The same for a finished page that bears its own style, and no script at all.
const POLICY_OF_A_REPORT: &str = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; \
                                  form-action 'none'; frame-ancestors 'none'";

/// The fields of a form, in its order.
pub type Fields = Vec<(String, String)>;

/// Says that a response is a finished page with a style of its own.
#[derive(Debug, Clone, Copy)]
pub struct Report;

/// The rules for requests.
#[derive(Debug)]
pub struct Guard {
    hosts: Vec<String>,
    guesses: Mutex<BTreeMap<IpAddr, VecDeque<Instant>>>,
}

impl Guard {
    /// Rules for a server that goes by these names.
    #[must_use]
    pub fn new(hosts: Vec<String>) -> Self {
        Self { hosts, guesses: Mutex::default() }
    }

    /// Reads a request whole, or says with which response it ends.
    ///
    /// # Errors
    /// The response, when it is refused.
    pub async fn checked<B>(&self, request: Request<B>) -> Result<Request<Body>, Response<Body>>
    where
        B: hyper::body::Body<Data = Bytes> + Send + 'static,
        B::Error: Into<Box<dyn std::error::Error + Send + Sync>>,
    {
        let (parts, body) = request.into_parts();
        let named = parts.headers.get(HOST).and_then(|host| host.to_str().ok());
        let asked = parts.uri.authority().map(axum::http::uri::Authority::as_str);
        let own = |host: &str| self.hosts.iter().any(|own| own.eq_ignore_ascii_case(host));
        if !named.is_some_and(own) || asked.is_some_and(|asked| !own(asked)) {
            return Err(plain_text(
                StatusCode::MISDIRECTED_REQUEST,
                "This is not the name of this page.",
            ));
        }
        match parts.method {
            Method::GET | Method::HEAD => return Ok(Request::from_parts(parts, Body::empty())),
            Method::POST => {}
            _ => return Err(plain_text(StatusCode::METHOD_NOT_ALLOWED, "This cannot be asked.")),
        }
        // Every browser names the page that a form was sent from. Another page has no business here,
        // and one that hides its name is another page.
        let from = parts.headers.get(ORIGIN).and_then(|origin| origin.to_str().ok());
        if !from.and_then(|from| from.strip_prefix("http://")).is_some_and(own) {
            return Err(plain_text(StatusCode::FORBIDDEN, "This was sent from another page."));
        }
        let kind = parts.headers.get(CONTENT_TYPE).and_then(|kind| kind.to_str().ok());
        if kind.is_none_or(|kind| !kind.starts_with("application/x-www-form-urlencoded")) {
            return Err(plain_text(StatusCode::UNSUPPORTED_MEDIA_TYPE, "This is no form."));
        }
        let body = tokio::time::timeout(LONGEST_REQUEST, to_bytes(Body::new(body), MOST_BYTES));
        match body.await {
            Ok(Ok(bytes)) => Ok(Request::from_parts(parts, Body::from(bytes))),
            Ok(Err(_)) => Err(plain_text(StatusCode::PAYLOAD_TOO_LARGE, "This is too long.")),
            Err(_) => Err(plain_text(StatusCode::REQUEST_TIMEOUT, "This took too long to arrive.")),
        }
    }

    /// Counts a wrong link; after too many there is no other answer to them for a while. Right links of
    /// the same address work on.
    #[must_use]
    pub fn limited(&self, response: Response<Body>, from: IpAddr) -> Response<Body> {
        if response.status() != StatusCode::NOT_FOUND || !self.is_guessing(from, Instant::now()) {
            return response;
        }
        let mut response =
            plain_text(StatusCode::TOO_MANY_REQUESTS, "Too many wrong links. Wait a minute.");
        response.headers_mut().insert(RETRY_AFTER, HeaderValue::from_static("60"));
        response
    }

    fn is_guessing(&self, from: IpAddr, now: Instant) -> bool {
        let mut guesses = self.guesses.lock().unwrap_or_else(PoisonError::into_inner);
        let recent = |at: &Instant| now.duration_since(*at) < GUESSES_FORGOTTEN;
        if guesses.len() >= MOST_WATCHED && !guesses.contains_key(&from) {
            guesses.retain(|_, list| list.back().is_some_and(recent));
            let oldest = guesses.iter().min_by_key(|(_, list)| list.back().copied());
            if let Some(oldest) = oldest.map(|(address, _)| *address)
                && guesses.len() >= MOST_WATCHED
            {
                guesses.remove(&oldest);
            }
        }
        let list = guesses.entry(from).or_default();
        while list.front().is_some_and(|at| !recent(at)) {
            list.pop_front();
        }
        list.push_back(now);
        if list.len() > MOST_GUESSES + 1 {
            list.pop_front();
        }
        list.len() > MOST_GUESSES
    }
}

/// A response in one sentence.
#[must_use]
pub fn plain_text(status: StatusCode, words: &'static str) -> Response<Body> {
    let mut response = Response::new(Body::from(words));
    *response.status_mut() = status;
    let plain = HeaderValue::from_static("text/plain; charset=utf-8");
    response.headers_mut().insert(CONTENT_TYPE, plain);
    response
}

/// Adds what every response carries: nothing is kept by browsers or told to other pages, no script but
/// ours runs, no page is shown inside another.
#[must_use]
pub fn with_security_headers(mut response: Response<Body>) -> Response<Body> {
    let policy =
        if response.extensions().get::<Report>().is_some() { POLICY_OF_A_REPORT } else { POLICY };
    let own = [
        (CONTENT_SECURITY_POLICY, policy),
        (CACHE_CONTROL, "no-store"),
        (REFERRER_POLICY, "no-referrer"),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (HeaderName::from_static("x-frame-options"), "DENY"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
    ];
    for (name, value) in own {
        response.headers_mut().insert(name, HeaderValue::from_static(value));
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrong_links_are_counted_by_address_and_forgotten() {
        let guard = Guard::new(Vec::new());
        let (one, other) = (IpAddr::from([10, 0, 0, 1]), IpAddr::from([10, 0, 0, 2]));
        let start = Instant::now();
        for _ in 0..MOST_GUESSES {
            assert!(!guard.is_guessing(one, start));
        }
        assert!(guard.is_guessing(one, start) && guard.is_guessing(one, start));
        assert!(!guard.is_guessing(other, start));
        assert!(!guard.is_guessing(one, start + GUESSES_FORGOTTEN));
    }

    #[test]
    fn no_number_of_addresses_fills_the_memory() {
        let guard = Guard::new(Vec::new());
        let start = Instant::now();
        for n in 0..5000_u32 {
            let _ = guard.is_guessing(IpAddr::from(n.to_be_bytes()), start);
        }
        let kept = guard.guesses.lock().map_or(usize::MAX, |guesses| guesses.len());
        assert!(kept <= MOST_WATCHED);
    }
}
