//! numerics

pub mod distributions;
pub mod expectation_over_chi;
pub mod find_root;
pub mod least_squares;
pub mod quadrature;
pub mod studentized_range;

pub use distributions::{
    binomial_at_least, binomial_term, chi_square_tail, clopper_pearson, clopper_pearson_of, count,
    f_quantile, f_tail, normal_cdf, normal_density, normal_quantile, t_quantile, t_two_sided,
};
pub use expectation_over_chi::{noncentral_t_tail, t_power_two_sided};
pub use studentized_range::{StudentizedRange, StudentizedRanges};
