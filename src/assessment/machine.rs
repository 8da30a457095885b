//! A machine as its maker limits the water that goes into it: each limit with a verdict, and the
//! grams of limescale to the next service and in a year. A maker's words, never a warrant.

use serde::Serialize;

use crate::assessment::scale_range::ScaleRange;
use crate::assessment::withheld::{CARBONATE, only_by_limits};
use crate::assessment::{State, WaterReport, Withheld};
use crate::chemistry::{Bounds, Composition, Conserved, ConservedSet};
use crate::flight::{Limit, LimitSubject};
use crate::water::Reading;

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
    /// Its least and most, where something of it is only known by limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub between: Option<[f64; 2]>,
    /// How far it lies outside, at least: negative below, positive above, 0 inside.
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
    /// Why the grams are only the least there can be, where something was not measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_since: Option<Withheld>,
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

impl MachineReport {
    /// Puts a water beside the limits, with what meters show for it.
    #[must_use]
    pub fn new(
        profile: &MachineProfile,
        water: &Composition,
        report: &WaterReport,
        meter: &Reading,
    ) -> Self {
        let limits = profile.limits.iter().flat_map(|limit| verdicts(limit, water, report, meter));
        let boilers = [
            ("brew", profile.litres_a_day, report.brew_scale()),
            ("steam", profile.steam_litres_a_day, report.steam_scale()),
        ];
        let limescale = boilers.into_iter().filter_map(|(boiler, litres, g_per_1000_l)| {
            let litres_a_day = litres?;
            let in_days = |days: f64| {
                let times = days * litres_a_day / THOUSAND_LITRES;
                g_per_1000_l.map(|range: ScaleRange| range.times(times).between)
            };
            Some(MachineLimescale {
                boiler,
                litres_a_day,
                g_a_year: in_days(YEAR_DAYS),
                service_days: profile.service_days,
                g_to_service: profile.service_days.and_then(|days| in_days(to_f64(days))),
                least_since: g_per_1000_l.and_then(|range| range.least_since),
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
fn verdicts(
    limit: &Limit,
    water: &Composition,
    report: &WaterReport,
    meter: &Reading,
) -> Vec<LimitVerdict> {
    let carbonate = Withheld::unless_measured(water, &CARBONATE);
    let limited = |of: &dyn Fn(Conserved) -> bool| -> ConservedSet {
        water.known_by_limits().iter().filter(|c| *c != Conserved::Dic && of(*c)).collect()
    };
    let ions: ConservedSet = water.not_measured().iter().filter(|c| c.charge() != 0).collect();
    match limit.limited {
        LimitSubject::Measure(measure) => {
            let Bounds { at_least, at_most } = measure.bounds(water);
            let known = Known {
                value: Some(measure.of(water)),
                ends: Some((at_least, at_most)),
                lacks: Withheld::of(measure.not_measured_of(water)),
                by_limits: limited(&|c| measure.coefficient(c).abs() > 0.0),
            };
            vec![known.beside(limit, measure.label())]
        }
        LimitSubject::Ph => [(State::Closed, "pH as mixed"), (State::Open, "pH in air")]
            .map(|(state, name)| {
                let room = report.room(state);
                let between = room.map(|r| r.ph_between.unwrap_or([r.ph; 2]));
                Known {
                    value: room.map(|r| r.ph),
                    ends: between.map(|ends| ends.map(as_shown)).map(|[a, b]| (a, Some(b))),
                    lacks: carbonate.or(Withheld::of(ions).filter(|_| {
                        // Salt that was not measured moves the pH a little.
                        between.is_some_and(|ends| is_open(limit, ends))
                    })),
                    by_limits: limited(&|_| true),
                }
                .beside(limit, name.to_owned())
            })
            .to_vec(),
        LimitSubject::Conductivity => {
            // Makers state it as meters show it, at 25 °C, whatever the room has.
            let is_known = carbonate.is_none();
            let [least, most] = meter.us_per_cm_25_ends;
            let known = Known {
                value: is_known.then_some(meter.us_per_cm_25),
                ends: is_known.then_some((least, Some(most))),
                lacks: carbonate.or(Withheld::of(ions)),
                by_limits: limited(&|c| c.charge() != 0),
            };
            vec![known.beside(limit, "conductivity at 25 °C".to_owned())]
        }
    }
}

/// A pH as it is shown, in hundredths: no finer one is known.
fn as_shown(ph: f64) -> f64 {
    (100.0 * ph).round() / 100.0
}

/// Whether one end keeps a limit on pH and the other does not, or they lie on either side of it.
fn is_open(limit: &Limit, ends: [f64; 2]) -> bool {
    let [low, high] = ends.map(|ph| limit.outside_by(as_shown(ph)));
    low.total_cmp(&high).is_ne() && (low * high <= 0.0)
}

/// What is known of something that a limit is set on, native.
struct Known {
    /// The best estimate.
    value: Option<f64>,
    /// Least and, where there is one, most.
    ends: Option<(f64, Option<f64>)>,
    /// What of it was not measured.
    lacks: Option<Withheld>,
    /// What of it is only known by limits.
    by_limits: ConservedSet,
}

impl Known {
    /// Kept where both ends keep it and everything was measured, broken where both ends break it; of
    /// anything else it is not known.
    fn beside(self, limit: &Limit, quantity: String) -> LimitVerdict {
        let by = |value: f64| limit.outside_by(value);
        let least_by = self.ends.map(|(least, _)| by(least));
        let most_by = self.ends.and_then(|(_, most)| most).map(by);
        // Beyond an upper limit already at the least, or below a lower one even at the most.
        let beyond = least_by.filter(|by| *by > 0.0).or(most_by.filter(|by| *by < 0.0));
        let is_kept = |by: Option<f64>| by.is_some_and(|by| by.abs() <= 0.0);
        let is_open = self.ends.is_some_and(|(least, most)| most.is_none_or(|most| most > least));
        let verdict = if beyond.is_some() {
            Verdict::Outside
        } else if self.lacks.is_none() && is_kept(least_by) && is_kept(most_by) {
            Verdict::Within
        } else {
            Verdict::NotKnown
        };
        let by_limits = is_open && !self.by_limits.is_empty();
        let reason = match self.lacks {
            Some(lacks) => Some(lacks.to_string()),
            None if by_limits && verdict == Verdict::NotKnown => {
                Some(only_by_limits(self.by_limits))
            }
            None => None,
        };
        let is_exact = self.lacks.is_none() && !is_open;
        let between = match self.ends {
            Some((least, Some(most))) if self.lacks.is_none() && is_open => Some([least, most]),
            _ => None,
        };
        LimitVerdict {
            limit: limit.limited.key(),
            quantity,
            allowed: limit.words(),
            unit: limit.unit,
            value: self.value.filter(|_| is_exact).map(|value| limit.in_unit(value)),
            between: between.map(|ends| ends.map(|end| limit.in_unit(end))),
            outside_by: match verdict {
                Verdict::Within => Some(0.0),
                Verdict::Outside => beyond.map(|by| limit.in_unit(by)),
                Verdict::NotKnown => None,
            },
            verdict,
            withheld: reason,
        }
    }
}
