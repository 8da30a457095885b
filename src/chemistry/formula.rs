//! Chemical formulae with groups and hydrate water, and their masses.

use std::fmt;

use thiserror::Error;

use crate::quantities::GramsPerMole;
use crate::reference::atomic_weights::ATOMIC_WEIGHTS;

/// A parsed formula: the salt itself and its water of crystallisation.
#[derive(Debug, Clone, PartialEq)]
pub struct Formula {
    /// Elements of the anhydrous part, in the order first met.
    elements: Vec<(&'static str, u32)>,
    /// Anhydrous part as printed.
    anhydrous: String,
    /// Molecules of hydrate water per formula unit; halves occur.
    waters: f64,
}

/// Why a text is not a formula.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum FormulaError {
    /// Nothing there.
    #[error("the formula is empty")]
    Empty,
    /// A symbol that is no element, or one without a place in the table.
    #[error("`{symbol}` is not an element of the table of atomic weights here")]
    UnknownElement {
        /// The symbol as written.
        symbol: String,
    },
    /// Something that is neither symbol, number, group nor hydrate dot.
    #[error("`{found}` does not belong in a formula")]
    Unexpected {
        /// The character.
        found: char,
    },
    /// Brackets do not match.
    #[error("the brackets do not match")]
    Brackets,
    /// A count of 0 or beyond 999.
    #[error("a count must be between 1 and {MOST}")]
    Count,
    /// Brackets are nested deeper than any salt needs.
    #[error("the brackets are nested too deeply")]
    Depth,
    /// Only water.
    #[error("there is nothing but water in it")]
    OnlyWater,
}

/// Our choice: larger counts and deeper groups do not occur in salts, and the limits keep any
/// input harmless.
const MOST: u32 = 999;
const DEEPEST: usize = 8;

type Elements = Vec<(&'static str, u32)>;

impl Formula {
    /// Reads a formula: groups in `( )` or `[ ]`, the hydrate dot as `·`, `.` or `*`, subscripts
    /// as digits or `₂`.
    ///
    /// # Errors
    /// Names the first thing that is not understood.
    ///
    /// ```
    /// use waterflight::chemistry::Formula;
    /// let epsom = Formula::parse("MgSO4.7H2O").unwrap();
    /// assert_eq!(epsom.to_string(), "MgSO4·7H2O");
    /// // 24.305 + 32.06 + 4·15.999 + 7·(2·1.008 + 15.999)
    /// assert!((epsom.molar_mass().value() - 246.466).abs() < 1e-9);
    /// ```
    pub fn parse(text: &str) -> Result<Self, FormulaError> {
        let mut reader = Reader::new(text);
        let mut elements = Elements::new();
        let mut anhydrous = String::new();
        let mut waters = 0.0;
        loop {
            let coefficient = reader.coefficient()?;
            let start = reader.at;
            let part = reader.group(0)?;
            if part.is_empty() {
                return Err(FormulaError::Empty);
            }
            if is_water(&part) {
                waters += coefficient;
                if waters > f64::from(MOST) {
                    return Err(FormulaError::Count);
                }
            } else {
                let whole = whole_count(coefficient)?;
                merge(&mut elements, &part, whole)?;
                if !anhydrous.is_empty() {
                    anhydrous.push('·');
                }
                if whole > 1 {
                    anhydrous.push_str(&whole.to_string());
                }
                anhydrous.extend(reader.characters.iter().skip(start).take(reader.at - start));
            }
            match reader.peek() {
                None => break,
                Some('·' | '.' | '*' | '•' | '⋅') => reader.at += 1,
                Some(')' | ']') => return Err(FormulaError::Brackets),
                Some(found) => return Err(FormulaError::Unexpected { found }),
            }
        }
        if elements.is_empty() {
            return Err(FormulaError::OnlyWater);
        }
        Ok(Self { elements, anhydrous, waters })
    }

    /// Molar mass with its hydrate water.
    #[must_use]
    pub fn molar_mass(&self) -> GramsPerMole {
        let water = mass_of(&[("H", 2), ("O", 1)]);
        GramsPerMole::new(mass_of(&self.elements) + self.waters * water)
    }

    /// Molar mass without hydrate water.
    #[must_use]
    pub fn anhydrous_molar_mass(&self) -> GramsPerMole {
        GramsPerMole::new(mass_of(&self.elements))
    }

    /// Molecules of hydrate water per formula unit.
    #[must_use]
    pub fn waters(&self) -> f64 {
        self.waters
    }

    /// The formula without its hydrate water, as printed.
    #[must_use]
    pub fn anhydrous_text(&self) -> &str {
        &self.anhydrous
    }

    /// Atoms of one element in the anhydrous part.
    #[must_use]
    pub fn count(&self, symbol: &str) -> u32 {
        self.elements.iter().find(|(s, _)| *s == symbol).map_or(0, |(_, n)| *n)
    }

    /// Elements of the anhydrous part with their counts.
    pub fn anhydrous_elements(&self) -> impl Iterator<Item = (&'static str, u32)> {
        self.elements.iter().copied()
    }

    /// The formula as printed, hydrate water left out.
    #[must_use]
    pub fn without_water(&self) -> String {
        self.anhydrous.clone()
    }

    /// Whether both are the same compound when hydrate water is left aside.
    #[must_use]
    pub fn same_but_for_water(&self, other: &Self) -> bool {
        let sorted = |f: &Self| {
            let mut e = f.elements.clone();
            e.sort_unstable();
            e
        };
        sorted(self) == sorted(other)
    }

    /// Whether both are the same compound with the same hydrate water.
    #[must_use]
    pub fn same_compound(&self, other: &Self) -> bool {
        self.same_but_for_water(other) && (self.waters - other.waters).abs() < 1e-9
    }
}

impl fmt::Display for Formula {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.anhydrous)?;
        if self.waters > 0.0 {
            f.write_str("·")?;
            if (self.waters - 1.0).abs() > 1e-9 {
                write!(f, "{}", self.waters)?;
            }
            f.write_str("H2O")?;
        }
        Ok(())
    }
}

