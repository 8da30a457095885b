//! A target that is pinned: the composition it was tasted with, a stated one, or that of salts in
//! a litre. Goals on sums leave salts open, and what is on the shelf decides them anew every time.

use std::path::Path;

use crate::bench::session_folder::{SessionFolder, names};
use crate::bench::session_waters::{PlannedDose, PlannedWater};
use crate::bench::target_entry::TargetEntry;
use crate::bench::trade_answer::AskedIn;
use crate::bench::water_entry::{given_twice, measure_of};
use crate::bench::{explain, place};
use crate::chemistry::{Composition, Conserved};
use crate::everyday::wanted::pinned;
use crate::files::{Diagnostic, Fields, SourceText, Written};
use crate::flight::{BaseShare, Pinned, Target};
use crate::quantities::spelling::leading_number;
use crate::quantities::{Dimension, Fraction, Quantity, Unit};
use crate::stock::{Catalogue, Salt, Stock};
use crate::text::names;
use crate::water::Measure;

/// What the names of a pinned target mean.
#[derive(Debug, Clone, Copy)]
pub(super) struct PinnedContext<'a> {
    /// The bench.
    pub(super) root: &'a Path,
    /// All salts.
    pub(super) salts: &'a Catalogue,
    /// The stocks of the flight.
    pub(super) stocks: &'a [Stock],
    /// Its base waters.
    pub(super) base: &'a [BaseShare],
}

/// A pinned target, with the stocks that stay out of it.
pub(super) struct PinnedTarget {
    pub(super) target: Target,
    pub(super) from: Pinned,
    pub(super) without: Vec<String>,
}

/// How a salt of a litre is written: its name or formula, and how much of it.
type Part<'a> = (&'a Written, &'a Written);

impl TargetEntry {
    /// What it is pinned to, one of the three; `None` for a target that is not pinned.
    pub(super) fn pinned(
        &self,
        source: &SourceText,
        name: &str,
        known: PinnedContext<'_>,
    ) -> Result<Option<PinnedTarget>, Diagnostic> {
        let tolerance = self.tolerance.as_ref().map(|leaf| place::share(source, leaf));
        let tolerance = tolerance.transpose()?.map(Fraction::new);
        let found = match (&self.tasted, &self.composition, self.made_of.as_slice()) {
            (Some(leaf), None, []) => tasted(source, leaf, known)?,
            (None, Some(fields), []) => {
                (composition(source, fields)?, Pinned::Composition, Vec::new())
            }
            (None, None, [(first, _), ..]) => self.made_of(source, first, known)?,
            (None, None, []) => return Ok(None),
            _ => {
                let twice = format!("the water `{name}` is pinned more than once");
                return Err(place::at(source, &self.name, twice)
                    .expected("one of `tasted`, `composition` and `made_of`"));
            }
        };
        let (water, from, without) = found;
        Ok(Some(PinnedTarget {
            target: pinned(name, &water, tolerance, known.base),
            from,
            without,
        }))
    }

    /// The water that salts in a litre give, and the stocks that are of none of them.
    fn made_of(
        &self,
        source: &SourceText,
        first: &Written,
        known: PinnedContext<'_>,
    ) -> Result<(Composition, Pinned, Vec<String>), Diagnostic> {
        let mut water = self.blend(source, first, known)?;
        let mut salts: Vec<Salt> = Vec::new();
        for (name, amount) in &self.made_of {
            let salt = salt_of(source, name, known)?;
            if salts.iter().any(|other| other.ions == salt.ions) {
                return Err(place::duplicate(source, name, "salt", "above"));
            }
            water += salt.composition_per_meq() * meq_per_l(source, (name, amount), &salt)?;
            salts.push(salt);
        }
        let formulas = salts.iter().map(|salt| salt.formula.to_string()).collect();
        Ok((water, Pinned::MadeOf { salts: formulas }, stocks_of_none(&salts, known)))
    }

