//! Mathematics that knows nothing of water: distributions with their tails and quantiles,
//! quadrature, roots of monotone functions, least squares of correlated values, orders.
//!
//! May use: `quantities`, whose uncertain values are combined here. Never: a word of the trade.
//! What a kept crate does (`statrs`, `libm`, `nalgebra`) is called, not written again.
//!
//! ```
//! use waterflight::numerics::{StudentizedRange, normal_quantile, t_two_sided};
//!
//! assert!((normal_quantile(0.975) - 1.959_964).abs() < 1e-6);
//! assert!((t_two_sided(2.0, 10.0) - 0.073_388).abs() < 1e-6);
//! // the studentized range of three means, 10 degrees of freedom, 5 %: 3.877 (scipy 1.16)
//! assert!((StudentizedRange::new(3).quantile(0.05, 10.0) - 3.876_777).abs() < 1e-4);
//! ```

pub mod distributions;
pub mod expectation_over_chi;
pub mod find_root;
pub mod least_squares;
pub mod ordering;
pub mod quadrature;
pub mod studentized_range;

pub use distributions::{
    binomial_at_least, binomial_term, chi_square_quantile, chi_square_tail, clopper_pearson, count,
    f_quantile, f_tail, normal_cdf, normal_density, normal_quantile, t_quantile, t_two_sided,
};
pub use expectation_over_chi::{noncentral_t_tail, t_power_two_sided};
pub use ordering::{ends, next_permutation};
pub use studentized_range::{StudentizedRange, StudentizedRanges};
