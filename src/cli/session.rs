//! `session`: planned, printed, revealed, understood.

use std::io::Write;
use std::path::Path;

use serde_json::{Value, json};

use crate::analysis::{self, ModelChoice};
use crate::bench::past::past_sessions;
use crate::bench::session_folder::{self, SessionFolder};
use crate::bench::session_waters::{PlannedDose, PlannedWater, SessionWaters, WATERS_FORMAT};
use crate::cli::amount::{above_zero, amount};
use crate::cli::bench;
use crate::cli::mix::{Planned, planned};
use crate::cli::order::OrderOptions;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::session_arguments::{Asked, PlanOptions, Reader, Step, Way};
use crate::cli::session_score;
use crate::cli::stocktake::filled;
use crate::files::{Diagnostic, Fault};
use crate::quantities::{Day, Dimension, Millilitres, MillilitresPerLitre};
use crate::render;
use crate::report::journal::measured;
use crate::report::session_forecast::SessionForecast;
use crate::report::session_results::SessionResults;
use crate::report::{Page, session_forecast, session_sheet};
use crate::scores::reveal::{reveal_entry, revealed};
use crate::scores::{Entry, OpenedFor, OwedWhat};
use crate::tasting::prep::prepare;
use crate::tasting::session;
use crate::tasting::{
    Attribute, Blinding, Brewing, CodeScope, DosedWater, DuoTrioReference, Duplicates, Method,
    Nonce, Question, Request, Seed, Serving, Sides,
};

pub(super) fn run(bench: Option<&Path>, step: &Step, json: bool, out: &mut dyn Write) -> Outcome {
    match step {
        Step::Plan(options) => plan(bench, options, json),
        Step::Sheet { name, reader, taster, spare, key } => {
            sheet(bench, name, (*reader, taster.as_deref()), spare, key.as_deref(), json)
        }
        Step::Score(options) => session_score::run(bench, options, json, out),
        Step::Turned { name, tray, cups } => session_score::turned(bench, name, *tray, cups, json),
        Step::Progress { name, entries } => progress(bench, name, *entries, json),
        Step::Reveal { name, force, key } => {
            reveal(bench, name, force.as_deref(), key.as_deref(), json)
        }
        Step::Results { name } => {
            let found = results_of(&open(bench, name)?)?;
            shown(&found.page(), &json!(found), json)
        }
    }
}

/// A page as text, or its data.
pub(super) fn shown(page: &Page, data: &Value, json: bool) -> Outcome {
    if json {
        return render::json::document(data).map_err(|e| internal(&e));
    }
    Ok(render::page::text(page))
}

pub(super) fn choice(error: &impl std::fmt::Display) -> Mistakes {
    vec![Diagnostic::new(Fault::Choice, error.to_string())]
}

/// Opens a session.
pub(super) fn open(bench: Option<&Path>, name: &str) -> Result<SessionFolder, Mistakes> {
    let root = bench::root(bench).map_err(|m| vec![m])?;
    SessionFolder::open(&root, name).map_err(|m| vec![m])
}

fn plan(bench: Option<&Path>, options: &PlanOptions, json: bool) -> Outcome {
    let one = |mistake| vec![mistake];
    let bench = bench::open(bench)?;
    let file = bench.flight_file(options.flight.as_deref()).map_err(one)?;
    let planned = planned(&bench, file, &OrderOptions::default())?;
    let name = match &options.name {
        Some(name) => name.clone(),
        None => session_folder::next_name(&bench.root, &file.stem),
    };
    let request = request(options, &planned, name)?;
    let (seed, nonce) = match &options.seed {
        Some(phrase) => (Seed::from_phrase(phrase), Nonce::from_phrase(phrase)),
        None => {
            (Seed::fresh().map_err(|e| internal(&e))?, Nonce::fresh().map_err(|e| internal(&e))?)
        }
    };
    let (plan, key) = session::plan(&request, &seed, &nonce).map_err(|e| choice(&e))?;
    let waters = waters(&planned, &file.stem, &request.waters);
    let folder = session_folder::create(&bench.root, &plan, &key, &waters, options.key.as_deref())
        .map_err(one)?;
    // What cannot be read of earlier sessions `journal` says; a plan does not wait for it.
    let known = measured(&past_sessions(&bench.root).unwrap_or_default(), &plan);
    let can_find = SessionForecast::new(&plan, &known);
    let mut page = session_forecast::page(&plan, &can_find);
    if options.seed.is_some() {
        page.say("whoever knows the seed phrase knows the key: for demonstrations only");
    }
    let next = format!("next: waterflight session sheet \"{}\" --for pourer", plan.session);
    page.say(next);
    let data = json!({
        "session": plan.session, "folder": folder, "plan": plan,
        "can_find": can_find.can_find, "forecast": can_find.forecast,
    });
    shown(&page, &data, json)
}

