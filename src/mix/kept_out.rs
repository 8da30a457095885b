//! What keeps a water out of reach of its flight though its goals, or the whole shelf, would allow it.

use serde::Serialize;

use crate::flight::{Order, StockSet, Style, Target};
use crate::planner::Plan;
use crate::quantities::{Millilitres, show};

/// What a flight asks beyond the goals of a water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Asked {
    /// Doses in the steps of a dispenser.
    Dispenser,
    /// What is left of the stocks.
    Left,
    /// How many stocks are opened.
    StockSet,
    /// Stocks that must be in the water.
    With,
    /// Stocks that must not be in it.
    Without,
    /// The style of the flight, which leaves stocks out.
    Style,
}

/// Why a water that would be in reach is not; each was tried.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeptOut {
    /// What the flight asks: without any one of these the water is in reach, or without all of them.
    pub by: Vec<Asked>,
    /// Whether one of them less is enough.
    pub each_alone: bool,
    /// What the water of the flight misses; empty where it has no answer.
    pub missed: Vec<String>,
    /// Whether the goals can be kept with the stocks that the water may have, in doses of any size.
    #[serde(skip)]
    are_possible: bool,
    /// What they are called.
    #[serde(skip)]
    words: Vec<String>,
}

impl Asked {
    /// What a flight asks of the water at this place, beyond goals and stocks that stay out of it.
    #[must_use]
    pub fn of(order: &Order, place: usize) -> Vec<Self> {
        let with = !order.rule(place).with.is_empty();
        let asked = [
            (Self::Dispenser, order.dispenser.is_some()),
            (Self::Left, !order.left.is_empty()),
            (Self::StockSet, order.stock_set != StockSet::Any),
            (Self::With, with),
            (Self::Style, order.least_of_each().is_some()),
        ];
        asked.into_iter().filter(|(_, is)| *is).map(|(asked, _)| asked).collect()
    }

    /// The same in words.
    #[must_use]
    pub fn all_in_words(order: &Order, place: usize) -> Vec<String> {
        Self::of(order, place).into_iter().map(|asked| asked.words(order, place)).collect()
    }

    /// The order without it.
    #[must_use]
    pub fn taken_from(self, order: &Order, place: usize) -> Order {
        let mut order = order.clone();
        match self {
            // Without a dispenser nothing has a least dose.
            Self::Dispenser => {
                order.dispenser = None;
                if order.stock_set == StockSet::Same {
                    order.stock_set = StockSet::Any;
                }
            }
            Self::Left => order.left.clear(),
            Self::StockSet => order.stock_set = StockSet::Any,
            Self::With => {
                if let Some(rule) = order.rules.get_mut(place) {
                    rule.with.clear();
                }
            }
            Self::Without | Self::Style => {
                order.style = None;
                if let Some(rule) = order.rules.get_mut(place) {
                    rule.without.clear();
                }
            }
        }
        order
    }

    /// What keeps stocks out of the water at this place.
    #[must_use]
    pub fn leaving_out(order: &Order) -> Self {
        match &order.style {
            Some(Style::SameSalts { .. }) => Self::Style,
            _ => Self::Without,
        }
    }

    /// What it is called in a sentence.
    #[must_use]
    pub fn words(self, order: &Order, place: usize) -> String {
        match self {
            Self::Dispenser => order.dispenser.as_ref().map_or(String::new(), |d| {
                let amount = |v: f64| format!("{} {}", show::plain(v), d.step.unit());
                let (step, least) = (amount(d.step.value()), amount(d.least));
                format!("the steps of `{}` ({step}, at least {least})", d.name)
            }),
            Self::Left => {
                let one = |(name, ml): &(String, Millilitres)| {
                    format!("{name} {} mL", show::plain(ml.value()))
                };
                let left: Vec<String> = order.left.iter().map(one).collect();
                format!("what is left of the stocks ({})", left.join(", "))
            }
            Self::StockSet => match order.stock_set {
                StockSet::AtMost(most) => format!("the number of stocks (at most {most})"),
                StockSet::Same => "the same stocks in every water".to_owned(),
                StockSet::Any | StockSet::Fewest => "the number of stocks (the fewest)".to_owned(),
            },
            Self::With => format!("what must be in it ({})", order.rule(place).with.join(", ")),
            Self::Without => {
                format!("what must not be in it ({})", order.rule(place).without.join(", "))
            }
            Self::Style => match &order.style {
                Some(Style::SameSalts { stocks, least, .. }) => format!(
                    "the style of the flight ({} in every water, at least {} mL of each in a bottle)",
                    stocks.join(", "),
                    show::plain(least.value())
                ),
                _ => "the style of the flight".to_owned(),
            },
        }
    }
}

/// A goal that is missed: `sodium 12.3, wanted at most 10 mg/L`.
pub(crate) fn missed_words(measure: &str, got: Option<f64>, wanted: &str) -> String {
    let got = got.map_or("undefined".to_owned(), show::three_figures);
    format!("{} {got}, wanted {wanted}", measure.replace('_', " "))
}

/// Says of an answer in doses of any size what the flight asks as well; nothing where it asks nothing.
pub(crate) fn any_size(not_counted: &[String]) -> Option<String> {
    let asked = not_counted.join(", and not ");
    (!asked.is_empty()).then(|| format!("In doses of any size: not with {asked}."))
}

impl KeptOut {
    /// A water of a flight that is kept out by what the flight asks; `plan` is that of the flight.
    #[must_use]
    pub fn new(
        (by, each_alone, are_possible): (Vec<Asked>, bool, bool),
        (order, place): (&Order, usize),
        (target, plan): (&Target, Option<&Plan>),
    ) -> Self {
        let results = plan.map_or(&[][..], |plan| &plan.goals);
        let missed = target.goals.iter().zip(results).filter(|(_, result)| !result.reached);
        let missed = missed.map(|(goal, result)| {
            let got = result.got.map(|got| goal.in_unit(got));
            missed_words(&goal.subject.key(), got, &goal.words())
        });
        let missed = missed.collect();
        let words = by.iter().map(|asked| asked.words(order, place)).collect();
        Self { by, each_alone, missed, are_possible, words }
    }

    /// Whether the goals could be kept with the stocks that the water may have, in doses of any size.
    #[must_use]
    pub fn goals_are_possible(&self) -> bool {
        self.are_possible
    }

    /// The reason, in a sentence.
    #[must_use]
    pub fn sentence(&self) -> String {
        let reason = match self.words.as_slice() {
            [only] => format!(
                "What keeps it out is {only}; without that it is in reach, which was tried."
            ),
            several if self.each_alone => {
                let each: Vec<String> =
                    several.iter().map(|one| format!("without {one}")).collect();
                format!("It would be in reach {}; each was tried.", each.join(", or "))
            }
            several => format!("What keeps it out is {}, together.", several.join(" and ")),
        };
        let salts = if self.goals_are_possible() {
            "Its goals can be kept with these salts, in doses of any size. "
        } else {
            ""
        };
        let missed = match self.missed.as_slice() {
            [] => String::new(),
            missed => format!(" As `mix` makes it: {}.", missed.join("; ")),
        };
        format!("{salts}{reason}{missed}")
    }
}
