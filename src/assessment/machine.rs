//! A machine as its maker limits the water that goes into it: each limit with a verdict, and the
//! grams of limescale to the next service and in a year. A maker's words, never a warrant.

use serde::Serialize;

use crate::assessment::State;
use crate::assessment::WaterReport;
use crate::assessment::Withheld;
use crate::assessment::water_report::CARBONATE;
use crate::chemistry::Composition;
use crate::flight::{Limit, LimitSubject};

/// A machine as `bench.ron` describes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MachineProfile {
    /// Its name.
    pub name: String,
    /// The maker's limits on the water as fed.
    pub limits: Vec<Limit>,
    /// Limits on what no water here is known by, in the user's words.
    pub not_checked: Vec<String>,
    /// Litres through the brew boiler in a day.
    pub litres_a_day: Option<f64>,
    /// Litres fed to the steam boiler in a day.
    pub steam_litres_a_day: Option<f64>,
    /// Days between services.
    pub service_days: Option<i64>,
}

/// Whether a limit is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Inside or on the edge.
    Within,
    /// The water breaks the limit.
    Outside,
    /// The water is not known well enough.
    NotKnown,
}

/// One limit beside the water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitVerdict {
    /// Key of what is limited.
    pub limit: &'static str,
    /// What is compared, in words.
    pub quantity: String,
    /// What is allowed, in words.
    pub allowed: String,
    /// Unit of the numbers.
    pub unit: &'static str,
    /// The water; none where it is not known.
    pub value: Option<f64>,
    /// How far it lies outside: negative below, positive above, 0 inside.
    pub outside_by: Option<f64>,
    /// Whether the limit is kept.
    pub verdict: Verdict,
    /// Why it is not known.
    pub withheld: Option<String>,
}

/// Limescale in one boiler of the machine, if all that can precipitate stays in it: the least and
/// the most of its states and of the two published calcite constants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MachineLimescale {
    /// `brew` or `steam`.
    pub boiler: &'static str,
    /// Water that passes the boiler, L a day.
    pub litres_a_day: f64,
    /// Grams in a year: least, most; none where the boiler cannot be computed.
    pub g_a_year: Option<[f64; 2]>,
    /// Days between services.
    pub service_days: Option<i64>,
    /// Grams from one service to the next.
    pub g_to_service: Option<[f64; 2]>,
}

/// A water beside the limits of a machine.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MachineReport {
    /// Name of the machine, as its owner wrote it.
    pub machine: String,
    /// Its limits, in the order of the file.
    pub limits: Vec<LimitVerdict>,
    /// Limits that nothing here can be compared with.
    pub not_checked: Vec<String>,
    /// Limescale in its boilers; empty where no litres are given.
    pub limescale: Vec<MachineLimescale>,
}

/// Days that a year is counted with.
const YEAR_DAYS: f64 = 365.0;

/// 1,000 L, to which grams of limescale refer.
const THOUSAND_LITRES: f64 = 1000.0;

/// What a boiler precipitates, g per 1,000 L fed, least and most over its states; `None` when one
/// of them cannot be computed.
fn between(mut states: impl Iterator<Item = Option<[f64; 2]>>) -> Option<[f64; 2]> {
    states.try_fold([f64::INFINITY, 0.0], |[low, high], one| {
        let [least, most] = one?;
        Some([low.min(least), high.max(most)])
    })
}

impl MachineReport {
    /// Puts a water beside the limits.
    #[must_use]
    pub fn new(profile: &MachineProfile, water: &Composition, report: &WaterReport) -> Self {
        let limits = profile.limits.iter().flat_map(|limit| verdicts(limit, water, report));
        let brew = [State::Closed, State::Degassed].into_iter();
        let brew = between(
            brew.map(|state| report.brew(state).map(|brew| brew.scale_between_g_per_1000_l)),
        );
        let steam = between(report.steam.iter().map(|steam| steam.scale_between_g_per_1000_l));
        let boilers =
            [("brew", profile.litres_a_day, brew), ("steam", profile.steam_litres_a_day, steam)];
        let limescale = boilers.into_iter().filter_map(|(boiler, litres, g_per_1000_l)| {
            let litres_a_day = litres?;
            let in_days = |days: f64| {
                g_per_1000_l.map(|g| g.map(|g| g * days * litres_a_day / THOUSAND_LITRES))
            };
            Some(MachineLimescale {
                boiler,
                litres_a_day,
                g_a_year: in_days(YEAR_DAYS),
                service_days: profile.service_days,
                g_to_service: profile.service_days.and_then(|days| in_days(to_f64(days))),
            })
        });
        Self {
            machine: profile.name.clone(),
            limits: limits.collect(),
            not_checked: profile.not_checked.clone(),
            limescale: limescale.collect(),
        }
    }

