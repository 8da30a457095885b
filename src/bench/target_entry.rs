//! A target as written, and its goals.

use serde::Deserialize;

use crate::bench::trade_answer::AskedIn;
use crate::bench::water_entry::{given_twice, measure_of};
use crate::bench::{explain, place};
use crate::files::{Diagnostic, Fields, Mistakes, SourceText, Written};
use crate::flight::style::{PAIRS, StyleAsked};
use crate::flight::{BaseShare, Goal, Target};
use crate::quantities::Dimension;
use crate::water::Measure;

/// A target as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Target", deny_unknown_fields)]
pub(super) struct TargetEntry {
    pub(super) name: Written,
    #[serde(default)]
    pub(super) goals: Fields,
    #[serde(default)]
    pub(super) ratios: Vec<RatioEntry>,
    #[serde(default)]
    pub(super) with: Vec<Written>,
    #[serde(default)]
    pub(super) without: Vec<Written>,
    pub(super) tasted: Option<Written>,
    pub(super) composition: Option<Fields>,
    #[serde(default)]
    pub(super) made_of: Vec<(Written, Written)>,
    /// Base waters of `made_of` with their shares.
    #[serde(default)]
    pub(super) made_in: Vec<(Written, Written)>,
    /// How far each pinned amount may be off.
    pub(super) tolerance: Option<Written>,
}

/// A goal on a ratio as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Ratio", deny_unknown_fields)]
pub(super) struct RatioEntry {
    of: Written,
    to: Written,
    goal: Written,
}

impl TargetEntry {
    /// A ratio of its own is no style that all waters have.
    pub(super) fn keeps_to(
        &self,
        source: &SourceText,
        style: &StyleAsked,
    ) -> Result<(), Diagnostic> {
        if !matches!(style, StyleAsked::SameRatios | StyleAsked::Ratios(_)) {
            return Ok(());
        }
        let own = self.ratios.iter().find(|ratio| {
            let key = |leaf: &Written| Measure::from_key(leaf.text());
            let both = key(&ratio.of).zip(key(&ratio.to));
            PAIRS.iter().any(|(a, b)| both == Some((*a, *b)) || both == Some((*b, *a)))
        });
        own.map_or(Ok(()), |ratio| {
            Err(place::at(
                source,
                &ratio.goal,
                "this ratio is one of the style that the flight asks of all its waters",
            )
            .found(format!("`{}`, and `style` in the flight", ratio.goal.text()))
            .remedy(
                "leave it out here, or state it once: `style: Ratios(calcium_to_magnesium: …)`",
            ))
        })
    }

    /// The target of its goals.
    pub(super) fn of_goals(
        &self,
        source: &SourceText,
        name: String,
        base: &[BaseShare],
    ) -> Result<Target, Mistakes> {
        let goals = goals_of(source, (&self.name, &name), (&self.goals, &self.ratios), base)?;
        Ok(Target { name, goals })
    }
}

/// One goal on a measure.
pub(super) fn goal_of(
    source: &SourceText,
    key: &Written,
    leaf: &Written,
) -> Result<(Measure, Goal), Diagnostic> {
    let measure = measure_of(source, key, (leaf.text(), AskedIn::Goal))?;
    let goal = Goal::parse(measure, leaf.text())
        .map_err(|e| place::mistake(source, leaf, &e, explain::goal(&e, &measure.choices())))?;
    Ok((measure, goal))
}

impl RatioEntry {
    fn meant(&self, source: &SourceText) -> Result<Goal, Diagnostic> {
        let of = measure_of(source, &self.of, ("", AskedIn::Goal))?;
        let to = measure_of(source, &self.to, ("", AskedIn::Goal))?;
        let units = explain::units_of(&[Dimension::Ratio]);
        Goal::parse_ratio(of, to, self.goal.text())
            .map_err(|e| place::mistake(source, &self.goal, &e, explain::goal(&e, &units)))
    }
}

/// The goals of a target, on measures and on ratios of two.
///
/// # Errors
/// All that is wrong with them.
pub(super) fn goals_of(
    source: &SourceText,
    (name_leaf, name): (&Written, &str),
    (goals_written, ratios): (&Fields, &[RatioEntry]),
    base: &[BaseShare],
) -> Result<Vec<Goal>, Mistakes> {
    let mut wrong = Mistakes::default();
    let mut measures: Vec<Measure> = Vec::new();
    let mut goals: Vec<Goal> = Vec::new();
    for (key, leaf) in &goals_written.0 {
        let Some((measure, goal)) = wrong.take(goal_of(source, key, leaf)) else { continue };
        if measures.contains(&measure) {
            wrong.push(given_twice(source, key));
        }
        measures.push(measure);
        wrong.take(place::measured(source, leaf, base, goal.subject, "this goal"));
        goals.push(goal);
    }
    for ratio in ratios {
        let Some(goal) = wrong.take(ratio.meant(source)) else { continue };
        wrong.take(place::measured(source, &ratio.goal, base, goal.subject, "this goal"));
        goals.push(goal);
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    if goals.is_empty() {
        return Err(place::at(source, name_leaf, format!("target `{name}` has no goal"))
            .expected("`goals: ( hardness: \"70 mg/L as CaCO3\", … )`")
            .remedy("say what this water should have")
            .into());
    }
    Ok(goals)
}
