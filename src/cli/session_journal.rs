//! `journal`: all sessions of a bench, by water and recipe; every score as tidy CSV.

use std::path::Path;

use serde::Serialize;
use serde_json::json;

use crate::bench::session_folder::{SessionFolder, names};
use crate::bench::session_waters::PlannedWater;
use crate::cli::bench;
use crate::cli::outcome::{Mistakes, Outcome, internal};
use crate::cli::session::{results_of, shown};
use crate::quantities::show::fixed;
use crate::report::Page;
use crate::scores::reveal::{CupWhere, Revealed, revealed};

/// What a session said of a water.
#[derive(Debug, Clone, Serialize)]
struct Served {
    water: String,
    recipe: usize,
    session: String,
    day: String,
    of: String,
    kind: &'static str,
    value: f64,
    place: usize,
    told_apart: bool,
}

pub(super) fn run(bench: Option<&Path>, csv: bool, json: bool) -> Outcome {
    let bench = bench::open(bench)?;
    let mut sessions = Vec::new();
    for name in names(&bench.root).map_err(|m| vec![m])? {
        sessions.push(SessionFolder::open(&bench.root, &name).map_err(|m| vec![m])?);
    }
    sessions.sort_by(|a, b| (&a.waters.day, &a.name).cmp(&(&b.waters.day, &b.name)));
    if csv {
        return tidy(&sessions);
    }
    let mut page = Page::default();
    let (mut served, mut open) = (Vec::new(), Vec::new());
    let mut recipes: Vec<PlannedWater> = Vec::new();
    let mut headlines = Vec::new();
    for session in &sessions {
        if session.book().map_err(|m| vec![m])?.revealed_in().is_none() {
            open.push(session.name.clone());
            continue;
        }
        let found = results_of(session)?;
        for verdict in &found.verdicts {
            headlines.push((session.name.clone(), verdict.headline.clone()));
        }
        let mut places: Vec<(&str, usize)> = Vec::new();
        for standing in &found.standings {
            let place =
                if let Some((_, place)) = places.iter_mut().find(|(of, _)| *of == standing.of) {
                    *place += 1;
                    *place
                } else {
                    places.push((&standing.of, 1));
                    1
                };
            let Some(water) = session.waters.water(&standing.water) else { continue };
            let recipe = if let Some(at) = recipes.iter().position(|known| known.same_recipe(water))
            {
                at + 1
            } else {
                recipes.push(water.clone());
                recipes.len()
            };
            let told_apart = found
                .verdicts
                .iter()
                .any(|v| v.headline.starts_with(&format!("{}:", standing.of)) && !v.cannot_tell);
            served.push(Served {
                water: standing.water.clone(),
                recipe,
                session: session.name.clone(),
                day: session.waters.day.clone(),
                of: standing.of.clone(),
                kind: standing.kind,
                value: standing.value,
                place,
                told_apart,
            });
        }
    }
    let mut never = Vec::new();
    for file in &bench.flights {
        let (flight, _) = bench.flight(file).map_err(|m| vec![m])?;
        for target in flight.targets {
            let tasted = |session: &SessionFolder| session.waters.water(&target.name).is_some();
            if !sessions.iter().any(|s| !open.contains(&s.name) && tasted(s))
                && !never.contains(&target.name)
            {
                never.push(target.name);
            }
        }
    }
    for (session, headline) in &headlines {
        page.say(format!("{session}: {headline}"));
    }
    served.sort_by(|a, b| (&a.water, a.recipe, &a.of).cmp(&(&b.water, b.recipe, &b.of)));
    let rows = served.iter().map(|s| {
        vec![
            s.water.clone(),
            s.recipe.to_string(),
            s.session.clone(),
            s.of.clone(),
            fixed(s.value, 2),
            s.place.to_string(),
        ]
    });
    page.show(&["water", "recipe", "session", "of", "value", "place"], rows.collect());
    if !open.is_empty() {
        page.say(format!("not revealed: {}", open.join(", ")));
    }
    if !never.is_empty() {
        page.say(format!("never tasted: {}", never.join("; ")));
    }
    let data = json!({
        "served": served, "recipes": recipes, "not_revealed": open, "never_tasted": never,
        "verdicts": headlines,
    });
    shown(&page, &data, json)
}

/// One score of the export.
struct Row<'a> {
    cup: &'a CupWhere,
    of: &'a str,
    value: f64,
    note: Option<&'a str>,
}

