//! What to mind with the salts that a water is weighed of: one rule for tanks, bottles and recipes.

use serde::Serialize;

use crate::stock::Salt;
use crate::text::table::wrapped;

/// What to mind with one salt.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SaltCautions {
    /// Its formula.
    pub formula: String,
    /// What to mind while it is dissolved: heat, and carbon dioxide under pressure.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub dissolving: Vec<String>,
    /// All that is to be minded.
    pub cautions: Vec<String>,
}

impl SaltCautions {
    /// Those of some salts, each salt once; a salt with none is left out.
    pub(crate) fn of<'a>(salts: impl Iterator<Item = &'a Salt>) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for salt in salts {
            let (formula, cautions) = (salt.formula.to_string(), salt.all_cautions());
            if !cautions.is_empty() && all.iter().all(|other| other.formula != formula) {
                all.push(Self { formula, dissolving: salt.dissolving_cautions(), cautions });
            }
        }
        all
    }
}

/// What to mind while salts are dissolved, a line each: what a screen has to say.
pub(crate) fn while_dissolving<'a>(all: impl Iterator<Item = &'a SaltCautions>) -> String {
    let heated = all.filter(|salt| !salt.dissolving.is_empty());
    each_once(heated, |salt| format!("  ! {}: {}", salt.formula, salt.dissolving.join(" ")))
}

/// Everything to mind with some salts.
pub(crate) fn everything<'a>(all: impl Iterator<Item = &'a SaltCautions>) -> String {
    each_once(all, |salt| format!("  {}: {}", salt.formula, salt.cautions.join(" ")))
}

/// One text for each salt, though several bottles or readings have it.
fn each_once<'a>(
    all: impl Iterator<Item = &'a SaltCautions>,
    text: impl Fn(&SaltCautions) -> String,
) -> String {
    let mut named: Vec<&str> = Vec::new();
    let mut out = String::new();
    for salt in all {
        if !named.contains(&salt.formula.as_str()) {
            named.push(&salt.formula);
            out.push_str(&wrapped(&text(salt), 4));
        }
    }
    out
}
