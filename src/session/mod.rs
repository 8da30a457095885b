//! One blind tasting of a flight, from the plan to what it says.
//!
//! [`plan`] draws orders, codes and the sealed key; [`score`] keeps the log of answers;
//! [`analysis`] computes; [`serve`] and [`results`] put it on sheets and pages. Arrows go in that
//! order. None of these rooms opens a file, but for [`blind`], which knows the plan and the log alone:
//! `bench` holds the folder of a session.

pub mod analysis;
pub mod blind;
pub mod plan;
pub mod results;
pub mod score;
pub mod serve;
