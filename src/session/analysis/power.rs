//! What a planned scoring session will find: the analysis that will be made of it, made beforehand of
//! scores drawn at random.

use std::collections::BTreeMap;

use crate::numerics::{StudentizedRanges, count, normal_quantile, t_two_sided};
use crate::session::plan::Scatter;
use crate::session::plan::panel::{USUAL_ALPHA, USUAL_POWER, USUAL_SD, is_significant};
use crate::session::plan::{
    AssumedScatter, Attribute, Draw, Forecast, FoundScore, Key, Plan, Purpose, ScoreDesign, Seed,
    forecast_of_answers,
};
use crate::session::score::CupPlace;

use crate::session::analysis::ModelChoice;
use crate::session::analysis::comparisons::{critical, fitting, holm};
use crate::session::analysis::mixed::contrasts;
use crate::session::analysis::{Difference, Multiplicity};
use crate::session::analysis::{Observation, ScoreTable};

/// Sessions drawn. Our choice: the power behind a difference is then known to half a percent,
/// for the pairs and both directions of a session count together.
const MOST_DRAWN: usize = 8000;

/// Sessions drawn of the largest plans. Our choice: with so many cups the residual error is well known in each.
const LEAST_DRAWN: usize = 300;

/// Cups drawn in all. Our choice: a forecast takes less than half a second.
const CUPS_DRAWN: usize = 100_000;

/// Most tasters looked at when asking how many are needed. Our choice: no kitchen seats more.
const MOST_TASTERS: usize = 200;

/// Halvings in the search for a difference by Holm's rule. Our choice: 2⁻¹² of it is no digit that is
/// said.
const HALVINGS: usize = 12;

/// What a plan can find, at the usual risks, by the analysis that will be made. `known` is the scatter
/// of attributes, by name, that earlier sessions have measured; the others are taken as usual.
#[must_use]
pub fn forecast(plan: &Plan, key: &Key, known: &BTreeMap<String, Scatter>) -> Forecast {
    let blank = blank(plan, key);
    // One tray of each taster and round, but in tests of two waters, which need none.
    let mut trays: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for row in &blank.rows {
        trays.entry((row.taster, row.round)).or_default().push(row.water);
    }
    let trays: Vec<(usize, Vec<usize>)> =
        trays.into_iter().map(|((taster, _), waters)| (taster, waters)).collect();
    if let Some(forecast) = forecast_of_answers(plan, &trays) {
        return forecast;
    }
    let design = ScoreDesign {
        waters: plan.waters,
        tasters: plan.tasters.len(),
        rounds: plan.rounds,
        per_tray: plan.cups_per_tray.min(plan.waters),
    };
    let session = Session {
        design,
        blank,
        choice: ModelChoice::planned(&plan.analysis, ModelChoice::default()),
        tested: plan.analysis.tested(&plan.method),
    };
    let mut attributes: Vec<FoundScore> = Vec::new();
    for (at, attribute) in plan.method.attributes().iter().enumerate() {
        let found = session.found(at, attribute, known.get(&attribute.name), &attributes);
        attributes.push(found);
    }
    Forecast::Scores { attributes, degrees: design.degrees(), one_taster: design.tasters == 1 }
}

/// The table that a plan will give of an attribute; the scores are all zero.
#[must_use]
pub fn blank(plan: &Plan, key: &Key) -> ScoreTable {
    let row = |cup: &CupPlace| Observation {
        taster: cup.taster,
        water: cup.water,
        round: cup.round,
        position: cup.position,
        previous: cup.previous,
        value: 0.0,
    };
    ScoreTable {
        attribute: String::new(),
        tasters: plan.tasters.clone(),
        waters: key.waters.clone(),
        rows: crate::session::score::cups_to_serve(plan, key).iter().map(row).collect(),
        missing: 0,
    }
}

struct Session {
    design: ScoreDesign,
    blank: ScoreTable,
    choice: ModelChoice,
    /// Places of the attributes that are tested.
    tested: Vec<usize>,
}

