//! Waters by the names that people give them on the command line.

use crate::bench::Bench;
use crate::cli::outcome::internal;
use crate::files::{Diagnostic, Fault, read};
use crate::planner::plan_flight;
use crate::quantities::spelling::leading_number;
use crate::report::Described;
use crate::shelf::Stock;
use crate::waters::BaseWater;
use crate::waters::base_water::DISTILLED;

/// All waters that a bench can name, planned once.
pub(super) struct NamedWaters {
    base: Vec<Described>,
    /// Targets with the file name of their flight.
    targets: Vec<(String, Described)>,
    stocks: Vec<Stock>,
}

impl NamedWaters {
    /// Describes every base water and every target of every flight.
    pub(super) fn of(bench: &Bench) -> Result<Self, Vec<Diagnostic>> {
        let mut base: Vec<Described> =
            bench.waters.iter().map(|w| Described::base_water(&w.value)).collect();
        base.push(Described::base_water(&BaseWater::distilled()));
        let mut targets = Vec::new();
        for file in &bench.flights {
            let (flight, stocks) = bench.flight(file).map_err(|mistake| vec![mistake])?;
            let plans = plan_flight(&flight, &stocks).map_err(|error| internal(&error))?;
            targets.extend(flight.targets.iter().zip(&plans).map(|(target, plan)| {
                (file.stem.clone(), Described::target(&flight, &stocks, target, plan))
            }));
        }
        let stocks = bench.stocks.iter().map(|s| s.value.clone()).collect();
        Ok(Self { base, targets, stocks })
    }

    /// Every base water but distilled, then every target.
    pub(super) fn all(&self) -> Vec<Described> {
        let own = self.base.iter().filter(|w| w.name != DISTILLED);
        own.chain(self.targets.iter().map(|(_, target)| target)).cloned().collect()
    }

    /// The water of a name: a base water, `FLIGHT/TARGET`, a target whose name is the only one,
    /// `5 mL/L STOCK` for a stock diluted with distilled water, or `250x NAME` for a concentrate
    /// of any of these.
    pub(super) fn find(&self, name: &str) -> Result<Described, Diagnostic> {
        if let Some(water) = self.base.iter().find(|w| w.name == name) {
            return Ok(water.clone());
        }
        let matching: Vec<&(String, Described)> = self
            .targets
            .iter()
            .filter(|(flight, target)| {
                target.name == name || format!("{flight}/{}", target.name) == name
            })
            .collect();
        match matching.as_slice() {
            [(_, target)] => Ok(target.clone()),
            [] => self
                .concentrate(name)
                .or_else(|| self.dilution(name))
                .unwrap_or_else(|| Err(self.unknown(name))),
            several => {
                let full: Vec<String> =
                    several.iter().map(|(flight, t)| format!("{flight}/{}", t.name)).collect();
                Err(Diagnostic::new(Fault::Choice, format!("several waters are called `{name}`"))
                    .expected(full.join(", "))
                    .remedy("name the flight as well"))
            }
        }
    }

    /// `250x middle`; `None` when the text does not begin with a factor.
    fn concentrate(&self, name: &str) -> Option<Result<Described, Diagnostic>> {
        /// Our choice: a concentrate stronger than this is a bag of salt.
        const MOST: f64 = 10_000.0;
        let (times, rest) = leading_number(name.trim()).ok()?;
        let of = rest.strip_prefix(['x', '×']).filter(|_| times > 0.0 && times <= MOST)?;
        Some(self.find(of.trim()).map(|water| water.concentrated(times)))
    }

    /// `5 mL/L epsom`; `None` when the text does not begin with a dose.
    fn dilution(&self, name: &str) -> Option<Result<Described, Diagnostic>> {
        let (ml_per_l, rest) = leading_number(name.trim()).ok()?;
        let stock = rest.strip_prefix("mL/L").or_else(|| rest.strip_prefix("ml/l"))?.trim();
        let found = self.stocks.iter().find(|s| s.name() == stock);
        let water = found.filter(|_| (0.0..=1000.0).contains(&ml_per_l));
        Some(water.map(|s| Described::dilution(s, ml_per_l)).ok_or_else(|| {
            let known: Vec<&str> = self.stocks.iter().map(Stock::name).collect();
            Diagnostic::new(Fault::Choice, format!("`{name}` is no dilution of a stock"))
                .expected(format!("0 to 1000 mL/L of one of: {}", known.join(", ")))
        }))
    }

    fn unknown(&self, name: &str) -> Diagnostic {
        let base = self.base.iter().map(|w| w.name.as_str());
        let mut known: Vec<&str> = Vec::new();
        for one in base.chain(self.targets.iter().map(|(_, t)| t.name.as_str())) {
            if !known.contains(&one) {
                known.push(one);
            }
        }
        let listed: Vec<String> = known.iter().map(|name| format!("`{name}`")).collect();
        let diagnostic = Diagnostic::new(Fault::Choice, format!("there is no water `{name}`"))
            .expected(format!(
                "{}; a dilution such as \"5 mL/L STOCK\"; or \"250x NAME\"",
                listed.join(", ")
            ));
        match read::nearest(name, &known) {
            Some(near) => diagnostic.remedy(format!("did you mean `{near}`?")),
            None => diagnostic.remedy("name one of them"),
        }
    }
}
