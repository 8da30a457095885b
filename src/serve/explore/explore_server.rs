//! The page of a water by hand, on this machine alone.

use std::collections::BTreeMap;
use std::path::{Path as FilePath, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::body::Body;
use axum::extract::rejection::{FormRejection, QueryRejection};
use axum::extract::{Form, Path, Query, State};
use axum::http::{Response, StatusCode};
use axum::routing::get;

use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::serve::blind::assets::style;
use crate::serve::blind::frame::STYLE_PATH;
use crate::serve::blind::respond;
use crate::serve::explore::asked::fields_of;
use crate::serve::explore::explore_page::{self, Notice, PICTURES_PATH, SCRIPT_PATH};
use crate::serve::explore::{Asked, Shelf};
use crate::serve::transport::{Fields, Guard, On, Opened, Token, run};
use crate::svg::palette;
use crate::text::command_line::{for_bench_unbroken, typed};

/// A bench open to be tried out.
#[derive(Debug)]
pub struct ExploreServer {
    opened: Opened,
    token: Token,
    root: PathBuf,
    named: Option<PathBuf>,
}

struct Exploring {
    root: PathBuf,
    /// The bench as it was named behind the command, where it was.
    named: Option<PathBuf>,
    token: Token,
    /// Flights that were asked for, read once; a page opened anew reads them again.
    shelves: Mutex<BTreeMap<Option<String>, Arc<Shelf>>>,
}

impl ExploreServer {
    /// Opens a bench on this machine alone, with a link that nobody else has.
    ///
    /// # Errors
    /// When the bench or its only flight cannot be read, or no port is free.
    pub fn open(root: &FilePath, port: Option<u16>) -> Result<Self, Mistakes> {
        Bench::open(root)?;
        let opened = On::Loopback.open(port)?;
        Ok(Self { opened, token: Token::new()?, root: root.to_owned(), named: None })
    }

    /// The same; commands on its page are for the bench as it was named.
    #[must_use]
    pub fn named(self, bench: Option<&FilePath>) -> Self {
        Self { named: bench.map(FilePath::to_owned), ..self }
    }

    /// The link.
    #[must_use]
    pub fn link(&self) -> String {
        format!("{}/e/{}", self.opened.origin(), self.token.text())
    }

    /// Serves until the program is told to end.
    ///
    /// # Errors
    /// When the system gives no means to wait for connections.
    pub fn run(self) -> Result<(), Diagnostic> {
        let Self { opened, token, root, named } = self;
        let guard = Arc::new(Guard::new(opened.hosts()));
        let state = Arc::new(Exploring { root, named, token, shelves: Mutex::default() });
        let style_of_pictures = || async {
            let more = include_str!("assets/explore.css");
            respond::style(palette::picture_rules(".picture").replace("--soft", "--quiet") + more)
        };
        let script = || async { respond::script(include_str!("assets/explore.js")) };
        let router = Router::new()
            .route("/e/{token}", get(page).post(write))
            .route("/e/{token}/answer", get(answer))
            .route(STYLE_PATH, get(|| async { respond::style(style()) }))
            .route(PICTURES_PATH, get(style_of_pictures))
            .route(SCRIPT_PATH, get(script))
            .with_state(state);
        run(opened, router, guard, || {})
    }
}

fn field<'a>(fields: &'a Fields, name: &str) -> Option<&'a str> {
    fields.iter().find(|(key, _)| key == name).map(|(_, value)| value.as_str())
}

impl Exploring {
    /// The shelf of the flight that the fields name.
    fn shelf(&self, fields: &Fields, afresh: bool) -> Result<(Arc<Shelf>, Bench), Mistakes> {
        let named = field(fields, "flight").map(str::to_owned);
        let bench = Bench::open(&self.root)?;
        // A bench with several flights begins with the first.
        let first = bench.flights.first().map(|file| file.stem.clone());
        let stem = named.or(first);
        let shelf = Arc::new(Shelf::of(&bench, stem.as_deref())?);
        let mut shelves = self.shelves.lock().unwrap_or_else(PoisonError::into_inner);
        if afresh || shelves.len() > MOST_SHELVES {
            shelves.clear();
        }
        shelves.insert(stem, Arc::clone(&shelf));
        Ok((shelf, bench))
    }

