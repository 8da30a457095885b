//! everyday

pub mod batch_poured;
pub(crate) mod batch_recipe;
pub mod batch_text;
pub mod concentrate;
pub mod concentrate_text;
pub mod cost;
pub mod dry_batch;
pub mod few_salts;
pub mod recipe_text;
pub mod wanted;
pub mod weigh_out;

pub use batch_recipe::Accuracy;
pub use cost::{EverydayCost, ReadyProduct};
pub use dry_batch::BatchReport;
pub use wanted::Wanted;
pub use weigh_out::WeighedOut;
