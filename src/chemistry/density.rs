//! Density of water and of salt solutions.
//!
//! `1/ρ = w_w/ρ_w + Σ w_i·v_app,i` with the apparent volumes of
//! [`laliberte_2009`](crate::reference::laliberte_2009). `w` is the mass fraction of the
//! *anhydrous* salt; hydrate water counts as water.

use thiserror::Error;

use crate::chemistry::{Formula, FormulaError};
use crate::quantities::{Celsius, Fraction, GramsPerMillilitre};
use crate::reference::laliberte_2009::{DENSITY_ROWS, DensityRow};

/// A density and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Density {
    /// The density itself.
    pub value: GramsPerMillilitre,
    /// Standard uncertainty of the model at this strength, g/mL.
    pub standard_uncertainty: GramsPerMillilitre,
    /// The model behind it.
    pub basis: Basis,
}

/// What a density rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Basis {
    /// Published coefficients for this salt, inside their range.
    Published,
    /// No published coefficients: an apparent volume typical of the salts that have them.
    Estimated,
}

/// Why there is no density.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DensityError {
    /// Colder or hotter than the data.
    #[error("{celsius} °C is outside the published range of {formula}, {min} to {max} °C")]
    Temperature {
        /// Anhydrous formula.
        formula: &'static str,
        /// Temperature asked for.
        celsius: f64,
        /// Lowest of the range.
        min: f64,
        /// Highest of the range.
        max: f64,
    },
    /// Stronger than the data.
    #[error(
        "{percent:.2} % of anhydrous {formula} is beyond the published range, 0 to {max_percent:.2} %"
    )]
    Strength {
        /// Anhydrous formula.
        formula: &'static str,
        /// Mass of anhydrous salt asked for, % of the solution.
        percent: f64,
        /// Highest of the range, %.
        max_percent: f64,
    },
}

/// Relative standard uncertainty of the published fit. Our choice, from the comparison with the
/// handbook values in `tests/oracle/densities_handbook.csv`: most lie within 0.2 % of the fit,
/// strong potassium carbonate and bicarbonate up to 0.4 % above it.
const FIT_UNCERTAINTY: f64 = 0.001;
const FIT_UNCERTAINTY_POTASSIUM_CARBONATES: f64 = 0.002;

/// Apparent volume where no coefficients are published, mL/g: our choice, the middle of what
/// the sixteen tabulated salts show at 5 % and 20 °C (about 0 to 0.45 mL/g, hydroxides and
/// organic salts lie at its upper half), with a standard uncertainty that covers them.
const ESTIMATED_APPARENT_VOLUME_ML_PER_G: f64 = 0.35;
const ESTIMATED_APPARENT_VOLUME_UNCERTAINTY: f64 = 0.15;

/// Density of pure water at atmospheric pressure, in the form used by Laliberté & Cooper 2004
/// (their equation 5, after Kell 1975).
///
/// ```
/// use waterflight::chemistry::density::water;
/// use waterflight::quantities::Celsius;
/// // Kell 1975 as tabulated: 0.998 204 g/mL at 20 °C and 0.997 045 g/mL at 25 °C; newer tables
/// // are 3e-6 higher, a thousandth of what matters here.
/// assert!((water(Celsius::new(20.0)).value() - 0.998_204).abs() < 1e-6);
/// assert!((water(Celsius::new(25.0)).value() - 0.997_045).abs() < 1e-6);
/// ```
#[must_use]
pub fn water(temperature: Celsius) -> GramsPerMillilitre {
    let t = temperature.value();
    let numerator = (((((-2.805_425_3e-10 * t + 1.055_630_2e-7) * t - 4.617_046_1e-5) * t
        - 0.007_987_040_1)
        * t
        + 16.945_176)
        * t)
        + 999.839_52;
    GramsPerMillilitre::new(numerator / (1.0 + 0.016_879_85 * t) / 1000.0)
}

/// Density of a solution of one salt.
///
/// # Errors
/// Outside the published temperature or strength range of a salt that has coefficients.
pub fn solution(
    salt: &Formula,
    anhydrous: Fraction,
    temperature: Celsius,
) -> Result<Density, DensityError> {
    let w = anhydrous.value();
    let rho_w = water(temperature).value();
    let Some(row) = row_of(salt) else {
        let v = ESTIMATED_APPARENT_VOLUME_ML_PER_G;
        let rho = 1.0 / ((1.0 - w) / rho_w + w * v);
        // dρ/dv = ρ²·w
        let u = rho * rho * w * ESTIMATED_APPARENT_VOLUME_UNCERTAINTY;
        return Ok(Density {
            value: GramsPerMillilitre::new(rho),
            standard_uncertainty: GramsPerMillilitre::new(u),
            basis: Basis::Estimated,
        });
    };
    check_range(row, w, temperature.value())?;
    let rho = mixture(&[(row, w)], temperature);
    let fit = match row.formula {
        "K2CO3" | "KHCO3" => FIT_UNCERTAINTY_POTASSIUM_CARBONATES,
        _ => FIT_UNCERTAINTY,
    };
    Ok(Density {
        value: GramsPerMillilitre::new(rho),
        standard_uncertainty: GramsPerMillilitre::new(rho * fit),
        basis: Basis::Published,
    })
}

