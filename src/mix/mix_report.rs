//! A planned flight: its waters, what it takes, and all that is said of it.

use serde::Serialize;

use crate::assessment::withheld::CARBONATE;
use crate::assessment::{Glance, Lab, Withheld};
use crate::chemistry::{Composition, Conserved, ConservedSet};
use crate::flight::{Flight, Order, Pinned, Preference};
use crate::mix::flight_map::FlightMap;
use crate::mix::flight_use::{BaseUse, StockUse, base_used, stocks_used};
use crate::mix::reach_report::UnansweredLine;
use crate::mix::stocktake::Filled;
use crate::mix::water_mix::{ReportError, WaterMix, water_mix};
use crate::mix::{CostReport, OrderReport, SpreadReport};
use crate::planner::Plan;
use crate::quantities::show;
use crate::stock::{Bottle, Note, Price, Stock, stock_report};
use crate::water::water_change::WaterChange;
use crate::water::{BalanceVerdict, BaseWater};

/// A planned flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MixReport {
    /// Title of the flight.
    pub flight: String,
    /// Its name before the number of a water, on a bench that has several flights.
    #[serde(skip)]
    pub named_before_waters: Option<String>,
    /// Whether the doses were chosen by what they cost.
    #[serde(skip)]
    pub chosen_by_cost: bool,
    /// What a litre means.
    pub convention: &'static str,
    /// Size of a bottle, mL (of finished water, or of base water when doses are added to it).
    pub bottle_ml: f64,
    /// Bottles of each water that stocks and base waters are added up for.
    pub bottles: u32,
    /// The waters, in the order of the flight.
    pub waters: Vec<WaterMix>,
    /// What these bottles take from the stocks, in the order of the shelf.
    pub stocks_used: Vec<StockUse>,
    /// What these bottles take from the base waters.
    pub base_used: Vec<BaseUse>,
    /// What the numbers rest on.
    pub notes: Vec<Note>,
    /// How far each water may be from its plan.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spread: Option<SpreadReport>,
    /// What it costs, where prices are stated.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<CostReport>,
    /// Waters that are not what the last session with them was planned with.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub changed_since_session: Vec<WaterChange>,
    /// The flight on a map of two measures, where a picture of it is asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub map: Option<FlightMap>,
    /// Whether the text shows every source of uncertainty.
    #[serde(skip)]
    pub show_budget: bool,
    /// Targets of the flight that have no answer; they are not among the waters.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unanswered: Vec<UnansweredLine>,
    /// A dispenser, a set of stocks, what is left in them: when the flight asks for any.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<OrderReport>,
}

impl MixReport {
    /// Reports the plans of a flight, one for each target.
    ///
    /// # Errors
    /// When doses are to be added to a litre of base water and a plan uses none.
    pub fn new(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Result<Self, ReportError> {
        let waters = flight
            .targets
            .iter()
            .zip(plans)
            .enumerate()
            .map(|(n, (target, plan))| water_mix(flight, stocks, (n + 1, target), plan))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(Self {
            flight: flight.title.clone(),
            named_before_waters: None,
            chosen_by_cost: flight.preference == Preference::LeastCost,
            convention: flight.convention.describe(),
            bottle_ml: flight.bottle.to_millilitres().value(),
            bottles: 1,
            notes: notes(flight, stocks, plans),
            unanswered: Vec::new(),
            order: None,
            stocks_used: stocks_used(&waters, stocks),
            base_used: base_used(&waters, &flight.base),
            waters,
            spread: None,
            cost: None,
            changed_since_session: Vec::new(),
            map: None,
            show_budget: false,
        })
    }

    /// Adds to every water what it is at a glance.
    #[must_use]
    pub fn with_glances(mut self, lab: &Lab, plans: &[Plan]) -> Self {
        for (mix, plan) in self.waters.iter_mut().zip(plans) {
            mix.withheld = Withheld::unless_measured(&plan.water, &CARBONATE);
            mix.glance = match mix.withheld {
                None => Glance::new(lab, &plan.water).ok(),
                Some(_) => None,
            };
        }
        self
    }
}

impl MixReport {
    /// Adds up for so many bottles of each water.
    #[must_use]
    pub fn for_bottles(mut self, bottles: u32) -> Self {
        let times = f64::from(bottles) / f64::from(self.bottles);
        for used in &mut self.stocks_used {
            used.ml *= times;
            used.g *= times;
        }
        for used in &mut self.base_used {
            used.ml *= times;
        }
        self.bottles = bottles;
        self
    }

