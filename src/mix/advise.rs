//! Which strength a stock should have, so that every dose of some flights can be poured well.
//!
//! A dose of `d` meq per bottle takes `d/s` mL of a stock of `s` meq/mL. Every dose is to be at
//! least what can be poured with the error allowed, and at most what is sensible; so `s` lies between
//! the largest dose over the most and the smallest dose over the least. When no strength does, two
//! bottles share the doses: a weak one for the small, a strong one for the large.
//!
//! The flight is planned again with the strengths advised, since the planner may then mix the same
//! water of other stocks.
//!
//! Above 400 lines: the advice, the rounds that check it and why there is none.

use serde::Serialize;
use thiserror::Error;

use crate::flight::{Flight, Order, StockSet};
use crate::mix::MixReport;
use crate::mix::round_strength::{
    Candidate, DoseRequirements, ROUNDING, TOTAL_G, Window, round_between,
};
use crate::planner::steps::deliver::TIME_LIMIT;
use crate::planner::whole_flight::plan_order;
use crate::quantities::Grams;
use crate::quantities::show::{plain, plus_minus};
use crate::quantities::uncertain::COVERAGE;
use crate::stock::{Bottle, Making, Recipe, Stock, Tools, solubility};

/// Advice for all stocks of some flights.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdviceReport {
    /// Titles of the flights.
    pub flights: Vec<String>,
    /// Smallest dose that keeps the limits, mL.
    pub least_ml: f64,
    /// Largest dose that keeps the limits, mL.
    pub most_ml: f64,
    /// Largest wanted error of a dose, %.
    pub error_percent: f64,
    /// The stocks that are used, in the order of the shelf.
    pub stocks: Vec<StockAdvice>,
    /// Smallest and largest dose, mL per bottle, of the flights planned again with the advised
    /// strengths; nothing when a stock was advised two or none.
    pub checked_ml: Option<[f64; 2]>,
    /// Stocks to keep out of the flights for that, where they leave `mix` the whole shelf.
    pub others_taken: Vec<String>,
}

/// How strong a stock should be, and what its doses are then.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StockAdvice {
    /// Name of the stock.
    pub stock: String,
    /// Its strength now, g/kg.
    pub now_g_per_kg: f64,
    /// Smallest and largest dose with that strength, mL per bottle.
    pub now_ml: [f64; 2],
    /// Whether the strength it has will do.
    pub now_will_do: bool,
    /// Strongest that stays dissolved where it is kept, g/kg.
    pub strongest_g_per_kg: Option<f64>,
    /// The strengths to make: one, two when one cannot serve all doses, none when two cannot.
    pub make: Vec<StrengthAdvice>,
    /// Why there is none.
    pub why_none: Option<String>,
}

/// One strength to make.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StrengthAdvice {
    /// Strength, g/kg of pure salt.
    pub g_per_kg: f64,
    /// Salt from the bag to make `total_g`, rounded to the balance.
    pub salt_g: f64,
    /// Salt and water together, g.
    pub total_g: f64,
    /// Smallest and largest dose, mL per bottle.
    pub doses_ml: [f64; 2],
    /// Expanded error of the smallest dose, %.
    pub error_percent: f64,
    /// When the salt is too little for the balance: grams of the stock as it is now, to be filled
    /// to `total_g`.
    pub dilute_g: Option<f64>,
}