    /// The base waters that the salts go into: as written, or the only one of the flight.
    fn blend(
        &self,
        source: &SourceText,
        first: &Written,
        known: PinnedContext<'_>,
    ) -> Result<Composition, Diagnostic> {
        /// Our choice: shares written with two digits are one together.
        const ROUNDING: f64 = 0.01;
        let listed = || known.base.iter().map(|b| b.water.name.as_str()).collect::<Vec<_>>();
        if self.made_in.is_empty() {
            if let [only] = known.base {
                return Ok(only.water.composition);
            }
            let what = "these salts go into one of several base waters, and which is not said";
            return Err(place::at(source, first, what).expected(format!(
                "`made_in: [(\"NAME\", \"100 %\")]` of {}",
                listed().join(", ")
            )));
        }
        let mut water = Composition::PURE_WATER;
        let mut together = 0.0;
        for (name, share) in &self.made_in {
            let found = known.base.iter().find(|b| b.water.name == name.text());
            let Some(found) = found else {
                return Err(unknown(source, name, "base water of this flight", &listed()));
            };
            let part = place::share(source, share)?;
            water += found.water.composition * part;
            together += part;
        }
        if let Some((_, share)) = self.made_in.last()
            && (together - 1.0).abs() > ROUNDING
        {
            return Err(place::at(source, share, "these base waters make no whole litre")
                .found(format!("{:.0} % together", 100.0 * together))
                .expected("100 % together"));
        }
        Ok(water * (1.0 / together))
    }
}

/// A water of a session, as it was planned for it.
fn tasted(
    source: &SourceText,
    leaf: &Written,
    known_now: PinnedContext<'_>,
) -> Result<(Composition, Pinned, Vec<String>), Diagnostic> {
    let root = known_now.root;
    let sessions = names(root)?;
    let known: Vec<&str> = sessions.iter().map(String::as_str).collect();
    let Some((session, water)) = leaf.text().split_once('/') else {
        return Err(place::wrong(source, leaf, "this names no water of a session")
            .expected("SESSION/WATER, as in \"first-flight-1/soft\""));
    };
    if !sessions.iter().any(|name| name == session) {
        let none = place::wrong(source, leaf, format!("there is no session `{session}` here"));
        return Err(if known.is_empty() {
            none.remedy("state the water as `composition`, or plan a session first")
        } else {
            none.expected(names::listed(&known))
        });
    }
    let opened = SessionFolder::open(root, session)?;
    let waters = opened.waters()?;
    let found = waters.water(water).ok_or_else(|| {
        let there: Vec<&str> = waters.waters.iter().map(|w| w.name.as_str()).collect();
        unknown(source, leaf, &format!("water `{water}` of the session {session};"), &there)
    })?;
    let from = Pinned::Tasted {
        session: session.to_owned(),
        water: water.to_owned(),
        day: waters.day.clone(),
    };
    Ok((found.made().composition(), from, stocks_of_others(found, known_now)))
}

/// The stocks of the flight that are of no salt of a water as it was planned. None of them where
/// a salt or a base water of it is no longer there, since others then have to stand for it.
fn stocks_of_others(water: &PlannedWater, known: PinnedContext<'_>) -> Vec<String> {
    let base_is_there =
        water.base.iter().all(|(name, _)| known.base.iter().any(|b| b.water.name == *name));
    let salt = |dose: &PlannedDose| -> Option<Salt> {
        let stock = known.stocks.iter().find(|stock| stock.name() == dose.stock);
        let recorded = dose.salt.as_ref().and_then(|formula| known.salts.recorded(formula));
        let salt = recorded.or_else(|| stock.map(|stock| &stock.recipe().salt))?;
        let stocked = known.stocks.iter().any(|stock| stock.recipe().salt.ions == salt.ions);
        stocked.then(|| salt.clone())
    };
    let salts: Option<Vec<Salt>> = water.doses.iter().map(salt).collect();
    let Some(salts) = salts.filter(|_| base_is_there) else { return Vec::new() };
    stocks_of_none(&salts, known)
}

/// The stocks of the flight that are of none of some salts.
fn stocks_of_none(salts: &[Salt], known: PinnedContext<'_>) -> Vec<String> {
    let is_of = |stock: &Stock| salts.iter().any(|s| s.ions == stock.recipe().salt.ions);
    let others = known.stocks.iter().filter(|stock| !is_of(stock));
    others.map(|stock| stock.name().to_owned()).collect()
}

