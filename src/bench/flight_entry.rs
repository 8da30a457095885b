//! A flight as written.

use std::collections::HashSet;
use std::path::Path;

use serde::Deserialize;

use crate::bench::folders::{Unread, stocks_known, unread_in};
use crate::bench::limits_entry::LimitsEntry;
use crate::bench::order_entry;
use crate::bench::order_entry::StockSetEntry;
use crate::bench::pinned_entry::{PinnedContext, PinnedTarget};
use crate::bench::place;
use crate::bench::style_entry::StyleEntry;
use crate::bench::target_entry::{TargetEntry, goal_of};
use crate::files::{Diagnostic, Mistakes, SourceText, Written};
use crate::flight::style::{PAIRS, StyleAsked};
use crate::flight::{
    BaseShare, Convention, Dispenser, DoseLimits, Flight, MissRule, Order, Pinned, Preference,
    Subject, Target,
};
use crate::quantities::{Dimension, Fraction, Litres, Quantity};
use crate::stock::{Catalogue, Stock};
use crate::text::names;
use crate::water::base_water::DISTILLED;
use crate::water::{BaseWater, Measure};

/// A flight file as written.
#[derive(Debug, Deserialize)]
#[serde(rename = "Flight", deny_unknown_fields)]
pub(super) struct FlightEntry {
    title: Written,
    base: Option<Vec<Written>>,
    bottle: Written,
    #[serde(default)]
    convention: ConventionEntry,
    #[serde(default)]
    misses: MissEntry,
    #[serde(default)]
    prefer: PreferEntry,
    stocks: Option<Vec<Written>>,
    dispenser: Option<Written>,
    #[serde(default)]
    stock_set: StockSetEntry,
    #[serde(default)]
    left: Vec<(Written, Written)>,
    #[serde(default)]
    limits: LimitsEntry,
    #[serde(default)]
    style: StyleEntry,
    targets: Vec<TargetEntry>,
}

#[derive(Debug, Default, Deserialize)]
enum ConventionEntry {
    #[default]
    MadeUpToALitre,
    AddedToALitre,
}

#[derive(Debug, Default, Deserialize)]
enum MissEntry {
    #[default]
    Sum,
    Largest,
}

#[derive(Debug, Default, Deserialize)]
enum PreferEntry {
    #[default]
    LeastVolume,
    LeastSodium,
    LeastCost,
    FewestStocks,
}

/// What the names of a flight mean.
#[derive(Debug, Clone, Copy)]
pub(super) struct FlightNames<'a> {
    /// The bench.
    pub(super) root: &'a Path,
    /// All salts.
    pub(super) salts: &'a Catalogue,
    /// All base waters.
    pub(super) waters: &'a [BaseWater],
    /// All stocks.
    pub(super) shelf: &'a [Stock],
    /// What doses can be measured out with.
    pub(super) dispensers: &'a [Dispenser],
    /// Files of the bench that cannot be read.
    pub(super) unread: &'a [Unread],
}

/// Our choice: the smallest bottle of a flight, mL. A sip is ten times as much.
pub(crate) const LEAST_BOTTLE_ML: f64 = 1.0;

/// What the size of a bottle is written like, for messages.
pub(crate) const BOTTLE_IS: &str = "a volume of 1 mL or more, as in \"500 mL\"";

impl FlightEntry {
    /// The flight as meant, with the stocks it may use, in the order of the shelf.
    ///
    /// # Errors
    /// All that is wrong with it; what follows from parts that cannot be read is not looked at.
    pub(super) fn into_flight(
        self,
        source: &SourceText,
        context: FlightNames<'_>,
    ) -> Result<(Flight, Vec<Stock>, Order, StyleAsked), Mistakes> {
        let mut wrong = Mistakes::default();
        let title = wrong.take(place::name(source, &self.title));
        let base = wrong.take(self.base_waters(source, context.waters, context.unread));
        let stocks = wrong.take(self.stocks(source, context.shelf, context.unread));
        let bottle = wrong.take(self.bottle(source));
        let limits = wrong.take(self.limits.meant(source));
        let style = wrong.take(self.style.meant(source));
        if self.targets.is_empty() {
            let empty = place::at(source, &self.title, "this flight is empty")
                .found("no target at all")
                .expected("at least one `Target( name: …, goals: ( … ) )` in `targets`");
            wrong.push(empty);
        }
        let order = stocks.as_ref().map(|stocks| self.order(source, stocks, context.dispensers));
        let order = order.and_then(|order| wrong.take(order));
        let (Some(base), Some(stocks), Some(style)) = (base, stocks, style) else {
            return Err(wrong.and(self.unread_goals(source)));
        };
        let mut order = order.unwrap_or_default();
        let known = PinnedContext {
            root: context.root,
            salts: context.salts,
            stocks: &stocks,
            base: &base,
        };
        let mut taken = HashSet::new();
        let mut targets: Vec<Target> = Vec::with_capacity(self.targets.len());
        for (n, entry) in self.targets.iter().enumerate() {
            let Some((target, pinned, without)) = wrong.take(entry.meant(source, known)) else {
                continue;
            };
            if !taken.insert(names::folded(&target.name)) {
                wrong.push(place::duplicate(source, &entry.name, "target", "above"));
            }
            wrong.take(entry.keeps_to(source, &style));
            if let Some(rule) = order.rules.get_mut(n) {
                rule.without.extend(without);
            }
            targets.push(target);
            order.pinned.push(pinned);
        }
        wrong.take(self.asks_of_all(source, &base, &stocks, &style));
        match (title, bottle, limits) {
            (Some(title), Some(bottle), Some(limits)) if wrong.is_empty() => {
                let flight = self.flight(title, base, bottle, limits, targets);
                Ok((flight, stocks, order, style))
            }
            _ => Err(wrong),
        }
    }

