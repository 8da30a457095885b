//! One style for all waters of a flight: the same salts, or the same share of calcium in the
//! hardness and of chloride beside sulfate. Goals on sums leave these open, and then a comparison
//! of two waters compares them as well.

use crate::flight::{Goal, Subject};
use crate::quantities::{Millilitres, show};
use crate::water::Measure;

/// The style of a flight, as it is carried out.
#[derive(Debug, Clone, PartialEq)]
pub enum Style {
    /// All waters are made of these stocks, each of all of them.
    SameSalts {
        /// Names of the stocks; none where no set can be in all waters, which are then planned
        /// without the style.
        stocks: Vec<String>,
        /// Sets of stocks that were tried.
        tried: usize,
        /// The least of each in a bottle of every water.
        least: Millilitres,
    },
    /// The ratios of calcium to magnesium and of chloride to sulfate are the same in all.
    SameRatios {
        /// What is wanted of each ratio, as the file or the choice has them.
        goals: Vec<Goal>,
        /// Pairs of ratios that were tried; nothing where the file says them.
        tried: Option<usize>,
    },
}

/// What a flight asks of the style of its waters.
#[derive(Debug, Clone, Default, PartialEq)]
pub enum StyleAsked {
    /// Nothing.
    #[default]
    Any,
    /// The same stocks in all of them.
    SameSalts,
    /// The same ratios in all of them, chosen to suit all.
    SameRatios,
    /// These ratios in all of them.
    Ratios(Vec<Goal>),
}

/// Two ions of which one stands for the other: the pairs that a style is about.
pub const PAIRS: [(Measure, Measure); 2] =
    [(Measure::Calcium, Measure::Magnesium), (Measure::Chloride, Measure::Sulfate)];

/// Our choice: a miss of the style counts ten times a miss of a goal, so that waters keep it
/// unless a goal is far away.
pub const STYLE_WEIGHT: f64 = 10.0;

/// The goal for a share of the first of two ions among both, in moles; `None` for no share.
///
/// ```
/// use waterflight::water::Measure;
/// use waterflight::flight::style::share_goal;
/// let goal = share_goal((Measure::Calcium, Measure::Magnesium), 0.75).unwrap();
/// // one of magnesium to three of calcium, in three figures
/// assert!((goal.band.size() - 0.333).abs() < 1e-12);
/// assert!(share_goal((Measure::Calcium, Measure::Magnesium), 1.5).is_none());
/// ```
#[must_use]
pub fn share_goal((first, second): (Measure, Measure), share: f64) -> Option<Goal> {
    /// Half and half.
    const EVEN: f64 = 0.5;
    // The smaller one over the larger one, so that a ratio is never beyond all bounds.
    let (of, to, ratio) = if !(0.0..=1.0).contains(&share) {
        return None;
    } else if share > EVEN {
        (second, first, (1.0 - share) / share)
    } else {
        (first, second, share / (1.0 - share))
    };
    let text = format!("{} mol/mol", show::three_figures(ratio));
    let goal = Goal::parse_ratio(of, to, &text).ok()?;
    Some(Goal { weight: STYLE_WEIGHT, ..goal })
}

/// Whether a goal says anything of how two ions share what they are together.
#[must_use]
pub fn speaks_of(goal: &Goal, (first, second): (Measure, Measure)) -> bool {
    let is_one = |measure: Measure| {
        measure == first
            || measure == second
            || matches!(
                (first, measure),
                (Measure::Calcium, Measure::CalciumHardness | Measure::MagnesiumHardness)
            )
    };
    match goal.subject {
        Subject::Measure(measure) => is_one(measure),
        Subject::Ratio { of, to, .. } => is_one(of) && is_one(to),
    }
}
