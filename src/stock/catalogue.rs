//! All salts known on a bench, built-in and the user's own, and how one is found.

use thiserror::Error;

use crate::chemistry::Formula;
use crate::stock::Salt;

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
    /// Formula with its hydrate water.
    pub formula: String,
    /// What to write to mean this one: the formula, with `anhydrous` where it has no water.
    pub write: String,
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

    /// Finds a salt by its full name, a trade name that leaves nothing open, or its formula. A name
    /// without a hydrate is refused when the compound comes with one, however many hydrates are
    /// listed: the bag may hold another. So is a formula without water where hydrates of the compound
    /// are listed, since labels leave the water out; the word `anhydrous` beside name or formula says
    /// that none is there.
    ///
    /// # Errors
    /// Lists the hydrates with the mass factor between them, or the nearest name.
    pub fn find(&self, asked: &str) -> Result<&Salt, LookupError> {
        if let Some(salt) = self.salts.iter().find(|s| s.is_called(asked)) {
            return Ok(salt);
        }
        let asked = &formula_of_label(asked);
        let bare = without_the_word_anhydrous(asked);
        let (name, said) = (bare.as_deref().unwrap_or(asked), bare.is_some());
        let wanted = simplify(name);
        let formula = Formula::parse(name).ok();
        let (kin, exact) = match &formula {
            Some(formula) => (
                self.hydrates(|s| s.formula.same_but_for_water(formula)),
                self.salts.iter().find(|s| s.formula.same_compound(formula)),
            ),
            None => (
                self.hydrates(|s| {
                    simplify(&s.compound) == wanted || s.names().any(|n| simplify(n) == wanted)
                }),
                // A name without its hydrate names none of them, unless the word does.
                self.salts.iter().find(|s| {
                    said && s.formula.waters() <= 0.0
                        && (simplify(&s.compound) == wanted || simplify(&s.name) == wanted)
                }),
            ),
        };
        // A formula in the wrong case is never taken, and it leaves the hydrate just as open.
        let kin = if kin.is_empty() { self.hydrates_of_any_case(&wanted) } else { kin };
        let has_water = formula.as_ref().is_some_and(|f| f.waters() > 0.0);
        match exact {
            // "MgSO4·7H2O, anhydrous" contradicts itself.
            Some(salt) if has_water && !said => Ok(salt),
            Some(salt) if !has_water && (said || kin.len() == 1) => Ok(salt),
            _ if kin.is_empty() => Err(LookupError::Unknown {
                asked: asked.trim().to_owned(),
                near: self.nearest(&wanted),
            }),
            None if said || formula.is_some() => Err(LookupError::OtherHydrate {
                asked: match (&formula, said) {
                    (Some(formula), false) => formula.to_string(),
                    _ => asked.trim().to_owned(),
                },
                hydrates: kin,
            }),
            _ => Err(LookupError::WhichHydrate { asked: asked.trim().to_owned(), hydrates: kin }),
        }
    }

    /// The salt of a formula that the program itself wrote into a record: there a formula without water
    /// is the anhydrous salt and leaves nothing open.
    #[must_use]
    pub fn recorded(&self, formula: &str) -> Option<&Salt> {
        let formula = Formula::parse(formula).ok()?;
        self.salts.iter().find(|salt| salt.formula.same_compound(&formula))
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
            Err(unknown) => match self.candidates(asked) {
                found if found.is_empty() => Err(unknown),
                found => Ok(found),
            },
        }
    }

    /// The salts that a piece of a name, the beginning of a formula in any case, or a food additive's number
    /// may mean: `calcium`, `mgso4`, `E509`. They are offered, never taken unasked.
    #[must_use]
    pub fn candidates(&self, asked: &str) -> Vec<&Salt> {
        /// Our choice.
        const LEAST_LETTERS: usize = 3;
        let wanted = simplify(&formula_of_label(asked));
        let number = wanted.strip_prefix("ins").or_else(|| wanted.strip_prefix('e'));
        let number = number.filter(|number| number.starts_with(|c: char| c.is_ascii_digit()));
        if wanted.is_empty() {
            return Vec::new();
        }
        // Fewer letters begin too many words.
        let is_long = wanted.chars().count() >= LEAST_LETTERS;
        let begins = |name: &str| {
            let mut words = name.split(|c: char| !c.is_alphanumeric()).map(simplify);
            is_long && words.any(|word| word.starts_with(&wanted))
        };
        let is_meant = |salt: &&Salt| {
            let ins = salt.ins.as_deref().map(simplify).unwrap_or_default();
            salt.names().chain([salt.compound.as_str()]).any(begins)
                || (is_long && simplify(&salt.formula.to_string()).starts_with(&wanted))
                || number.is_some_and(|number| ins.starts_with(number))
        };
        self.salts.iter().filter(is_meant).collect()
    }

    /// The hydrates of a formula without water that is written in any case; none of one that only one
    /// salt goes by.
    fn hydrates_of_any_case(&self, wanted: &str) -> Vec<Hydrate> {
        let bare = |s: &&Salt| simplify(s.formula.anhydrous_text()) == *wanted;
        let Some(first) = self.salts.iter().find(bare) else { return Vec::new() };
        let kin = self.hydrates(|s| s.formula.same_but_for_water(&first.formula));
        let leaves_it_open = kin.len() > 1 || first.formula.waters() > 0.0;
        if leaves_it_open { kin } else { Vec::new() }
    }

    fn hydrates(&self, takes: impl Fn(&Salt) -> bool) -> Vec<Hydrate> {
        let kin: Vec<&Salt> = self.salts.iter().filter(|s| takes(s)).collect();
        let first = kin.first().map_or(1.0, |s| s.formula.molar_mass().value());
        kin.into_iter()
            .map(|s| Hydrate {
                name: s.name.clone(),
                formula: s.formula.to_string(),
                write: if s.formula.waters() > 0.0 {
                    s.formula.to_string()
                } else {
                    format!("{}, {ANHYDROUS}", s.formula)
                },
                mass_factor: s.formula.molar_mass().value() / first,
            })
            .collect()
    }

    fn nearest(&self, wanted: &str) -> Option<String> {
        /// Our choice: a name less alike than this is no help.
        const ALIKE: f64 = 0.85;
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

/// The word that says that no hydrate water is there.
const ANHYDROUS: &str = "anhydrous";

/// A name or formula without the word `anhydrous` before or behind it; `None` where the word is not
/// there, or nothing else is.
///
/// ```
/// use waterflight::stock::catalogue::without_the_word_anhydrous;
/// let bare = without_the_word_anhydrous;
/// assert_eq!(bare("MgSO4, anhydrous").as_deref(), Some("MgSO4"));
/// assert_eq!(bare("CaCl2 (Anhydrous)").as_deref(), Some("CaCl2"));
/// assert_eq!(bare("anhydrous calcium chloride").as_deref(), Some("calcium chloride"));
/// assert_eq!(bare("CaCl2·2H2O"), None);
/// ```
#[must_use]
pub fn without_the_word_anhydrous(text: &str) -> Option<String> {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    let rest = ["(anhydrous)", ANHYDROUS].iter().find_map(|word| {
        let behind = lower.starts_with(word).then(|| text.get(word.len()..)).flatten();
        let before = || text.get(..text.len().checked_sub(word.len())?);
        behind.or_else(|| lower.ends_with(word).then(before).flatten())
    })?;
    let bare = rest.trim_matches(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '-'));
    let stands_alone = bare.len() < rest.len() || lower.contains("(anhydrous)");
    (stands_alone && !bare.is_empty()).then(|| bare.to_owned())
}

