//! `session plan`: a flight drawn into a session.

use std::path::Path;

use serde_json::json;

use crate::bench::past::{left_out, readable_sessions};
use crate::bench::secret;
use crate::bench::session_folder::{Created, create, name_taken, next_name};
use crate::bench::session_waters::{PlannedFlight, SessionWaters};
use crate::cli::amount::{above_zero, amount};
use crate::cli::bench;
use crate::cli::mix::planned;
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Outcome, internal};
use crate::cli::session::shown;
use crate::cli::session_arguments::PlanOptions;
use crate::cli::session_sheet::shelf_short_of;
use crate::files::{Diagnostic, Fault, Mistakes, read};
use crate::journal::measured_scatter;
use crate::quantities::Dimension;
use crate::session::plan::wanted::judged;
use crate::session::plan::{
    AdjustFor, Aim, AimError, AnalysisPlan, Blinding, CodeScope, Duplicates, Key, Method,
    MethodRequest, Nonce, Plan, Question, Request, RequestError, Seed, Serving, UnknownAdjustment,
    WordingError, chosen_waters, session,
};
use crate::session::serve::commands::pour_command;
use crate::session::serve::forecast_page::SessionForecast;
use crate::session::serve::{forecast_page, sheets};
use crate::stock::Bottle;
use crate::water::water_change::WaterChange;

pub(super) fn run(bench: Option<&Path>, options: &PlanOptions, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let file = bench.flight_file(options.flight.as_deref())?;
    let text = read::text(&file.path)?;
    let order = OrderOptions::measured_with(options.dispenser.as_deref());
    let planned = planned(&bench, file, &order)?;
    let all: Vec<String> = planned.flight.targets.iter().map(|t| t.name.clone()).collect();
    let (seed, nonce) = match &options.seed {
        Some(phrase) => (Seed::from_phrase(phrase), Nonce::from_phrase(phrase)),
        None => {
            (Seed::fresh().map_err(|e| internal(&e))?, Nonce::fresh().map_err(|e| internal(&e))?)
        }
    };
    let plans: Vec<(&[f64], &[f64])> = planned
        .plans
        .iter()
        .map(|plan| (plan.ml_per_l.as_slice(), plan.shares.as_slice()))
        .collect();
    let bottles: Vec<Bottle> = bench.bottles.clone();
    let flight = PlannedFlight {
        stem: &file.stem,
        text: text.text(),
        flight: &planned.flight,
        stocks: &planned.stocks,
        bottles: &bottles,
        plans: &plans,
        report: &planned.report,
        dispenser: planned.order.dispenser.as_ref(),
    };
    // Before the new session is one of them.
    let changed = bench.changed_since_session(&file.stem, &planned.report.waters)?;
    let secret_file = options.key.clone().map_or_else(secret::usual_place, Ok)?;
    let (plan, key, waters, tasted, folder) = loop {
        let name = match &options.name {
            Some(name) => name.clone(),
            None => next_name(&bench.root, &file.stem),
        };
        let (plan, key, tasted) = drawn(options, &all, name, (&seed, &nonce))?;
        let waters = SessionWaters::planned(&flight, &tasted);
        match create(&bench.root, &plan, &key, &waters, &secret_file)? {
            Created::New(folder) => break (plan, key, waters, tasted, folder),
            Created::NameTaken(path) if options.name.is_some() => {
                return Err(name_taken(&path).into());
            }
            // Two runs at once found the same name free: the next one is taken.
            Created::NameTaken(_) => {}
        }
    };
    let changed = changed.into_iter().filter(|change| tasted.contains(&change.target));
    let changed: Vec<WaterChange> = changed.collect();
    let short = shelf_short_of(&bench, &plan, &key, &waters);
    let (past, unread) = readable_sessions(&bench.root)?;
    let known = measured_scatter(&past, &plan);
    let not_counted: Vec<String> = unread.iter().map(left_out).collect();
    let forecast = SessionForecast::new(&plan, &key, &known);
    let mut page = forecast_page::page(&plan, &forecast);
    let cautions = sheets::cautions(&plan);
    for line in &cautions {
        page.say(format!("! {line}"));
    }
    for one in &planned.report.unanswered {
        page.say(format!("! {} has no answer and is left out: {}", one.target, one.reason));
    }
    for change in &changed {
        page.say(format!("! {change}"));
    }
    let uneven = sheets::unevenness(&plan);
    for line in &uneven {
        page.say(line.clone());
    }
    for line in &not_counted {
        page.say(format!("! {line}"));
    }
    let key_file = folder.join("key.sealed");
    for line in sheets::on_the_key(&plan.session, &secret_file.display().to_string()) {
        page.say(line);
    }
    if options.key.is_some() {
        page.say("what needs the key is told where the secret is: `--key FILE`");
    }
    if options.seed.is_some() {
        page.say("whoever knows the seed phrase knows the key: for demonstrations only");
    }
    if !short.is_empty() {
        page.say(format!(
            "! too little is left of {}: make a batch and plan anew; the pourer's sheet says how much",
            short.join(", ")
        ));
    }
    page.say(format!("next: {}", pour_command(&plan)));
    let data = json!({
        "session": plan.session, "folder": folder, "plan": plan, "wanted": plan.wanted(),
        "can_find": forecast.can_find, "forecast": forecast.forecast, "short_of": short, "uneven": uneven,
        "cautions": cautions, "not_counted": not_counted,
        "key": { "file": key_file, "encrypted": true, "secret": secret_file },
        "changed_since_session": changed,
    });
    shown(&page, &data, json)
}

