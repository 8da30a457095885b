//! Targets and waters as tables that can be read back.

use crate::chemistry::Conserved;
use crate::flight::ladder::words;
use crate::flight::{Flight, Order, StockRule};
use crate::planner::Plan;
use crate::quantities::{Unit, show};
use crate::stock::{Price, Stock};
use crate::water::{BaseWater, Measure};

/// Heads and rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The heads, each with its unit.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

/// What stands between the stocks of one cell: their names may hold commas.
pub const BETWEEN_STOCKS: &str = "; ";

/// One of the two lists of a rule.
type Named = fn(&StockRule) -> &[String];

/// The targets of a flight: one column for each measure or ratio that has a goal, in the unit of
/// its first goal; a goal in another unit carries that in its cell. The stocks that a target must and must
/// not have stand in two more columns, where there are any.
#[must_use]
pub fn targets(flight: &Flight, order: &Order) -> Table {
    let mut columns: Vec<(String, Unit)> = Vec::new();
    for goal in flight.targets.iter().flat_map(|t| &t.goals) {
        let key = goal.subject.key();
        if !columns.iter().any(|(known, _)| *known == key) {
            columns.push((key, goal.unit));
        }
    }
    let mut heads = vec!["name".to_owned()];
    heads.extend(columns.iter().map(|(key, unit)| format!("{key} [{}]", unit.symbol())));
    let lists: [(&str, Named); 2] =
        [("with", |rule| &rule.with), ("without", |rule| &rule.without)];
    // That of a pinned target follows from its composition.
    let rule_of = |n: usize| match order.pinned(n) {
        Some(_) => StockRule::default(),
        None => order.rule(n),
    };
    let rules: Vec<StockRule> = (0..flight.targets.len()).map(rule_of).collect();
    let is_said = |(_, of): &(&str, Named)| rules.iter().any(|rule| !of(rule).is_empty());
    let lists: Vec<(&str, Named)> = lists.into_iter().filter(is_said).collect();
    heads.extend(lists.iter().map(|(head, _)| (*head).to_owned()));
    let rows = flight
        .targets
        .iter()
        .zip(&rules)
        .map(|(target, rule)| {
            let mut row = vec![target.name.clone()];
            row.extend(columns.iter().map(|(key, unit)| {
                let goal = target.goals.iter().find(|g| g.subject.key() == *key);
                goal.map_or(String::new(), |g| {
                    let text = words(g);
                    if g.unit == *unit {
                        text.replacen(&format!(" {}", unit.symbol()), "", 1)
                    } else {
                        text
                    }
                })
            }));
            row.extend(lists.iter().map(|(_, of)| of(rule).join(BETWEEN_STOCKS)));
            row
        })
        .collect();
    Table { heads, rows }
}

/// The constituents of an analysis, with the keys they are read back under.
fn constituents() -> impl Iterator<Item = (&'static str, Conserved)> {
    Measure::constituents().filter_map(|measure| Some((measure.key(), measure.constituent()?)))
}

/// Millilitres in a litre.
const ML_PER_L: f64 = 1000.0;

fn heads() -> Vec<String> {
    let constituents = constituents().map(|(key, _)| format!("{key} [mg/L]"));
    std::iter::once("name".to_owned()).chain(constituents).collect()
}

/// Whether calcium and magnesium of a water are known by its hardness and the limit of one of them.
fn rest_of_hardness(water: &BaseWater) -> bool {
    water.composition.leaves_calcium_or_magnesium()
}

/// A constituent of an analysis, as it is read back: empty where nobody measured it.
fn analysed(water: &BaseWater, of: Conserved) -> String {
    let Some(mg_per_l) = water.composition.measured_mg_per_l(of) else { return String::new() };
    let is_part = matches!(of, Conserved::Ca | Conserved::Mg);
    if is_part && rest_of_hardness(water) && !water.below.contains(&of) {
        // What hardness leaves beside the other part.
        return String::new();
    }
    if water.below.contains(&of) {
        // What is kept is half of the limit.
        format!("< {}", show::plain(2.0 * mg_per_l))
    } else if water.composition.assumed().contains(of) {
        format!("assumed {}", show::plain(mg_per_l))
    } else {
        show::plain(mg_per_l)
    }
}