impl AdviceReport {
    /// Advises for the stocks of some planned flights.
    ///
    /// # Errors
    /// When no dose can keep the limits.
    pub fn new(
        flights: &[(Flight, Order, MixReport)],
        stocks: &[(Stock, Bottle)],
        tools: &Tools,
        requirements: DoseRequirements,
    ) -> Result<Self, AdviceError> {
        let window = Window::new(tools, requirements);
        if window.least >= window.most {
            return Err(AdviceError {
                least_ml: window.least,
                most_ml: window.most,
                error_percent: 100.0 * requirements.error.value(),
                shared_percent: 100.0 * COVERAGE * tools.shared_dose_error().standard(),
            });
        }
        let reports: Vec<MixReport> = flights.iter().map(|(.., report)| report.clone()).collect();
        let now: Vec<Stock> = stocks.iter().map(|(stock, _)| stock.clone()).collect();
        let first = doses(&reports, &now);
        let mut seen = first.clone();
        let mut advice = Advised::new(stocks, &first, &first, tools, &window);
        let first_advice = advice.clone();
        let mut checked = None;
        for _ in 0..ROUNDS {
            let Some(reports) = advice.planned_again(flights) else { break };
            let again = doses(&reports, &advice.stocks);
            checked = range(&reports);
            if checked.is_some_and(|c| window.holds(c)) {
                break;
            }
            for (all, new) in seen.iter_mut().zip(&again) {
                all.extend(new);
            }
            advice = Advised::new(stocks, &first, &seen, tools, &window);
        }
        if !checked.is_some_and(|c| window.holds(c)) {
            advice = first_advice;
            checked = advice.planned_again(flights).and_then(|reports| range(&reports));
        }
        // The rounds are planned without steps, which is quick; what is said is of doses as they are measured.
        if checked.is_some() && flights.iter().any(|(_, order, _)| order.dispenser.is_some()) {
            checked = advice.planned_in_steps(flights).and_then(|reports| range(&reports));
        }
        let others_taken = match checked {
            Some(_) => advice.others_taken(flights),
            None => Vec::new(),
        };
        Ok(Self {
            others_taken,
            flights: flights.iter().map(|(.., report)| report.flight.clone()).collect(),
            checked_ml: checked,
            least_ml: window.least,
            most_ml: window.most,
            error_percent: 100.0 * requirements.error.value(),
            stocks: advice.lines,
        })
    }
}

/// With other strengths the planner may prefer other stocks for the same water. Each round adds
/// the doses it then plans to those that have to fit. Our choice: a flight that has not settled by
/// then goes back and forth.
const ROUNDS: usize = 8;

/// The doses of each stock, meq per bottle.
fn doses(reports: &[MixReport], stocks: &[Stock]) -> Vec<Vec<f64>> {
    let of = |stock: &Stock| {
        let all = reports.iter().flat_map(|r| &r.waters).flat_map(|w| &w.doses);
        let mine = all.filter(|d| d.stock == stock.name());
        mine.map(|d| d.ml_per_bottle * stock.meq_per_ml().value()).collect()
    };
    stocks.iter().map(of).collect()
}

/// Smallest and largest dose, mL per bottle.
fn range(reports: &[MixReport]) -> Option<[f64; 2]> {
    let doses = reports.iter().flat_map(|r| &r.waters).flat_map(|w| &w.doses);
    ends(doses.map(|dose| dose.ml_per_bottle))
}

/// The smallest and the largest; nothing of none.
fn ends(doses: impl Iterator<Item = f64> + Clone) -> Option<[f64; 2]> {
    Some([doses.clone().reduce(f64::min)?, doses.reduce(f64::max)?])
}

/// Advice for every stock, and the stocks as they would then be.
#[derive(Clone)]
struct Advised {
    lines: Vec<StockAdvice>,
    /// In the order of the shelf; a stock without single advice is as it is now.
    stocks: Vec<Stock>,
    /// Whether every stock that is used has one strength.
    single: bool,
}

impl Advised {
    fn new(
        stocks: &[(Stock, Bottle)],
        now: &[Vec<f64>],
        doses: &[Vec<f64>],
        tools: &Tools,
        window: &Window,
    ) -> Self {
        let mut advised = Self { lines: Vec::new(), stocks: Vec::new(), single: true };
        for (((stock, bottle), now), doses) in stocks.iter().zip(now).zip(doses) {
            let line = advise(stock, bottle, now, doses, tools, window);
            let made = line.as_ref().map_or(Some(stock.clone()), |line| made(stock, bottle, line));
            advised.single &= made.is_some();
            advised.stocks.push(made.unwrap_or_else(|| stock.clone()));
            advised.lines.extend(line);
        }
        advised
    }

    /// The flights planned with these stocks, in doses without steps; the choice of stocks of a flight and
    /// of each of its waters is kept.
    fn planned_again(&self, flights: &[(Flight, Order, MixReport)]) -> Option<Vec<MixReport>> {
        self.with_used_stocks(flights, planned)
    }

