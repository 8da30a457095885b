//! All names that a bench knows of one kind, for whoever offers them where a name is typed.

use crate::bench::ready_targets::{own, published};
use crate::bench::session_folder::SessionFolder;
use crate::bench::{Bench, session_folder};

/// What a name is a name of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NameKind {
    /// Stocks.
    Stocks,
    /// Flights, by the names of their files.
    Flights,
    /// Flights, and single waters of them behind `FLIGHT/`.
    FlightsOrWaters,
    /// Sessions.
    Sessions,
    /// Whatever `water` can show by a name.
    Waters,
    /// Targets of flights, by their bare names.
    Targets,
    /// Dispensers.
    Dispensers,
    /// Ready targets, and those of flights behind `FLIGHT/`.
    ReadyTargets,
}

/// The names of a kind that a bench knows, each once and in the order of the letters.
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::app::bench_names::{NameKind, bench_names};
/// use waterflight::bench::Bench;
///
/// let bench = Bench::open("stocks/demo".as_ref())?;
/// assert!(bench_names(&bench, NameKind::Targets).contains(&"soft".to_owned()));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn bench_names(bench: &Bench, kind: NameKind) -> Vec<String> {
    let mut names = of_kind(bench, kind);
    names.sort();
    names.dedup();
    names
}

fn of_kind(bench: &Bench, kind: NameKind) -> Vec<String> {
    let sessions = || session_folder::names(&bench.root).unwrap_or_default();
    match kind {
        NameKind::Stocks => bench.stocks.iter().map(|s| s.value.name().to_owned()).collect(),
        NameKind::Flights => bench.flights.iter().map(|file| file.stem.clone()).collect(),
        NameKind::FlightsOrWaters => {
            let flights = bench.flights.iter().map(|file| file.stem.clone());
            flights.chain(in_their_flights(bench)).collect()
        }
        NameKind::Sessions => sessions(),
        NameKind::Dispensers => bench.dispensers.iter().map(|d| d.name.clone()).collect(),
        NameKind::Targets => targets(bench).map(|(_, target)| target).collect(),
        NameKind::Waters => {
            let base = bench.waters.iter().map(|w| w.value.name.clone());
            let both = targets(bench).flat_map(|(flight, target)| {
                let full = format!("{flight}/{target}");
                [target, full]
            });
            // Which waters a session had is no secret; which cup held which one is.
            let tasted = sessions().into_iter().flat_map(|name| {
                let open = SessionFolder::open(&bench.root, &name);
                let planned = open.and_then(|session| session.waters().cloned());
                let waters = planned.map(|planned| planned.waters).unwrap_or_default();
                waters.into_iter().map(move |water| format!("{name}/{}", water.name))
            });
            base.chain(both).chain(tasted).collect()
        }
        NameKind::ReadyTargets => {
            let mine = own(&bench.root).map(|(mine, _)| mine).unwrap_or_default();
            let ready = published().unwrap_or_default().into_iter().chain(mine);
            let ready = ready.map(|target| target.name().to_owned());
            ready.chain(in_their_flights(bench)).collect()
        }
    }
}

/// Every target of a flight as `FLIGHT/TARGET`.
fn in_their_flights(bench: &Bench) -> impl Iterator<Item = String> {
    targets(bench).map(|(flight, target)| format!("{flight}/{target}"))
}

/// Every target with the file name of its flight; a flight that cannot be read has none.
pub(super) fn targets(bench: &Bench) -> impl Iterator<Item = (String, String)> {
    bench.readable_flights().flat_map(|(file, (flight, ..))| {
        flight.targets.into_iter().map(|target| (file.stem.clone(), target.name))
    })
}
