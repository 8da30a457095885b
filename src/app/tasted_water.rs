//! A water as it was tasted: SESSION/WATER.

use crate::app::bottles::bags_as_verified;
use crate::app::flight_request::FlightRequest;
use crate::app::planned_flight::plan_flight_of;
use crate::app::poured_doubts::FilledBottle;
use crate::assessment::{Described, Dose, Poured, Withheld};
use crate::bench::Bench;
use crate::bench::session_folder;
use crate::bench::session_folder::SessionFolder;
use crate::bench::session_waters::{PlannedDose, PlannedWater};
use crate::chemistry::{Composition, KeyedAmounts};
use crate::everyday::Wanted;
use crate::everyday::concentrate::LITRE_ML;
use crate::everyday::wanted::pinned;
use crate::files::near_name::nearest;
use crate::files::{Diagnostic, Mistakes, read};
use crate::flight::{BaseShare, Convention};
use crate::planner::whole_flight::Watch;
use crate::quantities::Fraction;
use crate::session::plan::key;
use crate::text::names;
use crate::water::BaseWater;

/// The session that a name begins with, and the water of it that is meant; `None` when no
/// session is named.
fn found(bench: &Bench, name: &str) -> Result<Option<(SessionFolder, PlannedWater)>, Mistakes> {
    let Some((session, water)) = name.split_once('/') else { return Ok(None) };
    let known = session_folder::names(&bench.root)?;
    let known: Vec<&str> = known.iter().map(String::as_str).collect();
    let Some(session) = names::meant(session, &known) else { return Ok(None) };
    let session = SessionFolder::open(&bench.root, session)?;
    let planned = session.waters()?;
    let waters: Vec<&str> = planned.waters.iter().map(|w| w.name.as_str()).collect();
    let meant = names::meant(water, &waters).unwrap_or(water);
    let tasted = planned.water(meant).ok_or_else(|| no_such(&session.name, water, &waters))?;
    let tasted = tasted.clone();
    Ok(Some((session, tasted)))
}

/// A water of a session as it was planned; `None` when no session is named.
pub(super) fn described(
    bench: &Bench,
    name: &str,
    watch: Watch<'_>,
) -> Result<Option<Described>, Mistakes> {
    let Some((session, tasted)) = found(bench, name)? else { return Ok(None) };
    let mut notes = vec![format!(
        "as it was planned for the session {} on {}; its carbon, which was not recorded, is taken \
         to be that of its alkalinity",
        session.name,
        session.waters()?.day
    )];
    notes.extend(changed_since(bench, &session, &tasted, watch)?);
    let held = Described::held(name, tasted.made().composition(), notes);
    let poured = poured_as_planned(bench, &tasted, session.waters()?.added);
    Ok(Some(match poured {
        Some(poured) => Described { poured, ..held },
        None => held,
    }))
}

/// The doses that were planned, where the stocks and base waters of today still make that water of
/// them: what was in the stocks then was not recorded.
fn poured_as_planned(bench: &Bench, tasted: &PlannedWater, added: bool) -> Option<Poured> {
    let stocks = bench.whole_shelf().ok()?;
    let dose = |planned: &PlannedDose| {
        let stock = stocks.iter().find(|stock| stock.name() == planned.stock)?;
        Some(Dose {
            stock: planned.stock.clone(),
            ml_per_l: planned.ml_per_l,
            per_ml: stock.composition_per_ml(),
            measured_out: 0.0,
        })
    };
    let (base, missing) = base_of(bench, tasted);
    if !missing.is_empty() {
        return None;
    }
    let share = |base: &BaseShare| {
        let own = tasted.base.iter().find(|(name, _)| *name == base.water.name);
        own.map_or(0.0, |(_, share)| *share)
    };
    let parts: Vec<(&BaseShare, f64)> = base.iter().map(|base| (base, share(base))).collect();
    let whole: f64 = parts.iter().map(|(_, share)| share).sum();
    let blend = parts.iter().filter(|(_, share)| *share > 0.0);
    let mut poured = Poured {
        doses: Some(tasted.doses.iter().map(dose).collect::<Option<_>>()?),
        base: blend.fold(Composition::PURE_WATER, |blend, (base, share)| {
            blend + base.water.composition * (share / whole)
        }),
        convention: if added { Convention::AddedToALitre } else { Convention::MadeUpToALitre },
        off: Vec::new(),
    };
    if !tasted.changes(&KeyedAmounts::mg_per_l(&poured.water())).is_empty() {
        return None;
    }
    let ml = tasted.bottle_ml.unwrap_or(LITRE_ML);
    let bottle = FilledBottle { stocks: &stocks, tools: &bench.tools, base: &parts, ml };
    bottle.doubts(bench, &mut poured);
    Some(poured)
}

