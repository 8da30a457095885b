//! The guided start: questions in the words of the trade, answers into the files of a bench. The
//! questions know nothing of a terminal; whoever asks them does.

pub mod add;
mod bag_questions;
pub mod interview;
mod machine_questions;
pub mod ready_choice;
mod said_measures;
pub mod script;
mod strengths;
pub mod talk;
mod target_questions;
mod tool_questions;
mod water_questions;
mod write_bench;

pub use interview::{Started, start};
pub use script::Script;
pub use talk::{Asker, Question, Reply, Stop};
