//! A recipe as people write it down: `MgSO4=10 g, NaHCO3=5 g`, `epsom=2,5 g; soda=10 mL`.

use std::path::PathBuf;

use serde::Serialize;

use crate::app::everyday_water::{EverydayContext, not_concentrated};
use crate::app::mistakes::internal;
use crate::app::typed_amount::above_zero;
use crate::bench::{Bench, NewFlight};
use crate::everyday::ReadyProduct;
use crate::everyday::concentrate::{DoseBy, Filled, ReverseReport};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::{Order, ladder};
use crate::mix::shelf_reach::plain_flight;
use crate::quantities::spelling::{leading_number, with_decimal_points};
use crate::quantities::{Dimension, Quantity, show};
use crate::stock::{Catalogue, DrySalt, LookupError, Lot, Salt, Stock};
use crate::water::BaseWater;

/// Our choice: more readings of one recipe are of no use to anyone.
const MOST_READINGS: usize = 16;

/// A recipe as it was understood.
#[derive(Debug, Clone, Default)]
pub struct Recipe {
    /// Every reading: a name that leaves the hydrate open stands for each of them.
    pub readings: Vec<Vec<(DrySalt, f64)>>,
    /// Water that stocks bring along, g.
    pub stock_water_g: f64,
    /// How names and amounts were understood, where that is not plain.
    pub notes: Vec<String>,
}

/// What one part of a recipe stands for.
enum Meant<'a> {
    /// Grams of a salt, of any of these.
    Salts(Vec<&'a Salt>, f64),
    /// Grams of the salt in a stock's bag.
    Bag(&'a Stock, f64),
    /// Millilitres of a stock.
    Solution(&'a Stock, f64),
}

/// Reads a recipe: salts by name or formula, taken as pure; or stocks of the bench by their names,
/// grams of what is in the bag or millilitres of what is in the bottle.
///
/// ```
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// use waterflight::app::recipe_water::read_recipe;
/// use waterflight::bench::Bench;
///
/// let bench = Bench::open("stocks/demo".as_ref())?;
/// let recipe = read_recipe(&bench, "MgSO4=10 g, NaHCO3=5 g")?;
/// // The name leaves the hydrate open.
/// assert!(recipe.readings.len() > 1 && recipe.readings.iter().all(|salts| salts.len() == 2));
/// # Ok(())
/// # }
/// ```
///
/// # Errors
/// What of it is not understood, by the words of the recipe; or what is wrong with the file of a stock
/// that it names.
pub fn read_recipe(bench: &Bench, recipe: &str) -> Result<Recipe, Diagnostic> {
    let mut found = Recipe { readings: vec![Vec::new()], ..Recipe::default() };
    for part in parts(recipe) {
        let choices: Vec<(DrySalt, f64)> = match meant(bench, part)? {
            Meant::Salts(kin, g) => kin.into_iter().map(|salt| (bag(bench, salt), g)).collect(),
            Meant::Bag(stock, g) => {
                found.notes.push(format!(
                    "{} g of {} is read as {} from the bag of that stock; for the solution write mL",
                    show::plain(g),
                    stock.name(),
                    stock.recipe().salt.formula
                ));
                vec![(bag_of(stock), g)]
            }
            Meant::Solution(stock, ml) => {
                let solution_g = ml * stock.density().value.value();
                let bag = bag_of(stock);
                let g = ml * stock.mg_per_ml() / 1000.0 / bag.lot.compound_share();
                found.stock_water_g += solution_g - g;
                found.notes.push(format!(
                    "{} mL of {} bring {} g of {} and {} g of water",
                    show::plain(ml),
                    stock.name(),
                    show::four_figures(g),
                    stock.recipe().salt.formula,
                    show::three_figures(solution_g - g)
                ));
                vec![(bag, g)]
            }
        };
        found.readings = found
            .readings
            .iter()
            .flat_map(|reading| {
                choices.iter().map(move |choice| {
                    let mut longer = reading.clone();
                    longer.push(choice.clone());
                    longer
                })
            })
            .collect();
        if found.readings.len() > MOST_READINGS {
            return Err(refused("too many readings", "name the hydrates, as in MgSO4·7H2O"));
        }
    }
    Ok(found)
}

/// The parts of a recipe: between semicolons, or commas that stand inside no number and no name.
fn parts(recipe: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let mut start = 0;
    let mut before = None;
    for (at, c) in recipe.char_indices() {
        let next = recipe.get(at + c.len_utf8()..).and_then(|rest| rest.chars().next());
        let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let inside =
            c == ',' && (digit(before) && digit(next) || names_no_water(recipe, start, at));
        if matches!(c, ',' | ';') && !inside {
            parts.push(recipe.get(start..at).unwrap_or_default().trim());
            start = at + c.len_utf8();
        }
        before = Some(c);
    }
    parts.push(recipe.get(start..).unwrap_or_default().trim());
    parts
}

/// Whether the comma at a place belongs to the name that begins a part, as in "MgSO4, anhydrous".
fn names_no_water(recipe: &str, start: usize, at: usize) -> bool {
    if recipe.get(start..at).is_some_and(|part| part.contains('=')) {
        return false;
    }
    let rest = recipe.get(at + 1..).unwrap_or_default().trim_start();
    rest.get(.."anhydrous".len()).is_some_and(|word| word.eq_ignore_ascii_case("anhydrous"))
}

/// What one part stands for.
fn meant<'a>(bench: &'a Bench, part: &str) -> Result<Meant<'a>, Diagnostic> {
    let (name, amount) = part.split_once('=').ok_or_else(|| no_pair(part))?;
    let amount = with_decimal_points(amount.trim()).map_err(|error| {
        refused(
            &error.to_string(),
            "write the decimals behind a point, and nothing between thousands",
        )
    })?;
    let name = name.trim();
    if let Some((_, water)) = amount.split_once(" in ") {
        let remedy = format!(
            "give the water separately: --into-water \"{0}\", or --total \"{0}\" when it is filled \
             up to that",
            water.trim()
        );
        return Err(refused(&format!("`{amount}` is more than the grams of a salt"), &remedy));
    }
    if leading_number(&amount).is_ok_and(|(_, unit)| unit.trim().is_empty()) {
        let remedy = format!("if these are grams: `{name}={amount} g`");
        return Err(refused(&format!("`{amount}` has no unit"), &remedy));
    }
    let mut stocks = bench.stocks.iter().map(|s| &s.value);
    let stock = stocks.find(|s| s.name().eq_ignore_ascii_case(name));
    let by_volume = Quantity::parse_as(&amount, &[Dimension::Volume]).is_ok();
    if let Some(wrong) = bench.unread_in("stocks", name).filter(|_| stock.is_none()) {
        return Err(wrong.clone());
    }
    match stock {
        Some(stock) if by_volume => {
            let ml = above_zero(&amount, &[Dimension::Volume])?;
            Ok(Meant::Solution(stock, ml))
        }
        Some(stock) => {
            same_salt(&bench.salts, stock)?;
            Ok(Meant::Bag(stock, above_zero(&amount, &[Dimension::Mass])?))
        }
        None if by_volume => Err(refused(
            &format!("`{part}`: millilitres are understood of a stock of this bench"),
            &format!("give the grams of {name}, or the name of one of: {}", names(bench)),
        )),
        None => {
            let grams = above_zero(&amount, &[Dimension::Mass])?;
            Ok(Meant::Salts(salts_called(bench, name)?, grams))
        }
    }
}