/// Mass of so many atoms of each element, g/mol.
#[must_use]
pub fn mass_of(elements: &[(&str, u32)]) -> f64 {
    elements.iter().map(|(symbol, n)| atomic_weight(symbol).unwrap_or(0.0) * f64::from(*n)).sum()
}

fn atomic_weight(symbol: &str) -> Option<f64> {
    ATOMIC_WEIGHTS.iter().find(|(s, _)| *s == symbol).map(|(_, weight)| *weight)
}

fn is_water(part: &[(&'static str, u32)]) -> bool {
    part.len() == 2 && part.contains(&("H", 2)) && part.contains(&("O", 1))
}

fn whole_count(coefficient: f64) -> Result<u32, FormulaError> {
    (1..=MOST).find(|n| (f64::from(*n) - coefficient).abs() < 1e-9).ok_or(FormulaError::Count)
}

fn merge(into: &mut Elements, part: &Elements, times: u32) -> Result<(), FormulaError> {
    for (symbol, n) in part {
        let more = n.checked_mul(times).ok_or(FormulaError::Count)?;
        let before = into.iter().position(|(s, _)| s == symbol).map(|at| into.swap_remove(at).1);
        let total = before.unwrap_or(0).checked_add(more).ok_or(FormulaError::Count)?;
        if total > MOST {
            return Err(FormulaError::Count);
        }
        into.push((symbol, total));
    }
    Ok(())
}

struct Reader {
    characters: Vec<char>,
    at: usize,
}

impl Reader {
    fn new(text: &str) -> Self {
        let characters = text
            .chars()
            .filter(|c| !c.is_whitespace())
            .map(|c| match u32::from(c).checked_sub(u32::from('₀')) {
                Some(digit @ 0..=9) => char::from_digit(digit, 10).unwrap_or(c),
                _ => c,
            })
            .collect();
        Self { characters, at: 0 }
    }

    fn peek(&self) -> Option<char> {
        self.characters.get(self.at).copied()
    }

    fn take_while(&mut self, takes: impl Fn(char) -> bool) -> String {
        let taken: String =
            self.characters.iter().skip(self.at).take_while(|c| takes(**c)).collect();
        self.at += taken.chars().count();
        taken
    }

    /// A number before a part, as the 7 of 7H2O; only here may it have a decimal point.
    fn coefficient(&mut self) -> Result<f64, FormulaError> {
        let digits = self.take_while(|c| c.is_ascii_digit() || c == '.');
        if digits.is_empty() {
            return Ok(1.0);
        }
        let value: f64 = digits.parse().map_err(|_| FormulaError::Count)?;
        if value > 0.0 && value <= f64::from(MOST) { Ok(value) } else { Err(FormulaError::Count) }
    }

    fn subscript(&mut self) -> Result<u32, FormulaError> {
        let digits = self.take_while(|c| c.is_ascii_digit());
        if digits.is_empty() {
            return Ok(1);
        }
        match digits.parse() {
            Ok(n) if (1..=MOST).contains(&n) => Ok(n),
            _ => Err(FormulaError::Count),
        }
    }

    fn group(&mut self, depth: usize) -> Result<Elements, FormulaError> {
        if depth > DEEPEST {
            return Err(FormulaError::Depth);
        }
        let mut elements = Elements::new();
        while let Some(c) = self.peek() {
            match c {
                '(' | '[' => {
                    self.at += 1;
                    let inner = self.group(depth + 1)?;
                    let closing = if c == '(' { ')' } else { ']' };
                    if self.peek() != Some(closing) || inner.is_empty() {
                        return Err(FormulaError::Brackets);
                    }
                    self.at += 1;
                    let times = self.subscript()?;
                    merge(&mut elements, &inner, times)?;
                }
                'A'..='Z' => {
                    self.at += 1;
                    let mut symbol = c.to_string();
                    symbol.push_str(&self.take_while(|c| c.is_ascii_lowercase()));
                    let known = ATOMIC_WEIGHTS.iter().find(|(s, _)| **s == symbol);
                    let (element, _) = known.ok_or(FormulaError::UnknownElement { symbol })?;
                    let times = self.subscript()?;
                    merge(&mut elements, &vec![(element, 1)], times)?;
                }
                'a'..='z' | '0'..='9' => return Err(FormulaError::Unexpected { found: c }),
                _ => break,
            }
        }
        Ok(elements)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(text: &str) -> Result<String, FormulaError> {
        Formula::parse(text).map(|f| f.to_string())
    }

    #[test]
    fn every_hydrate_dot_is_read() {
        for text in ["MgSO4·7H2O", "MgSO4.7H2O", "MgSO4*7H2O", "MgSO₄ · 7 H₂O"] {
            assert_eq!(printed(text).as_deref(), Ok("MgSO4·7H2O"), "{text}");
        }
        assert_eq!(printed("CaSO4.0.5H2O").as_deref(), Ok("CaSO4·0.5H2O"));
        assert_eq!(printed("K3C6H5O7·H2O").as_deref(), Ok("K3C6H5O7·H2O"));
    }

    #[test]
    fn groups_multiply() {
        let lactate = Formula::parse("Ca(C3H5O3)2·5H2O");
        assert_eq!(lactate.map(|f| (f.count("C"), f.count("H"))), Ok((6, 10)));
    }

    #[test]
    fn nonsense_is_named() {
        assert_eq!(printed(""), Err(FormulaError::Empty));
        assert_eq!(printed("Mg(OH"), Err(FormulaError::Brackets));
        assert_eq!(printed("MgOH)2"), Err(FormulaError::Brackets));
        assert_eq!(printed("mgso4"), Err(FormulaError::Unexpected { found: 'm' }));
        assert_eq!(printed("Xx2"), Err(FormulaError::UnknownElement { symbol: "Xx".into() }));
        assert_eq!(printed("H2O"), Err(FormulaError::OnlyWater));
        assert_eq!(printed("Na0Cl"), Err(FormulaError::Count));
        assert_eq!(printed(&"(".repeat(10_000)), Err(FormulaError::Depth));
        assert_eq!(printed("MgSO4·"), Err(FormulaError::Empty));
        assert!(matches!(printed("MgSO4+7H2O"), Err(FormulaError::Unexpected { found: '+' })));
    }
}
