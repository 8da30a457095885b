//! What a typed error means to the person who wrote the file: found, expected, remedy. The
//! wording of all mistakes about amounts, salts, stocks and waters is in this file.

use crate::chemistry::{Conserved, ConservedSet, FormulaError};
use crate::files::{Diagnostic, Mistakes};
use crate::flight::goal_error::{LEAST_WEIGHT, MOST_WEIGHT};
use crate::flight::{GoalError, LimitError};
use crate::quantities::spelling::goes_on_to_a_number;
use crate::quantities::{Dimension, QuantityError, show};
use crate::session::score::{AnswerError, Refusal};
use crate::stock::catalogue::Hydrate;
use crate::stock::solution::WEAKEST_G_PER_KG;
use crate::stock::{LookupError, SaltError, SolubilityError, StockError};
use crate::water::{AnalysisError, Measure, MeasureError};

/// What to add to a diagnostic whose title and place are already there.
#[derive(Debug, Default)]
pub(super) struct Advice {
    expected: Option<String>,
    remedy: Option<String>,
}

impl Advice {
    fn expected(text: impl Into<String>) -> Self {
        Self { expected: Some(text.into()), remedy: None }
    }

    fn remedy(text: impl Into<String>) -> Self {
        Self { expected: None, remedy: Some(text.into()) }
    }

    fn and(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }

    /// Adds the advice.
    pub(super) fn to(self, mut diagnostic: Diagnostic) -> Diagnostic {
        if let Some(expected) = self.expected {
            diagnostic = diagnostic.expected(expected);
        }
        if let Some(remedy) = self.remedy {
            diagnostic = diagnostic.remedy(remedy);
        }
        diagnostic
    }
}

fn one_of(units: &[&str]) -> String {
    format!("a number with one of the units {}", units.join(", "))
}

/// Advice on an amount; `units` are those that would fit.
pub(super) fn quantity(error: &QuantityError, units: &[&str]) -> Advice {
    let advice = Advice::expected(one_of(units));
    let example = units.first().copied().unwrap_or_default();
    match error {
        QuantityError::NoNumber { .. } => {
            advice.and(format!("begin with a number, as in \"12 {example}\""))
        }
        QuantityError::Comma { .. } => {
            advice.and("write the decimals behind a point, and nothing between thousands")
        }
        QuantityError::NotFinite { .. } | QuantityError::OutOfBounds { .. } => {
            advice.and("write a number of ordinary size; look at the unit too")
        }
        QuantityError::NoUnit { .. } if example == "%" => {
            advice.and("say how many in a hundred, as in \"99 %\"")
        }
        QuantityError::NoUnit { text } => {
            advice.and(format!("say which unit is meant, in quotes, as in \"{text} {example}\""))
        }
        QuantityError::UnknownUnit { unit, .. } if goes_on_to_a_number(unit) => advice
            .and("write the middle, or what was measured; only goals and limits have two ends"),
        QuantityError::UnknownUnit { .. } | QuantityError::WrongDimension { .. } => {
            match error.unit_meant(units) {
                Some(unit) => advice.and(format!("did you mean `{unit}`?")),
                None => advice.and("use one of the units above"),
            }
        }
        QuantityError::Negative { .. } => advice.and("amounts are never below zero"),
    }
}

/// Advice on a limit that is an amount and still none.
pub(super) fn dose_limit(example: &str) -> Advice {
    Advice::expected(format!("an amount above zero, as in \"{example}\", or \"none\""))
}

/// The units of some dimensions, as printed.
pub(super) fn units_of(dimensions: &[Dimension]) -> Vec<&'static str> {
    dimensions.iter().flat_map(|d| d.choices()).collect()
}

/// Advice on an amount of a measure.
pub(super) fn measure(measure: Measure, error: &MeasureError) -> Advice {
    let units = measure.choices();
    match error {
        MeasureError::Quantity(inner) => quantity(inner, &units),
        MeasureError::UnitDoesNotFit { .. } => {
            Advice::expected(one_of(&units)).and("use one of the units above")
        }
        MeasureError::NoLimit { .. } => no_limit(&units),
    }
}

fn no_limit(units: &[&str]) -> Advice {
    let unit = units.first().copied().unwrap_or_default();
    Advice::expected(format!("the limit of detection, as in \"< 0.5 {unit}\""))
        .and("leave the measure out where it was not looked for")
}

