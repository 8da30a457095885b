//! How the waters of a session are measured out: whole drops, marks or steps of a dispenser, and
//! the water that fills the bottle.

use serde::Serialize;

use crate::chemistry::density;
use crate::mix::water_mix::MEASURED_AT;
use crate::quantities::show::{at_least_a_figure, fixed, plain};
use crate::quantities::{Litres, Millilitres};
use crate::session::plan::preparation::{BottleLine, PouredCode, WholeVolumes};

/// What doses are counted or read in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeasuredWith {
    /// Name of the dispenser.
    pub name: String,
    /// What it is: syringe, pipette, balance, dropper.
    pub kind: String,
    /// One step, in the unit.
    pub step: f64,
    /// The least number of steps that it delivers.
    pub least_steps: u32,
    /// mL or g.
    pub unit: String,
    /// What its steps are called where they are counted: drops.
    pub counted: Option<String>,
}

/// One water as it was planned.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredWater {
    /// Its name.
    pub water: String,
    /// Finished water in one bottle of the flight.
    pub bottle: Litres,
    /// Its doses.
    pub doses: Vec<MeasuredDose>,
    /// Base waters and their shares of the finished volume.
    pub base: Vec<(String, f64)>,
}

/// A dose of one stock.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredDose {
    /// The stock.
    pub stock: String,
    /// Millilitres for a litre of finished water.
    pub ml_per_l: f64,
    /// Steps for one bottle; nothing where doses have none.
    pub steps: Option<u32>,
    /// Density of the stock, g/mL; nothing in sessions planned before it was kept.
    pub g_per_ml: Option<f64>,
}

/// How all waters of a session are measured out.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// The dispenser of the plan; without one doses are read as well as can be.
    pub with: Option<MeasuredWith>,
    /// The least dose without a dispenser.
    pub least: Millilitres,
    /// Whether doses go into base water that is measured, and not up to a mark.
    pub added: bool,
    /// The waters.
    pub waters: Vec<MeasuredWater>,
}

/// What goes into a bottle of one stock.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoseLine {
    /// The stock.
    pub stock: String,
    /// mL.
    pub ml: f64,
    /// g; nothing in sessions planned before densities were kept.
    pub g: Option<f64>,
    /// Steps of the dispenser: drops, marks, steps of a balance.
    pub steps: Option<u32>,
    /// The least that can be measured, mL, where the dose is less.
    pub too_small_for_ml: Option<f64>,
}

/// A base water that goes into a bottle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FillLine {
    /// The water.
    pub water: String,
    /// mL, at 20 °C.
    pub ml: f64,
    /// g.
    pub g: f64,
    /// Whether it is filled up with, to the volume of the bottle.
    pub up_to_the_mark: bool,
}

/// One bottle of a water.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PouredBottle {
    /// The water.
    pub water: String,
    /// Cups in all.
    pub cups: usize,
    /// Cups with the water's name on them.
    pub named_cups: usize,
    /// Brews in each round; nothing when the water itself is tasted.
    pub brews_by_round: Vec<usize>,
    /// Finished water, L, with spare.
    pub l_with_spare: f64,
    /// What goes into it of each stock, mL.
    pub doses_ml: Vec<(String, f64)>,
    /// The same as it is measured out.
    pub doses: Vec<DoseLine>,
    /// The base waters that fill it.
    pub fill: Vec<FillLine>,
    /// Its codes.
    pub codes: Vec<PouredCode>,
}

/// Our choice: so many times what is needed is made for the sake of its smallest dose, and no more.
const MOST_TIMES: f64 = 5.0;

impl Measured {
    /// The volumes of each water that can be measured out, where `needed` says how much of it the
    /// cups take.
    #[must_use]
    pub fn volumes(&self, needed: impl Fn(&str) -> Option<Litres>) -> Vec<WholeVolumes> {
        let of = |water: &MeasuredWater| match &self.with {
            Some(with) => water.whole(with.least_steps),
            None => water.measurable(self.least, needed(&water.water)?),
        };
        self.waters.iter().filter_map(of).collect()
    }

