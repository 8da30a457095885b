//! What the host wants: the session as asked for, checked before anything is drawn.

use serde::{Deserialize, Serialize};

use crate::quantities::name;
use crate::session::plan::AnalysisPlan;
use crate::session::plan::Method;

pub use crate::session::plan::RequestError;
use crate::session::plan::request_error::MOST_CUP_ML;

/// Most cups in one session. Our choice: beyond it a request is a slip of the keyboard, and the
/// plan would fill the memory.
pub const MOST_CUPS: usize = 200_000;

/// How codes are shared out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CodeScope {
    /// A water has one code in a round, the same for every taster: few labels, jugs can be coded.
    PerSession,
    /// Every cup has its own code: tasters who talk learn nothing from each other.
    PerTaster,
}

/// Who knows what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Blinding {
    /// One person pours and tastes: stickers underneath, a shuffle out of sight.
    Solo,
    /// One person pours and knows; the others taste.
    Pourer,
    /// The one who fills leaves; the one who serves knows only codes.
    Double,
}

/// Waters hidden twice on a tray, to see whether a taster repeats a score.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Duplicates {
    /// None.
    None,
    /// So many, drawn at random, so that not even the host knows.
    Drawn(usize),
    /// These waters.
    Named(Vec<String>),
}

/// The brew, when the waters are tasted brewed: the same for every water.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Brewing {
    /// What is brewed.
    pub what: String,
    /// Grams of it per brew.
    pub dose_g: f64,
    /// Millilitres of water per brew.
    pub water_ml: f64,
    /// Temperature of that water, °C.
    pub water_c: f64,
    /// Millilitres in the server when the brew is done.
    pub yield_ml: f64,
}

impl Brewing {
    /// Grams of water per gram of dose, taking a millilitre of water as a gram.
    #[must_use]
    pub fn ratio(&self) -> f64 {
        self.water_ml / self.dose_g
    }

    fn is_sound(&self) -> bool {
        let positive = [self.dose_g, self.water_ml, self.yield_ml];
        positive.iter().all(|x| x.is_finite() && *x > 0.0) && self.water_c.is_finite()
    }
}

/// What is the same for all cups, recorded with the session.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Serving {
    /// Millilitres in a cup.
    pub cup_ml: f64,
    /// Temperature at which the cups are tasted, °C.
    pub served_c: Option<f64>,
    /// The brew; `None` when the water itself is tasted.
    pub brewing: Option<Brewing>,
    /// Anything else to be kept the same: grinder setting, rinse water, interval.
    pub notes: Vec<String>,
}

/// A session as asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Request {
    /// Name of the session.
    pub session: String,
    /// What it is to find out, in words.
    pub question: String,
    /// What is asked of a taster.
    pub method: Method,
    /// The waters of the flight.
    pub waters: Vec<String>,
    /// The tasters.
    pub tasters: Vec<String>,
    /// How often each taster goes through.
    pub rounds: usize,
    /// Waters on a tray, when nobody should have them all.
    pub per_tray: Option<usize>,
    /// Waters hidden twice.
    pub duplicates: Duplicates,
    /// Pairs compared by a test of two waters; empty means every pair.
    pub pairs: Vec<(String, String)>,
    /// The water that stands on every tray in a cup marked R.
    pub reference: Option<String>,
    /// The water of an unscored first cup.
    pub warm_up: Option<String>,
    /// A break after so many cups.
    pub break_after: Option<usize>,
    /// How codes are shared out; `None` chooses.
    pub codes: Option<CodeScope>,
    /// Who knows what.
    pub blinding: Blinding,
    /// What is the same for all cups.
    pub serving: Serving,
    /// How the scores are to be compared.
    pub analysis: AnalysisPlan,
}

