//! Responses: pages, data, and the way back after a form.

use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, HeaderValue, LOCATION};
use axum::http::{Response, StatusCode};
use serde::Serialize;

use crate::serve::transport::guard::{Report, plain_text};

fn of_kind(status: StatusCode, kind: &'static str, text: String) -> Response<Body> {
    let mut response = Response::new(Body::from(text));
    *response.status_mut() = status;
    response.headers_mut().insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    response
}

/// A page.
#[must_use]
pub fn page(text: String) -> Response<Body> {
    page_with(StatusCode::OK, text)
}

/// A page with a status of its own.
#[must_use]
pub fn page_with(status: StatusCode, text: String) -> Response<Body> {
    of_kind(status, "text/html; charset=utf-8", text)
}

/// A finished page that bears its own style.
#[must_use]
pub fn report(text: String) -> Response<Body> {
    let mut response = page(text);
    response.extensions_mut().insert(Report);
    response
}

/// Data.
#[must_use]
pub fn data(status: StatusCode, data: &impl Serialize) -> Response<Body> {
    match serde_json::to_string(data) {
        Ok(text) => of_kind(status, "application/json", text),
        Err(_) => plain_text(StatusCode::INTERNAL_SERVER_ERROR, "This has no text."),
    }
}

/// A style.
#[must_use]
pub fn style(text: String) -> Response<Body> {
    of_kind(StatusCode::OK, "text/css; charset=utf-8", text)
}

/// A script.
#[must_use]
pub fn script(text: &str) -> Response<Body> {
    of_kind(StatusCode::OK, "text/javascript; charset=utf-8", text.to_owned())
}

/// Leads on after a form, so that a page loaded again sends nothing twice.
#[must_use]
pub fn see(path: &str) -> Response<Body> {
    let mut response = of_kind(StatusCode::SEE_OTHER, "text/plain; charset=utf-8", String::new());
    if let Ok(place) = HeaderValue::from_str(path) {
        response.headers_mut().insert(LOCATION, place);
    }
    response
}

/// Nothing is here; the same words for every address, so that they tell nothing of which there are.
#[must_use]
pub fn nothing() -> Response<Body> {
    plain_text(StatusCode::NOT_FOUND, "There is nothing here. Ask the host for your link.")
}