    /// Every goal that cannot be read; what needs the shelf is not looked at.
    pub(super) fn unread_goals(&self, source: &SourceText) -> Mistakes {
        let goals = self.targets.iter().flat_map(|target| &target.goals.0);
        goals.filter_map(|(key, leaf)| goal_of(source, key, leaf).err()).collect()
    }

    /// The flight of parts that were read.
    fn flight(
        &self,
        title: String,
        base: Vec<BaseShare>,
        bottle: Litres,
        limits: DoseLimits,
        targets: Vec<Target>,
    ) -> Flight {
        Flight {
            title,
            base,
            bottle,
            convention: match self.convention {
                ConventionEntry::MadeUpToALitre => Convention::MadeUpToALitre,
                ConventionEntry::AddedToALitre => Convention::AddedToALitre,
            },
            misses: match self.misses {
                MissEntry::Sum => MissRule::Sum,
                MissEntry::Largest => MissRule::Largest,
            },
            preference: match self.prefer {
                PreferEntry::LeastVolume => Preference::LeastVolume,
                PreferEntry::LeastSodium => Preference::LeastSodium,
                PreferEntry::LeastCost => Preference::LeastCost,
                PreferEntry::FewestStocks => Preference::FewestStocks,
            },
            limits,
            targets,
        }
    }

    /// The size of a bottle.
    fn bottle(&self, source: &SourceText) -> Result<Litres, Diagnostic> {
        let millilitres = place::amount(source, &self.bottle, &[Dimension::Volume])?;
        let what = if millilitres <= 0.0 {
            ("a bottle needs a size", "a volume above zero, as in \"500 mL\"")
        } else if millilitres < LEAST_BOTTLE_ML {
            ("nobody can fill so small a bottle", BOTTLE_IS)
        } else {
            return Ok(Litres::new(millilitres / 1000.0));
        };
        Err(place::wrong(source, &self.bottle, what.0).expected(what.1))
    }

    /// That what the flight asks of all its waters was measured, and its stocks have prices.
    fn asks_of_all(
        &self,
        source: &SourceText,
        base: &[BaseShare],
        stocks: &[Stock],
        style: &StyleAsked,
    ) -> Result<(), Diagnostic> {
        if matches!(style, StyleAsked::SameRatios | StyleAsked::Ratios(_)) {
            for measure in PAIRS.into_iter().flat_map(|(of, to)| [of, to]) {
                let what = "the style of this flight";
                place::measured(source, &self.title, base, Subject::Measure(measure), what)?;
            }
        }
        match self.prefer {
            PreferEntry::LeastSodium => {
                let sodium = Subject::Measure(Measure::Sodium);
                place::measured(source, &self.title, base, sodium, "the least sodium")
            }
            PreferEntry::LeastCost => priced(source, &self.title, stocks),
            _ => Ok(()),
        }
    }

    fn order(
        &self,
        source: &SourceText,
        stocks: &[Stock],
        dispensers: &[Dispenser],
    ) -> Result<Order, Diagnostic> {
        let named = self.dispenser.as_ref();
        let dispenser =
            named.map(|leaf| order_entry::dispenser(source, leaf, dispensers)).transpose()?;
        let rules = self
            .targets
            .iter()
            .map(|t| order_entry::rule(source, &t.with, &t.without, stocks, dispenser.as_ref()))
            .collect::<Result<Vec<_>, _>>()?;
        let left = order_entry::left(source, &self.left, stocks)?;
        let stock_set = self.stock_set.meant(source)?;
        order_entry::same_needs_dispenser(source, &self.title, stock_set, dispenser.as_ref())?;
        Ok(Order { dispenser, stock_set, rules, left, ..Order::default() })
    }

    fn base_waters(
        &self,
        source: &SourceText,
        waters: &[BaseWater],
        unread: &[Unread],
    ) -> Result<Vec<BaseShare>, Diagnostic> {
        let Some(entries) = self.base.as_ref().filter(|e| !e.is_empty()) else {
            let water = distilled(waters);
            return Ok(vec![BaseShare { water, at_most: Fraction::new(1.0) }]);
        };
        let mut shares: Vec<BaseShare> = Vec::new();
        for leaf in entries {
            let share = base_share(source, leaf, (waters, unread))?;
            if shares.iter().any(|s| s.water.name == share.water.name) {
                return Err(place::duplicate(source, leaf, "base water", "above"));
            }
            shares.push(share);
        }
        let together: f64 = shares.iter().map(|s| s.at_most.value()).sum();
        if together < 1.0
            && let Some(leaf) = entries.last()
        {
            return Err(place::at(source, leaf, "the base waters cannot fill a bottle")
                .found(format!("at most {:.0} % together", together * 100.0))
                .expected("shares that reach 100 % together")
                .remedy(format!("add another base water, for example \"{DISTILLED}\"")));
        }
        Ok(shares)
    }

