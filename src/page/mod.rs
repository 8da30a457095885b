//! Pages to print and to keep: finished reports as one HTML file each. Nothing is computed here.

pub mod everyday;
pub mod label_sheet;
pub mod labels;
pub mod parts;
pub mod pictures;
pub mod pour;
pub mod results;
pub mod shell;
pub mod tasting;
pub mod weigh;
