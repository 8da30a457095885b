//! Targets and waters as tables that can be read back.

use crate::chemistry::Conserved;
use crate::planner::Plan;
use crate::quantities::{Unit, show};
use crate::waters::ladder::words;
use crate::waters::{BaseWater, Flight};

/// Heads and rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// The heads, each with its unit.
    pub heads: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

/// The targets of a flight: one column for each measure or ratio that has a goal, in the unit of
/// its first goal; a goal in another unit carries that in its cell.
#[must_use]
pub fn targets(flight: &Flight) -> Table {
    let mut columns: Vec<(String, Unit)> = Vec::new();
    for goal in flight.targets.iter().flat_map(|t| &t.goals) {
        let key = goal.subject.key();
        if !columns.iter().any(|(known, _)| *known == key) {
            columns.push((key, goal.unit));
        }
    }
    let mut heads = vec!["name".to_owned()];
    heads.extend(columns.iter().map(|(key, unit)| format!("{key} [{}]", unit.symbol())));
    let rows = flight
        .targets
        .iter()
        .map(|target| {
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
            row
        })
        .collect();
    Table { heads, rows }
}

/// The constituents of an analysis, with the keys they are read back under.
const CONSTITUENTS: [(&str, Conserved); 9] = [
    ("calcium", Conserved::Ca),
    ("magnesium", Conserved::Mg),
    ("sodium", Conserved::Na),
    ("potassium", Conserved::K),
    ("chloride", Conserved::Cl),
    ("sulfate", Conserved::SO4),
    ("nitrate", Conserved::NO3),
    ("silica", Conserved::SiO2),
    ("bicarbonate", Conserved::Alkalinity),
];

fn heads() -> Vec<String> {
    let constituents = CONSTITUENTS.iter().map(|(key, _)| format!("{key} [mg/L]"));
    std::iter::once("name".to_owned()).chain(constituents).collect()
}

/// Base waters by their constituents, with their pH.
#[must_use]
pub fn analyses(waters: &[BaseWater]) -> Table {
    let mut heads = heads();
    heads.push("ph".to_owned());
    let rows = waters
        .iter()
        .map(|water| {
            let mut row = vec![water.name.clone()];
            row.extend(CONSTITUENTS.map(|(_, c)| show::plain(water.composition.mg_per_l(c))));
            row.push(water.ph.map_or(String::new(), show::plain));
            row
        })
        .collect();
    Table { heads, rows }
}

/// The waters that a planned flight gives, by their constituents.
#[must_use]
pub fn planned(flight: &Flight, plans: &[Plan]) -> Table {
    let rows = flight
        .targets
        .iter()
        .zip(plans)
        .map(|(target, plan)| {
            let mut row = vec![target.name.clone()];
            row.extend(CONSTITUENTS.map(|(_, c)| show::plain(plan.water.mg_per_l(c))));
            row
        })
        .collect();
    Table { heads: heads(), rows }
}
