//! The guided start: questions in the words of the trade, answers into the files of a bench. The
//! questions know nothing of a terminal; whoever asks them does.
//!
//! An interview is a function of its answers: a step back runs it again with one answer less, and a start
//! that was left goes on with the answers that were kept.
//!
//! ```
//! use waterflight::guide::Script;
//! let mut answers = Script::default();
//! answers.set("bag 1", "baking soda");
//! answers.set("bag 1", "Epsom salt");
//! assert_eq!(answers.get("bag 1"), Some("Epsom salt"));
//! ```
//!
//! May use: amounts, salts, waters, goals, the planner and its advice on strengths, and the bench, whose
//! files it writes and reads back. Never: a terminal, colours, arguments; and never writes over a file.

pub mod add;
mod bag_questions;
pub mod interview;
mod machine_questions;
pub mod script;
mod strengths;
pub mod talk;
mod target_questions;
mod tool_questions;
mod typed_measures;
mod water_questions;
mod write_bench;

pub use interview::{Started, start};
pub use script::Script;
pub use talk::{Asker, Question, Stop};
