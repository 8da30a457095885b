//! The laws of chance that tastings rest on: tails, quantiles, and integrals over the normal curve.
//!
//! Common distributions come from a library crate; what it lacks (studentized range, non-central
//! t) is integrated here. Nothing here knows a cup or a taster.

pub mod integrate;
pub mod range;
pub mod root;
pub mod scale;
pub mod tails;

pub use range::{RangeLaw, RangeLaws};
pub use scale::{noncentral_t_tail, t_power_two_sided};
pub use tails::{
    binomial_at_least, binomial_term, chi_square_tail, clopper_pearson, clopper_pearson_of, count,
    f_quantile, f_tail, normal_cdf, normal_density, normal_quantile, t_quantile, t_two_sided,
};