fn names(bench: &Bench) -> String {
    bench.stocks.iter().map(|s| s.value.name()).collect::<Vec<_>>().join(", ")
}

/// Refuses a name that means one salt as a stock of the bench and another in the trade.
fn same_salt(salts: &Catalogue, stock: &Stock) -> Result<(), Diagnostic> {
    let own = &stock.recipe().salt;
    match salts.iter().find(|salt| salt.is_called(stock.name())) {
        Some(other) if !other.formula.same_compound(&own.formula) => Err(refused(
            &format!(
                "`{}` is a stock of {} here, and a name of {}",
                stock.name(),
                own.formula,
                other.formula
            ),
            "write the formula of the one that is meant",
        )),
        _ => Ok(()),
    }
}

fn refused(title: &str, remedy: &str) -> Diagnostic {
    Diagnostic::choice(title).remedy(remedy)
}

fn no_pair(part: &str) -> Diagnostic {
    let form = "SALT=GRAMS, as in \"MgSO4·7H2O=10 g, NaHCO3=5 g\"";
    let what = format!("`{part}` is no salt with its grams");
    let found = Diagnostic::choice(what).expected(form);
    let per_litre = part.strip_suffix("/L").or_else(|| part.strip_suffix("/l"));
    match per_litre.filter(|dose| leading_number(dose).is_ok()) {
        Some(dose) => found.remedy(format!("give the dose with --dose \"{dose}\"")),
        None => found,
    }
}

