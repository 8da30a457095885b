//! One blind tasting of a flight, from the plan to what it says.
//!
//! [`plan`] draws orders, codes and the sealed key; [`score`] keeps the log of answers;
//! [`analysis`] computes; [`serve`] and [`results`] put it on sheets and pages. Arrows go in that
//! order. None of these rooms opens a file, but for [`blind`], which knows the plan and the log alone:
//! `bench` holds the folder of a session.
//!
//! What may come in: a flight's waters as names with their doses, the tasters, and what is asked of them;
//! then answers by code. What may not: a name of a water beside a code before the reveal, the key in plain
//! text, or anything that plans a water (each room inside says what it may use).
//!
//! ```
//! use waterflight::session::plan::{MethodKind, Question};
//!
//! assert_eq!(Question::CanWeTell.suggested(2), MethodKind::Tetrad); // two waters, few tasters
//! assert_eq!(Question::WhichIsBest.suggested(3), MethodKind::Ranking);
//! ```

pub mod analysis;
pub mod blind;
pub mod plan;
pub mod results;
pub mod score;
pub mod serve;
