//! A session with its waters named: what was answered about which water.

use crate::session::plan::{Aim, AnalysisPlan, Code, Method, Verified};

use crate::session::score::{AfterTurning, ExpectedOrder};

/// Where a cup stood.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CupPlace {
    /// Place of the taster in [`Revealed::tasters`].
    pub taster: usize,
    /// Number of the tray among the taster's.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// Place on the tray, from 1.
    pub position: usize,
    /// The code.
    pub code: Code,
    /// Place of the water in [`Revealed::waters`].
    pub water: usize,
    /// 1, or 2 for a hidden duplicate.
    pub copy: usize,
    /// The water tasted just before, if no break lay between.
    pub previous: Option<usize>,
}

/// One score with its cup.
#[derive(Debug, Clone, PartialEq)]
pub struct ScoreRow {
    /// The cup.
    pub cup: CupPlace,
    /// Place of the attribute in [`Revealed::attributes`].
    pub attribute: usize,
    /// The score; `None` for a cup that was missing when the reveal was forced.
    pub value: Option<f64>,
    /// Anything said about the cup.
    pub note: Option<String>,
}

/// One ranking.
#[derive(Debug, Clone, PartialEq)]
pub struct RankingRow {
    /// Place of the taster.
    pub taster: usize,
    /// Number of the tray.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// Every cup of the tray in the order of serving.
    pub served: Vec<CupPlace>,
    /// The cups as ranked, most first; `None` when missing.
    pub order: Option<Vec<CupPlace>>,
    /// Anything said about the tray.
    pub note: Option<String>,
}

/// One answer of a test of two waters.
#[derive(Debug, Clone, PartialEq)]
pub struct ChoiceRow {
    /// Place of the taster.
    pub taster: usize,
    /// Number of the tray.
    pub tray: usize,
    /// Round, from 1.
    pub round: usize,
    /// The two waters of the pair, in the order in which it was named.
    pub pair: (usize, usize),
    /// Every cup in the order of serving.
    pub served: Vec<CupPlace>,
    /// Whether the answer was right: for a paired test, whether the first water of the pair was
    /// chosen. `None` when missing.
    pub right: Option<bool>,
    /// Water of the chosen cup.
    pub chosen: Option<usize>,
    /// Codes of the cups chosen.
    pub picked: Vec<Code>,
    /// Water of the coded reference of a duo-trio.
    pub reference: Option<usize>,
    /// Anything said about the tray.
    pub note: Option<String>,
}

/// What was left out, and why.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// Answers given after the reveal.
    pub late: usize,
    /// Answers missing when the reveal was forced.
    pub missing_answers: usize,
}

/// A session with its waters named.
#[derive(Debug, Clone, PartialEq)]
pub struct Revealed {
    /// The session.
    pub session: String,
    /// What is asked.
    pub method: Method,
    /// How the scores are to be compared, as the plan has it.
    pub analysis: AnalysisPlan,
    /// What is wanted; nothing where the plan does not say so and no name does.
    pub wanted: Option<Aim>,
    /// The waters in the order of the flight.
    pub waters: Vec<String>,
    /// The tasters.
    pub tasters: Vec<String>,
    /// The attributes scored.
    pub attributes: Vec<String>,
    /// Scores, by taster, tray, place and attribute.
    pub scores: Vec<ScoreRow>,
    /// Scores given after the reveal, unblinded: kept, and never analysed.
    pub late_scores: Vec<ScoreRow>,
    /// Rankings, by taster and tray.
    pub rankings: Vec<RankingRow>,
    /// Choices, by taster and tray.
    pub choices: Vec<ChoiceRow>,
    /// What was left out.
    pub left_out: LeftOut,
    /// Why the reveal was forced, when it was.
    pub forced: Option<String>,
    /// Orders of the waters that were expected before the tasting.
    pub expected_orders: Vec<ExpectedOrder>,
    /// Reasons for which the key was opened before the reveal, other than pouring.
    pub opened_early: Vec<String>,
    /// What was entered in a tasting alone after cups had been turned over.
    pub after_turning: Vec<AfterTurning>,
    /// How far the key was verified.
    pub verified: Verified,
}

impl Revealed {
    /// Which way one of the things judged is wanted: as the plan says, or more of it where its name is
    /// that of a liking.
    #[must_use]
    pub fn aim_for(&self, of: &str) -> Option<Aim> {
        let stated = self.wanted.clone().filter(|aim| aim.of == of);
        stated.or_else(|| Aim::of_name(&self.method, of))
    }
}