    /// The same in the steps of each flight's dispenser.
    fn planned_in_steps(&self, flights: &[(Flight, Order, MixReport)]) -> Option<Vec<MixReport>> {
        self.with_used_stocks(flights, |flight, order, stocks| {
            let dispenser = order.dispenser.clone();
            planned_as(flight, stocks, &Order { dispenser, ..without_choice(order) })
        })
    }

    fn with_used_stocks(
        &self,
        flights: &[(Flight, Order, MixReport)],
        plan: impl Fn(&Flight, &Order, &[Stock]) -> Option<MixReport>,
    ) -> Option<Vec<MixReport>> {
        if !self.single {
            return None;
        }
        let again = |(flight, order, before): &(Flight, Order, MixReport)| {
            let allowed = |s: &&Stock| before.stocks_used.iter().any(|u| u.stock == s.name());
            let stocks: Vec<Stock> = self.stocks.iter().filter(allowed).cloned().collect();
            plan(flight, order, &stocks)
        };
        flights.iter().map(again).collect()
    }

    /// The stocks that the flights would take beside those that they take now, where they may, each also in
    /// the place of another: with other strengths one that stays as it is may be the stronger one.
    fn others_taken(&self, flights: &[(Flight, Order, MixReport)]) -> Vec<String> {
        let mut others: Vec<String> = Vec::new();
        for (flight, order, before) in flights.iter().filter(|f| f.1.stock_set == StockSet::Any) {
            let is_known = |stock: &str| before.stocks_used.iter().any(|u| u.stock == stock);
            // Kept out, the next one may take its place.
            let mut found: Vec<String> = Vec::new();
            loop {
                let is_in = |stock: &&Stock| !found.iter().any(|other| other == stock.name());
                let stocks: Vec<Stock> = self.stocks.iter().filter(is_in).cloned().collect();
                let Some(report) = planned(flight, order, &stocks) else { break };
                let used = report.stocks_used.into_iter().map(|used| used.stock);
                let new: Vec<String> = used.filter(|stock| !is_known(stock)).collect();
                if new.is_empty() {
                    break;
                }
                found.extend(new);
            }
            others.extend(found);
        }
        others.sort();
        others.dedup();
        others
    }
}

/// A flight planned in doses without steps, each water with the stocks that it may have.
fn planned(flight: &Flight, order: &Order, stocks: &[Stock]) -> Option<MixReport> {
    planned_as(flight, stocks, &without_choice(order))
}

/// The rules and the style of a flight, without its dispenser and without a choice of stocks.
fn without_choice(order: &Order) -> Order {
    Order { rules: order.rules.clone(), style: order.style.clone(), ..Order::default() }
}

fn planned_as(flight: &Flight, stocks: &[Stock], order: &Order) -> Option<MixReport> {
    let planned = plan_order(flight, stocks, order, TIME_LIMIT).ok()?;
    let is_whole = planned.unanswered.is_empty();
    is_whole.then(|| MixReport::new(flight, stocks, &planned.plans).ok()).flatten()
}

/// The stock of the one strength that was advised.
fn made(stock: &Stock, bottle: &Bottle, line: &StockAdvice) -> Option<Stock> {
    if line.now_will_do {
        return Some(stock.clone());
    }
    let [make] = line.make.as_slice() else { return None };
    let lot = bottle.written.recipe().lot.clone();
    let salt = Grams::new(make.total_g * make.g_per_kg / 1000.0 / lot.compound_share());
    let making = Making::ToTotalMass { salt, total: Grams::new(make.total_g) };
    Stock::new(Recipe { lot, making, ..stock.recipe().clone() }).ok()
}

/// Why there is no advice.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("{}", words(self))]
pub struct AdviceError {
    /// Smallest dose with the error allowed, mL; infinite where no dose is right to it.
    pub least_ml: f64,
    /// Largest sensible dose, mL.
    pub most_ml: f64,
    /// Largest expanded error of a single dose that is allowed, %.
    pub error_percent: f64,
    /// Expanded error that all doses share, %.
    pub shared_percent: f64,
}