    /// The shelf of the page that asks, as it was when the page was opened.
    fn known(&self, fields: &Fields) -> Result<Arc<Shelf>, Mistakes> {
        let named = field(fields, "flight").map(str::to_owned);
        let known =
            self.shelves.lock().unwrap_or_else(PoisonError::into_inner).get(&named).cloned();
        known.map_or_else(|| Ok(self.shelf(fields, false)?.0), Ok)
    }
}

/// Our choice: more flights than anyone has open at once.
const MOST_SHELVES: usize = 16;

async fn page(
    State(state): State<Arc<Exploring>>,
    Path(token): Path<String>,
    fields: Result<Query<Fields>, QueryRejection>,
) -> Response<Body> {
    if !state.token.is(&token) {
        return respond::nothing();
    }
    let fields = fields.map(|Query(fields)| fields).unwrap_or_default();
    response(&state, &fields, Notice::default(), StatusCode::OK)
}

fn response(
    state: &Exploring,
    fields: &Fields,
    notice: Notice<'_>,
    status: StatusCode,
) -> Response<Body> {
    let path = format!("/e/{}", state.token.text());
    let (shelf, bench) = match state.shelf(fields, true) {
        Ok(found) => found,
        Err(mistakes) => return unreadable(&mistakes),
    };
    let mut asked = Asked::read(fields);
    if asked.goals.is_empty()
        && let Some(first) = shelf.flight.targets.first()
    {
        // A fresh page begins with the first water of the flight.
        asked.goals = fields_of(first);
    }
    let flights: Vec<String> = bench.flights.iter().map(|file| file.stem.clone()).collect();
    let answer = shelf.answer(&asked);
    let text = explore_page::page(&shelf, &flights, &asked, &answer, notice, &path);
    respond::page_with(status, text)
}

fn unreadable(mistakes: &Mistakes) -> Response<Body> {
    let text = titles(mistakes);
    let body = maud::html! { body { main { h1 { "The bench cannot be read" } @for line in &text { p.wrong { (line) } } } } };
    let page = crate::serve::blind::frame::page("The bench cannot be read", None, None, &body);
    respond::page_with(StatusCode::CONFLICT, page)
}

/// What is wrong, for a page; the places of files are for the terminal.
fn titles(mistakes: &Mistakes) -> Vec<String> {
    mistakes.iter().map(|mistake| mistake.details().title.clone()).collect()
}

async fn answer(
    State(state): State<Arc<Exploring>>,
    Path(token): Path<String>,
    fields: Result<Query<Fields>, QueryRejection>,
) -> Response<Body> {
    if !state.token.is(&token) {
        return respond::nothing();
    }
    let fields = fields.map(|Query(fields)| fields).unwrap_or_default();
    match state.known(&fields) {
        Ok(shelf) => {
            let found = shelf.answer(&Asked::read(&fields));
            respond::page(explore_page::outcome(&found).into_string())
        }
        Err(mistakes) => unreadable(&mistakes),
    }
}

async fn write(
    State(state): State<Arc<Exploring>>,
    Path(token): Path<String>,
    form: Result<Form<Fields>, FormRejection>,
) -> Response<Body> {
    if !state.token.is(&token) {
        return respond::nothing();
    }
    let fields = form.map(|Form(fields)| fields).unwrap_or_default();
    let name = field(&fields, "name").unwrap_or_default().trim();
    let written = state
        .shelf(&fields, true)
        .and_then(|(shelf, bench)| Ok(shelf.write(&bench, &Asked::read(&fields), name)?));
    match written {
        Ok(file) => {
            let next = format!("Next: waterflight mix {}", typed(name));
            let next = match &state.named {
                Some(named) => for_bench_unbroken(&next, named),
                None => next,
            };
            let done = format!("Written: {file}. {next}");
            let notice = Notice { done: Some(&done), wrong: None };
            response(&state, &fields, notice, StatusCode::CREATED)
        }
        Err(mistakes) => {
            let why = format!("Not written: {}", titles(&mistakes).join(". "));
            let notice = Notice { done: None, wrong: Some(&why) };
            response(&state, &fields, notice, StatusCode::CONFLICT)
        }
    }
}
