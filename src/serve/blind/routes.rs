//! What can be asked before the reveal, and by whom: a taster by the own link, the host by another.

use std::convert::Infallible;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use axum::Router;
use axum::body::Body;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Path as UrlPath, Query, State};
use axum::http::header::ACCEPT;
use axum::http::{HeaderMap, Response, StatusCode};
use axum::response::IntoResponse;
use axum::response::sse::{Event, Sse};
use axum::routing::{get, post};
use futures_util::stream::{Stream, unfold};
use maud::PreEscaped;
use serde::{Deserialize, Serialize};
use tokio::sync::watch;

use crate::files::Diagnostic;
use crate::serve::blind::assets::{HOST_SCRIPT, TASTER_SCRIPT, style};
use crate::serve::blind::frame::{HOST_SCRIPT_PATH, STYLE_PATH, TASTER_SCRIPT_PATH};
use crate::serve::blind::host_page::{self, HandedOut, missing_words};
use crate::serve::blind::links::TasterLink;
use crate::serve::blind::sent_form::{self, Form as SentForm};
use crate::serve::blind::table::refused;
use crate::serve::blind::taster_page::{self, Message, Screen, StandingView};
use crate::serve::blind::{HostView, Links, Place, Table, respond};
use crate::serve::transport::Fields;
use crate::svg::qr_code;

/// Our choice: how often a host's page that listens looks for what others have entered.
const LOOK_EVERY: Duration = Duration::from_secs(2);

/// A table with the links to it.
#[derive(Debug)]
pub struct Blind {
    table: Table,
    links: Mutex<Links>,
    folder: PathBuf,
    origin: String,
    /// Becomes true when the program ends, so that pages that listen let go.
    ending: watch::Receiver<bool>,
}

impl Blind {
    /// A table whose links begin with `origin` and are kept in `folder`.
    #[must_use]
    pub fn new(
        table: Table,
        links: Links,
        folder: PathBuf,
        origin: String,
        ending: watch::Receiver<bool>,
    ) -> Self {
        Self { table, links: Mutex::new(links), folder, origin, ending }
    }

    /// The table.
    #[must_use]
    pub fn table(&self) -> &Table {
        &self.table
    }

    /// The links.
    pub fn links(&self) -> MutexGuard<'_, Links> {
        self.links.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The taster whose link this is.
    #[must_use]
    pub fn taster(&self, token: &str) -> Option<usize> {
        self.links().taster(token)
    }

    /// The path of the host's page, for whoever has the host's link.
    #[must_use]
    pub fn host(&self, token: &str) -> Option<String> {
        let links = self.links();
        links.host.is(token).then(|| links.host_path())
    }

    /// Changes what is kept of the links; nothing is changed where the disk does not take it.
    fn change(
        &self,
        change: impl FnOnce(&mut Links) -> Result<(), Diagnostic>,
    ) -> Result<(), Diagnostic> {
        let mut links = self.links();
        let mut changed = links.clone();
        change(&mut changed)?;
        changed.keep(&self.folder)?;
        *links = changed;
        Ok(())
    }

    /// The links as they are handed out.
    fn handed_out(&self) -> Vec<HandedOut> {
        let links = self.links();
        let one = |(n, link): (usize, &TasterLink)| {
            let address = format!("{}{}", self.origin, links.taster_path(n));
            let picture = qr_code::inline(&format!("code-{n}"), &address).map(PreEscaped);
            HandedOut { taster: link.taster.clone(), address, picture }
        };
        links.tasters.iter().enumerate().map(one).collect()
    }
}

/// All that can be asked before the reveal.
pub fn routes(blind: Arc<Blind>) -> Router {
    Router::new()
        .route("/t/{token}", get(taster))
        .route("/t/{token}/answer", post(answer))
        .route("/t/{token}/state", get(state))
        .route("/h/{token}", get(host))
        .route("/h/{token}/live", get(live))
        .route("/h/{token}/break", post(call_break))
        .route("/h/{token}/links", get(links))
        .route("/h/{token}/link", post(new_link))
        .route(STYLE_PATH, get(|| async { respond::style(style()) }))
        .route(TASTER_SCRIPT_PATH, get(|| async { respond::script(TASTER_SCRIPT) }))
        .route(HOST_SCRIPT_PATH, get(|| async { respond::script(HOST_SCRIPT) }))
        .with_state(blind)
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    at: Option<String>,
    recorded: Option<u64>,
    drafts: Option<usize>,
    waiting: Option<usize>,
}