/// A composition as written, ion by ion; what is not named is not in it.
fn composition(source: &SourceText, fields: &Fields) -> Result<Composition, Diagnostic> {
    let mut water = Composition::PURE_WATER;
    let mut measures: Vec<Measure> = Vec::new();
    for (key, leaf) in &fields.0 {
        let measure = measure_of(source, key, (leaf.text(), AskedIn::Analysis))?;
        let Some(ion) = measure.constituent() else {
            return Err(place::wrong(source, key, "a composition is given ion by ion")
                .expected(
                    "calcium, magnesium, sodium, potassium, chloride, sulfate, nitrate, silica, \
                     bicarbonate",
                )
                .remedy("put what is wanted of a sum of ions into `goals`"));
        };
        if measures.contains(&measure) {
            return Err(given_twice(source, key));
        }
        measures.push(measure);
        let (native, _) = measure
            .parse(leaf.text())
            .map_err(|e| place::mistake(source, leaf, &e, explain::measure(measure, &e)))?;
        let mmol_per_l = native / f64::from(ion.charge().abs().max(1));
        water.set_mmol_per_l(ion, mmol_per_l);
    }
    let alkalinity = water.mmol_per_l(Conserved::Alkalinity);
    water.set_mmol_per_l(Conserved::Dic, alkalinity.max(0.0));
    Ok(water)
}

/// The salt of a stock's name, or of a name or formula; some stock of the flight must be of it.
fn salt_of(
    source: &SourceText,
    leaf: &Written,
    known: PinnedContext<'_>,
) -> Result<Salt, Diagnostic> {
    if let Some(stock) = known.stocks.iter().find(|stock| stock.name() == leaf.text()) {
        return Ok(stock.recipe().salt.clone());
    }
    let salt = known
        .salts
        .find(leaf.text())
        .map_err(|e| place::mistake(source, leaf, &e, explain::lookup(&e)))?;
    if known.stocks.iter().any(|stock| stock.recipe().salt.ions == salt.ions) {
        return Ok(salt.clone());
    }
    let stocked: Vec<String> =
        known.stocks.iter().map(|stock| stock.recipe().salt.formula.to_string()).collect();
    Err(place::wrong(source, leaf, format!("no stock of this flight is of {}", salt.formula))
        .expected(stocked.join(", "))
        .remedy("stock it, or pin the water by its `composition`, which other salts may give"))
}

/// How much of a salt is in a litre, meq/L.
fn meq_per_l(
    source: &SourceText,
    (name, amount): Part<'_>,
    salt: &Salt,
) -> Result<f64, Diagnostic> {
    let unit = leading_number(amount.text().trim()).map_or("", |(_, unit)| unit);
    if unit.to_ascii_lowercase().starts_with("ml") {
        return Err(place::at(
            source,
            amount,
            "a dose in mL is another water once the stock is of another strength",
        )
        .found(format!("`{}` of {}", amount.text(), name.text()))
        .expected("the salt in a litre, as in \"35 mg/L\"")
        .remedy("`waterflight mix` says the salts of every water"));
    }
    let dimensions =
        [Dimension::MassPerVolume, Dimension::AmountPerVolume, Dimension::EquivalentsPerVolume];
    let value = place::amount(source, amount, &dimensions)?;
    let equivalents = salt.equivalents_per_mole();
    let unit = Quantity::parse(amount.text()).map_or(Unit::MgPerL, |quantity| quantity.unit);
    Ok(match unit.dimension() {
        Dimension::AmountPerVolume => value * equivalents,
        Dimension::EquivalentsPerVolume => value,
        _ => value / salt.formula.molar_mass().value() * equivalents,
    })
}

fn unknown(source: &SourceText, leaf: &Written, what: &str, known: &[&str]) -> Diagnostic {
    let diagnostic = place::wrong(source, leaf, format!("there is no {what} here"))
        .expected(names::listed(known));
    diagnostic.near(leaf.text().rsplit('/').next().unwrap_or_default(), known)
}
