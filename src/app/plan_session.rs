//! A planned flight drawn into a session: laid out, sealed, written to disk, and what it can find.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use crate::app::mistakes::internal;
use crate::app::past_scores::{PastScores, unwanted};
use crate::app::planned_flight::Planned;
use crate::app::session_pour::shelf_short_of;
use crate::bench::secret;
use crate::bench::session_folder::{Created, create, name_taken, next_name};
use crate::bench::session_waters::{PlannedFlight, SessionWaters};
use crate::bench::{Bench, FlightFile};
use crate::files::{Diagnostic, Mistakes, read};
use crate::journal::measured_scatter;
use crate::mix::reach_report::UnansweredLine;
use crate::session::plan::{Aim, Nonce, Plan, Request, RequestError, Seed, WordingError, session};
use crate::session::serve::commands::{pour_command, undo_command};
use crate::session::serve::forecast_page::SessionForecast;
use crate::session::serve::{forecast_page, sheets};
use crate::text::Page;
use crate::water::water_change::WaterChange;

/// What a session is to be beside its request.
#[derive(Debug, Clone, Default)]
pub struct SessionAsked<'a> {
    /// What is wanted, where the names of what is judged do not say it.
    pub wanted: Option<Aim>,
    /// A phrase that decides every draw, for demonstrations: who knows it knows the key.
    pub seed: Option<&'a str>,
    /// File of the secret that opens the key; the usual one of this user when there is none.
    pub secret_file: Option<&'a Path>,
    /// Whether the session may have another name than its request says, when that is taken.
    pub any_name: bool,
}

/// A session that lies on the bench, and what it can be expected to find.
#[derive(Debug, Clone)]
pub struct PlannedSession {
    /// Its plan, which everyone may read.
    pub plan: Plan,
    /// Its folder.
    pub folder: PathBuf,
    /// What it can find.
    pub forecast: SessionForecast,
    /// Stocks of which too little is left.
    pub short_of: Vec<String>,
    /// Earlier sessions that could not be read, and so are not counted in the forecast.
    pub not_counted: Vec<String>,
    /// What changed in its waters since they were tasted last.
    pub changed: Vec<WaterChange>,
    unanswered: Vec<UnansweredLine>,
    secret_file: PathBuf,
    own_secret: bool,
    from_phrase: bool,
}

/// Draws a session of a planned flight and writes it to the bench, whole or not at all.
///
/// # Errors
/// When the request cannot be laid out, its name is taken, or the disk does not take it.
pub fn plan_session(
    bench: &Bench,
    (file, flight): (&FlightFile, &Planned),
    request: &Request,
    asked: &SessionAsked<'_>,
) -> Result<PlannedSession, Mistakes> {
    let text = read::text(&file.path)?;
    let (seed, nonce) = match asked.seed {
        Some(phrase) => (Seed::from_phrase(phrase), Nonce::from_phrase(phrase)),
        None => {
            (Seed::fresh().map_err(|e| internal(&e))?, Nonce::fresh().map_err(|e| internal(&e))?)
        }
    };
    let plans: Vec<(&[f64], &[f64])> = flight
        .plans
        .iter()
        .map(|plan| (plan.ml_per_l.as_slice(), plan.shares.as_slice()))
        .collect();
    let planned = PlannedFlight {
        stem: &file.stem,
        text: text.text(),
        flight: &flight.flight,
        stocks: &flight.stocks,
        bottles: &bench.bottles,
        plans: &plans,
        report: &flight.report,
        dispenser: flight.order.dispenser.as_ref(),
    };
    // Before the new session is one of them.
    let changed = bench.changed_since_session(&file.stem, &flight.report.waters)?;
    let tasted: Vec<String> = request.waters.iter().chain(&request.warm_up).cloned().collect();
    let mut waters = SessionWaters::planned(&planned, &tasted);
    waters.after_record = bench.records.history.last().map(|line| line.n);
    let changed = changed.into_iter().filter(|change| tasted.contains(&change.target)).collect();
    let secret_file =
        asked.secret_file.map_or_else(secret::usual_place, |file| Ok(file.to_owned()))?;
    let mut request = request.clone();
    let (plan, key, folder) = loop {
        let (plan, key) = session::plan(&request, &seed, &nonce).map_err(|e| refused(&e))?;
        let plan = match &asked.wanted {
            Some(aim) => plan.wanting(aim.clone()).map_err(|e| unwanted(&e))?,
            None => plan,
        };
        match create(&bench.root, &plan, &key, &waters, &secret_file)? {
            Created::New(folder) => break (plan, key, folder),
            // Two runs at once found the same name free: the next one is taken.
            Created::NameTaken(_) if asked.any_name => {
                request.session = next_name(&bench.root, &file.stem);
            }
            Created::NameTaken(path) => return Err(name_taken(&path).into()),
        }
    };
    let short_of = shelf_short_of(bench, &plan, &key, &waters);
    let past = PastScores::of(bench)?;
    let known = measured_scatter(&past.sessions, &plan, &past.worked_out);
    past.keep(bench);
    let forecast = SessionForecast::new(&plan, &key, &known);
    Ok(PlannedSession {
        plan,
        folder,
        forecast,
        short_of,
        not_counted: past.not_counted,
        changed,
        unanswered: flight.report.unanswered.clone(),
        secret_file,
        own_secret: asked.secret_file.is_some(),
        from_phrase: asked.seed.is_some(),
    })
}