impl Request {
    /// Tests everything that can be tested before drawing.
    ///
    /// # Errors
    /// The first thing that is wrong.
    pub fn check(&self) -> Result<(), RequestError> {
        self.check_names()?;
        if self.waters.len() < 2 {
            let (method, found) = (self.method.name(), self.waters.len());
            return Err(RequestError::TooFewWaters { method, found });
        }
        if self.rounds == 0 {
            return Err(RequestError::NoRounds);
        }
        if self.blinding == Blinding::Solo && self.tasters.len() != 1 {
            return Err(RequestError::SoloWithCompany { found: self.tasters.len() });
        }
        if self.break_after == Some(0) {
            return Err(RequestError::NoCupsBeforeBreak);
        }
        self.check_method()?;
        self.analysis.check(&self.method)?;
        self.check_roles()?;
        self.check_serving()?;
        let cups = self.cups();
        if cups > MOST_CUPS {
            return Err(RequestError::TooManyCups { cups, most: MOST_CUPS });
        }
        let waters = self.waters.len();
        if !each_is_served(waters, cups) {
            return Err(RequestError::TooFewCups { cups, waters });
        }
        Ok(())
    }

    fn check_names(&self) -> Result<(), RequestError> {
        if self.tasters.is_empty() {
            return Err(RequestError::NoTasters);
        }
        distinct("session", std::iter::once(self.session.as_str()))?;
        distinct("water", self.waters.iter().map(String::as_str))?;
        distinct("taster", self.tasters.iter().map(String::as_str))
    }

    fn check_method(&self) -> Result<(), RequestError> {
        if let Method::Scoring { attributes } = &self.method {
            if attributes.is_empty() {
                return Err(RequestError::NoAttributes);
            }
            distinct("attribute", attributes.iter().map(|a| a.name.as_str()))?;
            let ends = attributes.iter().flat_map(|a| [&a.low_word, &a.high_word]);
            ends.into_iter().try_for_each(|word| can_be_name("end of a scale", word))?;
            if let Some(bad) = attributes.iter().find(|a| !can_be_entered(&a.name)) {
                return Err(RequestError::AttributeName { name: bad.name.clone() });
            }
            if let Some((bad, why)) = attributes.iter().find_map(|a| Some((a, a.fault()?))) {
                return Err(RequestError::BadScale {
                    attribute: bad.name.clone(),
                    low: bad.low,
                    high: bad.high,
                    step: bad.step,
                    why,
                });
            }
        }
        if let Method::Ranking { criterion } | Method::Paired { criterion, .. } = &self.method {
            can_be_name("criterion", criterion)?;
        }
        let refuse = |what, remedy| {
            Err(RequestError::DoesNotGoWith { what, method: self.method.name(), remedy })
        };
        let doubled = self.doubled();
        if self.method.compares_two() {
            if self.per_tray.is_some() {
                return refuse("a tray size", "the test itself says how many cups a tray has");
            }
            if doubled > 0 {
                return refuse("a hidden duplicate", "ask for more rounds instead");
            }
            if self.method.hides_two_alike() && self.codes == Some(CodeScope::PerSession) {
                return refuse(
                    "a code shared by trays",
                    "it would tell which cups are alike; give each cup its own",
                );
            }
            if self.reference.is_some() {
                return refuse("a reference cup", "a duo-trio has its own");
            }
        } else if !self.pairs.is_empty() {
            return refuse("a list of pairs", "all waters stand on one tray");
        }
        if doubled > self.waters.len() {
            let waters = self.waters.len();
            return Err(RequestError::TooManyDuplicates { found: doubled, waters });
        }
        if let Some(found) = self.per_tray {
            let most = self.waters.len();
            if !(2..=most).contains(&found) {
                return Err(RequestError::TraySize { found, most });
            }
            if doubled > 0 && found < most {
                return refuse(
                    "a hidden duplicate on incomplete trays",
                    "serve all waters to everyone, or leave duplicates out",
                );
            }
        }
        Ok(())
    }