/// Density, g/mL, of a solution of several salts with published coefficients: the mixing rule of
/// the 2004 paper. `w` is each salt's mass fraction, anhydrous.
#[must_use]
pub fn mixture(salts: &[(&DensityRow, f64)], temperature: Celsius) -> f64 {
    let t = temperature.value();
    let solutes: f64 = salts.iter().map(|(_, w)| w).sum();
    let salt_volume: f64 =
        salts.iter().map(|(row, w)| w * apparent_volume_ml_per_g(row, solutes, t)).sum();
    1.0 / ((1.0 - solutes) / water(temperature).value() + salt_volume)
}

/// Density of a solution of several salts, each with its mass fraction, anhydrous: [`mixture`]
/// for those with published coefficients, the estimated apparent volume for the others.
///
/// # Errors
/// When one of them alone is outside its published temperatures or strengths.
pub fn mixed(
    salts: &[(&Formula, Fraction)],
    temperature: Celsius,
) -> Result<Density, DensityError> {
    let mut published = Vec::new();
    let mut estimated = 0.0;
    for (salt, w) in salts {
        match row_of(salt) {
            Some(row) => {
                check_range(row, w.value(), temperature.value())?;
                published.push((row, w.value()));
            }
            None => estimated += w.value(),
        }
    }
    // Water makes room for the salts without coefficients.
    let change = ESTIMATED_APPARENT_VOLUME_ML_PER_G - 1.0 / water(temperature).value();
    let rho = 1.0 / (1.0 / mixture(&published, temperature) + estimated * change);
    let of_estimate = rho * rho * estimated * ESTIMATED_APPARENT_VOLUME_UNCERTAINTY;
    let of_fit = rho * FIT_UNCERTAINTY_POTASSIUM_CARBONATES;
    Ok(Density {
        value: GramsPerMillilitre::new(rho),
        standard_uncertainty: GramsPerMillilitre::new(of_fit.hypot(of_estimate)),
        basis: if estimated > 0.0 { Basis::Estimated } else { Basis::Published },
    })
}

/// The published row of a salt, hydrate water left aside.
#[must_use]
pub fn row_of(salt: &Formula) -> Option<&'static DensityRow> {
    DENSITY_ROWS.iter().find(|row| {
        let tabulated: Result<Formula, FormulaError> = Formula::parse(row.formula);
        tabulated.is_ok_and(|f| f.same_but_for_water(salt))
    })
}

fn apparent_volume_ml_per_g(row: &DensityRow, solutes: f64, t: f64) -> f64 {
    let [c0, c1, c2, c3, c4] = row.c;
    let exponent = 1.0e-6 * (t + c4) * (t + c4);
    // The paper's volumes are m³/kg; 1 m³/kg is 1000 mL/g.
    1000.0 * (solutes + c2 + c3 * t) / ((c0 * solutes + c1) * exponent.exp())
}

fn check_range(row: &DensityRow, w: f64, celsius: f64) -> Result<(), DensityError> {
    if celsius < row.min_celsius || celsius > row.max_celsius {
        return Err(DensityError::Temperature {
            formula: row.formula,
            celsius,
            min: row.min_celsius,
            max: row.max_celsius,
        });
    }
    if w > row.max_mass_fraction {
        return Err(DensityError::Strength {
            formula: row.formula,
            percent: w * 100.0,
            max_percent: row.max_mass_fraction * 100.0,
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_salt_is_plain_water() {
        let t = Celsius::new(20.0);
        for row in DENSITY_ROWS {
            assert!((mixture(&[(row, 0.0)], t) - water(t).value()).abs() < 1e-15);
        }
    }

    /// A salt without coefficients takes the estimated volume, and the doubt of it: by hand, 2 % of
    /// it in water of ρ = 0.998204 at 20 °C has 1/ρ = 0.98/0.998204 + 0.02·0.35.
    #[test]
    fn mixtures_say_when_they_are_estimated() {
        let t = Celsius::new(20.0);
        let (salt, lactate) = (Formula::parse("NaCl"), Formula::parse("Ca(C3H5O3)2·5H2O"));
        assert!(salt.is_ok() && lactate.is_ok());
        let (Ok(salt), Ok(lactate)) = (&salt, &lactate) else { return };
        let w = Fraction::new(0.02);
        let alone = mixed(&[(lactate, w)], t).map(|d| d.value.value());
        let by_hand = 1.0 / (0.98 / water(t).value() + 0.02 * 0.35);
        assert!(alone.is_ok_and(|rho| (rho - by_hand).abs() < 1e-12));
        let both = mixed(&[(salt, w), (lactate, w)], t);
        let one = mixed(&[(salt, w)], t);
        let doubt = |d: Result<Density, DensityError>| d.map(|d| d.standard_uncertainty.value());
        assert!(matches!(both, Ok(Density { basis: Basis::Estimated, .. })));
        assert!(matches!(one, Ok(Density { basis: Basis::Published, .. })));
        assert!(doubt(both).is_ok_and(|u| doubt(one).is_ok_and(|least| u > least)));
        assert!(mixed(&[(salt, Fraction::new(0.9))], t).is_err());
    }

    #[test]
    fn the_range_is_kept() {
        let salt = Formula::parse("NaHCO3");
        let strong = salt.map(|f| solution(&f, Fraction::new(0.2), Celsius::new(20.0)));
        assert!(matches!(strong, Ok(Err(DensityError::Strength { formula: "NaHCO3", .. }))));
        let cold = Formula::parse("CaCl2·2H2O")
            .map(|f| solution(&f, Fraction::new(0.1), Celsius::new(4.0)));
        assert!(matches!(cold, Ok(Err(DensityError::Temperature { formula: "CaCl2", .. }))));
    }
}
