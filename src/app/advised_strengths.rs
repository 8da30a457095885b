//! Which strengths the stocks of some flights should have.

use crate::app::flight_request::FlightRequest;
use crate::app::planned_flight::plan_flight_of;
use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes};
use crate::mix::AdviceReport;
use crate::mix::round_strength::DoseRequirements;
use crate::planner::whole_flight::Watch;
use crate::quantities::{Fraction, Millilitres};
use crate::stock::Tools;

/// What doses have to keep.
#[derive(Debug, Clone, Copy)]
pub struct DosesAsked<'a> {
    /// What doses are measured with; each flight's own dispenser when none is named.
    pub dispenser: Option<&'a str>,
    /// Smallest dose; that of the dispenser when none is said.
    pub least: Option<Millilitres>,
    /// Largest sensible dose; that of the dispenser when none is said.
    pub most: Option<Millilitres>,
    /// Largest error of a single dose (k = 2).
    pub error: Fraction,
}

/// How strong the stocks of a bench should be, so that every dose of some flights keeps what is asked; of
/// the only flight when none is named.
///
/// # Errors
/// When a flight cannot be planned, they are measured with several dispensers, or no strength will do.
pub fn advise_strengths(
    bench: &Bench,
    flights: &[String],
    asked: DosesAsked<'_>,
    watch: Watch<'_>,
) -> Result<AdviceReport, Mistakes> {
    let request = FlightRequest::measured_with(asked.dispenser);
    let only = flights.is_empty().then_some(None);
    let mut reports = Vec::new();
    let mut tools: Option<Tools> = None;
    let mut measured_with: Option<String> = None;
    for name in only.into_iter().chain(flights.iter().map(|name| Some(name.as_str()))) {
        let file = bench.flight_file(name)?;
        let planned = plan_flight_of(bench, file, &request, watch)?;
        if tools.is_some_and(|tools| tools != planned.tools) {
            let what = "these flights are measured with several dispensers";
            return Err(Diagnostic::choice(what)
                .remedy("name one with `--dispenser`, or ask for one flight at a time")
                .into());
        }
        tools = Some(planned.tools);
        measured_with = planned.order.dispenser.as_ref().map(|d| d.name.clone());
        reports.push((planned.flight, planned.order, planned.report));
    }
    let tools = tools.unwrap_or(bench.tools);
    let requirements = DoseRequirements {
        least: asked.least.unwrap_or(tools.dispenser.least),
        most: asked.most.unwrap_or(tools.dispenser.most),
        error: asked.error,
    };
    if requirements.least >= requirements.most || requirements.error.value() <= 0.0 {
        return Err(Diagnostic::choice("no dose meets these limits")
            .expected("`--least` below `--most`, and an error above 0 %")
            .into());
    }
    let stocks: Vec<_> =
        bench.stocks.iter().map(|s| s.value.clone()).zip(bench.bottles.iter().cloned()).collect();
    AdviceReport::new(&reports, &stocks, &tools, requirements).map_err(|error| {
        let with = measured_with.map_or(String::new(), |name| format!("with `{name}`, "));
        Diagnostic::choice(format!("{with}{error}"))
            .remedy(
                "allow a larger `--error` or `--most`, or describe a finer dispenser in \
                 `bench.ron`",
            )
            .into()
    })
}
