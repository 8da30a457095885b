//! `targets`: ready targets with what this shelf can make of them; some of them as a flight.

use std::path::Path;

use clap::Args;
use serde::Serialize;

use crate::app::mistakes::internal;
use crate::app::{flight_or_water, is_target, unknown_name};
use crate::bench::NewFlight;
use crate::bench::ready_targets::{ReadyTarget, own, published};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome};
use crate::files::{Diagnostic, Fault};
use crate::flight::Order;
use crate::flight::ladder::rewritten;
use crate::guide::ready_choice::{Reach, measured_for, plain_flight, reach};
use crate::stock::Stock;
use crate::text::screen::{Extent, Screen};
use crate::text::table::wrapped;
use crate::water::BaseWater;

/// Which targets, and where to.
#[derive(Debug, Args)]
pub(super) struct TargetsOptions {
    /// Names of ready targets; all when none is given.
    #[arg(value_name = "NAME")]
    names: Vec<String>,
    /// Write the named ones as a new flight.
    #[arg(long, value_name = "FLIGHT", requires = "names")]
    into: Option<String>,
}

#[derive(Serialize)]
struct Line {
    name: String,
    /// `published`, `own`, or the name of the flight that it stands in.
    from: String,
    source: Option<String>,
    goals: String,
    in_reach: Option<bool>,
}

pub(super) fn run(bench: Option<&Path>, options: &TargetsOptions, how: How) -> Outcome {
    let bench = bench::open(bench)?;
    let (mine, mistakes) = own(&bench.root)?;
    let mut ready: Vec<(String, ReadyTarget)> =
        published()?.into_iter().map(|t| ("published".to_owned(), t)).collect();
    ready.extend(mine.into_iter().map(|t| ("own".to_owned(), t)));
    // A flight that cannot be read is named by the command that plans it.
    for file in &bench.flights {
        let Ok((flight, _)) = bench.flight(file) else { continue };
        for target in &flight.targets {
            let Ok(written) = rewritten(target) else { continue };
            let target = ReadyTarget { written, source: None };
            ready.push((file.stem.clone(), target));
        }
    }
    let mut chosen: Vec<&(String, ReadyTarget)> = Vec::new();
    for name in &options.names {
        // A water of a session stands for the target that it was planned as.
        let planned = || match flight_or_water(&bench, Some(name)) {
            Ok((file, Some(target))) => found(&ready, &format!("{}/{target}", file.stem)).ok(),
            _ => None,
        };
        chosen.push(found(&ready, name).or_else(|wrong| planned().ok_or(wrong))?);
    }
    let stocks = bench.whole_shelf()?;
    let waters: Vec<BaseWater> = [BaseWater::distilled()]
        .into_iter()
        .chain(bench.waters.iter().map(|w| w.value.clone()))
        .collect();
    if let Some(into) = &options.into {
        let measured = chosen.iter().fold(waters, |waters, (_, t)| measured_for(t, &waters));
        let like = plain_flight(&measured);
        let text = NewFlight {
            remark: "Of ready targets; change what you like.".to_owned(),
            title: into.clone(),
            like: &like,
            stocks: &stocks,
            order: &Order::default(),
            targets: chosen
                .iter()
                .map(|(_, target)| (target.written.clone(), target.source.clone()))
                .collect(),
        }
        .text();
        let path = bench.write_new("flights", into, &text)?;
        if how.json {
            return crate::text::json::document(&serde_json::json!({"files": [path]}))
                .map_err(|e| internal(&e));
        }
        return Ok(format!(
            "A new flight was written to {}.\nNext: waterflight mix {into}\n",
            path.display()
        ));
    }
    let shown = if chosen.is_empty() { ready.iter().collect() } else { chosen };
    let lines: Vec<Line> = shown.iter().map(|(from, t)| line(from, t, &stocks, &waters)).collect();
    if how.json {
        return crate::text::json::document(&lines).map_err(|e| internal(&e));
    }
    Ok(text(&lines, &mistakes, how.extent))
}

fn line(from: &str, target: &ReadyTarget, stocks: &[Stock], waters: &[BaseWater]) -> Line {
    Line {
        name: target.name().to_owned(),
        from: from.to_owned(),
        source: target.source.clone(),
        goals: target.goals_in_words(),
        in_reach: match reach(target, stocks, &measured_for(target, waters)) {
            Reach::InReach => Some(true),
            Reach::OutOfReach => Some(false),
            Reach::NotKnown => None,
        },
    }
}

fn found<'a>(
    ready: &'a [(String, ReadyTarget)],
    name: &str,
) -> Result<&'a (String, ReadyTarget), Diagnostic> {
    let full = |(from, t): &(String, ReadyTarget)| format!("{from}/{}", t.name());
    let is = |(from, t): &&(String, ReadyTarget)| is_target(name, from, t.name());
    let fits: Vec<_> = ready.iter().filter(is).collect();
    match fits.as_slice() {
        [one] => Ok(one),
        [] => {
            let known: Vec<&str> = ready.iter().map(|(_, t)| t.name()).collect();
            Err(unknown_name("ready target", name, &known))
        }
        several => {
            Err(Diagnostic::new(Fault::Choice, format!("several targets are called `{name}`"))
                .expected(several.iter().map(|one| full(one)).collect::<Vec<_>>().join(", "))
                .remedy("write one of these"))
        }
    }
}

fn text(lines: &[Line], mistakes: &[Diagnostic], extent: Extent) -> String {
    let mut out = Screen::new(extent);
    for (n, line) in lines.iter().enumerate() {
        let before = n.checked_sub(1).and_then(|n| lines.get(n));
        if before.is_none_or(|before| before.from != line.from) {
            let head = match line.from.as_str() {
                "published" => "Published ranges and standards".to_owned(),
                "own" => "Your own".to_owned(),
                flight => format!("In the flight {flight}"),
            };
            out.push(&format!("{}{head}\n", if n == 0 { "" } else { "\n" }));
        }
        let reach = match line.in_reach {
            Some(true) => "in reach",
            Some(false) => "OUT OF REACH of this shelf",
            None => "not known: a base water was not measured for it",
        };
        out.push(&wrapped(&format!("  {}: {reach}", line.name), 4));
        out.rest(&wrapped(&format!("    {}", line.goals), 4));
        if let Some(source) = &line.source {
            out.rest(&wrapped(&format!("    source: {source}"), 6));
        }
    }
    for mistake in mistakes {
        let details = mistake.details();
        let path = details.path.as_ref().map(|p| p.display().to_string()).unwrap_or_default();
        out.push(&wrapped(&format!("* not read: {path}: {}", details.title), 2));
    }
    out.push("\n");
    out.push(&wrapped(
        "`waterflight targets NAME … --into FLIGHT` makes a flight of them. They are starting points, \
         not findings about taste.",
        0,
    ));
    out.end()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_near_name_is_offered() {
        let published = published().unwrap_or_default();
        let ready: Vec<_> = published.into_iter().map(|t| ("published".to_owned(), t)).collect();
        assert!(found(&ready, "epa SOFT").is_ok());
        let near = found(&ready, "EPA sofd").err().and_then(|d| d.details().remedy.clone());
        assert_eq!(near.as_deref(), Some("did you mean `EPA soft`?"));
    }
}
