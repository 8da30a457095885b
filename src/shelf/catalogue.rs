//! All salts known on a bench, built-in and the user's own, and how one is found.

use thiserror::Error;

use crate::chemistry::Formula;
use crate::shelf::salt::Salt;

/// The salts that a stock may be made of.
#[derive(Debug, Clone, Default)]
pub struct Catalogue {
    salts: Vec<Salt>,
}

/// Why a name or formula is not one salt.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LookupError {
    /// The compound is known, and the hydrate was left out.
    #[error("`{asked}` does not say which hydrate")]
    WhichHydrate {
        /// The name as written.
        asked: String,
        /// The hydrates in the catalogue.
        hydrates: Vec<Hydrate>,
    },
    /// Known with other hydrate water only.
    #[error("there is no {asked} here, only the same compound with other hydrate water")]
    OtherHydrate {
        /// The formula as written.
        asked: String,
        /// The hydrates in the catalogue.
        hydrates: Vec<Hydrate>,
    },
    /// Nothing like it.
    #[error("`{asked}` is not a salt known here")]
    Unknown {
        /// The name as written.
        asked: String,
        /// The salt with the nearest name.
        near: Option<String>,
    },
}

/// One hydrate of a compound, as messages list it.
#[derive(Debug, Clone, PartialEq)]
pub struct Hydrate {
    /// Full name.
    pub name: String,
    /// Formula.
    pub formula: String,
    /// Grams that hold as much of the compound as one gram of the first in the list.
    pub mass_factor: f64,
}

impl Catalogue {
    /// A catalogue of these salts, in this order.
    #[must_use]
    pub fn new(salts: Vec<Salt>) -> Self {
        Self { salts }
    }

    /// All salts.
    pub fn iter(&self) -> impl Iterator<Item = &Salt> {
        self.salts.iter()
    }

    /// Finds a salt by its full name, a trade name that leaves nothing open, or its formula. A name without a hydrate is refused when
    /// the compound comes with one, however many hydrates are listed: the bag may hold another.
    ///
    /// # Errors
    /// Lists the hydrates with the mass factor between them, or the nearest name.
    pub fn find(&self, asked: &str) -> Result<&Salt, LookupError> {
        let wanted = simplify(asked);
        if let Some(salt) = self.salts.iter().find(|s| s.is_called(asked)) {
            return Ok(salt);
        }
        if let Ok(formula) = Formula::parse(asked) {
            if let Some(salt) = self.salts.iter().find(|s| s.formula.same_compound(&formula)) {
                return Ok(salt);
            }
            let kin = self.hydrates(|s| s.formula.same_but_for_water(&formula));
            if !kin.is_empty() {
                return Err(LookupError::OtherHydrate {
                    asked: formula.to_string(),
                    hydrates: kin,
                });
            }
        }
        let kin = self.hydrates(|s| simplify(&s.compound) == wanted);
        if kin.is_empty() {
            return Err(LookupError::Unknown {
                asked: asked.trim().to_owned(),
                near: self.nearest(&wanted),
            });
        }
        Err(LookupError::WhichHydrate { asked: asked.trim().to_owned(), hydrates: kin })
    }

    /// All salts that a name or formula may mean: the one it names, or every hydrate of the
    /// compound.
    ///
    /// # Errors
    /// When there is nothing like it.
    pub fn all_of(&self, asked: &str) -> Result<Vec<&Salt>, LookupError> {
        match self.find(asked) {
            Ok(salt) => Ok(vec![salt]),
            Err(
                LookupError::WhichHydrate { hydrates, .. }
                | LookupError::OtherHydrate { hydrates, .. },
            ) => Ok(self
                .salts
                .iter()
                .filter(|s| hydrates.iter().any(|h| h.name == s.name))
                .collect()),
            Err(unknown) => Err(unknown),
        }
    }

    fn hydrates(&self, takes: impl Fn(&Salt) -> bool) -> Vec<Hydrate> {
        let kin: Vec<&Salt> = self.salts.iter().filter(|s| takes(s)).collect();
        let first = kin.first().map_or(1.0, |s| s.formula.molar_mass().value());
        kin.into_iter()
            .map(|s| Hydrate {
                name: s.name.clone(),
                formula: s.formula.to_string(),
                mass_factor: s.formula.molar_mass().value() / first,
            })
            .collect()
    }

    fn nearest(&self, wanted: &str) -> Option<String> {
        /// Our choice: a name less alike than this is no help.
        const ALIKE: f64 = 0.75;
        // A formula in the wrong case is as good as written, yet never taken silently.
        let by_formula = self.salts.iter().find(|s| simplify(&s.formula.to_string()) == wanted);
        if let Some(salt) = by_formula {
            return Some(salt.formula.to_string());
        }
        let all = self.salts.iter().flat_map(Salt::names);
        all.map(|name| (name, strsim::jaro_winkler(&simplify(name), wanted)))
            .filter(|(_, likeness)| *likeness > ALIKE)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(name, _)| name.to_owned())
    }
}

impl Salt {
    /// Its full name and its trade names.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(&self.name).chain(&self.also).map(String::as_str)
    }

    /// Whether it goes by a name.
    #[must_use]
    pub fn is_called(&self, name: &str) -> bool {
        let wanted = simplify(name);
        self.names().any(|own| simplify(own) == wanted)
    }
}

/// Case, spaces and punctuation do not tell salts apart, and sulphate is sulfate.
fn simplify(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect::<String>()
        .replace("sulph", "sulf")
}
