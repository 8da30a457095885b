//! The reveal, and what is shown after it. Only here is the key opened, when the host says so and sees
//! what is still missing.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::body::Body;
use axum::extract::rejection::FormRejection;
use axum::extract::{Form, Path, State};
use axum::http::{Response, StatusCode};
use axum::routing::get;

use crate::app::Watch;
use crate::app::session_answer::session_answer;
use crate::app::session_steps;
use crate::bench::Bench;
use crate::bench::session_folder::SessionFolder;
use crate::files::Mistakes;
use crate::page::results::verdict;
use crate::serve::blind::sent_form::Form as SentForm;
use crate::serve::blind::{Blind, host_page, respond};
use crate::serve::transport::Fields;
use crate::text::command_line::for_session;

/// What opens the key of a session when it is time.
#[derive(Debug, Clone)]
pub(super) struct Revealing {
    /// The bench.
    pub(super) root: PathBuf,
    /// The session.
    pub(super) name: String,
    /// Where the key is kept, if not with the session.
    pub(super) key: Option<PathBuf>,
}

impl Revealing {
    /// Opens the key and closes the scores.
    fn reveal(&self, force: Option<&str>) -> Result<(), Mistakes> {
        let session = SessionFolder::open(&self.root, &self.name)?;
        session_steps::reveal(&self.root, &session, force, self.key.as_deref())?;
        Ok(())
    }

    /// The page of what was learnt.
    fn results(&self) -> Result<String, Mistakes> {
        let session = SessionFolder::open(&self.root, &self.name)?;
        let mut answer = session_answer(&session)?;
        answer.find_first_water(&Bench::open(&self.root)?, Watch::default())?;
        let of = (&session.plan, session.waters()?.flight.as_str());
        Ok(verdict(&answer.found, of, answer.first_water(), &answer.notes_page()))
    }
}

struct Opening {
    blind: Arc<Blind>,
    revealing: Revealing,
    /// The results of the log of so many lines.
    results: Mutex<Option<(usize, String)>>,
}

/// The reveal and the results.
pub(super) fn routes(blind: Arc<Blind>, revealing: Revealing) -> Router {
    let state = Arc::new(Opening { blind, revealing, results: Mutex::default() });
    Router::new()
        .route("/h/{token}/reveal", get(ask).post(reveal))
        .route("/h/{token}/results", get(results_for_host))
        .route("/t/{token}/results", get(results_for_taster))
        .with_state(state)
}

async fn ask(State(state): State<Arc<Opening>>, Path(token): Path<String>) -> Response<Body> {
    let Some(path) = state.blind.host(&token) else { return respond::nothing() };
    question(&state, &path, None, StatusCode::OK).await
}

async fn question(
    state: &Opening,
    path: &str,
    refused: Option<&str>,
    status: StatusCode,
) -> Response<Body> {
    let table = state.blind.table();
    let view = table.host_view(&*table.log().await);
    if view.revealed {
        return respond::see(path);
    }
    respond::page_with(status, host_page::reveal(table.plan(), &view, path, refused))
}

async fn reveal(
    State(state): State<Arc<Opening>>,
    Path(token): Path<String>,
    form: Result<Form<Fields>, FormRejection>,
) -> Response<Body> {
    let Some(path) = state.blind.host(&token) else { return respond::nothing() };
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let form = SentForm(&fields);
    if form.get("sure") != Some("yes") {
        let why = "Nothing is opened before you say yes.";
        return question(&state, &path, Some(why), StatusCode::UNPROCESSABLE_ENTITY).await;
    }
    let why = form.get("why").map(str::to_owned);
    let has_why = why.as_deref().is_some_and(|why| !why.trim().is_empty());
    if !has_why && state.blind.table().log().await.missing_answers() > 0 {
        let why = "Answers are still missing: say below why the key is opened all the same.";
        return question(&state, &path, Some(why), StatusCode::CONFLICT).await;
    }
    let revealing = state.revealing.clone();
    let done = tokio::task::spawn_blocking(move || revealing.reveal(why.as_deref())).await;
    match done {
        Ok(Ok(())) => {
            // The log has changed behind the table.
            state.blind.table().log().await;
            respond::see(&path)
        }
        Ok(Err(mistakes)) => {
            let why = in_words(&mistakes, &state.revealing.name);
            question(&state, &path, Some(&why), StatusCode::CONFLICT).await
        }
        Err(_) => {
            let why = "The key could not be opened.";
            question(&state, &path, Some(why), StatusCode::INTERNAL_SERVER_ERROR).await
        }
    }
}

/// What is wrong, for a page; the places of files are for the terminal.
fn in_words(mistakes: &Mistakes, session: &str) -> String {
    let one = |mistake: &crate::files::Diagnostic| {
        let details = mistake.details();
        match &details.remedy {
            Some(remedy) => format!("{}; {}", details.title, for_session(remedy, session)),
            None => details.title.clone(),
        }
    };
    mistakes.iter().map(one).collect::<Vec<_>>().join(". ")
}

async fn results_for_host(
    State(state): State<Arc<Opening>>,
    Path(token): Path<String>,
) -> Response<Body> {
    let Some(path) = state.blind.host(&token) else { return respond::nothing() };
    results(&state, &path).await
}

async fn results_for_taster(
    State(state): State<Arc<Opening>>,
    Path(token): Path<String>,
) -> Response<Body> {
    let Some(taster) = state.blind.taster(&token) else { return respond::nothing() };
    let path = state.blind.links().taster_path(taster);
    results(&state, &path).await
}

/// The results once the log says that the key is open; before then the way back.
async fn results(state: &Opening, path: &str) -> Response<Body> {
    let score_log = state.blind.table().log().await;
    if score_log.revealed_in().is_none() {
        return respond::see(path);
    }
    let lines = score_log.lines().len();
    let known = state.results.lock().unwrap_or_else(PoisonError::into_inner).clone();
    if let Some((of, page)) = known
        && of == lines
    {
        return respond::report(page);
    }
    let revealing = state.revealing.clone();
    let made = tokio::task::spawn_blocking(move || revealing.results()).await;
    match made {
        Ok(Ok(page)) => {
            *state.results.lock().unwrap_or_else(PoisonError::into_inner) =
                Some((lines, page.clone()));
            respond::report(page)
        }
        Ok(Err(mistakes)) => {
            let view = state.blind.table().host_view(&score_log);
            let plan = state.blind.table().plan();
            let message =
                format!("The results cannot be made: {}", in_words(&mistakes, &plan.session));
            let page = host_page::page(plan, &view, path, Some(&message));
            respond::page_with(StatusCode::INTERNAL_SERVER_ERROR, page)
        }
        Err(_) => respond::nothing(),
    }
}