async fn taster(
    State(blind): State<Arc<Blind>>,
    UrlPath(token): UrlPath<String>,
    asked: Result<Query<Asked>, QueryRejection>,
) -> Response<Body> {
    let Some(taster) = blind.taster(&token) else { return respond::nothing() };
    let asked = asked.map(|Query(asked)| asked).unwrap_or_default();
    blind.table.note_contact(taster, None);
    let message = Message { recorded: asked.recorded, ..Message::default() };
    taster_response(&blind, taster, asked.at.as_deref(), message, StatusCode::OK).await
}

async fn taster_response(
    blind: &Blind,
    taster: usize,
    key: Option<&str>,
    message: Message<'_>,
    status: StatusCode,
) -> Response<Body> {
    let score_log = blind.table.log().await;
    let table = &blind.table;
    let (Some(places), Some((at, _))) =
        (table.places_of(taster), table.place(taster, key, &score_log))
    else {
        return respond::nothing();
    };
    let path = blind.links().taster_path(taster);
    let screen = Screen {
        plan: table.plan(),
        score_log: &score_log,
        taster,
        places,
        at,
        path: &path,
        on_break: table.on_break(),
    };
    respond::page_with(status, taster_page::page(screen, message))
}

/// Takes an answer in, from the script or from a plain form.
async fn answer(
    State(blind): State<Arc<Blind>>,
    UrlPath(token): UrlPath<String>,
    headers: HeaderMap,
    form: Result<Form<Fields>, FormRejection>,
) -> Response<Body> {
    let Some(taster) = blind.taster(&token) else { return respond::nothing() };
    blind.table.note_contact(taster, None);
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let form = SentForm(&fields);
    let wants_data = headers
        .get(ACCEPT)
        .and_then(|accept| accept.to_str().ok())
        .is_some_and(|accept| accept.starts_with("application/json"));
    let table = &blind.table;
    let key = form.get("at").unwrap_or_default();
    let place = table.places_of(taster).and_then(|places| places.find(key));
    let seen = form.get("seen").and_then(|seen| seen.parse().ok());
    let (Some((at, place)), Some(seen)) = (place, seen) else {
        let outcome = refused(0, "this is no cup of yours".to_owned());
        return if wants_data {
            respond::data(StatusCode::UNPROCESSABLE_ENTITY, &outcome)
        } else {
            let message = Message { refused: Some(&outcome.words), ..Message::default() };
            taster_response(&blind, taster, None, message, StatusCode::UNPROCESSABLE_ENTITY).await
        };
    };
    let (status, outcome) = match sent_form::understood(table.plan(), place, form) {
        Ok(sent) => {
            let outcome = table.take(place, sent, seen).await;
            let status = match outcome.state {
                "on_disk" => StatusCode::OK,
                "waiting" => StatusCode::SERVICE_UNAVAILABLE,
                _ => StatusCode::CONFLICT,
            };
            (status, outcome)
        }
        Err(error) => (StatusCode::UNPROCESSABLE_ENTITY, refused(seen, error.to_string())),
    };
    if wants_data {
        return respond::data(status, &outcome);
    }
    if let Some(line) = outcome.line {
        let score_log = table.log().await;
        let next = table
            .places_of(taster)
            .and_then(|places| places.list().get(places.next(&score_log, Some(at)).unwrap_or(at)));
        let path = blind.links().taster_path(taster);
        let next = next.map_or_else(|| place.address(), Place::address);
        return respond::see(&format!("{path}?at={next}&recorded={line}"));
    }
    // The form as it was sent, with the line that is now known of the same cup or tray.
    let sent = Some((form, outcome.seen));
    let message = Message { refused: Some(&outcome.words), sent, ..Message::default() };
    taster_response(&blind, taster, Some(key), message, status).await
}

#[derive(Serialize)]
struct TasterState {
    on_break: bool,
    revealed: bool,
    places: Vec<StandingView>,
}