fn request(options: &PlanOptions, planned: &Planned, session: String) -> Result<Request, Mistakes> {
    let all: Vec<String> = planned.flight.targets.iter().map(|t| t.name.clone()).collect();
    let waters = if options.water.is_empty() { all.clone() } else { options.water.clone() };
    if let Some(unknown) = waters.iter().find(|w| !all.contains(w)) {
        return Err(vec![
            Diagnostic::new(Fault::Choice, format!("the flight has no water `{unknown}`"))
                .expected(all.join("; ")),
        ]);
    }
    let question = match options.question {
        Asked::Best => Question::WhichIsBest,
        Asked::TellApart => Question::CanWeTell,
        Asked::HowDiffer => Question::HowDoTheyDiffer,
    };
    let criterion = options.criterion.clone();
    let mut method = match options.method {
        None => question.suggested(waters.len()),
        Some(Way::Scoring) => Question::HowDoTheyDiffer.suggested(waters.len()),
        Some(Way::Ranking) => Method::Ranking { criterion: criterion.clone() },
        Some(Way::Triangle) => Method::Triangle,
        Some(Way::DuoTrio) => Method::DuoTrio {
            reference: if options.constant {
                DuoTrioReference::Constant
            } else {
                DuoTrioReference::Balanced
            },
        },
        Some(Way::Paired) => Method::Paired { criterion: criterion.clone(), sides: Sides::Two },
        Some(Way::Tetrad) => Method::Tetrad,
    };
    match &mut method {
        Method::Scoring { attributes } if !options.attribute.is_empty() => {
            *attributes =
                options.attribute.iter().map(|text| attribute(text)).collect::<Result<_, _>>()?;
        }
        Method::Paired { criterion: own, sides } => {
            own.clone_from(&criterion);
            *sides = if options.one_sided { Sides::One } else { Sides::Two };
        }
        Method::Ranking { criterion: own } => own.clone_from(&criterion),
        _ => {}
    }
    let pairs = options.pair.chunks(2).filter_map(|pair| match pair {
        [a, b] => Some((a.clone(), b.clone())),
        _ => None,
    });
    let celsius = |text: &String| amount("--served", text, &[Dimension::Temperature]);
    Ok(Request {
        session,
        question: question.words().to_owned(),
        method,
        waters,
        tasters: options.tasters.iter().map(|t| t.trim().to_owned()).collect(),
        rounds: options.rounds,
        per_tray: options.per_tray,
        duplicates: match (options.duplicates, options.duplicate.as_slice()) {
            (0, []) => Duplicates::None,
            (n, []) => Duplicates::Drawn(n),
            (_, named) => Duplicates::Named(named.to_vec()),
        },
        pairs: pairs.collect(),
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
            brewing: options.brew.as_deref().map(brewing).transpose()?,
            notes: options.same.clone(),
        },
    })
}