fn words(error: &AdviceError) -> String {
    let wanted = format!("each dose is to be right to ± {} % (k = 2)", plain(error.error_percent));
    if error.least_ml.is_finite() {
        return format!(
            "{wanted}: it would have to be at least {:.2} mL for that, and at most {:.2} mL",
            error.least_ml, error.most_ml
        );
    }
    if error.shared_percent >= error.error_percent {
        return format!(
            "{wanted}, and all doses of this dispenser are off together by ± {} %",
            plus_minus(error.shared_percent)
        );
    }
    format!("{wanted}, and this dispenser gives none that is, in however many strokes")
}

fn advise(
    stock: &Stock,
    bottle: &Bottle,
    now_doses: &[f64],
    doses: &[f64],
    tools: &Tools,
    window: &Window,
) -> Option<StockAdvice> {
    let now = stock.meq_per_ml().value();
    let now_ml = ends(now_doses.iter().copied())?.map(|dose| dose / now);
    let [smallest, largest] = ends(doses.iter().copied())?;
    let (low, high) = (largest / window.most, smallest / window.least);
    let make = |strength: f64| Candidate::new(stock, bottle, tools, strength);
    let mut why_none = None;
    let mut chosen: Vec<Candidate> = Vec::new();
    if low <= high {
        chosen.extend(round_between(low, high, (low * high).sqrt(), &make));
        if chosen.is_empty() {
            why_none = Some(format!(
                "the weakest that keeps doses below {:.1} mL would not stay dissolved",
                window.most
            ));
        }
    } else {
        // The strong one serves the doses from the largest down, the weak one the others; between them
        // no dose is left out.
        let reach = window.most / window.least;
        let weak = round_between(low / reach, high, high, &make);
        let strong = weak.and_then(|weak| round_between(low, weak.meq_per_ml * reach, low, &make));
        if let (Some(weak), Some(strong)) = (weak, strong) {
            chosen.extend([weak, strong]);
        } else if round_between(low, f64::INFINITY, low, &make).is_none() {
            why_none = Some("what the largest dose needs would not stay dissolved".to_owned());
        } else if largest / smallest > reach * reach {
            why_none = Some(format!(
                "the largest dose is {:.0} times the smallest, too much even for two bottles, which \
                 reach {:.0} times",
                largest / smallest,
                reach * reach
            ));
        } else {
            why_none = Some("what the smallest dose needs is weaker than can be made".to_owned());
        }
    }
    let make = split(&chosen, doses, stock, tools, window);
    Some(StockAdvice {
        stock: stock.name().to_owned(),
        now_g_per_kg: stock.g_per_kg(),
        now_ml,
        now_will_do: window.holds([smallest / now, largest / now]),
        strongest_g_per_kg: solubility::strongest_g_per_kg(&stock.recipe().salt, bottle.storage),
        make,
        why_none,
    })
}

/// Which strength serves which doses: each dose is poured from the strongest that still gives
/// enough millilitres.
fn split(
    chosen: &[Candidate],
    doses: &[f64],
    now: &Stock,
    tools: &Tools,
    window: &Window,
) -> Vec<StrengthAdvice> {
    let served = |candidate: &Candidate| {
        let stronger = chosen.iter().filter(|c| c.meq_per_ml > candidate.meq_per_ml);
        let best = stronger.map(|c| c.meq_per_ml).reduce(f64::max);
        let takes = |dose: f64, strength: f64| dose / strength;
        let mine: Vec<f64> = doses
            .iter()
            .filter(|dose| best.is_none_or(|s| takes(**dose, s) < window.least * (1.0 - ROUNDING)))
            .filter(|dose| takes(**dose, candidate.meq_per_ml) >= window.least * (1.0 - ROUNDING))
            .map(|dose| takes(*dose, candidate.meq_per_ml))
            .collect();
        let doses_ml = ends(mine.into_iter())?;
        let salt = TOTAL_G * candidate.salt_per_g;
        let step = tools.weighs(Grams::new(salt)).resolution.value();
        Some(StrengthAdvice {
            g_per_kg: candidate.g_per_kg,
            salt_g: (salt / step).round() * step,
            total_g: TOTAL_G,
            doses_ml,
            error_percent: window.error_percent(doses_ml[0]),
            dilute_g: (!candidate.weighable && candidate.g_per_kg < now.g_per_kg())
                .then(|| TOTAL_G * candidate.g_per_kg / now.g_per_kg()),
        })
    };
    chosen.iter().filter_map(served).collect()
}
