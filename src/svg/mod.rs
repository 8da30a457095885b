//! Pictures as SVG: pure, fed by plain numbers, readable without colour and without sight.

pub mod agreement;
pub mod charge_stacks;
pub mod drawing;
pub mod intervals;
pub mod labels;
pub mod lines;
pub mod map;
pub mod palette;
pub mod plot;
pub mod text_width;

pub use drawing::{Anchor, Drawing, Weight};