impl PlannedSession {
    /// What is to be read before the session.
    #[must_use]
    pub fn page(&self) -> Page {
        let plan = &self.plan;
        let mut page = forecast_page::page(plan, &self.forecast);
        for line in sheets::cautions(plan) {
            page.say(format!("! {line}"));
        }
        for one in &self.unanswered {
            page.say(format!("! {} has no answer and is left out: {}", one.target, one.reason));
        }
        for change in &self.changed {
            page.say(format!("! {change}"));
        }
        for line in sheets::unevenness(plan) {
            page.say(line);
        }
        for line in &self.not_counted {
            page.say(format!("! {line}"));
        }
        sheets::on_the_key(&mut page, &plan.session, &self.secret_file.display().to_string());
        if self.own_secret {
            page.say("what needs the key is told where the secret is: `--key FILE`");
        }
        if self.from_phrase {
            page.say("whoever knows the seed phrase knows the key: for demonstrations only");
        }
        if !self.short_of.is_empty() {
            page.say(format!(
                "! too little is left of {}: make a batch and plan anew; the pourer's sheet says how much",
                self.short_of.join(", ")
            ));
        }
        page.say(format!("`{}` takes it back", undo_command(plan)));
        let named = self.own_secret.then_some(self.secret_file.as_path());
        page.say(format!("next: {}", pour_command(plan, named)));
        page
    }

    /// The same as data.
    #[must_use]
    pub fn data(&self) -> Value {
        let plan = &self.plan;
        let key_file = self.folder.join("key.sealed");
        json!({
            "session": plan.session, "folder": self.folder, "plan": plan, "wanted": plan.wanted(),
            "can_find": self.forecast.can_find, "forecast": self.forecast.forecast,
            "short_of": self.short_of, "uneven": sheets::unevenness(plan),
            "cautions": sheets::cautions(plan), "not_counted": self.not_counted,
            "key": { "file": key_file, "encrypted": true, "secret": self.secret_file },
            "changed_since_session": self.changed,
        })
    }
}

/// Why a request makes no session.
pub(crate) fn refused(error: &RequestError) -> Diagnostic {
    Diagnostic::choice(error.to_string())
}

/// Why the words of an option are not understood.
pub(crate) fn unread(option: &str, error: &WordingError) -> Diagnostic {
    Diagnostic::choice(format!("{option}: {error}")).expected(error.expected())
}
