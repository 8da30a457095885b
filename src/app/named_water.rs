//! Waters by the names that people give them on the command line.

use std::path::Path;

use crate::app::bench_names::targets;
use crate::app::flight_request::FlightRequest;
use crate::app::named_flight::is_target;
use crate::app::planned_flight::{Planned, plan_flight_of};
use crate::app::poured_doubts::FilledBottle;
use crate::app::tasted_water;
use crate::assessment::Described;
use crate::bench::Bench;
use crate::everyday::concentrate::LITRE_ML;
use crate::files::{Diagnostic, Mistakes};
use crate::flight::BaseShare;
use crate::planner::whole_flight::Watch;
use crate::quantities::Fraction;
use crate::quantities::spelling::leading_number;
use crate::stock::Stock;
use crate::text::names;
use crate::water::BaseWater;
use crate::water::base_water::DISTILLED;

/// All waters that a bench can name. A flight is planned when a water of it is asked for, as its
/// file orders it: in whole steps where it names a dispenser.
#[derive(Debug)]
pub struct NamedWaters<'a> {
    bench: &'a Bench,
    watch: Watch<'a>,
    base: Vec<Described>,
}

impl<'a> NamedWaters<'a> {
    /// The waters of a bench.
    #[must_use]
    pub fn of(bench: &'a Bench, watch: Watch<'a>) -> Self {
        let described = |water: &BaseWater| {
            let mut described = Described::base_water(water);
            let share = BaseShare { water: water.clone(), at_most: Fraction::new(1.0) };
            let base = &[(&share, 1.0)];
            FilledBottle { stocks: &[], tools: &bench.tools, base, ml: LITRE_ML }
                .doubts(bench, &mut described.poured);
            described
        };
        let mut base: Vec<Described> =
            bench.waters.iter().map(|file| described(&file.value)).collect();
        base.push(Described::base_water(&BaseWater::distilled()));
        Self { bench, watch, base }
    }

    /// Every base water but distilled, then every target.
    ///
    /// # Errors
    /// When a flight cannot be planned.
    pub fn all(&self) -> Result<Vec<Described>, Mistakes> {
        let own = self.base.iter().filter(|w| w.name != DISTILLED).cloned();
        let targets = self.targets(|_, _| true)?;
        if targets.is_empty() {
            self.some_flight_is_read()?;
        }
        Ok(own.chain(targets.into_iter().map(|(_, target)| target)).collect())
    }

    /// The water of a name: a base water, `FLIGHT/TARGET`, a target whose name is the only one,
    /// `SESSION/WATER` as it was tasted, `5 mL/L STOCK` for a stock diluted with distilled water, or `250x NAME` for a concentrate
    /// of any of these.
    ///
    /// # Errors
    /// When no water has the name, or several have, or its flight cannot be planned.
    pub fn find(&self, name: &str) -> Result<Described, Mistakes> {
        if let Some(water) = self.base_water(name) {
            return Ok(water.clone());
        }
        let is_exactly = |flight: &str, target: &str| {
            target == name
                || name.strip_prefix(flight).and_then(|n| n.strip_prefix('/')) == Some(target)
        };
        let is_alike = |flight: &str, target: &str| is_target(name, flight, target);
        let mut matching = self.targets(is_exactly)?;
        if matching.is_empty() {
            matching = self.targets(is_alike)?;
        }
        match matching.as_slice() {
            [(_, target)] => Ok(target.clone()),
            [] => match self.concentrate(name) {
                Some(found) => found,
                None => match self.dilution(name) {
                    Some(found) => found.map_err(Mistakes::from),
                    None => match tasted_water::described(self.bench, name, self.watch)? {
                        Some(tasted) => Ok(tasted),
                        None => self.unknown(name),
                    },
                },
            },
            several => {
                let full: Vec<String> =
                    several.iter().map(|(flight, t)| format!("{flight}/{}", t.name)).collect();
                Err(Diagnostic::choice(format!("several waters are called `{name}`"))
                    .expected(names::listed(&full))
                    .remedy("name the flight as well")
                    .into())
            }
        }
    }

    /// The base water of a name, or of a file's name.
    fn base_water(&self, name: &str) -> Option<&Described> {
        let known: Vec<&str> = self.base.iter().map(|w| w.name.as_str()).collect();
        let meant = names::meant(name, &known).or_else(|| {
            let stem = |path: &Path| path.file_stem().map(|s| s.to_string_lossy().into_owned());
            let file = self
                .bench
                .waters
                .iter()
                .find(|w| stem(&w.path).is_some_and(|stem| names::alike(name, &stem)));
            file.map(|w| w.value.name.as_str())
        })?;
        self.base.iter().find(|w| w.name == meant)
    }