impl Session {
    fn found(
        &self,
        at: usize,
        attribute: &Attribute,
        scatter: Option<&Scatter>,
        before: &[FoundScore],
    ) -> FoundScore {
        let scale = attribute.high - attribute.low;
        let assumed_scatter = scatter.map_or_else(
            || AssumedScatter::usual(scale),
            |scatter| scatter.assumed_scatter_for(self.design.tasters),
        );
        let wanted = USUAL_SD * scale;
        let mut found = FoundScore {
            name: attribute.name.clone(),
            tested: self.tested.contains(&at),
            tested_together: self.tested.len(),
            smallest: None,
            assumed_scatter,
            measured_in: scatter.map(|scatter| scatter.sessions),
            scale,
            wanted,
            tasters_for_wanted: None,
        };
        if !found.tested {
            return found;
        }
        let share = 1.0 / count(self.tested.len().max(1));
        // The same residual error in another unit needs no other draws.
        let alike = |f: &&FoundScore| {
            let (a, b) = (
                f.assumed_scatter.cup * assumed_scatter.taste,
                assumed_scatter.cup * f.assumed_scatter.taste,
            );
            f.tested && (a - b).abs() <= 1e-9 * a.max(b)
        };
        found.smallest = match before.iter().find(alike) {
            Some(known) => known.smallest.map(|points| {
                points * assumed_scatter.together() / known.assumed_scatter.together()
            }),
            None => smallest_difference(&self.blank, assumed_scatter, self.choice, share),
        };
        found.tasters_for_wanted =
            found.smallest.and_then(|s| self.tasters_for(wanted, assumed_scatter, s, share));
        found
    }

    /// Tasters who would find the difference `wanted`, all else as it is: as the formula has it for
    /// complete trays without correction, where it is exact, and by as many times more as this session
    /// needs more than that formula says.
    fn tasters_for(
        &self,
        wanted: f64,
        assumed_scatter: AssumedScatter,
        smallest: f64,
        share: f64,
    ) -> Option<usize> {
        if self.design.tasters < 2 {
            return None;
        }
        let risk = share * USUAL_ALPHA;
        let by_formula = self.design.smallest_difference(assumed_scatter, risk, USUAL_POWER)?;
        let wanted = wanted * by_formula / smallest;
        self.design.tasters_needed(wanted, assumed_scatter, (risk, USUAL_POWER), MOST_TASTERS)
    }
}

/// The smallest difference between two waters that is found with the usual power, at a share of the
/// usual risk, in a session of these cups; `None` when nothing is left to judge by.
///
/// Sessions without any difference are drawn and analysed. A difference between two waters moves their
/// estimates and neither their standard errors nor their degrees of freedom, so each session says from
/// which difference on it would have found one; what four in five would have found is wanted.
#[must_use]
pub fn smallest_difference(
    blank: &ScoreTable,
    assumed_scatter: AssumedScatter,
    choice: ModelChoice,
    share: f64,
) -> Option<f64> {
    let drawn = (CUPS_DRAWN / blank.rows.len().max(1)).clamp(LEAST_DRAWN, MOST_DRAWN);
    let mut draws = Draws::new("waterflight forecast 1");
    let mut reaches = Reaches {
        known: BTreeMap::new(),
        ranges: StudentizedRanges::default(),
        share,
        waters: blank.waters.len(),
    };
    let mut found_from: Vec<f64> = Vec::new();
    for session in 0..drawn {
        let table = draws.assumed_scatter(blank, assumed_scatter);
        let found = match contrasts(&table, choice) {
            Ok(found) if !found.is_empty() => found,
            _ => return None,
        };
        match choice.multiplicity.unwrap_or_else(|| fitting(&found)) {
            Multiplicity::Tukey => {
                let law = reaches.of(Multiplicity::Tukey, &found);
                for (pair, critical) in found.iter().zip(law) {
                    let reach = critical * pair.standard_error;
                    found_from.extend([reach - pair.estimate, reach + pair.estimate]);
                }
            }
            Multiplicity::Holm => {
                let law = reaches.of(Multiplicity::Holm, &found);
                let at = session % found.len();
                found_from.extend(found.get(at).zip(law.get(at)).map(|(pair, critical)| {
                    found_from_by_holm(&found, *pair, critical * pair.standard_error, share)
                }));
            }
        }
    }
    found_from.sort_by(f64::total_cmp);
    quantile(&found_from, USUAL_POWER).filter(|points| points.is_finite())
}

