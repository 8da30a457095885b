//! What a concentrate is made and judged with.

use crate::assessment::Lab;
use crate::everyday::ReadyProduct;
use crate::quantities::Day;
use crate::stock::{Catalogue, Price, Tools};

/// What a concentrate is made and judged with.
#[derive(Debug, Clone, Copy)]
pub struct ConcentrateContext<'a> {
    /// Constants of the room, and the air.
    pub lab: &'a Lab,
    /// What is weighed with.
    pub tools: &'a Tools,
    /// All salts known, for the crystals that ions of several can make.
    pub catalogue: &'a Catalogue,
    /// Prices of waters by name, per millilitre.
    pub prices: &'a [(String, Price)],
    /// What it is compared with.
    pub ready_product: &'a ReadyProduct,
    /// The day on the label; left open when none is given.
    pub made_on: Option<Day>,
}
