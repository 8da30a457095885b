//! From scores to the waters that are worth mixing next.

pub mod axis;
pub mod choose;
pub mod evidence;
pub(crate) mod judged;
pub(crate) mod known;
pub(crate) mod page;
pub mod posterior;
pub mod prior;
mod promise;
pub mod propose;
pub mod report;
pub mod shape;
pub mod slice;
pub mod surface;

pub use axis::Axis;
pub use choose::{d_optimal, far_apart, improving};
pub use evidence::{Evidence, Grade, Weighed};
pub use posterior::{Drawn, Posterior, VarianceParts, WaterEstimate, best_of};
pub use prior::Account;
pub use promise::Expected;
pub use propose::{NextRequest, Proposal, ProposeError, ProposedWater, Reason, propose};
pub use shape::{OptimumPlace, Shape, shape};
pub use surface::{Panel, Scales, Surface, SurfaceError, TastedMean};