fn rows(found: &Revealed) -> Vec<Row<'_>> {
    let mut rows = Vec::new();
    for score in &found.scores {
        let Some(value) = score.value else { continue };
        let of = found.attributes.get(score.attribute).map_or("", String::as_str);
        rows.push(Row { cup: &score.cup, of, value, note: score.note.as_deref() });
    }
    for ranking in &found.rankings {
        for (place, cup) in (1_u32..).zip(ranking.order.iter().flatten()) {
            let note = ranking.note.as_deref();
            rows.push(Row { cup, of: "rank", value: f64::from(place), note });
        }
    }
    for choice in &found.choices {
        let Some(right) = choice.right else { continue };
        for cup in choice.served.iter().filter(|c| Some(c.water) == choice.chosen).take(1) {
            let value = f64::from(u8::from(right));
            rows.push(Row { cup, of: "right", value, note: choice.note.as_deref() });
        }
    }
    rows
}

fn tidy(sessions: &[SessionFolder]) -> Outcome {
    let (mut keys, mut stocks): (Vec<&String>, Vec<&String>) = (Vec::new(), Vec::new());
    for water in sessions.iter().flat_map(|s| &s.waters.waters) {
        keys.extend(water.mg_per_l.iter().map(|(key, _)| key));
        stocks.extend(water.doses.iter().map(|d| &d.stock));
    }
    for list in [&mut keys, &mut stocks] {
        list.sort();
        list.dedup();
    }
    let mut writer = csv::Writer::from_writer(Vec::new());
    let fixed_heads = [
        "session",
        "day",
        "method",
        "taster",
        "round",
        "tray",
        "position",
        "code",
        "water",
        "copy",
        "previous",
        "of",
        "value",
        "note",
        "hardness_mg_per_l_caco3",
        "alkalinity_mg_per_l_caco3",
    ];
    let mut heads: Vec<String> = fixed_heads.map(str::to_owned).to_vec();
    heads.extend(keys.iter().map(|key| format!("{key}_mg_per_l")));
    heads.extend(stocks.iter().map(|stock| format!("{stock}_ml_per_l")));
    writer.write_record(&heads).map_err(|e| internal(&e))?;
    for session in sessions {
        let book = session.book().map_err(|m| vec![m])?;
        if book.revealed_in().is_none() {
            continue;
        }
        let key = session.key_text(None).map_err(|m| vec![m])?;
        let found = revealed(&book, &key).map_err(|e| internal(&e))?;
        for row in rows(&found) {
            let record = record(session, &found, &row, &keys, &stocks);
            writer.write_record(&record).map_err(|e| internal(&e))?;
        }
    }
    let bytes = writer.into_inner().map_err(|e| -> Mistakes { internal(&e) })?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn record(
    session: &SessionFolder,
    found: &Revealed,
    row: &Row<'_>,
    keys: &[&String],
    stocks: &[&String],
) -> Vec<String> {
    let name = |at: usize| found.waters.get(at).cloned().unwrap_or_default();
    let cup = row.cup;
    let water = session.waters.water(&name(cup.water));
    let mut record = vec![
        session.name.clone(),
        session.waters.day.clone(),
        found.method.name().to_owned(),
        found.tasters.get(cup.taster).cloned().unwrap_or_default(),
        cup.round.to_string(),
        cup.tray.to_string(),
        cup.position.to_string(),
        cup.code.to_string(),
        name(cup.water),
        cup.copy.to_string(),
        cup.previous.map(name).unwrap_or_default(),
        row.of.to_owned(),
        row.value.to_string(),
        row.note.unwrap_or_default().to_owned(),
        water.map_or(String::new(), |w| w.hardness_mg_per_l_caco3.to_string()),
        water.map_or(String::new(), |w| w.alkalinity_mg_per_l_caco3.to_string()),
    ];
    let amount =
        |key: &&String| water.map_or(String::new(), |w| w.mg_per_l(key).unwrap_or(0.0).to_string());
    let dose = |stock: &&String| {
        water.map_or(String::new(), |w| {
            let dose = w.doses.iter().find(|d| d.stock == **stock);
            dose.map_or(0.0, |d| d.ml_per_l).to_string()
        })
    };
    record.extend(keys.iter().map(amount));
    record.extend(stocks.iter().map(dose));
    record
}
