//! What a flight asks of the bench beyond its targets: a dispenser, which stocks may be opened,
//! what is left in them.

use std::borrow::Cow;
use std::num::NonZeroU32;

use crate::flight::{Dispenser, Flight, Style};
use crate::quantities::Millilitres;

/// How many stocks the whole flight may open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StockSet {
    /// Any of the shelf.
    #[default]
    Any,
    /// As few as serve every target as well as the whole shelf does.
    Fewest,
    /// At most so many, chosen for the best flight.
    AtMost(usize),
    /// The same in every water: each takes at least the dispenser's least amount of each of them.
    Same,
}

/// Which stocks one water must or must not have.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StockRule {
    /// Names of stocks that stay out of it.
    pub without: Vec<String>,
    /// Names of stocks that must be in it.
    pub with: Vec<String>,
}

/// What a flight asks of the bench.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Order {
    /// What doses are measured out with; without one they are continuous.
    pub dispenser: Option<Dispenser>,
    /// How many stocks may be opened.
    pub stock_set: StockSet,
    /// One rule for each target, in the order of the flight.
    pub rules: Vec<StockRule>,
    /// What is left in a bottle of stock, for all bottles of the flight together.
    pub left: Vec<(String, Millilitres)>,
    /// Bottles of each water that this is for; one when nothing is said.
    pub bottles: Option<NonZeroU32>,
    /// Where the composition of a target comes from, in the order of the flight; nothing for one
    /// of goals.
    pub pinned: Vec<Option<Pinned>>,
    /// The style that all waters are made in, where one is asked for.
    pub style: Option<Style>,
}

/// Where the composition of a target comes from that is pinned and not left to goals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Pinned {
    /// From a session: the water as it was planned for it.
    Tasted {
        /// Session that tasted it.
        session: String,
        /// The name of the water there.
        water: String,
        /// The day of its plan.
        day: String,
    },
    /// From the flight's file.
    Composition,
    /// From the salts of the flight's file.
    MadeOf {
        /// Their formulas.
        salts: Vec<String>,
    },
}

impl Order {
    /// Where the composition of a target comes from; nothing for one of goals.
    #[must_use]
    pub fn pinned(&self, target: usize) -> Option<&Pinned> {
        self.pinned.get(target).and_then(Option::as_ref)
    }

    /// The rule of a target.
    #[must_use]
    pub fn rule(&self, target: usize) -> StockRule {
        self.rules.get(target).cloned().unwrap_or_default()
    }

    /// The least of each stock that a style has in every bottle; nothing with a dispenser, whose least it
    /// then is.
    #[must_use]
    pub fn least_of_each(&self) -> Option<Millilitres> {
        match &self.style {
            Some(Style::SameSalts { stocks, least, .. })
                if !stocks.is_empty() && self.dispenser.is_none() =>
            {
                Some(*least)
            }
            _ => None,
        }
    }

    /// A flight with the least of each stock that a style has in every bottle among its limits.
    #[must_use]
    pub fn with_least_of_each<'a>(&self, flight: &'a Flight) -> Cow<'a, Flight> {
        match self.least_of_each() {
            Some(least) => Cow::Owned(flight.with_least_of_each(least)),
            None => Cow::Borrowed(flight),
        }
    }

    /// Bottles of each water that what is left must do for.
    #[must_use]
    pub fn bottles_of_each(&self) -> f64 {
        f64::from(self.bottles.map_or(1, NonZeroU32::get))
    }

    /// The same asked of a new flight of so many targets, each ruled as the target at this place; around
    /// a pinned one, whose stocks follow from its composition, as all targets are.
    #[must_use]
    pub fn around(&self, target: usize, count: usize) -> Self {
        match self.pinned(target) {
            Some(_) => self.for_others(count),
            None => self.of_new(self.rule(target), count),
        }
    }

    /// The same asked of a new flight of so many other targets: what the rules of all targets share.
    #[must_use]
    pub fn for_others(&self, count: usize) -> Self {
        let mut shared = self.rule(0);
        // The rule of a pinned target alone follows from its composition.
        if self.rules.len() < 2 && self.pinned(0).is_some() {
            shared = StockRule::default();
        }
        for rule in &self.rules {
            shared.with.retain(|stock| rule.with.contains(stock));
            shared.without.retain(|stock| rule.without.contains(stock));
        }
        self.of_new(shared, count)
    }

    fn of_new(&self, rule: StockRule, count: usize) -> Self {
        Self {
            dispenser: self.dispenser.clone(),
            stock_set: self.stock_set,
            rules: vec![rule; count],
            left: self.left.clone(),
            bottles: self.bottles,
            pinned: Vec::new(),
            style: None,
        }
    }

    /// Whether a stock may be in a target.
    #[must_use]
    pub fn allows(&self, target: usize, stock: &str) -> bool {
        self.rules.get(target).is_none_or(|rule| !rule.without.iter().any(|n| n == stock))
    }

    /// Whether a stock must be in a target.
    #[must_use]
    pub fn requires(&self, target: usize, stock: &str) -> bool {
        self.rules.get(target).is_some_and(|rule| rule.with.iter().any(|n| n == stock))
    }
}