/// Case, spaces and punctuation do not distinguish salts, and sulphate is sulfate.
fn simplify(name: &str) -> String {
    name.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect::<String>()
        .replace("sulph", "sulf")
        .replace("hydrogencarbonate", "bicarbonate")
        .replace("bicarbonateofsoda", "sodiumbicarbonate")
        .replace("epsomsalts", "epsomsalt")
}

/// A formula as labels write it: behind its name in brackets, its water behind a blank.
///
/// ```
/// use waterflight::stock::catalogue::formula_of_label;
/// assert_eq!(formula_of_label("CaCl2 2H2O"), "CaCl2·2H2O");
/// assert_eq!(formula_of_label("Sodium bicarbonate (NaHCO3)"), "NaHCO3");
/// assert_eq!(formula_of_label("Epsom salt"), "Epsom salt");
/// ```
#[must_use]
pub fn formula_of_label(text: &str) -> String {
    let text = text.trim();
    if let Some((_, inside)) = text.split_once('(')
        && let Some(inside) = inside.strip_suffix(')')
        && Formula::parse(inside).is_ok()
    {
        return inside.trim().to_owned();
    }
    let words: Vec<&str> = text.split_whitespace().collect();
    match words.as_slice() {
        [salt, water] if is_water(water) => format!("{salt}·{water}"),
        [salt, sign, water] if is_water(water) && matches!(*sign, "x" | "·" | "*" | ".") => {
            format!("{salt}·{water}")
        }
        _ => text.to_owned(),
    }
}

/// `2H2O`
fn is_water(word: &str) -> bool {
    let word = word.trim_start_matches(['x', '·', '*', '.']);
    word.trim_start_matches(|c: char| c.is_ascii_digit()).eq_ignore_ascii_case("H2O")
}