    /// What goes into one bottle: the stocks, then the base waters.
    #[must_use]
    pub fn lines(&self, bottle: &BottleLine) -> (Vec<DoseLine>, Vec<FillLine>) {
        let Some(water) = self.waters.iter().find(|w| w.water == bottle.water) else {
            return (Vec::new(), Vec::new());
        };
        let litres = bottle.with_spare.value();
        let bottles = litres / water.bottle.value();
        let least = self.least.value();
        let doses = water.doses.iter().map(|dose| {
            let ml = dose.ml_per_l * litres;
            // Volumes in steps are made so large that no dose is too small.
            let short = self.with.is_none() && ml < least * (1.0 - ROUNDING);
            DoseLine {
                stock: dose.stock.clone(),
                ml,
                g: dose.g_per_ml.map(|density| ml * density),
                steps: dose.steps.map(|steps| whole(f64::from(steps) * bottles)),
                too_small_for_ml: short.then_some(least),
            }
        });
        let g_per_ml = density::water(MEASURED_AT).value();
        let last = water.base.len().saturating_sub(1);
        let fill = water.base.iter().enumerate().map(|(n, (name, share))| {
            let ml = share * litres * 1000.0;
            let up_to_the_mark = n == last && !self.added;
            FillLine { water: name.clone(), ml, g: ml * g_per_ml, up_to_the_mark }
        });
        (doses.collect(), fill.collect())
    }
}

/// Our choice: an amount is enough when it lacks no more than this part of it.
const ROUNDING: f64 = 1e-6;

impl MeasuredWater {
    /// Volumes in which every dose is a whole number of steps, and at least the least.
    fn whole(&self, least_steps: u32) -> Option<WholeVolumes> {
        let steps: Vec<u32> = self.doses.iter().filter_map(|dose| dose.steps).collect();
        let parts = steps.iter().copied().reduce(common_divisor).filter(|parts| *parts > 0)?;
        let smallest = steps.iter().copied().min()?;
        let step = Litres::new(self.bottle.value() / f64::from(parts));
        // Bottles of the flight hold at least the least of every dose, so this is one at most.
        let least = Litres::new(f64::from(least_steps) / f64::from(smallest) * self.bottle.value());
        Some(WholeVolumes { water: self.water.clone(), step, least })
    }

    /// Volumes of which the smallest dose can be read, within reason.
    fn measurable(&self, least: Millilitres, needed: Litres) -> Option<WholeVolumes> {
        let smallest = self.doses.iter().map(|dose| dose.ml_per_l).reduce(f64::min)?;
        let enough = least.value() / smallest;
        let within_reason = enough <= MOST_TIMES * needed.value();
        within_reason.then(|| WholeVolumes {
            water: self.water.clone(),
            step: Litres::new(0.0),
            least: Litres::new(enough),
        })
    }
}

fn common_divisor(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { common_divisor(b, a % b) }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to the range of the type just before"
)]
fn whole(steps: f64) -> u32 {
    steps.round().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// Doses, then the water that fills the bottle, each on a line of its own: heads and rows.
pub(crate) fn measured_table<'a>(
    with: Option<&'a MeasuredWith>,
    bottles: &[PouredBottle],
) -> (Vec<&'a str>, Vec<Vec<String>>) {
    let counted = with.and_then(|with| with.counted.as_deref());
    let (ml, g) = (decimals(with, "mL"), decimals(with, "g"));
    let mut rows = Vec::new();
    for bottle in bottles {
        let mut name = Some(bottle.water.clone());
        let mut named = |what: String| vec![name.take().unwrap_or_default(), what];
        for dose in &bottle.doses {
            let mut row = named(dose.stock.clone());
            row.push(at_least_a_figure(dose.ml, ml));
            row.push(dose.g.map_or(String::new(), |grams| at_least_a_figure(grams, g)));
            row.extend(counted.map(|_| dose.steps.map_or(String::new(), |n| n.to_string())));
            rows.push(row);
        }
        for fill in &bottle.fill {
            let mark = if fill.up_to_the_mark {
                format!(", up to {} L", litres(bottle.l_with_spare))
            } else {
                String::new()
            };
            let mut row = named(format!("{} water{mark}", fill.water));
            row.extend([filling(fill.ml), filling(fill.g)]);
            row.extend(counted.map(|_| String::new()));
            rows.push(row);
        }
    }
    (["bottle", "of", "mL", "g"].into_iter().chain(counted).collect(), rows)
}