    /// The stocks it names; all there are where it names none, which then must be known.
    fn stocks(
        &self,
        source: &SourceText,
        shelf: &[Stock],
        unread: &[Unread],
    ) -> Result<Vec<Stock>, Diagnostic> {
        let Some(names) = &self.stocks else {
            stocks_known(unread).map_err(Mistakes::into_first)?;
            return Ok(shelf.to_vec());
        };
        let mut wanted: Vec<&str> = Vec::new();
        for leaf in names {
            let known: Vec<&str> = shelf.iter().map(Stock::name).collect();
            let meant = names::meant(leaf.text(), &known).ok_or_else(|| {
                let wrong = unread_in(unread, "stocks", leaf.text()).cloned();
                wrong.unwrap_or_else(|| place::unknown(source, leaf, ("stock", " here"), &known))
            })?;
            if wanted.contains(&meant) {
                return Err(place::duplicate(source, leaf, "stock", "above"));
            }
            wanted.push(meant);
        }
        Ok(shelf.iter().filter(|s| wanted.contains(&s.name())).cloned().collect())
    }
}

/// Distilled water as the bench knows it, with its price.
fn distilled(waters: &[BaseWater]) -> BaseWater {
    waters.iter().find(|w| w.name == DISTILLED).cloned().unwrap_or_else(BaseWater::distilled)
}

/// The least cost can only be found where every stock has a price.
fn priced(source: &SourceText, title: &Written, stocks: &[Stock]) -> Result<(), Diagnostic> {
    let without: Vec<&str> =
        stocks.iter().filter(|s| s.price_per_ml().is_none()).map(Stock::name).collect();
    if without.is_empty() {
        return Ok(());
    }
    Err(place::at(source, title, "the least cost cannot be found without prices")
        .found(format!("`prefer: LeastCost`, and no price of {}", without.join(", ")))
        .expected("`lot: (price: \"6.40 per kg\")` in the file of every stock"))
}

/// `"harbour tap"` or `"harbour tap, at most 50 %"`.
fn base_share(
    source: &SourceText,
    leaf: &Written,
    (waters, unread): (&[BaseWater], &[Unread]),
) -> Result<BaseShare, Diagnostic> {
    let (name, limit) = match leaf.text().split_once(',') {
        Some((name, limit)) => (name.trim(), Some(limit.trim())),
        None => (leaf.text().trim(), None),
    };
    let water = if name.eq_ignore_ascii_case(DISTILLED) {
        distilled(waters)
    } else {
        let known: Vec<&str> = waters.iter().map(|w| w.name.as_str()).collect();
        let meant = names::meant(name, &known);
        let found = waters.iter().find(|w| Some(w.name.as_str()) == meant);
        found.cloned().ok_or_else(|| {
            let wrong = unread_in(unread, "waters", name).cloned();
            wrong.unwrap_or_else(|| place::unknown(source, leaf, ("base water", " here"), &known))
        })?
    };
    let at_most = match limit {
        None => 1.0,
        Some(limit) => {
            let percent = limit
                .strip_prefix("at most")
                .and_then(|rest| Quantity::parse_as(rest, &[Dimension::Percent]).ok());
            percent.filter(|share| *share <= 1.0).ok_or_else(|| {
                place::at(source, leaf, "this is no limit on a share")
                    .found(format!("`{limit}`"))
                    .expected("\"name, at most 50 %\"")
            })?
        }
    };
    Ok(BaseShare { water, at_most: Fraction::new(at_most) })
}

impl TargetEntry {
    /// The target, where its composition comes from if it is pinned, and the stocks that then stay
    /// out of it.
    fn meant(
        &self,
        source: &SourceText,
        known: PinnedContext<'_>,
    ) -> Result<(Target, Option<Pinned>, Vec<String>), Mistakes> {
        let name = place::name(source, &self.name)?;
        let has_goals = !self.goals.0.is_empty() || !self.ratios.is_empty();
        match self.pinned(source, &name, known)? {
            Some(_) if has_goals => {
                Err(place::at(source, &self.name, format!("`{name}` is pinned and has goals"))
                    .expected("goals, or one of `tasted`, `composition` and `made_of`")
                    .remedy("keep one of the two")
                    .into())
            }
            Some(PinnedTarget { target, from, without }) => {
                for goal in &target.goals {
                    let what = "this composition";
                    place::measured(source, &self.name, known.base, goal.subject, what)?;
                }
                Ok((target, Some(from), without))
            }
            None => Ok((self.of_goals(source, name, known.base)?, None, Vec::new())),
        }
    }
}