/// Reads `body, 0 to 10 by 0.5, thin to heavy`.
fn attribute(text: &str) -> Result<Attribute, Mistakes> {
    let read = || {
        let mut parts = text.split(',').map(str::trim);
        let name = parts.next()?.to_owned();
        let (ends, step) = parts
            .next()
            .map_or(("0 to 10", "1"), |scale| scale.split_once(" by ").unwrap_or((scale, "1")));
        let (low, high) = ends.split_once(" to ")?;
        let words = parts.next().unwrap_or("least to most");
        let (low_word, high_word) = words.split_once(" to ")?;
        Some(Attribute {
            name,
            low: low.trim().parse().ok()?,
            high: high.trim().parse().ok()?,
            step: step.trim().parse().ok()?,
            low_word: low_word.to_owned(),
            high_word: high_word.to_owned(),
        })
    };
    read().ok_or_else(|| {
        vec![
            Diagnostic::new(Fault::Choice, format!("--attribute: `{text}` cannot be read"))
                .expected("as in \"body, 0 to 10 by 0.5, thin to heavy\""),
        ]
    })
}

/// Reads `coffee: 15 g on 250 mL at 94 °C gives 220 mL`.
fn brewing(text: &str) -> Result<Brewing, Mistakes> {
    let pieces = || {
        let (what, rest) = text.split_once(':')?;
        let (dose, rest) = rest.split_once(" on ")?;
        let (water, rest) = rest.split_once(" at ")?;
        let (celsius, made) = rest.split_once(" gives ")?;
        Some((what.trim(), dose, water, celsius, made))
    };
    let (what, dose, water, celsius, made) = pieces().ok_or_else(|| {
        vec![
            Diagnostic::new(Fault::Choice, format!("--brew: `{text}` cannot be read"))
                .expected("as in \"coffee: 15 g on 250 mL at 94 °C gives 220 mL\""),
        ]
    })?;
    Ok(Brewing {
        what: what.to_owned(),
        dose_g: above_zero("--brew", dose.trim(), &[Dimension::Mass])?,
        water_ml: above_zero("--brew", water.trim(), &[Dimension::Volume])?,
        water_c: amount("--brew", celsius.trim(), &[Dimension::Temperature])?,
        yield_ml: above_zero("--brew", made.trim(), &[Dimension::Volume])?,
    })
}

/// What the waters are made of, for a litre of finished water.
fn waters(planned: &Planned, stem: &str, tasted: &[String]) -> SessionWaters {
    /// Our choice: less than a millionth of a millilitre is rounding of the solver.
    const NOTHING: f64 = 1e-6;
    let batch = |stock: &str| {
        planned.report.stocks_used.iter().find(|u| u.stock == stock).and_then(|u| u.batch)
    };
    let waters = planned.report.waters.iter().zip(&planned.plans);
    let waters = waters.filter(|(mix, _)| tasted.contains(&mix.target)).map(|(mix, plan)| {
        let doses = planned.stocks.iter().zip(&plan.ml_per_l).filter(|(_, ml)| **ml > NOTHING);
        let base = planned.flight.base.iter().zip(&plan.shares).filter(|(_, s)| **s > NOTHING);
        PlannedWater {
            name: mix.target.clone(),
            doses: doses
                .map(|(stock, ml)| PlannedDose {
                    stock: stock.name().to_owned(),
                    batch: batch(stock.name()),
                    ml_per_l: *ml,
                })
                .collect(),
            base: base.map(|(b, share)| (b.water.name.clone(), *share)).collect(),
            mg_per_l: mix.mg_per_l.0.iter().map(|(k, v)| ((*k).to_owned(), *v)).collect(),
            hardness_mg_per_l_caco3: mix.hardness_mg_per_l_caco3,
            alkalinity_mg_per_l_caco3: mix.alkalinity_mg_per_l_caco3,
            dissolved_solids_mg_per_l: mix.dissolved_solids_mg_per_l,
        }
    });
    SessionWaters {
        format: WATERS_FORMAT,
        day: Day::today().to_string(),
        flight: stem.to_owned(),
        title: planned.flight.title.clone(),
        waters: waters.collect(),
    }
}