    /// The limits that the water does not keep.
    pub fn outside(&self) -> impl Iterator<Item = &LimitVerdict> {
        self.limits.iter().filter(|limit| limit.verdict == Verdict::Outside)
    }

    /// How many limits have a verdict.
    #[must_use]
    pub fn count(&self, verdict: Verdict) -> usize {
        self.limits.iter().filter(|limit| limit.verdict == verdict).count()
    }
}

/// Days are far below what a float counts exactly.
fn to_f64(days: i64) -> f64 {
    i32::try_from(days).map_or(f64::from(i32::MAX), f64::from)
}

/// A limit beside the water; one on pH stands for both ways in which a water may come in.
fn verdicts(limit: &Limit, water: &Composition, report: &WaterReport) -> Vec<LimitVerdict> {
    let room = |state: State| report.room(state);
    let carbonate = Withheld::unless_measured(water, &CARBONATE).map(|w| w.to_string());
    match limit.limited {
        LimitSubject::Measure(measure) => {
            let gaps = Withheld::of(measure.not_measured_of(water));
            vec![match gaps {
                None => verdict(limit, measure.label(), Some(measure.of(water))),
                Some(because) => {
                    let least = measure.at_least_usual(water) * measure.native_per_usual_unit();
                    unmeasured(limit, measure.label(), least, because)
                }
            }]
        }
        LimitSubject::Ph => [(State::Closed, "pH as mixed"), (State::Open, "pH in air")]
            .map(|(state, name)| {
                let ph = room(state).map(|r| r.ph);
                LimitVerdict { withheld: carbonate.clone(), ..verdict(limit, name.to_owned(), ph) }
            })
            .to_vec(),
        LimitSubject::Conductivity => {
            let quantity = "conductivity".to_owned();
            let closed = room(State::Closed);
            vec![match closed.and_then(|r| r.conductivity_between_us_per_cm) {
                None => {
                    let value = closed.map(|r| r.conductivity_us_per_cm);
                    LimitVerdict { withheld: carbonate, ..verdict(limit, quantity, value) }
                }
                Some([least, _]) => match Withheld::of(water.not_measured()) {
                    Some(because) => unmeasured(limit, quantity, least, because),
                    None => verdict(limit, quantity, Some(least)),
                },
            }]
        }
    }
}

/// A limit on something of which only the least is known: it may be passed all the same.
fn unmeasured(limit: &Limit, quantity: String, least: f64, because: Withheld) -> LimitVerdict {
    let passed = verdict(limit, quantity, Some(least));
    let is_passed = passed.outside_by.is_some_and(|by| by > 0.0);
    LimitVerdict {
        value: None,
        outside_by: passed.outside_by.filter(|_| is_passed),
        verdict: if is_passed { Verdict::Outside } else { Verdict::NotKnown },
        withheld: Some(because.to_string()),
        ..passed
    }
}

fn verdict(limit: &Limit, quantity: String, native: Option<f64>) -> LimitVerdict {
    let by = native.map(|value| limit.outside_by(value));
    LimitVerdict {
        limit: limit.limited.key(),
        quantity,
        allowed: limit.words(),
        unit: limit.unit,
        value: native.map(|value| limit.in_unit(value)),
        outside_by: by.map(|by| limit.in_unit(by)),
        verdict: match by {
            None => Verdict::NotKnown,
            Some(by) if by.abs() > 0.0 => Verdict::Outside,
            Some(_) => Verdict::Within,
        },
        withheld: None,
    }
}
