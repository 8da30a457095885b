//! session::serve

pub mod commands;
pub mod forecast_page;
pub mod measured_out;
pub mod pouring_sheet;
pub mod progress;
pub mod sheets;