/// What stands of a taster's own answers; and the phone says what it still holds.
async fn state(
    State(blind): State<Arc<Blind>>,
    UrlPath(token): UrlPath<String>,
    asked: Result<Query<Asked>, QueryRejection>,
) -> Response<Body> {
    let Some(taster) = blind.taster(&token) else { return respond::nothing() };
    let asked = asked.map(|Query(asked)| asked).unwrap_or_default();
    blind.table.note_contact(taster, asked.drafts.zip(asked.waiting));
    let score_log = blind.table.log().await;
    let table = &blind.table;
    let Some(places) = table.places_of(taster) else { return respond::nothing() };
    let state = TasterState {
        on_break: table.on_break(),
        revealed: score_log.revealed_in().is_some(),
        places: taster_page::standing(table.plan(), &score_log, places),
    };
    respond::data(StatusCode::OK, &state)
}

async fn host(State(blind): State<Arc<Blind>>, UrlPath(token): UrlPath<String>) -> Response<Body> {
    let Some(path) = blind.host(&token) else { return respond::nothing() };
    let view = blind.table.host_view(&*blind.table.log().await);
    respond::page(host_page::page(blind.table.plan(), &view, &path, None))
}

#[derive(Serialize)]
struct Live<'a> {
    words: String,
    #[serde(flatten)]
    view: &'a HostView,
}

/// The counts as they change.
async fn live(State(blind): State<Arc<Blind>>, UrlPath(token): UrlPath<String>) -> Response<Body> {
    if blind.host(&token).is_none() {
        return respond::nothing();
    }
    Sse::new(views(blind)).into_response()
}

fn views(blind: Arc<Blind>) -> impl Stream<Item = Result<Event, Infallible>> {
    let (changes, ending) = (blind.table.changes(), blind.ending.clone());
    unfold((blind, changes, ending, None), |(blind, mut changes, mut ending, sent)| async move {
        loop {
            if *ending.borrow() {
                return None;
            }
            let view = blind.table.host_view(&*blind.table.log().await);
            if sent.as_ref() != Some(&view) {
                let live = Live { words: missing_words(&view), view: &view };
                let text = serde_json::to_string(&live).unwrap_or_default();
                let event = Event::default().data(text);
                return Some((Ok(event), (blind, changes, ending, Some(view))));
            }
            tokio::select! {
                _ = changes.changed() => {}
                _ = ending.changed() => {}
                () = tokio::time::sleep(LOOK_EVERY) => {}
            }
        }
    })
}

async fn call_break(
    State(blind): State<Arc<Blind>>,
    UrlPath(token): UrlPath<String>,
    form: Result<Form<Fields>, FormRejection>,
) -> Response<Body> {
    let Some(path) = blind.host(&token) else { return respond::nothing() };
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let on_break = SentForm(&fields).get("on") == Some("yes");
    let kept = blind.change(|links| {
        links.on_break = on_break;
        Ok(())
    });
    blind.table.call_break(on_break);
    after(&blind, &path, &path, kept).await
}

async fn links(State(blind): State<Arc<Blind>>, UrlPath(token): UrlPath<String>) -> Response<Body> {
    let Some(path) = blind.host(&token) else { return respond::nothing() };
    let warning = "Whoever has a link answers as that taster.";
    respond::page(host_page::links(blind.table.plan(), &blind.handed_out(), &path, warning))
}

async fn new_link(
    State(blind): State<Arc<Blind>>,
    UrlPath(token): UrlPath<String>,
    form: Result<Form<Fields>, FormRejection>,
) -> Response<Body> {
    let Some(path) = blind.host(&token) else { return respond::nothing() };
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let taster = SentForm(&fields).get("taster").and_then(|taster| taster.parse().ok());
    let kept = match taster {
        Some(taster) => blind.change(|links| links.draw_again(taster)),
        None => Ok(()),
    };
    after(&blind, &path, &format!("{path}/links"), kept).await
}

/// Leads on after a form of the host, or says what the disk did not take.
async fn after(
    blind: &Blind,
    path: &str,
    next: &str,
    kept: Result<(), Diagnostic>,
) -> Response<Body> {
    let Err(diagnostic) = kept else { return respond::see(next) };
    let view = blind.table.host_view(&*blind.table.log().await);
    let message = format!("This could not be kept: {}", diagnostic.details().title);
    respond::page_with(
        StatusCode::INTERNAL_SERVER_ERROR,
        host_page::page(blind.table.plan(), &view, path, Some(&message)),
    )
}
