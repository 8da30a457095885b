//! From scores to the waters that are worth mixing next.

pub mod asked_axes;
pub mod axis;
pub mod choose;
pub mod evidence;
pub(crate) mod known;
pub(crate) mod page;
pub mod posterior;
mod posterior_values;
pub mod prior;
pub mod propose;
pub mod report;
pub mod shape;
pub mod surface;
pub(crate) mod tasted_waters;

pub use axis::Axis;
pub use choose::{d_optimal, far_apart, improving};
pub use evidence::{Evidence, Grade, Weighed};
pub use posterior::{Drawn, Posterior, VarianceParts, WaterEstimate, best_of};
pub use posterior_values::Expected;
pub use prior::Account;
pub use propose::{NextRequest, Proposal, ProposeError, ProposedWater, Reason, propose};
pub use shape::{OptimumPlace, Shape, shape};
pub use surface::{Panel, Scales, Surface, SurfaceError, TastedMean};