    /// What it costs; `None` when no price is stated at all. `prices` are those of base waters, per
    /// millilitre by name.
    #[must_use]
    pub fn priced(&self, stocks: &[Stock], prices: &[(String, Price)]) -> Option<CostReport> {
        let used = (self.stocks_used.as_slice(), self.base_used.as_slice());
        CostReport::new((&self.waters, self.bottle_ml), used, stocks, prices)
    }

    /// Numbers the waters as the targets of the flight that they belong to.
    pub fn number_waters(&mut self, places: &[usize]) {
        for (water, place) in self.waters.iter_mut().zip(places) {
            water.number = place + 1;
        }
        let steps = self.order.iter_mut().filter_map(|order| order.dispenser.as_mut());
        for (water, place) in steps.flat_map(|d| d.waters.iter_mut()).zip(places) {
            water.number = place + 1;
        }
    }

    /// Says which ions a likeness to a water counts without anyone having measured them.
    pub fn note_likeness(&mut self, to: &Composition) {
        let ions = to.not_measured().iter().filter(|c| c.charge() != 0);
        let not_measured: ConservedSet = ions.collect();
        if !not_measured.is_empty() {
            self.notes.push(Note::LikenessNotMeasured { not_measured });
        }
    }

    /// Says which waters are pinned, and to what.
    pub fn name_pinned(&mut self, order: &Order) {
        for (n, water) in self.waters.iter_mut().enumerate() {
            water.pinned = order.pinned(n).map(|from| match from {
                Pinned::Tasted { session, water, day } => {
                    format!("as it was planned for the session {session} on {day} ({water})")
                }
                Pinned::Composition => "its composition as the flight's file states it".to_owned(),
                Pinned::MadeOf { salts } => {
                    format!("made of {}, as the flight's file states it", salts.join(", "))
                }
            });
        }
    }

    /// Says what is in each bottle now, and what will be once the flight is poured.
    pub fn count_bottles(&mut self, filled: &[Filled<'_>]) {
        for used in &mut self.stocks_used {
            let bottle = filled.iter().find(|f| f.stock.name() == used.stock);
            used.left_ml = bottle.and_then(Filled::left_ml);
            used.left_after_ml = used.left_ml.map(|left| (left - used.ml).max(0.0));
        }
    }

    /// Names the batch that each stock's doses follow from, so that a plan that is kept says later
    /// what was in the bottles.
    pub fn name_batches(&mut self, bottles: &[Bottle]) {
        for used in &mut self.stocks_used {
            let bottle = bottles.iter().find(|b| b.written.name() == used.stock);
            used.batch = bottle.and_then(|b| b.batch.as_ref()).map(|b| b.number);
        }
    }
}

/// What there is to say of the analysis of a base water.
fn of_analysis(water: &BaseWater) -> Vec<Note> {
    let name = || water.name.clone();
    let composition = &water.composition;
    let balance = water.charge_balance();
    let mut notes = Vec::new();
    let not_measured = composition.not_measured();
    // Few analyses give silica; the lines of each water say so, and nothing else depends on it.
    if composition.lacks_ions() {
        let balance = balance.verdict();
        notes.push(Note::NotMeasured { water: name(), not_measured, balance });
    } else if balance.verdict() == BalanceVerdict::Fails {
        notes.push(Note::Unbalanced {
            water: name(),
            cations: balance.cations_meq_per_l,
            anions: balance.anions_meq_per_l,
            limit: balance.limit_meq_per_l,
        });
    }
    let assumed = composition.assumed().iter().filter(|c| *c != Conserved::Dic);
    let assumed: Vec<String> = assumed
        .map(|c| format!("{} {} mg/L", c.label(), show::three_figures(composition.mg_per_l(c))))
        .collect();
    if !assumed.is_empty() {
        notes.push(Note::Assumed { water: name(), assumed: assumed.join(", ") });
    }
    let doubtful = water.doubtful.iter();
    notes.extend(doubtful.map(|doubt| Note::Doubtful { water: name(), doubt: *doubt }));
    notes
}

fn notes(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    if stocks.is_empty() {
        notes.push(Note::EmptyShelf);
    }
    notes.extend(stocks.iter().flat_map(stock_report::notes));
    for base in &flight.base {
        notes.extend(of_analysis(&base.water));
    }
    let organic = |w: &Composition| {
        w.mmol_per_l(Conserved::Lactate) > 0.0 || w.mmol_per_l(Conserved::Citrate) > 0.0
    };
    notes.extend(
        flight
            .targets
            .iter()
            .zip(plans)
            .filter(|(_, plan)| organic(&plan.water))
            .map(|(target, _)| Note::OrganicAlkalinity { target: target.name.clone() }),
    );
    notes
}