/// The value below which a share of sorted values lies.
fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let place = share * count(sorted.len().checked_sub(1)?);
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a place in a list, cut down to a whole number"
    )]
    let below = place as usize;
    let (low, high) = (sorted.get(below)?, sorted.get(below + 1).or(sorted.get(below))?);
    Some(low + (high - low) * (place - count(below)))
}

/// From which difference of a pair on it differs by Holm's rule, all other waters between the
/// two; `reach` is Bonferroni's, which is never less.
fn found_from_by_holm(found: &[Difference], pair: Difference, reach: f64, share: f64) -> f64 {
    let (mut low, mut high) = (0.0, (reach - pair.estimate).max(0.0));
    let differs = |points: f64| {
        let moved = |water: usize| match water {
            w if w == pair.first => points / 2.0,
            w if w == pair.second => -points / 2.0,
            _ => 0.0,
        };
        let alone = found.iter().map(|d| {
            let estimate = d.estimate + moved(d.first) - moved(d.second);
            t_two_sided(estimate / d.standard_error, d.df)
        });
        let adjusted = holm(&alone.collect::<Vec<_>>());
        let own = found.iter().position(|d| (d.first, d.second) == (pair.first, pair.second));
        own.and_then(|own| adjusted.get(own)).is_some_and(|p| is_significant(p / share))
    };
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if differs(middle) { high = middle } else { low = middle }
    }
    high
}

/// Critical values, kept: degrees of freedom that agree to half a percent share one.
struct Reaches {
    known: BTreeMap<(bool, i64), f64>,
    ranges: StudentizedRanges,
    share: f64,
    waters: usize,
}

impl Reaches {
    fn of(&mut self, multiplicity: Multiplicity, found: &[Difference]) -> Vec<f64> {
        let (share, waters) = (self.share, self.waters);
        let by_range = multiplicity == Multiplicity::Tukey;
        found
            .iter()
            .map(|pair| {
                #[expect(
                    clippy::cast_possible_truncation,
                    reason = "a logarithm of a small number"
                )]
                let place = (200.0 * pair.df.ln()).round() as i64;
                let ranges = &mut self.ranges;
                *self
                    .known
                    .entry((by_range, place))
                    .or_insert_with(|| critical(waters, multiplicity, (share, pair.df), ranges))
            })
            .collect()
    }
}

/// Normal numbers, the same in every run.
struct Draws(Draw);

/// Steps that a draw between 0 and 1 is made in. Our choice: a normal number beyond 6 is never missed.
const STEPS: usize = 1 << 30;

impl Draws {
    fn new(phrase: &str) -> Self {
        Self(Draw::new(&Seed::from_phrase(phrase), Purpose::Forecast))
    }

    fn normal(&mut self) -> f64 {
        normal_quantile((count(self.0.below(STEPS)) + 0.5) / count(STEPS))
    }

    /// Scores without any difference: residual error of cups and of tasters about the waters. One taster's taste
    /// is no residual error to that taster.
    fn assumed_scatter(
        &mut self,
        blank: &ScoreTable,
        assumed_scatter: AssumedScatter,
    ) -> ScoreTable {
        let mut table = blank.clone();
        let mut tastes: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        let alone = blank.tasters.len() < 2;
        for row in &mut table.rows {
            let cell = (row.taster, row.water);
            let taste = match tastes.get(&cell) {
                _ if alone => 0.0,
                Some(taste) => *taste,
                None => {
                    let taste = assumed_scatter.taste * self.normal();
                    tastes.insert(cell, taste);
                    taste
                }
            };
            row.value = taste + assumed_scatter.cup * self.normal();
        }
        table
    }
}
