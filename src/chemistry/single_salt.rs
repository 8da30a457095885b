//! Conductivity of a dilute solution of one salt at 25 °C, as a meter shows it.

use crate::chemistry::formula::Formula;
use crate::reference::magnesium_sulfate_conductivity as mgso4;
use crate::reference::mccleskey_2011::{CONDUCTIVITY_ROWS, ConductivityRow};

/// A conductivity and how well its equation is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductivity {
    /// Conductivity at 25 °C, µS/cm.
    pub us_per_cm: f64,
    /// Relative standard uncertainty of the equation.
    pub relative: f64,
}

/// The equation that holds for a salt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Equation {
    /// Published coefficients.
    Published(&'static ConductivityRow),
    /// Magnesium sulfate with its ion pair.
    Paired,
}

/// Temperature that meters refer to.
const CELSIUS: f64 = 25.0;

/// Relative standard uncertainty of the published equation, from the comparison with the CRC
/// Handbook in `tests/oracle/conductivity_crc.csv`: the differences are 0.1 to 1.7 %.
const PUBLISHED: f64 = 0.008;

/// Relative standard uncertainty for magnesium sulfate: our choice; PHREEQC is 1.0 to 1.8 % lower
/// and no measured table was at hand.
const PAIRED: f64 = 0.02;

/// Highest concentration that the equations are used for here, eq/L: a diluted stock.
pub const STRONGEST_EQ_PER_L: f64 = 0.02;

/// The equation for a salt, hydrate water left aside; `None` where none is published.
#[must_use]
pub fn equation(salt: &Formula) -> Option<Equation> {
    let same = |text: &str| Formula::parse(text).is_ok_and(|f| f.same_but_for_water(salt));
    if same("MgSO4") {
        return Some(Equation::Paired);
    }
    CONDUCTIVITY_ROWS.iter().find(|row| same(row.formula)).map(Equation::Published)
}

impl Equation {
    /// Conductivity of so many meq/L of a salt with so many equivalents in a mole.
    ///
    /// ```
    /// use waterflight::chemistry::{Formula, single_salt};
    /// // 0.01 mol/L KCl, the calibration solution of meters: 1413 µS/cm at 25 °C
    /// let kcl = single_salt::equation(&Formula::parse("KCl").unwrap()).unwrap();
    /// let read = kcl.of(10.0, 1.0).us_per_cm;
    /// assert!((read / 1413.0 - 1.0).abs() < 0.005);
    /// ```
    #[must_use]
    pub fn of(self, meq_per_l: f64, equivalents: f64) -> Conductivity {
        let eq_per_l = (meq_per_l / 1000.0).max(0.0);
        let (per_equivalent, relative) = match self {
            Equation::Published(row) => (published(row, eq_per_l / equivalents), PUBLISHED),
            Equation::Paired => (paired(eq_per_l / 2.0), PAIRED),
        };
        // S cm²/eq × eq/L = mS/cm
        Conductivity { us_per_cm: per_equivalent * eq_per_l * 1000.0, relative }
    }

    /// The concentration, meq/L, that shows a conductivity, by bisection up to
    /// [`STRONGEST_EQ_PER_L`]; `None` beyond it.
    #[must_use]
    pub fn meq_per_l(self, us_per_cm: f64, equivalents: f64) -> Option<f64> {
        /// Our choice: halvings down to rounding.
        const HALVINGS: usize = 60;
        let (mut low, mut high) = (0.0, 1000.0 * STRONGEST_EQ_PER_L);
        if us_per_cm > self.of(high, equivalents).us_per_cm {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(low, high);
            if self.of(middle, equivalents).us_per_cm < us_per_cm {
                low = middle;
            } else {
                high = middle;
            }
        }
        Some(f64::midpoint(low, high))
    }
}

/// The published equation. Moles per litre stand for moles per kilogram: in dilute solution the
/// two differ by 0.3 %, less than the equation's own scatter.
fn published(row: &ConductivityRow, mol_per_l: f64) -> f64 {
    let at = |[a, b, c]: [f64; 3]| (a * CELSIUS + b) * CELSIUS + c;
    let root = mol_per_l.sqrt();
    at(row.limit) - at(row.slope) * root / (1.0 + row.b * root)
}

/// Onsager's law for the free ions of a 2:2 salt, times their share.
fn paired(mol_per_l: f64) -> f64 {
    /// Our choice: each round halves the step and the share settles to rounding.
    const ROUNDS: usize = 100;
    /// Charge number of both ions.
    const Z: f64 = 2.0;
    let (a, b) = mgso4::DEBYE_HUCKEL;
    let mut free = 1.0;
    let strength = |free: f64| Z * Z * mol_per_l * free;
    for _ in 0..ROUNDS {
        let root = strength(free).sqrt();
        let log_gamma = -a * Z * Z * root / (1.0 + b * mgso4::SIZE * root);
        let k = mgso4::ASSOCIATION * 10_f64.powf(2.0 * log_gamma) * mol_per_l;
        // 1 − α = k·α², its positive root
        let next = if k > 0.0 { ((1.0 + 4.0 * k).sqrt() - 1.0) / (2.0 * k) } else { 1.0 };
        free = f64::midpoint(free, next);
    }
    let (cation, anion) = mgso4::LIMITING;
    let limit = cation + anion;
    // q = 1/2 for ions of equal charge
    let q = 0.5_f64;
    let slope =
        mgso4::RELAXATION * Z * Z * q / (1.0 + q.sqrt()) * limit + mgso4::ELECTROPHORESIS * 2.0 * Z;
    let root = strength(free).sqrt();
    free * (limit - slope * root / (1.0 + b * mgso4::SIZE * root))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reading_and_concentration_undo_each_other() {
        for text in ["MgSO4·7H2O", "CaCl2", "NaHCO3", "KCl"] {
            let equation = Formula::parse(text).ok().and_then(|f| equation(&f));
            let read = equation.map(|e| e.of(1.7, 2.0).us_per_cm).unwrap_or_default();
            let back = equation.and_then(|e| e.meq_per_l(read, 2.0));
            assert!(back.is_some_and(|c| (c - 1.7).abs() < 1e-9), "{text}");
        }
    }

    #[test]
    fn what_no_equation_covers_is_said() {
        let lactate = Formula::parse("Ca(C3H5O3)2·5H2O");
        assert!(lactate.is_ok_and(|f| equation(&f).is_none()));
        let strong = Formula::parse("KCl").ok().and_then(|f| equation(&f));
        assert_eq!(strong.and_then(|e| e.meq_per_l(50_000.0, 1.0)), None);
    }
}