/// Advice on a goal; `units` are those that would fit its amounts.
pub(super) fn goal(error: &GoalError, units: &[&str]) -> Advice {
    match error {
        GoalError::Amount(MeasureError::Quantity(inner)) => quantity(inner, units),
        GoalError::Amount(MeasureError::UnitDoesNotFit { .. }) => {
            Advice::expected(one_of(units)).and("use one of the units above")
        }
        GoalError::Amount(MeasureError::NoLimit { .. }) => no_limit(units),
        GoalError::Contradiction { .. } => Advice::expected("the smaller value first")
            .and("swap the two values, or write one value if only one is meant"),
        GoalError::NotTwoValues { .. } => {
            Advice::expected("two values, as in \"between 40 and 60 mg/L\"")
        }
        GoalError::UnknownClause { .. } => {
            Advice::expected("\"…, weight 3\" or \"…, tolerance 5 mg/L\"")
                .and("a comma only separates the goal from its weight and tolerance")
        }
        GoalError::Weight { .. } => Advice::expected(format!(
            "a number from {LEAST_WEIGHT} to {MOST_WEIGHT}, as in \"…, weight 3\""
        )),
        GoalError::Tolerance { .. } => {
            Advice::expected("an amount in the unit of the goal, or a percentage of it")
                .and("write it as in \"70 ± 5 mg/L as CaCO3\" or \"70 mg/L as CaCO3 ± 5 %\"")
        }
        GoalError::Ratio { .. } => {
            Advice::expected("meq/meq for hardness and alkalinity; mg/mg or mol/mol for ions")
        }
    }
}

/// Advice on a limit of a machine; `units` are those that would fit its amounts.
pub(super) fn limit(error: &LimitError, units: &[&str]) -> Advice {
    let unit = units.first().copied().unwrap_or_default();
    match error {
        LimitError::Goal(inner) => goal(inner, units),
        LimitError::NoSide { text } => Advice::expected(format!(
            "\"at most …\", \"at least …\" or \"between … and …\", in {unit}"
        ))
        .and(format!("write it as the maker's sheet does, as in \"at most {text}\"")),
        LimitError::Weight => Advice::remedy("leave the weight out: a limit is kept or not"),
        LimitError::Unit { .. } => Advice::expected(one_of(units)),
    }
}

/// Advice on a formula.
pub(super) fn formula(error: &FormulaError) -> Advice {
    let advice = Advice::expected("a formula such as MgSO4·7H2O or Ca(C3H5O3)2·5H2O");
    match error {
        FormulaError::Unexpected { .. } | FormulaError::UnknownElement { .. } => {
            advice.and("elements begin with a capital letter: MgSO4, not mgso4")
        }
        FormulaError::Brackets | FormulaError::Depth => advice.and("check the brackets"),
        FormulaError::Count => advice.and("check the numbers"),
        FormulaError::Empty | FormulaError::OnlyWater => advice,
    }
}

/// Advice on the ions of a salt.
pub(super) fn salt(error: &SaltError) -> Advice {
    match error {
        SaltError::Ambiguous { .. } => Advice::expected("`releases: [(\"Ca\", 1), (\"Cl\", 2)]`")
            .and("state the ions of one formula unit; they are checked against the formula"),
        SaltError::UnknownIon { .. } | SaltError::Foreign { .. } => {
            Advice::expected("Ca, Mg, Na, K, Cl, SO4, NO3, HCO3, CO3, OH, lactate or citrate")
        }
        SaltError::Charge { .. } => {
            Advice::remedy("the charges of a salt cancel: check the numbers")
        }
        SaltError::Atoms { .. } => Advice::remedy(
            "the ions must hold exactly the atoms of the formula without its hydrate water",
        ),
    }
}

/// The file of a salt of one's own, for messages: the starter bench has none.
pub(crate) const OWN_SALT: &str = "`salts/NAME.ron` with `Salt(name: \"potassium nitrate\", formula: \"KNO3\")`; \
                                   `releases: [(\"K\", 1), (\"NO3\", 1)]` names its ions where the formula leaves \
                                   them open";

/// Advice on a salt that was not found.
pub(super) fn lookup(error: &LookupError) -> Advice {
    match error {
        LookupError::WhichHydrate { hydrates, .. } => Advice::expected(listed(hydrates))
            .and("look at the label of the bag and write the one that it names"),
        LookupError::OtherHydrate { hydrates, .. } => Advice::expected(listed(hydrates)).and(
            "if the label says one of these, write it; otherwise describe your salt in the folder \
             `salts`",
        ),
        LookupError::Unknown { near, .. } => {
            let advice = Advice::expected("a name or formula that `waterflight salts` lists");
            match near {
                Some(near) => advice.and(format!("did you mean `{near}`?")),
                None => advice.and(format!("a salt of your own is one file: {OWN_SALT}")),
            }
        }
    }
}

