//! The preparation sheet: which bottle gets which codes, how much of everything, and whether the
//! shelf has it. It names the waters, so it is for the pourer alone.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::quantities::{Litres, Millilitres, MillilitresPerLitre};

use crate::session::plan::Code;
use crate::session::plan::Key;
use crate::session::plan::Method;
use crate::session::plan::Serving;
use crate::session::plan::{Plan, Tray};

/// Cups that a taster has in a sitting before the tongue tires: six to eight (common practice).
pub const USUAL_CUPS: usize = 8;

/// Spare water poured for spills, rinsing of jugs and a second brew (common practice).
pub const USUAL_SPARE: f64 = 0.1;

/// Water made beyond what is poured into cups.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// Share added to every volume.
    pub share: f64,
    /// The least of each water that is worth making: tiny volumes cannot be dosed well.
    pub least: Litres,
}

impl Margin {
    /// So much more of everything, and as little as that comes to.
    #[must_use]
    pub fn of(share: f64) -> Self {
        Self { share, least: Litres::new(0.0) }
    }

    fn on(self, needed: Litres) -> Litres {
        let share = if self.share.is_finite() { self.share.max(0.0) } else { USUAL_SPARE };
        Litres::new((needed.value() * (1.0 + share)).max(self.least.value()))
    }
}

/// What a litre of a water is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct DosedWater {
    /// The water.
    pub water: String,
    /// Stocks and their doses.
    pub doses: Vec<(String, MillilitresPerLitre)>,
    /// Base waters and their shares of the finished volume.
    pub base: Vec<(String, f64)>,
}

/// Volumes of one water of which every dose can be measured out.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeVolumes {
    /// The water.
    pub water: String,
    /// In whole multiples of this every dose is a whole number of steps; 0 where doses have none.
    pub step: Litres,
    /// The least of which every dose can be measured out.
    pub least: Litres,
}

impl WholeVolumes {
    /// The smallest of these volumes that is enough.
    fn holding(&self, needed: Litres) -> Litres {
        /// Our choice: a volume is enough when it lacks no more than this part of it.
        const ROUNDING: f64 = 1e-9;
        let least = needed.value().max(self.least.value());
        let step = self.step.value();
        if step <= 0.0 {
            return Litres::new(least);
        }
        Litres::new((least / step - ROUNDING).ceil() * step)
    }
}

/// One code to be poured.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PouredCode {
    /// The code.
    pub code: Code,
    /// Round, from 1.
    pub round: usize,
    /// Cups that get it.
    pub cups: usize,
    /// For a code on one cup: its taster and tray, in words.
    #[serde(rename = "for")]
    pub whose: Option<String>,
    /// Whether it is the held-up reference of a duo-trio.
    pub reference: bool,
}

/// One bottle and what is poured from it.
#[derive(Debug, Clone, PartialEq)]
pub struct BottleLine {
    /// The water.
    pub water: String,
    /// Codes, by round and number.
    pub codes: Vec<PouredCode>,
    /// Cups with a letter in the place of a code: the reference, R, and the warm-up, W.
    pub named_cups: usize,
    /// All cups.
    pub cups: usize,
    /// Brews for each round; empty when the water itself is tasted.
    pub brews_by_round: Vec<usize>,
    /// Finished water, without spare: for as many coded cups as the water that has most of them.
    pub needed: Litres,
    /// With spare.
    pub with_spare: Litres,
    /// What goes into it of each stock, for all of it with spare.
    pub doses: Vec<(String, Millilitres)>,
}

/// How much of a stock the session takes.
#[derive(Debug, Clone, PartialEq)]
pub struct StockLine {
    /// The stock.
    pub stock: String,
    /// Volume, with spare.
    pub needed: Millilitres,
    /// What is left in its bottle, where that is known.
    pub left: Option<Millilitres>,
}

impl StockLine {
    /// What is missing, when it is known to be too little.
    #[must_use]
    pub fn missing(&self) -> Option<Millilitres> {
        let short = self.needed.value() - self.left?.value();
        (short > 0.0).then(|| Millilitres::new(short))
    }
}

/// The pourer's sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Preparation {
    /// Session.
    pub session: String,
    /// Seal of the key, to be compared with the plan's.
    pub seal: String,
    /// What is the same for all cups.
    pub serving: Serving,
    /// Every bottle, in the order of the flight.
    pub bottles: Vec<BottleLine>,
    /// The water of the reference cup.
    pub reference: Option<String>,
    /// The water of the unscored first cup.
    pub warm_up: Option<String>,
    /// Finished water in all, with spare.
    pub water: Litres,
    /// Grams of what is brewed, with no spare: spare is water.
    pub brewed_g: Option<f64>,
    /// Stocks, in the order in which the waters name them.
    pub stocks: Vec<StockLine>,
    /// Base waters, with spare, in the order in which the waters name them.
    pub base: Vec<(String, Litres)>,
    /// Waters whose doses were not given, so that no stock is counted for them.
    pub without_doses: Vec<String>,
}

