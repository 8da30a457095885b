//! `session plan`: a flight drawn into a session.

use std::path::Path;

use crate::app::past_scores::unwanted;
use crate::app::plan_session::{SessionAsked, plan_session, refused, unread};
use crate::app::{FlightRequest, in_flight, plan_flight_of, target_name};
use crate::bench::session_folder::next_name;
use crate::bench::{Bench, FlightFile};
use crate::cli::amount::{above_zero, amount};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, shown_in};
use crate::cli::progress::watched;
use crate::cli::session_arguments::PlanOptions;
use crate::files::{Diagnostic, Mistakes};
use crate::quantities::Dimension;
use crate::session::plan::{
    AdjustFor, Aim, AnalysisPlan, Blinding, CodeScope, Duplicates, MethodRequest, Request, Serving,
    UnknownAdjustment, chosen_waters,
};

pub(super) fn run(bench: Option<&Path>, options: &PlanOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    // The flight of the first water, where none is named.
    let file = match options.water.first().or(options.pair.first()) {
        Some(water) => in_flight(&bench, options.flight.as_deref(), water)?.0,
        None => bench.flight_file(options.flight.as_deref())?,
    };
    let asked = FlightRequest::measured_with(options.dispenser.as_deref());
    let flight = watched(|watch| plan_flight_of(&bench, file, &asked, watch))?;
    let all: Vec<String> = flight.flight.targets.iter().map(|t| t.name.clone()).collect();
    let name = match &options.name {
        Some(name) => name.clone(),
        None => next_name(&bench.root, &file.stem),
    };
    let request = request(options, (&bench, file, &all), name)?;
    let asked = SessionAsked {
        wanted: Aim::asked(options.wanted.as_deref(), options.question, &request.method)
            .map_err(|error| unwanted(&error))?,
        seed: options.seed.as_deref(),
        secret_file: options.key.as_deref(),
        any_name: options.name.is_none(),
    };
    let session = plan_session(&bench, (file, &flight), &request, &asked)?;
    shown_in(&session.page(), &session.data(), how)
}

/// What the means are to be corrected for, each once; `none` alone says that nothing is.
fn adjust_for(words: &[String]) -> Result<Vec<AdjustFor>, Mistakes> {
    let mut all: Vec<AdjustFor> = Vec::new();
    for word in words.iter().filter(|word| words.len() > 1 || word.trim() != "none") {
        let one = word.parse().map_err(|error: UnknownAdjustment| {
            let what = format!("--adjust-for: {error}");
            Diagnostic::choice(what).expected("place, carry-over, or none")
        })?;
        if !all.contains(&one) {
            all.push(one);
        }
    }
    Ok(all)
}

/// The session as the options ask for it.
fn request(
    options: &PlanOptions,
    (bench, file, flight): (&Bench, &FlightFile, &[String]),
    session: String,
) -> Result<Request, Mistakes> {
    let known: Vec<&str> = flight.iter().map(String::as_str).collect();
    let meant = |typed: &String| target_name(bench, file, &known, typed);
    let water: Vec<String> = options.water.iter().map(meant).collect();
    let pairs = options.pair.chunks(2).filter_map(|pair| match pair {
        [a, b] => Some((meant(a), meant(b))),
        _ => None,
    });
    let pairs: Vec<(String, String)> = pairs.collect();
    let waters = chosen_waters(flight, &water, &pairs).map_err(|e| refused(&e))?;
    let attribute = |text: &String| text.parse().map_err(|e| unread("--attribute", &e));
    let ask = MethodRequest {
        question: options.question,
        method_kind: options.method,
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
        tasters: tasters(&options.tasters),
        rounds: options.rounds,
        per_tray: options.per_tray,
        duplicates: match (options.duplicates, options.duplicate.as_slice()) {
            (0, []) => Duplicates::None,
            (n, []) => Duplicates::Drawn(n),
            (_, named) => Duplicates::Named(named.iter().map(meant).collect()),
        },
        pairs,
        reference: options.reference.as_ref().map(meant),
        warm_up: options.warm_up.as_ref().map(meant),
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

/// The names, with commas or semicolons between them.
fn tasters(typed: &[String]) -> Vec<String> {
    let names = typed.iter().flat_map(|text| text.split(';')).map(str::trim);
    names.filter(|name| !name.is_empty()).map(str::to_owned).collect()
}