fn sheet(
    bench: Option<&Path>,
    name: &str,
    (reader, taster): (Reader, Option<&str>),
    spare: &str,
    key: Option<&Path>,
    json: bool,
) -> Outcome {
    let session = open(bench, name)?;
    let plan = &session.plan;
    match reader {
        Reader::Server => shown(&session_sheet::server(plan), &json!(plan), json),
        Reader::Taster => {
            if let Some(unknown) = taster.filter(|t| !plan.tasters.iter().any(|n| n == t)) {
                return Err(vec![
                    Diagnostic::new(
                        Fault::Choice,
                        format!("`{unknown}` is no taster of this session"),
                    )
                    .expected(plan.tasters.join(", ")),
                ]);
            }
            let mut page = Page::default();
            for who in plan.tasters.iter().filter(|who| taster.is_none_or(|t| t == who.as_str())) {
                page.parts.extend(session_sheet::taster(plan, who).parts);
                page.say("");
            }
            shown(&page, &json!(plan), json)
        }
        Reader::Pourer => {
            let bench = bench::open(bench)?;
            let spare = amount("--spare", spare, &[Dimension::Percent])?;
            let text = session.key_text(key).map_err(|m| vec![m])?;
            let (key, _) = session::verify(plan, &text).map_err(|e| broken(&session, &e))?;
            let doses: Vec<DosedWater> = session
                .waters
                .waters
                .iter()
                .map(|water| DosedWater {
                    water: water.name.clone(),
                    doses: water
                        .doses
                        .iter()
                        .map(|d| (d.stock.clone(), MillilitresPerLitre::new(d.ml_per_l)))
                        .collect(),
                })
                .collect();
            let left: Vec<(String, Millilitres)> = filled(&bench)
                .iter()
                .filter_map(|f| Some((f.stock.name().to_owned(), Millilitres::new(f.left_ml()?))))
                .collect();
            let prepared = prepare(plan, &key, &doses, &left, spare);
            let mut base: Vec<(String, f64)> = Vec::new();
            for bottle in &prepared.bottles {
                let shares = session.waters.water(&bottle.water).map_or(&[][..], |w| &w.base);
                for (water, share) in shares {
                    let litres = share * bottle.with_spare.value();
                    match base.iter_mut().find(|(name, _)| name == water) {
                        Some((_, sum)) => *sum += litres,
                        None => base.push((water.clone(), litres)),
                    }
                }
            }
            // Whoever reads this page knows the key: the log says so.
            session.record::<Refused>(|book| {
                let why = "the pouring sheet was printed".to_owned();
                let opened = Entry::Opened { purpose: OpenedFor::PouringSheet, why };
                Ok(if book.revealed_in().is_none() { vec![opened] } else { Vec::new() })
            })?;
            let data = json!({
                "session": name, "seal": prepared.seal,
                "bottles": prepared.bottles.iter().map(|b| json!({
                    "water": b.water, "cups": b.cups, "l_with_spare": b.with_spare.value(),
                    "codes": b.codes.iter().map(|c| json!({
                        "code": c.code, "round": c.round, "cups": c.cups,
                    })).collect::<Vec<_>>(),
                })).collect::<Vec<_>>(),
                "base_l": base,
                "stocks": prepared.stocks.iter().map(|s| json!({
                    "stock": s.stock, "ml": s.needed.value(),
                    "left_ml": s.left.map(Millilitres::value),
                    "missing_ml": s.missing().map(Millilitres::value),
                })).collect::<Vec<_>>(),
            });
            shown(&session_sheet::pourer(plan, &prepared, &base), &data, json)
        }
    }
}

/// Mistakes that a record can end in.
pub(super) struct Refused(pub(super) Mistakes);

impl From<Diagnostic> for Refused {
    fn from(mistake: Diagnostic) -> Self {
        Self(vec![mistake])
    }
}

impl From<crate::scores::Refusal> for Refused {
    fn from(refusal: crate::scores::Refusal) -> Self {
        Self(vec![Diagnostic::new(Fault::Choice, refusal.to_string()).remedy(refusal.remedy())])
    }
}

impl From<Refused> for Mistakes {
    fn from(refused: Refused) -> Self {
        refused.0
    }
}

fn broken(session: &SessionFolder, error: &impl std::fmt::Display) -> Mistakes {
    vec![Diagnostic::new(Fault::Content, error.to_string()).about(&session.path)]
}