    /// The targets that are meant, with the file name of their flight; only their flights are
    /// planned.
    fn targets(
        &self,
        is_meant: impl Fn(&str, &str) -> bool,
    ) -> Result<Vec<(String, Described)>, Mistakes> {
        self.bench.strengths_known()?;
        let mut found = Vec::new();
        let mut without = Vec::new();
        for (file, (flight, ..)) in self.bench.readable_flights() {
            if !flight.targets.iter().any(|t| is_meant(&file.stem, &t.name)) {
                continue;
            }
            let Planned { flight, stocks, plans, report, tools, .. } =
                plan_flight_of(self.bench, file, &FlightRequest::default(), self.watch)?;
            let mut silent = report.unanswered.into_iter();
            if let Some(one) = silent.find(|u| is_meant(&file.stem, &u.target)) {
                without.push(
                    Diagnostic::content(format!("`{}` has no answer: {}", one.target, one.reason))
                        .about(&file.path),
                );
            }
            let meant = flight.targets.iter().zip(&plans);
            let meant = meant.filter(|(target, _)| is_meant(&file.stem, &target.name));
            found.extend(meant.map(|(target, plan)| {
                let mut described = Described::target(&flight, &stocks, target, plan);
                let base: Vec<_> = flight.base.iter().zip(plan.shares.iter().copied()).collect();
                let finished = flight.bottle.value() / plan.litres_counted(flight.convention);
                let ml = LITRE_ML * finished;
                FilledBottle { stocks: &stocks, tools: &tools, base: &base, ml }
                    .doubts(self.bench, &mut described.poured);
                (file.stem.clone(), described)
            }));
        }
        if found.is_empty() && !without.is_empty() {
            return Err(without.into());
        }
        Ok(found)
    }

    /// That flights can be read, or there are none: a name may be in any that cannot.
    fn some_flight_is_read(&self) -> Result<(), Mistakes> {
        let flights = self.bench.flights.iter();
        let unread: Vec<_> = flights.map_while(|file| self.bench.flight(file).err()).collect();
        let all = !unread.is_empty() && unread.len() == self.bench.flights.len();
        if all { Err(unread.into()) } else { Ok(()) }
    }

    /// `250x middle`; `None` when the text does not begin with a factor.
    fn concentrate(&self, name: &str) -> Option<Result<Described, Mistakes>> {
        /// Our choice: a concentrate stronger than this is a bag of salt.
        const MOST: f64 = 10_000.0;
        let (times, rest) = leading_number(name.trim()).ok()?;
        let of = rest.strip_prefix(['x', '×']).filter(|_| times > 0.0 && times <= MOST)?;
        let of = of.trim();
        // A concentrate of a concentrate is a slip of the hand.
        if leading_number(of).is_ok_and(|(_, rest)| rest.starts_with(['x', '×'])) {
            return Some(self.unknown(name));
        }
        Some(self.find(of).map(|water| water.concentrated(times)))
    }

    /// `5 mL/L epsom`; `None` when the text does not begin with a dose.
    fn dilution(&self, name: &str) -> Option<Result<Described, Diagnostic>> {
        let (ml_per_l, rest) = leading_number(name.trim()).ok()?;
        let stock = rest.strip_prefix("mL/L").or_else(|| rest.strip_prefix("ml/l"))?.trim();
        let stocks: Vec<&Stock> = self.bench.stocks.iter().map(|s| &s.value).collect();
        let found = stocks.iter().find(|s| names::alike(s.name(), stock));
        let water = found.filter(|_| (0.0..=1000.0).contains(&ml_per_l));
        let described = |stock: &Stock| {
            let mut described = Described::dilution(stock, ml_per_l);
            let (stocks, tools) = (std::slice::from_ref(stock), &self.bench.tools);
            FilledBottle { stocks, tools, base: &[], ml: LITRE_ML }
                .doubts(self.bench, &mut described.poured);
            described
        };
        Some(water.map(|s| described(s)).ok_or_else(|| {
            if let Some(wrong) = self.bench.unread_in("stocks", stock) {
                return wrong.clone();
            }
            let known: Vec<&str> = stocks.iter().map(|s| s.name()).collect();
            Diagnostic::choice(format!("`{name}` is no dilution of a stock"))
                .expected(format!("0 to 1000 mL/L of one of: {}", names::listed(&known)))
        }))
    }

    fn unknown<T>(&self, name: &str) -> Result<T, Mistakes> {
        if let Some(wrong) = self.bench.unread_in("waters", name) {
            return Err(wrong.clone().into());
        }
        self.some_flight_is_read()?;
        if let Some((flight, _)) = name.split_once('/')
            && let Ok(file) = self.bench.flight_file(Some(flight))
        {
            self.bench.flight(file)?;
        }
        let mut known: Vec<String> = self.base.iter().map(|w| w.name.clone()).collect();
        for (_, target) in targets(self.bench) {
            if !known.contains(&target) {
                known.push(target);
            }
        }
        let listed: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
        let diagnostic =
            Diagnostic::choice(format!("there is no water `{name}`")).expected(format!(
                "{}; SESSION/WATER; a dilution such as \"5 mL/L STOCK\"; or \"250x NAME\"",
                listed.join(", ")
            ));
        let known: Vec<&str> = known.iter().map(String::as_str).collect();
        Err(Mistakes::from(diagnostic.remedy("name one of them").near(name, &known)))
    }
}