/// The water of a session, matched ion by ion; `None` when no session is named.
pub(super) fn wanted(
    bench: &Bench,
    name: &str,
    watch: Watch<'_>,
) -> Result<Option<Wanted>, Mistakes> {
    let Some((session, tasted)) = found(bench, name)? else { return Ok(None) };
    let composition = tasted.made().composition();
    let ions = composition.not_measured().iter().filter(|c| c.charge() != 0);
    if let Some(why) = Withheld::of(ions.collect()) {
        return Err(not_matched(&session, &tasted.name, why).into());
    }
    let (base, missing) = base_of(bench, &tasted);
    let mut notes = vec![format!(
        "as it was planned for the session {} on {}, ion by ion",
        session.name,
        session.waters()?.day
    )];
    if !missing.is_empty() {
        notes.push(format!(
            "{} is no longer on this bench: distilled water stands for it",
            missing.join(", ")
        ));
    }
    notes.extend(changed_since(bench, &session, &tasted, watch)?);
    let stocks = bench.whole_shelf()?;
    Ok(Some(Wanted {
        target: pinned(&tasted.name, &composition, None, &base),
        base,
        salts: bags_as_verified(bench, &stocks),
        stocks,
        notes,
    }))
}

/// The base waters it was made from, as far as they are still there, and distilled water, which
/// came with the stocks.
fn base_of(bench: &Bench, tasted: &PlannedWater) -> (Vec<BaseShare>, Vec<String>) {
    let distilled = BaseWater::distilled();
    let mut waters = Vec::new();
    let mut missing = Vec::new();
    for (name, _) in tasted.base.iter().filter(|(name, _)| *name != distilled.name) {
        match bench.waters.iter().find(|w| w.value.name == *name) {
            Some(water) => waters.push(water.value.clone()),
            None => missing.push(name.clone()),
        }
    }
    waters.push(distilled);
    let share = |water| BaseShare { water, at_most: Fraction::new(1.0) };
    (waters.into_iter().map(share).collect(), missing)
}

/// Other salts would bring other ions than those that nobody measured.
fn not_matched(session: &SessionFolder, water: &str, why: Withheld) -> Diagnostic {
    let title = format!("`{}/{water}` cannot be matched ion by ion: {why}", session.name);
    Diagnostic::choice(title).expected("a water of which every ion is known").remedy(format!(
        "pour it again from the same base water with its stocks (`waterflight session sheet {} \
             --for pourer` has the doses), or have the base water measured and plan anew",
        session.name
    ))
}

/// What has become of the flight since.
fn changed_since(
    bench: &Bench,
    session: &SessionFolder,
    tasted: &PlannedWater,
    watch: Watch<'_>,
) -> Result<Option<String>, Mistakes> {
    let planned = session.waters()?;
    let flight = &planned.flight;
    let Some(file) = bench.flights.iter().find(|f| f.stem == *flight) else {
        return Ok(Some(format!("the flight {flight} is no longer there")));
    };
    let (today, _) = bench.flight(file)?;
    if !today.targets.iter().any(|target| target.name == tasted.name) {
        return Ok(Some(format!("the flight {flight} has no water of this name any more")));
    }
    let text = read::text(&file.path)?;
    let answer = plan_flight_of(bench, file, &FlightRequest::default(), watch)?;
    let mut today = answer.flight.targets.iter().zip(&answer.plans);
    let Some((_, today)) = today.find(|(target, _)| target.name == tasted.name) else {
        return Ok(Some(format!("the flight {flight} has no answer for it today")));
    };
    let changes = tasted.changes(&KeyedAmounts::mg_per_l(&today.water));
    Ok((!changes.is_empty()).then(|| {
        let then = planned.flight_sum.as_ref();
        let since = match then.map(|sum| *sum == key::seal(text.text())) {
            Some(true) => "its file is as it was then, and stocks or base waters are not",
            Some(false) => "its file was changed since",
            None => "its file, or stocks or base waters, were changed since",
        };
        format!(
            "the flight {flight} gives another water today, {} mg/L: {since}",
            changes.join(", ")
        )
    }))
}

fn no_such(session: &str, water: &str, known: &[&str]) -> Diagnostic {
    let diagnostic = Diagnostic::choice(format!("the session {session} had no water `{water}`"))
        .expected(names::listed(known));
    match nearest(water, known) {
        Some(near) => diagnostic.remedy(format!("did you mean `{session}/{near}`?")),
        None => diagnostic.remedy("name one of them"),
    }
}
