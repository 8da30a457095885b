//! `advise`: which strengths the stocks of some flights should have.

use std::path::Path;

use crate::app::mistakes::internal;
use crate::app::{FlightRequest, plan_flight_of};
use crate::cli::amount::{above_zero, amount};
use crate::cli::arguments::AdviseOptions;
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::files::{Diagnostic, Fault, Mistakes};
use crate::mix::AdviceReport;
use crate::mix::round_strength::DoseRequirements;
use crate::quantities::{Dimension, Fraction, Millilitres};
use crate::stock::Tools;

pub(super) fn run(
    bench: Option<&Path>,
    flights: &[String],
    options: &AdviseOptions,
    json: bool,
) -> Outcome {
    let bench = bench::open(bench)?;
    let asked = FlightRequest::measured_with(options.dispenser.as_deref());
    let names: Vec<Option<&str>> = if flights.is_empty() {
        vec![None]
    } else {
        flights.iter().map(|name| Some(name.as_str())).collect()
    };
    let mut reports = Vec::new();
    let mut tools: Vec<Tools> = Vec::new();
    for name in names {
        let file = bench.flight_file(name)?;
        let planned = watched(|watch| plan_flight_of(&bench, file, &asked, watch))?;
        reports.push((planned.flight, planned.report));
        tools.push(planned.tools);
    }
    let (first, others) =
        tools.split_first().map_or((bench.tools, [].as_slice()), |(f, o)| (*f, o));
    if others.iter().any(|tools| *tools != first) {
        return Err(Diagnostic::new(
            Fault::Choice,
            "these flights are measured with several dispensers",
        )
        .remedy("name one with `--dispenser`, or ask for one flight at a time")
        .into());
    }
    let tools = first;
    let requirements = dose_requirements(options, &tools)?;
    let stocks: Vec<_> =
        bench.stocks.iter().map(|s| s.value.clone()).zip(bench.bottles.iter().cloned()).collect();
    let report = AdviceReport::new(&reports, &stocks, &tools, requirements).map_err(|error| {
        Diagnostic::new(Fault::Choice, error.to_string()).remedy(
            "allow a larger `--error` or `--most`, or describe a finer dispenser in \
                     `bench.ron`",
        )
    })?;
    if json {
        crate::text::json::document(&report).map_err(|e| internal(&e))
    } else {
        Ok(crate::mix::advise_text::text(&report))
    }
}

fn dose_requirements(options: &AdviseOptions, tools: &Tools) -> Result<DoseRequirements, Mistakes> {
    let volume = |option, text: &Option<String>, usual: Millilitres| match text {
        Some(text) => above_zero(option, text, &[Dimension::Volume]).map(Millilitres::new),
        None => Ok(usual),
    };
    let requirements = DoseRequirements {
        least: volume("--least", &options.least, tools.dispenser.least)?,
        most: volume("--most", &options.most, tools.dispenser.most)?,
        error: Fraction::new(amount("--error", &options.error, &[Dimension::Percent])?),
    };
    if requirements.least >= requirements.most || requirements.error.value() <= 0.0 {
        return Err(Diagnostic::new(Fault::Choice, "no dose meets these limits")
            .expected("`--least` below `--most`, and an error above 0 %")
            .into());
    }
    Ok(requirements)
}
