//! The machine of a bench as its maker limits it, as written in `bench.ron`.

use serde::Deserialize;

use crate::assessment::MachineProfile;
use crate::bench::machine_entry::number;
use crate::bench::trade_answer::{AskedIn, answer};
use crate::bench::water_entry::given_twice;
use crate::bench::{explain, kept, place};
use crate::files::{Diagnostic, Fields, SourceText, Written};
use crate::flight::{Limit, LimitError, LimitSubject};
use crate::quantities::Dimension;

/// A machine as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Machine", deny_unknown_fields)]
pub(super) struct ProfileEntry {
    name: Written,
    #[serde(default)]
    limits: Fields,
    #[serde(default)]
    not_checked: Vec<Written>,
    litres_a_day: Option<Written>,
    steam_litres_a_day: Option<Written>,
    service_every: Option<Written>,
}

/// Our choice: more litres a day than this go through no machine for drinks.
const MOST_LITRES_A_DAY: f64 = 10_000.0;

impl ProfileEntry {
    pub(super) fn meant(&self, source: &SourceText) -> Result<MachineProfile, Diagnostic> {
        let mut limits: Vec<Limit> = Vec::new();
        for (key, leaf) in &self.limits.0 {
            let limited = limited_of(source, key, leaf.text())?;
            if limits.iter().any(|limit| limit.limited == limited) {
                return Err(given_twice(source, key));
            }
            limits.push(
                Limit::parse(limited, leaf.text()).map_err(|error| {
                    place::mistake(source, leaf, &error, advice(limited, &error))
                })?,
            );
        }
        let not_checked = self
            .not_checked
            .iter()
            .map(|leaf| place::name(source, leaf))
            .collect::<Result<_, _>>()?;
        Ok(MachineProfile {
            name: place::name(source, &self.name)?,
            limits,
            not_checked,
            litres_a_day: litres(source, self.litres_a_day.as_ref())?,
            steam_litres_a_day: litres(source, self.steam_litres_a_day.as_ref())?,
            service_days: self
                .service_every
                .as_ref()
                .map(|leaf| kept::days(source, leaf))
                .transpose()?,
        })
    }
}

/// `20`, or `"20 L"`.
fn litres(source: &SourceText, leaf: Option<&Written>) -> Result<Option<f64>, Diagnostic> {
    let Some(leaf) = leaf else { return Ok(None) };
    if !leaf.is_quoted() {
        return number(source, leaf, 0.0, MOST_LITRES_A_DAY).map(Some);
    }
    let litres = place::amount(source, leaf, &[Dimension::Volume])? / 1000.0;
    if litres <= MOST_LITRES_A_DAY {
        return Ok(Some(litres));
    }
    Err(place::wrong(source, leaf, "this is more than goes through a machine in a day")
        .expected(format!("at most {MOST_LITRES_A_DAY} L")))
}

fn limited_of(source: &SourceText, key: &Written, typed: &str) -> Result<LimitSubject, Diagnostic> {
    LimitSubject::from_key(key.text()).ok_or_else(|| {
        let known: Vec<&str> = LimitSubject::keys().collect();
        let diagnostic = place::wrong(
            source,
            key,
            format!("`{}` is nothing that a water is known by here", key.text()),
        )
        .expected(known.join(", "));
        if let Some(said) = answer(key.text(), typed, AskedIn::Limit) {
            return diagnostic.remedy(said);
        }
        diagnostic
            .remedy("copy it into `not_checked: [\"…\"]`: it is then printed with each verdict")
            .near(key.text(), &known)
    })
}

fn advice(limited: LimitSubject, error: &LimitError) -> explain::Advice {
    let units = match limited {
        LimitSubject::Measure(measure) => measure.choices(),
        LimitSubject::Ph => vec!["pH"],
        LimitSubject::Conductivity => vec!["µS/cm", "mS/cm"],
    };
    explain::limit(error, &units)
}