/// Works out the pourer's sheet.
///
/// `margin` is what is made beyond the need, `left` what stands in the stock bottles. As much is made of
/// each water as if it had as many coded cups in each round as the one that has most. What a session
/// takes from the bottles is recorded where tasters may read it: amounts that follow the cups would
/// tell, beside the doses, which waters are served more often or twice on a tray, and so which codes can
/// be theirs. Cups with a letter on them come on top: which water they hold tells of no code.
/// Each water is made in a volume of which every dose can be measured out, where `whole` has it.
#[must_use]
pub fn prepare(
    plan: &Plan,
    key: &Key,
    doses: &[DosedWater],
    left: &[(String, Millilitres)],
    margin: Margin,
    whole: &[WholeVolumes],
) -> Preparation {
    let mut names = key.waters.clone();
    if let Some(warm_up) = key.warm_up.as_ref().filter(|name| !key.waters.contains(name)) {
        names.push(warm_up.clone());
    }
    let coded: Vec<Vec<PouredCode>> = names.iter().map(|name| codes_of(plan, key, name)).collect();
    let mut most: BTreeMap<usize, usize> = BTreeMap::new();
    for codes in &coded {
        for (round, cups) in by_round(codes) {
            let known = most.entry(round).or_default();
            *known = cups.max(*known);
        }
    }
    let bottles: Vec<BottleLine> = names
        .iter()
        .zip(coded)
        .map(|(name, codes)| bottle((plan, key), name, codes, &most, doses, (margin, whole)))
        .collect();
    let total = bottles.iter().map(|line| line.with_spare.value()).sum();
    let brews: usize = bottles.iter().flat_map(|line| &line.brews_by_round).sum();
    let without_doses = names
        .iter()
        .filter(|name| !doses.iter().any(|dosed| dosed.water == **name))
        .cloned()
        .collect();
    Preparation {
        session: plan.session.clone(),
        seal: plan.seal.clone(),
        serving: plan.serving.clone(),
        reference: key.reference.clone(),
        warm_up: key.warm_up.clone(),
        water: Litres::new(total),
        brewed_g: plan
            .serving
            .brewing
            .as_ref()
            .map(|brew| brew.dose_g * crate::numerics::count(brews)),
        stocks: stock_lines(&bottles, left),
        base: base_lines(&bottles, doses),
        without_doses,
        bottles,
    }
}

/// The codes of a water, by round and number.
fn codes_of(plan: &Plan, key: &Key, name: &str) -> Vec<PouredCode> {
    let own = key.cups.iter().filter(|cup| cup.water == name);
    let mut codes: Vec<PouredCode> =
        own.map(|cup| poured(plan, cup.code, cup.round, cup.tray)).collect();
    codes.sort_by_key(|poured| (poured.round, poured.code));
    codes
}

/// Coded cups in each round.
fn by_round(codes: &[PouredCode]) -> BTreeMap<usize, usize> {
    let mut rounds: BTreeMap<usize, usize> = BTreeMap::new();
    for poured in codes {
        *rounds.entry(poured.round).or_default() += poured.cups;
    }
    rounds
}

/// What is poured from one bottle; `most` is the most coded cups of any water in each round.
fn bottle(
    (plan, key): (&Plan, &Key),
    name: &str,
    codes: Vec<PouredCode>,
    most: &BTreeMap<usize, usize>,
    doses: &[DosedWater],
    (margin, whole): (Margin, &[WholeVolumes]),
) -> BottleLine {
    let served = by_round(&codes);
    // A water that only warms up has no codes to hide.
    let alike = if key.waters.iter().any(|water| water == name) { most } else { &served };
    let mut named: BTreeMap<usize, usize> = BTreeMap::new();
    for letter in [&key.reference, &key.warm_up] {
        if letter.as_deref() == Some(name) {
            for tray in &plan.trays {
                *named.entry(tray.round).or_default() += 1;
            }
        }
    }
    let cups_of = |coded: &BTreeMap<usize, usize>| -> Vec<usize> {
        let mut rounds = named.clone();
        for (round, cups) in coded {
            *rounds.entry(*round).or_default() += cups;
        }
        rounds.into_values().collect()
    };
    let cups = cups_of(&served);
    let needed = water_for(&plan.serving, &cups_of(alike));
    let with_spare = margin.on(needed);
    let volumes = whole.iter().find(|volumes| volumes.water == name);
    let with_spare = volumes.map_or(with_spare, |volumes| volumes.holding(with_spare));
    let dosed = doses.iter().find(|dosed| dosed.water == name);
    let doses = dosed.iter().flat_map(|dosed| &dosed.doses);
    BottleLine {
        water: name.to_owned(),
        codes,
        named_cups: named.values().sum(),
        cups: cups.iter().sum(),
        brews_by_round: brews(&plan.serving, &cups),
        needed,
        with_spare,
        doses: doses.map(|(stock, dose)| (stock.clone(), *dose * with_spare)).collect(),
    }
}