fn progress(bench: Option<&Path>, name: &str, entries: bool, json: bool) -> Outcome {
    let session = open(bench, name)?;
    let book = session.book().map_err(|m| vec![m])?;
    let mut page = Page::default();
    let owing = book.owing();
    let closed = book.revealed_in().is_some();
    page.say(match (closed, owing) {
        (true, _) => format!("{name}: revealed, the scores are closed"),
        (_, 0) => format!("{name}: complete, nobody owes a cup; `session reveal` opens the key"),
        (_, n) => format!("{name}: {n} answers are owed"),
    });
    let owed = |taster: &crate::scores::TasterProgress| -> Vec<String> {
        taster
            .owed
            .iter()
            .map(|o| match &o.what {
                OwedWhat::Cup { code, .. } => code.to_string(),
                OwedWhat::Tray => format!("tray {}", o.tray),
                OwedWhat::Turning => format!("turning of tray {}", o.tray),
            })
            .collect()
    };
    let tasters = book.progress();
    let rows =
        tasters.iter().map(|t| vec![t.taster.clone(), t.done.to_string(), owed(t).join(" ")]);
    page.show(&["taster", "done", "owes"], rows.collect());
    if let Some(piece) = session.torn().map_err(|m| vec![m])? {
        page.say(format!("* a piece of a line that was never confirmed is kept aside: {piece}"));
    }
    if entries {
        let rows = book.lines().iter().map(|r| {
            let entry = serde_json::to_string(&r.line.entry).unwrap_or_default();
            vec![r.line.n.to_string(), entry, format!("{:?}", r.status)]
        });
        page.show(&["line", "entry", ""], rows.collect());
    }
    let data = json!({
        "session": name, "owing": owing, "revealed": closed,
        "tasters": tasters.iter().map(|t| json!({
            "taster": t.taster, "done": t.done, "owes": owed(t),
        })).collect::<Vec<_>>(),
        "entries": book.lines().iter().map(|r| json!(r.line)).collect::<Vec<_>>(),
    });
    shown(&page, &data, json)
}

fn reveal(
    bench: Option<&Path>,
    name: &str,
    force: Option<&str>,
    key: Option<&Path>,
    json: bool,
) -> Outcome {
    let session = open(bench, name)?;
    let text = session.key_text(key).map_err(|m| vec![m])?;
    let (book, _) = session.record::<Refused>(|book| {
        let entry = reveal_entry(book, &text, force.map(str::to_owned));
        Ok(vec![entry.map_err(|error| {
            Refused(vec![
                Diagnostic::new(Fault::Choice, error.to_string())
                    .about(&session.path)
                    .remedy("`session progress` says who owes what; `--force WHY` reveals anyway"),
            ])
        })?])
    })?;
    session.keep_key(&text).map_err(|m| vec![m])?;
    let (key, verified) =
        session::verify(&session.plan, &text).map_err(|e| broken(&session, &e))?;
    let mut page = Page::default();
    page.say(format!("{name} is revealed; its scores are closed"));
    let rows =
        key.cups.iter().map(|c| vec![c.code.to_string(), c.water.clone(), c.round.to_string()]);
    page.show(&["code", "water", "round"], rows.collect());
    page.say(format!("the opened key has the seal of the plan: {}", session.plan.seal));
    page.say(match verified {
        session::Verified::DrawnAgain => "drawing again from its seed gives this very plan",
        session::Verified::SealOnly => "the plan names other drawing rules and was not drawn again",
    });
    let data = json!({
        "session": name, "seal": session.plan.seal, "key": key, "line": book.revealed_in(),
        "drawn_again": verified == session::Verified::DrawnAgain,
    });
    shown(&page, &data, json)
}

/// The results of a revealed session.
pub(super) fn results_of(session: &SessionFolder) -> Result<SessionResults, Mistakes> {
    let book = session.book().map_err(|m| vec![m])?;
    if book.revealed_in().is_none() {
        return Err(vec![
            Diagnostic::new(Fault::Choice, format!("`{}` is not revealed", session.name))
                .remedy("reveal it first, with `session reveal`"),
        ]);
    }
    let text = session.key_text(None).map_err(|m| vec![m])?;
    let found = revealed(&book, &text).map_err(|e| broken(session, &e))?;
    Ok(SessionResults::new(&found, &analysis::results(&found, ModelChoice::default())))
}
