//! Gauss–Legendre quadrature over equal panels, for smooth integrands.

/// Positive nodes and their weights of the 16-point rule on −1..1.
/// Source: Abramowitz & Stegun, Handbook of Mathematical Functions (1964), Table 25.4, n = 16.
const RULE_16: [(f64, f64); 8] = [
    (0.095_012_509_837_637_44, 0.189_450_610_455_068_5),
    (0.281_603_550_779_258_9, 0.182_603_415_044_923_6),
    (0.458_016_777_657_227_4, 0.169_156_519_395_002_54),
    (0.617_876_244_402_643_7, 0.149_595_988_816_576_73),
    (0.755_404_408_355_003, 0.124_628_971_255_533_87),
    (0.865_631_202_387_831_8, 0.095_158_511_682_492_78),
    (0.944_575_023_073_232_6, 0.062_253_523_938_647_89),
    (0.989_400_934_991_649_9, 0.027_152_459_411_754_1),
];

/// The integral of `f` from `low` to `high`, cut into `panels` equal panels of 16 points.
///
/// ```
/// use waterflight::numerics::quadrature::integral;
/// let third = integral(0.0, 1.0, 1, |x| x * x);
/// assert!((third - 1.0 / 3.0).abs() < 1e-15);
/// ```
pub fn integral(low: f64, high: f64, panels: u32, mut f: impl FnMut(f64) -> f64) -> f64 {
    let half = (high - low) / (2.0 * f64::from(panels));
    let mut sum = 0.0;
    for panel in 0..panels {
        let middle = low + half * f64::from(2 * panel + 1);
        for (node, weight) in RULE_16 {
            sum += weight * (f(middle - half * node) + f(middle + half * node));
        }
    }
    sum * half
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_weights_add_up_to_the_interval_and_the_rule_is_exact_to_degree_31() {
        assert!((integral(-1.0, 1.0, 1, |_| 1.0) - 2.0).abs() < 1e-15);
        assert!((integral(-1.0, 1.0, 1, |x| x.powi(30)) - 2.0 / 31.0).abs() < 1e-15);
    }
}
