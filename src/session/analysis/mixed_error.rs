//! Why a mixed model cannot be fitted to scores.

use thiserror::Error;

/// Why scores cannot be analysed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
pub enum MixedError {
    /// Nothing was scored.
    #[error("nothing was scored")]
    NoScores,
    /// A number that is none.
    #[error("a score is not a number")]
    NotANumber,
    /// As many means as cups.
    #[error(
        "there are no more scores than means to estimate, so the residual error is unknown; taste another round"
    )]
    TooFew,
    /// All scores follow exactly from waters and tasters.
    #[error(
        "the scores follow exactly from the waters and the tasters, so there is no residual error to test against; use a finer scale"
    )]
    NoResidual,
    /// The means of repeated cups follow exactly from waters and tasters.
    #[error(
        "the tasters' means agree exactly about the waters, so there is no residual error between tasters to test against; use a finer scale or taste another round"
    )]
    TastersAgree,
    /// The scores leave the variances undecided.
    #[error("the scores do not determine the variances; taste another round, or more tasters")]
    NotSettled,
    /// Terms that are confounded.
    #[error(
        "the waters cannot be compared in this pattern of cups: no taster links some of them with the others"
    )]
    NotSeparable,
    /// Cups were repeated, and no two tasters compared the same waters.
    #[error("no two tasters compared the same waters, so it is unknown whether others would agree")]
    NoCommonWaters,
}