    fn check_roles(&self) -> Result<(), RequestError> {
        let known = |name: &str, role: &'static str| {
            if self.waters.iter().any(|water| water == name) {
                return Ok(());
            }
            let choices = self.waters.join(", ");
            Err(RequestError::NotTasted { name: name.to_owned(), role, choices })
        };
        if let Some(name) = &self.reference {
            known(name, "the reference")?;
        }
        if let Duplicates::Named(names) = &self.duplicates {
            names.iter().try_for_each(|name| known(name, "a hidden duplicate"))?;
            distinct("hidden duplicate", names.iter().map(String::as_str))?;
        }
        let mut seen: Vec<(&str, &str)> = Vec::new();
        for (first, second) in &self.pairs {
            known(first, "one of a pair")?;
            known(second, "one of a pair")?;
            if first == second {
                return Err(RequestError::PairedWithItself { name: first.clone() });
            }
            let pair: (&str, &str) = if first < second { (first, second) } else { (second, first) };
            if seen.contains(&pair) {
                let (first, second) = (first.clone(), second.clone());
                return Err(RequestError::PairTwice { first, second });
            }
            seen.push(pair);
        }
        Ok(())
    }

    fn check_serving(&self) -> Result<(), RequestError> {
        let serving = &self.serving;
        if !(serving.cup_ml.is_finite() && serving.cup_ml > 0.0) {
            return Err(RequestError::BadServing { what: "cup volume" });
        }
        if serving.cup_ml > MOST_CUP_ML {
            return Err(RequestError::LargeCup { ml: serving.cup_ml });
        }
        if serving.served_c.is_some_and(|t| !t.is_finite()) {
            return Err(RequestError::BadServing { what: "serving temperature" });
        }
        if serving.brewing.as_ref().is_some_and(|brew| !brew.is_sound()) {
            return Err(RequestError::BadServing { what: "brewing dose, water or yield" });
        }
        Ok(())
    }

    /// Pairs compared by a test of two waters, as places in the list of waters.
    #[must_use]
    pub fn pair_places(&self) -> Vec<(usize, usize)> {
        let place = |name: &String| self.waters.iter().position(|water| water == name);
        if !self.pairs.is_empty() {
            return self.pairs.iter().filter_map(|(a, b)| Some((place(a)?, place(b)?))).collect();
        }
        let n = self.waters.len();
        (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b))).collect()
    }

    /// Hidden duplicates asked for.
    #[must_use]
    pub fn doubled(&self) -> usize {
        match &self.duplicates {
            Duplicates::None => 0,
            Duplicates::Drawn(n) => *n,
            Duplicates::Named(names) => names.len(),
        }
    }

    /// Cups of one tray.
    pub(crate) fn cups_per_tray(&self) -> usize {
        let all = || self.per_tray.unwrap_or(self.waters.len() + self.doubled());
        self.method.cups_of_choice().unwrap_or_else(all)
    }

    /// Coded cups to answer about, in all.
    fn cups(&self) -> usize {
        let trays = if self.method.compares_two() { self.pair_places().len() } else { 1 };
        let per_round = trays * self.cups_per_tray();
        self.tasters.len().saturating_mul(self.rounds).saturating_mul(per_round)
    }
}

/// Whether so many cups can hold so many waters, each in one at least: a plan is read by the same rule.
pub(crate) fn each_is_served(waters: usize, cups: usize) -> bool {
    waters <= cups
}

/// Whether a name of an attribute is none of the columns and signs used where scores are entered.
fn can_be_entered(name: &str) -> bool {
    !["taster", "code", "codes", "note"].contains(&name)
        && !name.contains(['=', ';', ','])
        && name.parse::<f64>().is_err()
}

/// Tests that words can stand on a sheet.
fn can_be_name(what: &'static str, words: &str) -> Result<(), RequestError> {
    name::check(words).map_err(|fault| RequestError::Name { what, fault })
}

/// Every name there, and there once.
fn distinct<'a>(
    what: &'static str,
    names: impl Iterator<Item = &'a str>,
) -> Result<(), RequestError> {
    let mut seen = std::collections::BTreeSet::new();
    for name in names {
        if name.trim().is_empty() {
            return Err(RequestError::NoName { what });
        }
        name::check_new(name).map_err(|fault| RequestError::Name { what, fault })?;
        if !seen.insert(name.to_lowercase()) {
            return Err(RequestError::NameTwice { what, name: name.to_owned() });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_no_sheet_can_show_are_refused() {
        let long = "a".repeat(201);
        for wrong in [long.as_str(), "an\nn", "an\u{9b}n", "-ann"] {
            let refused = distinct("taster", ["bo", wrong].into_iter());
            assert!(matches!(refused, Err(RequestError::Name { what: "taster", .. })), "{wrong:?}");
        }
        assert_eq!(distinct("taster", ["bo", "ann"].into_iter()), Ok(()));
        let twice = distinct("attribute", ["liking", "Liking"].into_iter());
        assert!(matches!(twice, Err(RequestError::NameTwice { .. })), "{twice:?}");
    }
}
