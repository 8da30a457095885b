//! Why an analysis cannot be used.

use thiserror::Error;

use crate::chemistry::ChemistryError;
use crate::quantities::show;
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;
use crate::water::Measure;

/// Carbon dioxide above which an analysis is refused, atm: our choice. At one atmosphere of it water
/// in the open gives it off in bubbles, so neither a tap nor a glass at a pH meter holds more; only
/// a closed bottle does. It decides from which pH on an alkalinity is called a contradiction.
pub const MOST_CO2_ATM: f64 = 1.0;

/// Why an analysis cannot be used.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum AnalysisError {
    /// Hardness alone does not separate calcium from magnesium.
    #[error("hardness alone does not say how much of it is calcium")]
    HardnessAlone,
    /// Calcium, magnesium and hardness are given and disagree.
    #[error("calcium and magnesium make {sum:.3} meq/L, hardness says {hardness:.3} meq/L")]
    HardnessDisagrees {
        /// Sum of calcium and magnesium, meq/L.
        sum: f64,
        /// Hardness as given, meq/L.
        hardness: f64,
    },
    /// One part of the hardness is larger than the whole.
    #[error("{} is {part:.3} meq/L, more than the whole hardness of {hardness:.3} meq/L", measure.label())]
    PartExceedsHardness {
        /// The part.
        measure: Measure,
        /// Its amount, meq/L.
        part: f64,
        /// The whole, meq/L.
        hardness: f64,
    },
    /// The same thing is given twice under two names.
    #[error("{} and {} are the same thing, given twice", first.label(), second.label())]
    Twice {
        /// First name.
        first: Measure,
        /// Second name.
        second: Measure,
    },
    /// The pH asks for more carbon dioxide than water in the open can hold.
    #[error(
        "a pH of {ph} and an alkalinity of {} mg/L as CaCO3 contradict each other: {}",
        show::three_figures(*.alkalinity_meq_per_l * CACO3_MG_PER_MEQ),
        too_much(*.co2_atm)
    )]
    TooAcid {
        /// The pH as given.
        ph: f64,
        /// The alkalinity as given, meq/L.
        alkalinity_meq_per_l: f64,
        /// Carbon dioxide that it would take, atm; none where no amount does it.
        co2_atm: Option<f64>,
        /// The lowest pH of this alkalinity in the open.
        least_ph: f64,
    },
    /// The pH is higher than this alkalinity can make it, whatever the carbon dioxide.
    #[error(
        "a pH of {ph} and an alkalinity of {} mg/L as CaCO3 contradict each other: without any \
         carbon dioxide the pH is {most_ph:.1}",
        show::three_figures(*.alkalinity_meq_per_l * CACO3_MG_PER_MEQ)
    )]
    TooAlkaline {
        /// The pH as given.
        ph: f64,
        /// The alkalinity as given, meq/L.
        alkalinity_meq_per_l: f64,
        /// The highest pH of this alkalinity.
        most_ph: f64,
    },
    /// Bicarbonate is given, and at this pH most of it would be carbonate and hydroxide.
    #[error(
        "a pH of {ph} contradicts this bicarbonate: at that pH {percent:.0} % of such an alkalinity \
         is bicarbonate, the rest carbonate and hydroxide"
    )]
    NotBicarbonate {
        /// The pH as given.
        ph: f64,
        /// What of the alkalinity can be bicarbonate, %.
        percent: f64,
    },
    /// A limit of detection of something that is no single constituent.
    #[error("a limit of detection says nothing of the parts of {}", measure.label())]
    LimitOfSum {
        /// What was given.
        measure: Measure,
    },
    /// The chemistry has no answer for these amounts.
    #[error(transparent)]
    Chemistry(#[from] ChemistryError),
    /// An assumption about a sum of masses.
    #[error("{} is a sum; its parts can be assumed, the sum cannot", measure.label())]
    AssumedSum {
        /// What was given.
        measure: Measure,
    },
    /// The same measure is listed as measured and as assumed.
    #[error("{} is measured and assumed as well", measure.label())]
    AssumedToo {
        /// What was given.
        measure: Measure,
    },
}

fn too_much(co2_atm: Option<f64>) -> String {
    match co2_atm {
        Some(atm) => format!(
            "it takes carbon dioxide of {} atm, and water in the open holds {} atm at most",
            show::fixed(atm, show::decimals_for(atm, 2, 1)),
            show::plain(MOST_CO2_ATM)
        ),
        None => "no amount of carbon dioxide makes it so acid".to_owned(),
    }
}