/// Brews for so many cups in each round; none when the water itself is tasted.
fn brews(serving: &Serving, cups: &[usize]) -> Vec<usize> {
    let Some(brew) = &serving.brewing else { return Vec::new() };
    let per_brew = cups_of_a_brew(brew.yield_ml, serving.cup_ml);
    cups.iter().map(|cups| cups.div_ceil(per_brew)).collect()
}

/// Water for so many cups in each round.
fn water_for(serving: &Serving, cups: &[usize]) -> Litres {
    let ml = match &serving.brewing {
        Some(brew) => {
            let all: usize = brews(serving, cups).iter().sum();
            // A cup larger than a brew takes several.
            let factor = (serving.cup_ml / brew.yield_ml).ceil().max(1.0);
            crate::numerics::count(all) * factor * brew.water_ml
        }
        None => crate::numerics::count(cups.iter().sum()) * serving.cup_ml,
    };
    Litres::new(ml / 1000.0)
}

/// Whole cups that a brew gives, at least one.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "both volumes are positive and finite, and the quotient is clamped to a small number"
)]
fn cups_of_a_brew(yield_ml: f64, cup_ml: f64) -> usize {
    /// Our choice: rounding of decimal volumes must not cost a cup.
    const SLACK: f64 = 1e-9;
    (yield_ml / cup_ml + SLACK).floor().clamp(1.0, 1e6) as usize
}

/// Where a code is poured.
fn poured(plan: &Plan, code: Code, round: usize, solo_tray: Option<usize>) -> PouredCode {
    let holds = |tray: &&Tray| tray.cups.contains(&code) || tray.reference == Some(code);
    let trays: Vec<&Tray> = plan.trays.iter().filter(holds).collect();
    let reference = trays.iter().any(|tray| tray.reference == Some(code));
    if let Some(number) = solo_tray {
        let whose = plan.tasters.first().map(|taster| format!("{taster}, tray {number}"));
        return PouredCode { code, round, cups: 1, whose, reference };
    }
    let whose = match trays.as_slice() {
        [only] => Some(format!("{}, tray {}", only.taster, only.number)),
        _ => None,
    };
    PouredCode { code, round, cups: trays.len(), whose, reference }
}

/// Volumes of the stocks, in the order in which the waters name them.
fn stock_lines(bottles: &[BottleLine], left: &[(String, Millilitres)]) -> Vec<StockLine> {
    let mut lines: Vec<StockLine> = Vec::new();
    for (stock, needed) in bottles.iter().flat_map(|bottle| &bottle.doses) {
        if let Some(line) = lines.iter_mut().find(|line| line.stock == *stock) {
            line.needed = line.needed + *needed;
        } else {
            let left = left.iter().find(|(name, _)| name == stock).map(|(_, volume)| *volume);
            lines.push(StockLine { stock: stock.clone(), needed: *needed, left });
        }
    }
    lines
}

/// Volumes of the base waters.
fn base_lines(bottles: &[BottleLine], doses: &[DosedWater]) -> Vec<(String, Litres)> {
    let mut lines: Vec<(String, Litres)> = Vec::new();
    for bottle in bottles {
        let dosed = doses.iter().find(|dosed| dosed.water == bottle.water);
        for (water, share) in dosed.iter().flat_map(|dosed| &dosed.base) {
            let litres = bottle.with_spare * *share;
            match lines.iter_mut().find(|(name, _)| name == water) {
                Some((_, sum)) => *sum = *sum + litres,
                None => lines.push((water.clone(), litres)),
            }
        }
    }
    lines
}

/// Cups that one taster tastes in the whole session, for the caution of fatigue.
#[must_use]
pub fn cups_of_a_taster(plan: &Plan) -> usize {
    let trays = plan.tasters.first().map_or(0, |taster| plan.trays_of(taster).count());
    let extra = usize::from(matches!(plan.method, Method::DuoTrio { .. }))
        + usize::from(plan.reference_cup)
        + usize::from(plan.warm_up_cup);
    trays * (plan.cups_per_tray + extra)
}