/// Base waters by their constituents, with their pH, what else was measured, how far the amounts may be off
/// and what they cost.
#[must_use]
pub fn analyses(waters: &[BaseWater], prices: &[(String, Price)]) -> Table {
    let mut heads = heads();
    heads.push("ph".to_owned());
    let knows_conductivity = waters.iter().any(|water| water.us_per_cm.is_some());
    if knows_conductivity {
        heads.push("conductivity [µS/cm]".to_owned());
    }
    let given = |sum: &Measure| waters.iter().any(|w| w.solids.is_some_and(|(m, _)| m == *sum));
    let sums = [Measure::DissolvedSolids, Measure::ResidueOnEvaporation];
    let sums: Vec<Measure> = sums.into_iter().filter(given).collect();
    heads.extend(sums.iter().map(|sum| format!("{} [mg/L]", sum.key())));
    // With the limit of one part it says what the other is.
    let knows_rest = waters.iter().any(rest_of_hardness);
    if knows_rest {
        heads.push(format!("{} [mg/L as CaCO3]", Measure::Hardness.key()));
    }
    let is_off = |water: &BaseWater| water.within.value() > 0.0;
    let knows_within = waters.iter().any(is_off);
    if knows_within {
        heads.push("within [%]".to_owned());
    }
    let price_of = |water: &BaseWater| prices.iter().find(|(name, _)| *name == water.name);
    let knows_price = waters.iter().any(|water| price_of(water).is_some());
    if knows_price {
        heads.push("price".to_owned());
    }
    let rows = waters
        .iter()
        .map(|water| {
            let mut row = vec![water.name.clone()];
            row.extend(constituents().map(|(_, c)| analysed(water, c)));
            row.push(water.ph.map_or(String::new(), show::plain));
            if knows_conductivity {
                row.push(water.us_per_cm.map_or(String::new(), show::plain));
            }
            row.extend(sums.iter().map(|sum| {
                let own = water.solids.filter(|(measure, _)| measure == sum);
                own.map_or(String::new(), |(_, mg_per_l)| show::plain(mg_per_l))
            }));
            if knows_rest {
                let hardness = Measure::Hardness.measured_usual(&water.composition);
                let hardness = hardness.filter(|_| rest_of_hardness(water));
                row.push(hardness.map_or(String::new(), show::plain));
            }
            if knows_within {
                let own = Some(water.within.value()).filter(|_| is_off(water));
                row.push(own.map_or(String::new(), |share| {
                    show::as_written(share, Unit::Percent.factor())
                }));
            }
            if knows_price {
                row.push(price_of(water).map_or(String::new(), |(_, price)| per_litre(price)));
            }
            row
        })
        .collect();
    Table { heads, rows }
}

/// A price of water, as it is read back.
fn per_litre(price: &Price) -> String {
    let amount = show::as_written(price.per_base, 1.0 / Unit::Litre.factor());
    let money = Some(price.money.as_str()).filter(|money| !money.is_empty());
    let words = [Some(amount.as_str()), money, Some("per L")];
    words.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// The waters that a planned flight gives, by their constituents (empty where a base water was not
/// measured), with what is poured for a litre of each, in the flight's convention. The doses are passed
/// over when the table is read back as analyses.
#[must_use]
pub fn planned(flight: &Flight, stocks: &[Stock], plans: &[Plan]) -> Table {
    let rows = flight
        .targets
        .iter()
        .zip(plans)
        .map(|(target, plan)| {
            let mut row = vec![target.name.clone()];
            let amount = |c| plan.water.measured_mg_per_l(c).map_or(String::new(), show::plain);
            row.extend(constituents().map(|(_, c)| amount(c)));
            // Of the same litre as the doses of `mix`: the finished one, or a full one of base water.
            let litres = plan.litres_counted(flight.convention);
            row.extend(plan.ml_per_l.iter().map(|ml| show::plain(ml / litres)));
            row.extend(plan.shares.iter().map(|share| show::plain(share / litres * ML_PER_L)));
            row
        })
        .collect();
    let mut heads = heads();
    let bases = flight.base.iter().map(|base| base.water.name.as_str());
    heads.extend(stocks.iter().map(Stock::name).chain(bases).map(|name| format!("{name} [mL/L]")));
    Table { heads, rows }
}
