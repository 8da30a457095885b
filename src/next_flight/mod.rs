//! From scores to the waters that are worth mixing next.
//!
//! [`surface`] states scores as a Gaussian process over composition for given scales, [`prior`]
//! what is expected of the scales, [`evidence`] weighs three hypotheses of the scores, [`posterior`]
//! says what follows, [`propose`] chooses among waters that the shelf can make.
//!
//! Scales are averaged over and never fitted: with five to eight waters the most probable ones are
//! far too sure; so is the panel's variance, by its degrees of freedom. Effects are counted in
//! standard deviations of a score and lengths in spans of the waters tasted, so that neither the
//! scale nor the region searched decides. `SURFACE_PANELS=400 cargo test --test all laws_surface --
//! --nocapture` prints how often what is said is true.
//!
//! May use: `quantities`, `numerics`, `text`, `chemistry`, `water`, `stock`, `flight`, `planner`,
//! `assessment`, `everyday`, and `session`'s rooms but `serve`. Never: a slope where the scores
//! would be as probable without one.
//!
//! ```
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! use waterflight::next_flight::Axis;
//!
//! let hardness = Axis::parse("hardness=20..120 mg/L as CaCO3")?;
//! assert!((hardness.value(0.5) - 70.0).abs() < 1e-9); // the middle of the region
//! # Ok(())
//! # }
//! ```

pub mod asked;
pub mod asked_axes;
pub mod axis;
pub mod choose;
pub mod evidence;
pub(crate) mod known;
mod observations;
pub(crate) mod page;
pub mod posterior;
mod posterior_values;
pub mod prior;
pub mod propose;
pub mod report;
pub mod shape;
mod shape_words;
pub mod slice;
pub mod surface;
pub(crate) mod tasted_waters;

pub use axis::Axis;
pub use choose::{d_optimal, far_apart, improving};
pub use evidence::{Evidence, Grade, Weighed};
pub use observations::TastedMean;
pub use posterior::{Drawn, Posterior, VarianceParts, WaterEstimate, best_of};
pub use posterior_values::Expected;
pub use prior::Hypothesis;
pub use propose::{NextRequest, Proposal, ProposeError, ProposedWater, Reason, propose};
pub use shape::{OptimumPlace, Shape, shape};
pub use surface::{Panel, Scales, Surface, SurfaceError};