/// The session drawn, with its key and the waters that are tasted.
fn drawn(
    options: &PlanOptions,
    all: &[String],
    name: String,
    (seed, nonce): (&Seed, &Nonce),
) -> Result<(Plan, Key, Vec<String>), Mistakes> {
    let request = request(options, all, name)?;
    let wanted = wanted(options, &request.method)?;
    let (plan, key) = session::plan(&request, seed, nonce).map_err(|e| refused(&e))?;
    let plan = match wanted {
        Some(aim) => plan.wanting(aim).map_err(|e| unwanted(&e))?,
        None => plan,
    };
    let tasted = request.waters.iter().chain(&request.warm_up).cloned().collect();
    Ok((plan, key, tasted))
}

fn refused(error: &RequestError) -> Mistakes {
    Diagnostic::new(Fault::Choice, error.to_string()).into()
}

/// What is wanted, as typed; `None` where the names of what is judged say it, or nobody does.
fn wanted(options: &PlanOptions, method: &Method) -> Result<Option<Aim>, Mistakes> {
    if let Some(text) = &options.wanted {
        return Aim::read(text, method).map(Some).map_err(|e| unwanted(&e));
    }
    let judged: Vec<String> = judged(method).into_iter().map(str::to_owned).collect();
    let best = options.question.map(Question::from) == Some(Question::WhichIsBest);
    if best && !judged.is_empty() && Aim::by_name(method).is_none() {
        return Err(unwanted(&AimError::BestOfWhat { judged }));
    }
    Ok(None)
}

fn unwanted(error: &AimError) -> Mistakes {
    Diagnostic::new(Fault::Choice, error.to_string()).expected(error.expected()).into()
}

fn unread(option: &str, error: &WordingError) -> Mistakes {
    Diagnostic::new(Fault::Choice, format!("{option}: {error}")).expected(error.expected()).into()
}

/// What the means are to be corrected for, each once; `none` alone says that nothing is.
fn adjust_for(words: &[String]) -> Result<Vec<AdjustFor>, Mistakes> {
    let mut all: Vec<AdjustFor> = Vec::new();
    for word in words.iter().filter(|word| words.len() > 1 || word.trim() != "none") {
        let one = word.parse().map_err(|error: UnknownAdjustment| {
            let what = format!("--adjust-for: {error}");
            Diagnostic::new(Fault::Choice, what).expected("place, carry-over, or none")
        })?;
        if !all.contains(&one) {
            all.push(one);
        }
    }
    Ok(all)
}

/// The session as the options ask for it.
fn request(options: &PlanOptions, flight: &[String], session: String) -> Result<Request, Mistakes> {
    let pairs = options.pair.chunks(2).filter_map(|pair| match pair {
        [a, b] => Some((a.clone(), b.clone())),
        _ => None,
    });
    let pairs: Vec<(String, String)> = pairs.collect();
    let waters = chosen_waters(flight, &options.water, &pairs).map_err(|e| refused(&e))?;
    let attribute = |text: &String| text.parse().map_err(|e| unread("--attribute", &e));
    let ask = MethodRequest {
        question: options.question.map(Into::into),
        method_kind: options.method.map(Into::into),
        attributes: options.attribute.iter().map(attribute).collect::<Result<_, _>>()?,
        criterion: options.criterion.clone(),
        one_sided: options.one_sided,
        constant_reference: options.constant,
    };
    let celsius = |text: &String| amount("--served", text, &[Dimension::Temperature]);
    let brew = |text: &String| text.parse().map_err(|e| unread("--brew", &e));
    Ok(Request {
        session,
        question: ask.question().words().to_owned(),
        method: ask.method(waters.len()).map_err(|e| refused(&e))?,
        waters,
        tasters: options.tasters.iter().map(|t| t.trim().to_owned()).collect(),
        rounds: options.rounds,
        per_tray: options.per_tray,
        duplicates: match (options.duplicates, options.duplicate.as_slice()) {
            (0, []) => Duplicates::None,
            (n, []) => Duplicates::Drawn(n),
            (_, named) => Duplicates::Named(named.to_vec()),
        },
        pairs,
        reference: options.reference.clone(),
        warm_up: options.warm_up.clone(),
        break_after: options.breaks_after,
        codes: options.code_each_cup.then_some(CodeScope::PerTaster),
        blinding: match (options.alone, options.double_blind) {
            (true, _) => Blinding::Solo,
            (_, true) => Blinding::Double,
            _ => Blinding::Pourer,
        },
        serving: Serving {
            cup_ml: above_zero("--cup", &options.cup, &[Dimension::Volume])?,
            served_c: options.served.as_ref().map(celsius).transpose()?,
            brewing: options.brew.as_ref().map(brew).transpose()?,
            notes: options.same.clone(),
        },
        analysis: AnalysisPlan {
            primary: options.primary.clone(),
            adjust_for: adjust_for(&options.adjust_for)?,
        },
    })
}