fn listed(hydrates: &[Hydrate]) -> String {
    let first = hydrates.first().map(|h| h.formula.clone()).unwrap_or_default();
    hydrates
        .iter()
        .enumerate()
        .map(|(i, h)| {
            if i == 0 {
                format!("`{}` ({})", h.write, h.name)
            } else {
                format!("`{}` ({}; {:.4} g for 1 g of {first})", h.write, h.name, h.mass_factor)
            }
        })
        .collect::<Vec<_>>()
        .join(", or ")
}

/// Advice on a stock.
pub(super) fn stock(error: &StockError) -> Advice {
    match error {
        StockError::NoStrength { .. } => {
            Advice::expected("a mass of salt above zero, and a lot whose purity is above zero")
        }
        StockError::TooWeak { .. } => Advice::expected(format!("{WEAKEST_G_PER_KG} g/kg or more"))
            .and("look at the units of salt and water"),
        StockError::NoWater { .. } => Advice::expected("a total mass larger than that of the salt")
            .and("`ToTotalMass` takes the mass of the finished stock, salt and water together"),
        StockError::Density { .. } => Advice::expected(
            "a strength and temperature inside the published data (J. Chem. Eng. Data 54, 1725)",
        )
        .and("make it weaker, or measure it at another temperature"),
    }
}

/// Advice on a stock that would not stay a clear solution.
pub(super) fn solubility(error: &SolubilityError) -> Advice {
    let way_out = match error.co2_bar {
        Some(_) => "make it weaker: it is held by carbon dioxide alone, best in the cold",
        None => "make it weaker, or keep it warmer (`storage: \"20 °C\"`) if that helps",
    };
    let strongest = show::three_figures(error.strongest_g_per_kg);
    Advice::expected(format!("at most {strongest} g/kg, 3 % below that, as handbooks differ"))
        .and(way_out)
}

/// Advice on an analysis.
pub(super) fn analysis(error: &AnalysisError) -> Advice {
    match error {
        // The share of calcium: common practice, and no more than where to begin.
        AnalysisError::HardnessAlone => Advice::remedy(
            "give calcium or magnesium as well, the other follows from the hardness; where neither was \
                 measured, say what it is taken to be: `assumed: (calcium: \"… mg/L\")` in the file, \
                 `assumed calcium … mg/L` at a question (four fifths of a hardness is common)",
        ),
        AnalysisError::HardnessDisagrees { .. } | AnalysisError::PartExceedsHardness { .. } => {
            Advice::remedy("check the units of all three, or leave one of them out")
        }
        AnalysisError::Twice { .. } => Advice::remedy("keep one of the two"),
        AnalysisError::TooAcid { least_ph, .. } => {
            let least = (10.0 * least_ph).ceil() / 10.0;
            Advice::expected(format!("a pH of {least:.1} or more for this alkalinity"))
                .and("check the unit of the alkalinity and the pH, or leave the pH out")
        }
        AnalysisError::TooAlkaline { most_ph, .. } => {
            let most = (10.0 * most_ph).floor() / 10.0;
            Advice::expected(format!("a pH of {most:.1} or less for this alkalinity"))
                .and("check the unit of the alkalinity and the pH, or leave the pH out")
        }
        AnalysisError::NotBicarbonate { .. } => Advice::remedy(
            "check the pH; if the amount is the alkalinity as it was titrated, write it as \
             `alkalinity`",
        ),
        AnalysisError::LimitOfSum { .. } => {
            Advice::remedy("give its parts, each with its amount or its own limit")
        }
        AnalysisError::AssumedSum { .. } => Advice::remedy(
            "assume single ions, or `not_listed: Zero` for all that the analysis does not list",
        ),
        AnalysisError::AssumedToo { .. } => {
            Advice::remedy("keep what was measured and take it out of `assumed`")
        }
        AnalysisError::Chemistry(_) => Advice::remedy("check the amounts and their units"),
    }
}

/// Advice on a goal that depends on what was not measured of a base water.
pub(super) fn not_measured(water: &str, missing: ConservedSet) -> Advice {
    let first = missing.iter().next().map_or("", Conserved::label);
    Advice::expected(format!("{missing} in the file of `{water}`")).and(format!(
        "have it measured; or say what it is taken to be, as in `assumed: ({first}: \"10 mg/L\")`, or \
         `not_listed: Zero`; or take `{water}` out of the base"
    ))
}

impl From<AnswerError> for Mistakes {
    fn from(error: AnswerError) -> Self {
        Diagnostic::choice(error.to_string()).remedy(error.remedy()).into()
    }
}

impl From<Refusal> for Mistakes {
    fn from(refusal: Refusal) -> Self {
        AnswerError::from(refusal).into()
    }
}