/// Decimals of doses in mL or g.
fn decimals(with: Option<&MeasuredWith>, unit: &str) -> usize {
    /// Our choice: hundredths of a millilitre or gram where no step says more.
    const USUAL: usize = 2;
    let with = with.filter(|with| with.unit == unit);
    with.map_or(USUAL, |with| decimals_of(with.step))
}

/// What a dose is said in where there is room for one number: drops with their millilitres, grams on a
/// balance, else millilitres.
pub(crate) fn in_short(with: Option<&MeasuredWith>, dose: &DoseLine) -> String {
    let ml = at_least_a_figure(dose.ml, decimals(with, "mL"));
    match (with, dose.steps, dose.g) {
        (Some(with), Some(steps), _) if with.counted.is_some() => format!("{steps} ({ml})"),
        (Some(with), _, Some(g)) if with.unit == "g" => fixed(g, decimals(Some(with), "g")),
        _ => ml,
    }
}

/// What [`in_short`] says, in words.
pub(crate) fn unit_in_short(with: Option<&MeasuredWith>) -> String {
    match with {
        Some(MeasuredWith { counted: Some(counted), .. }) => format!("{counted} (mL)"),
        Some(with) => with.unit.clone(),
        None => "mL".to_owned(),
    }
}

/// A volume that is made: hundredths of a litre, and more where its steps are finer.
pub(crate) fn litres(volume: f64) -> String {
    /// Our choice: more decimals than the usual two where they say something, up to here.
    const USUAL: usize = 2;
    const MOST: usize = 4;
    let decimals = decimals_of((volume * 1e4).round() / 1e4);
    fixed(volume, decimals.clamp(USUAL, MOST))
}

/// Water that fills a bottle: to the millilitre or gram, which is finer than it is poured.
fn filling(amount: f64) -> String {
    /// Our choice: below this a tenth is shown.
    const SMALL: f64 = 100.0;
    fixed(amount, usize::from(amount < SMALL))
}

/// Decimals that show a step as it is.
fn decimals_of(step: f64) -> usize {
    plain(step).split_once('.').map_or(0, |(_, decimals)| decimals.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn water(steps: &[u32]) -> MeasuredWater {
        let dose = |steps: &u32| MeasuredDose {
            stock: format!("stock of {steps}"),
            ml_per_l: f64::from(*steps) * 0.1,
            steps: Some(*steps),
            g_per_ml: None,
        };
        MeasuredWater {
            water: "soft".to_owned(),
            bottle: Litres::new(0.5),
            doses: steps.iter().map(dose).collect(),
            base: Vec::new(),
        }
    }

    /// 8 and 12 steps in half a litre: quarters of it hold 2 and 3; of three steps at least, two
    /// quarters hold enough.
    #[test]
    fn a_part_of_a_bottle_is_made_where_its_steps_stay_whole() {
        let found = water(&[8, 12]).whole(3);
        assert!(found.as_ref().is_some_and(|v| (v.step.value() - 0.125).abs() < 1e-12));
        assert!(found.is_some_and(|v| (v.least.value() - 0.1875).abs() < 1e-12));
        let found = water(&[7, 12]).whole(3);
        assert!(found.is_some_and(|v| (v.step.value() - 0.5).abs() < 1e-12));
        assert_eq!(water(&[]).whole(3), None);
    }
}