/// The salts that a name may mean.
fn salts_called<'a>(bench: &'a Bench, name: &str) -> Result<Vec<&'a Salt>, Diagnostic> {
    bench.salts.all_of(name).map_err(|error| {
        let found = Diagnostic::choice(error.to_string()).expected(format!(
            "a name or formula that `waterflight salts` lists, or a stock: {}",
            names(bench)
        ));
        match error {
            LookupError::Unknown { near: Some(near), .. } => {
                found.remedy(format!("did you mean `{near}`?"))
            }
            _ => found,
        }
    })
}

/// A pure salt at the price of the shelf's.
fn bag(bench: &Bench, salt: &Salt) -> DrySalt {
    let lots = bench.stocks.iter().map(|s| s.value.recipe());
    let lot = lots.filter(|r| r.salt.formula.same_compound(&salt.formula)).find_map(|r| {
        let price = r.lot.price.clone()?;
        Some(Lot { price: Some(price), ..Lot::default() })
    });
    DrySalt { name: salt.formula.to_string(), salt: salt.clone(), lot: lot.unwrap_or_default() }
}

/// The bag of a stock, with its lot.
fn bag_of(stock: &Stock) -> DrySalt {
    let recipe = stock.recipe();
    let (salt, lot) = (recipe.salt.clone(), recipe.lot.clone());
    DrySalt { name: recipe.name.clone(), salt, lot }
}

/// The water of a recipe, and the flight that it was written to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecipeWater {
    /// The water, once for every reading.
    #[serde(flatten)]
    pub report: ReverseReport,
    /// The file of the flight, where it was written.
    pub file: Option<PathBuf>,
}

/// Which water a recipe is that was `typed` so, made up and dosed as it says, in pure water.
///
/// # Errors
/// When no reading of it can be computed.
pub fn recipe_water(
    bench: &Bench,
    (typed, recipe): (&str, Recipe),
    (filled, dose): (Filled, DoseBy),
    ready_product: &ReadyProduct,
) -> Result<RecipeWater, Mistakes> {
    let filled = filled.and_water(recipe.stock_water_g);
    let stocks = bench.whole_shelf()?;
    let everyday = EverydayContext::new(bench)?;
    let context = everyday.concentrate(ready_product, None);
    let report = ReverseReport::new(recipe.readings, filled, dose, &stocks, &context)
        .map_err(|error| not_concentrated("no water of the recipe", typed, &error))?;
    Ok(RecipeWater { report: ReverseReport { notes: recipe.notes, ..report }, file: None })
}

impl RecipeWater {
    /// Writes every reading as a target of a new flight of that name.
    ///
    /// # Errors
    /// As [`Bench::write_new`].
    pub fn write_flight(&mut self, bench: &Bench, typed: &str, name: &str) -> Result<(), Mistakes> {
        let targets = self.report.on_shelf.iter().map(|shelf| {
            let missed: Vec<&str> = shelf.unreached.iter().map(|u| u.measure.as_str()).collect();
            let short = (!missed.is_empty()).then(|| {
                format!("not reached with the stocks of the shelf: {}", missed.join(", "))
            });
            Ok((ladder::rewritten(&shelf.target)?, short))
        });
        let targets = targets.collect::<Result<Vec<_>, ladder::LadderError>>();
        let text = NewFlight {
            remark: format!(
                "A recipe read backwards by `waterflight concentrate`: {typed}\nEach reading is a \
                 target, ion by ion. An ordinary flight: change what you like."
            ),
            title: format!("A recipe: {typed}"),
            like: &plain_flight(&[BaseWater::distilled()]),
            stocks: &bench.whole_shelf()?,
            order: &Order::default(),
            targets: targets.map_err(|error| internal(&error))?,
        }
        .text();
        self.file = Some(bench.write_new("flights", name, &text)?);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_inside_of_numbers_do_not_part() {
        let three = ["MgSO4=2,5 g", "NaHCO3=1,7 g", "KCl=1 g"];
        assert_eq!(parts("MgSO4=2,5 g, NaHCO3=1,7 g,KCl=1 g"), three);
        assert_eq!(parts("MgSO4=2,5 g; NaHCO3=1,7 g ;KCl=1 g"), three);
        assert_eq!(parts("a=10,b=2 g"), ["a=10", "b=2 g"]);
        let dry = "magnesium sulfate, anhydrous=2,5 g, KCl=1 g";
        assert_eq!(parts(dry), ["magnesium sulfate, anhydrous=2,5 g", "KCl=1 g"]);
    }
}
