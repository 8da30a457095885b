//! What is set before one taster at once.

use serde::{Deserialize, Serialize};

use crate::session::plan::Code;

/// What one taster gets at once.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tray {
    /// The taster.
    pub taster: String,
    /// Number of the tray among this taster's, from 1.
    pub number: usize,
    /// Round, from 1.
    pub round: usize,
    /// The coded reference of a duo-trio.
    pub reference: Option<Code>,
    /// Codes in the order of tasting.
    pub cups: Vec<Code>,
    /// A break follows the cup at each of these places, counted from 1.
    pub breaks_after: Vec<usize>,
}
