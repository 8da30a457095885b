//! Targets that are ready to be put into a flight, those of the flights of a bench among them, and what its
//! shelf can make of each.

use std::path::PathBuf;

use serde::Serialize;

use crate::app::flight_verdict::plans_of;
use crate::app::named_flight::{flight_or_water, is_target, unknown_name};
use crate::bench::ready_targets::{ReadyTarget, own, published};
use crate::bench::{Bench, NewFlight};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::Order;
use crate::flight::ladder::rewritten;
use crate::mix::shelf_reach::{Reach, measured_for, plain_flight, reach};
use crate::planner::Plan;
use crate::stock::Stock;
use crate::water::BaseWater;

/// A ready target as it is listed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadyLine {
    /// Its name.
    pub name: String,
    /// `published`, `own`, or the name of the flight that it stands in.
    pub from: String,
    /// Who published it.
    pub source: Option<String>,
    /// Its goals.
    pub goals: String,
    /// Whether the shelf can make it, or of a water of a flight whether `mix` makes it; nothing where a base
    /// water was not measured for it, or the flight has no plan.
    pub in_reach: Option<bool>,
}

/// Ready targets with where they come from, and what is wrong with files of the user's own.
struct AllReady {
    targets: Vec<(String, ReadyTarget)>,
    unread: Vec<Diagnostic>,
}

impl AllReady {
    fn of(bench: &Bench) -> Result<Self, Diagnostic> {
        let (mine, unread) = own(&bench.root)?;
        let published = published()?.into_iter().map(|t| ("published".to_owned(), t));
        let mut targets: Vec<(String, ReadyTarget)> = published.collect();
        targets.extend(mine.into_iter().map(|t| ("own".to_owned(), t)));
        for (file, (flight, ..)) in bench.readable_flights() {
            let written = flight.targets.iter().filter_map(|target| rewritten(target).ok());
            let ready = written.map(|written| ReadyTarget { written, source: None });
            targets.extend(ready.map(|target| (file.stem.clone(), target)));
        }
        Ok(Self { targets, unread })
    }

    /// The targets of these names.
    fn named(
        &self,
        bench: &Bench,
        names: &[String],
    ) -> Result<Vec<&(String, ReadyTarget)>, Diagnostic> {
        let one = |name: &String| {
            // A water of a session stands for the target that it was planned as.
            let planned = || match flight_or_water(bench, Some(name)) {
                Ok((file, Some(target))) => {
                    found(&self.targets, &format!("{}/{target}", file.stem)).ok()
                }
                _ => None,
            };
            found(&self.targets, name).or_else(|wrong| planned().ok_or(wrong))
        };
        names.iter().map(one).collect()
    }
}

/// The ready targets of these names, or all when none is given, with what the shelf can make of each;
/// beside them what is wrong with files of the user's own.
///
/// # Errors
/// When no target has a name, or several have, or a stock of the shelf cannot be read.
pub fn ready_targets(
    bench: &Bench,
    names: &[String],
) -> Result<(Vec<ReadyLine>, Vec<Diagnostic>), Mistakes> {
    let all = AllReady::of(bench)?;
    let chosen = all.named(bench, names)?;
    let (stocks, waters) = (bench.whole_shelf()?, base_waters(bench));
    let shown = if chosen.is_empty() { all.targets.iter().collect() } else { chosen };
    let mut flights = FlightVerdicts::default();
    let line = |(from, target): &(String, ReadyTarget)| ReadyLine {
        name: target.name().to_owned(),
        from: from.clone(),
        source: target.source.clone(),
        goals: target.goals_in_words(),
        // A water of a flight is made as the flight asks, and nothing else is said of it.
        in_reach: flights
            .in_reach(bench, (from, target.name()), || on_shelf(target, &stocks, &waters)),
    };
    Ok((shown.into_iter().map(line).collect(), all.unread))
}

/// Writes the ready targets of these names as a new flight of all base waters that were measured for them.
///
/// # Errors
/// As [`ready_targets`], and as [`Bench::write_new`].
pub fn write_ready_flight(
    bench: &Bench,
    names: &[String],
    into: &str,
) -> Result<PathBuf, Mistakes> {
    let all = AllReady::of(bench)?;
    let chosen = all.named(bench, names)?;
    let stocks = bench.whole_shelf()?;
    let measured = chosen
        .iter()
        .fold(base_waters(bench), |waters, (_, t)| measured_for(&t.written.target, &waters));
    let targets = chosen.iter().map(|(_, t)| (t.written.clone(), t.source.clone()));
    let text = NewFlight {
        remark: "Of ready targets; change what you like.".to_owned(),
        title: into.to_owned(),
        like: &plain_flight(&measured),
        stocks: &stocks,
        order: &Order::default(),
        targets: targets.collect(),
    }
    .text();
    Ok(bench.write_new("flights", into, &text)?)
}

/// What `mix` makes of the targets of flights, each flight planned once.
#[derive(Default)]
struct FlightVerdicts {
    known: Vec<FlightVerdict>,
}

/// What `mix` makes of the targets of one flight.
struct FlightVerdict {
    stem: String,
    /// Names of the targets, and whether each is in reach; nothing of a flight without a plan.
    targets: Vec<(String, Option<bool>)>,
}

impl FlightVerdict {
    /// Nothing where there is no such flight.
    fn of(bench: &Bench, stem: &str) -> Option<Self> {
        let file = bench.flights.iter().find(|file| file.stem == stem)?;
        let (flight, stocks, order) = bench.ordered_flight(file).ok()?;
        let plans = plans_of(&flight, &stocks, &order).ok();
        let verdict = |n: usize| {
            let plan = plans.as_ref()?.get(n)?;
            Some(plan.as_ref().is_some_and(Plan::reached))
        };
        let targets = flight.targets.iter().enumerate();
        let targets = targets.map(|(n, target)| (target.name.clone(), verdict(n))).collect();
        Some(Self { stem: stem.to_owned(), targets })
    }
}

impl FlightVerdicts {
    /// Whether a target of a flight is in reach; `otherwise` where there is no such flight.
    fn in_reach(
        &mut self,
        bench: &Bench,
        (stem, target): (&str, &str),
        otherwise: impl FnOnce() -> Option<bool>,
    ) -> Option<bool> {
        let is_meant = |known: &FlightVerdict| known.stem == stem;
        if !self.known.iter().any(is_meant) {
            self.known.extend(FlightVerdict::of(bench, stem));
        }
        let flight = self.known.iter().find(|known| is_meant(known));
        let found =
            flight.and_then(|flight| flight.targets.iter().find(|(name, _)| name == target));
        match found {
            Some((_, in_reach)) => *in_reach,
            None => otherwise(),
        }
    }
}

fn base_waters(bench: &Bench) -> Vec<BaseWater> {
    let own = bench.waters.iter().map(|w| w.value.clone());
    [BaseWater::distilled()].into_iter().chain(own).collect()
}

/// Whether the shelf can make a target; nothing where a base water was not measured for it.
fn on_shelf(target: &ReadyTarget, stocks: &[Stock], waters: &[BaseWater]) -> Option<bool> {
    let wanted = &target.written.target;
    match reach(wanted, stocks, &measured_for(wanted, waters)) {
        Reach::InReach => Some(true),
        Reach::OutOfReach => Some(false),
        Reach::NotKnown => None,
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
        several => Err(Diagnostic::choice(format!("several targets are called `{name}`"))
            .expected(several.iter().map(|one| full(one)).collect::<Vec<_>>().join(", "))
            .remedy("write one of these")),
    }
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
