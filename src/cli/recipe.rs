//! A recipe as people write it down: `MgSO4=10 g, NaHCO3=5 g`.

use crate::bench::Bench;
use crate::cli::amount::above_zero;
use crate::cli::outcome::Mistakes;
use crate::files::{Diagnostic, Fault};
use crate::quantities::Dimension;
use crate::quantities::spelling::leading_number;
use crate::shelf::{Catalogue, DrySalt, LookupError, Lot, Salt};

/// Our choice: more readings of one recipe are of no use to anyone.
const MOST_READINGS: usize = 16;

/// Every reading of a recipe: a name that leaves the hydrate open stands for each of them. Salts
/// are taken as pure; prices are those of the shelf.
pub(super) fn readings(bench: &Bench, recipe: &str) -> Result<Vec<Vec<(DrySalt, f64)>>, Mistakes> {
    let mut readings: Vec<Vec<(DrySalt, f64)>> = vec![Vec::new()];
    for part in parts(recipe) {
        let part = part.trim();
        let (name, amount) = part.split_once('=').ok_or_else(|| no_pair(part))?;
        let amount = amount.trim();
        if let Some((_, water)) = amount.split_once(" in ") {
            let remedy = format!(
                "say the water apart: --into-water \"{0}\", or --total \"{0}\" when it is filled up \
                 to that",
                water.trim()
            );
            return Err(refused(&format!("`{amount}` is more than the grams of a salt"), &remedy));
        }
        if leading_number(amount).is_ok_and(|(_, unit)| unit.trim().is_empty()) {
            let remedy = format!("if these are grams: `{}={amount} g`", name.trim());
            return Err(refused(&format!("`{amount}` has no unit"), &remedy));
        }
        let grams = above_zero("--reverse", amount, &[Dimension::Mass])?;
        let kin = meant(&bench.salts, name.trim())?;
        readings = readings
            .iter()
            .flat_map(|reading| {
                kin.iter().map(move |salt| {
                    let mut longer = reading.clone();
                    longer.push((bag(bench, salt), grams));
                    longer
                })
            })
            .collect();
        if readings.len() > MOST_READINGS {
            return Err(refused("too many readings", "name the hydrates, as in MgSO4·7H2O"));
        }
    }
    Ok(readings)
}

/// The salts of a recipe with their amounts. The comma of "MgSO4, anhydrous" ends none of them.
fn parts(recipe: &str) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    for piece in recipe.split(',') {
        let name = piece.split('=').next().unwrap_or_default().trim();
        match parts.last_mut().filter(|_| name.eq_ignore_ascii_case("anhydrous")) {
            Some(begun) if !begun.contains('=') => {
                begun.push(',');
                begun.push_str(piece);
            }
            _ => parts.push(piece.to_owned()),
        }
    }
    parts
}

fn refused(title: &str, remedy: &str) -> Mistakes {
    vec![Diagnostic::new(Fault::Choice, format!("--reverse: {title}")).remedy(remedy)]
}

fn no_pair(part: &str) -> Mistakes {
    let form = "SALT=GRAMS, as in \"MgSO4·7H2O=10 g, NaHCO3=5 g\"";
    let found =
        Diagnostic::new(Fault::Choice, format!("--reverse: `{part}` is no salt with its grams"))
            .expected(form);
    let per_litre = part.strip_suffix("/L").or_else(|| part.strip_suffix("/l"));
    match per_litre.filter(|dose| leading_number(dose).is_ok()) {
        Some(dose) => vec![found.remedy(format!("the dose is said with --dose \"{dose}\""))],
        None => vec![found],
    }
}

/// The salts that a name may mean.
fn meant<'a>(salts: &'a Catalogue, name: &str) -> Result<Vec<&'a Salt>, Mistakes> {
    salts.all_of(name).map_err(|error| {
        let near = match &error {
            LookupError::Unknown { near, .. } => near.clone(),
            _ => None,
        };
        let found = Diagnostic::new(Fault::Choice, format!("--reverse: {error}"))
            .expected("a name or formula that `waterflight salts` lists");
        match near {
            Some(near) => vec![found.remedy(format!("did you mean `{near}`?"))],
            None => vec![found],
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
