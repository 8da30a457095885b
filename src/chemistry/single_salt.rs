//! Conductivity of a dilute solution of one salt at 25 °C, as a meter shows it.
//!
//! Measured salts have equations of their own, which are better than the model of mixed waters; the
//! others take that model.

use crate::chemistry::aqueous::Aqueous;
use crate::chemistry::composition::Composition;
use crate::chemistry::conductivity::Conductor;
use crate::chemistry::formula::Formula;
use crate::chemistry::speciation::Carbon;
use crate::quantities::Celsius;
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
#[derive(Debug, Clone)]
pub enum Equation {
    /// Published coefficients.
    Published(&'static ConductivityRow),
    /// Magnesium sulfate with its ion pair.
    Paired,
    /// The model of mixed waters, for a salt without an equation of its own.
    Modelled(Box<Modelled>),
}

/// The model of mixed waters at 25 °C, and what a milliequivalent of the salt adds to a litre.
#[derive(Debug, Clone)]
pub struct Modelled {
    aqueous: Aqueous,
    conductor: Conductor,
    per_meq: Composition,
}

/// Temperature that meters refer to.
const CELSIUS: f64 = 25.0;

/// Relative standard uncertainty of the published equation, from the comparison with the CRC
/// Handbook in `tests/oracle/conductivity_crc.csv`: the differences are 0.1 to 1.7 %.
const PUBLISHED: f64 = 0.008;

/// Relative standard uncertainty for magnesium sulfate: our choice; PHREEQC is 1.0 to 1.8 % lower
/// and no measured table was at hand.
const PAIRED: f64 = 0.02;

/// Relative standard uncertainty of the model of mixed waters for a salt that it was never compared
/// with: our choice. The limiting conductivities of lactate and citrate are from memory.
const MODELLED: f64 = 0.03;

/// Highest concentration that the equations are used for here, eq/L: a diluted stock.
pub const STRONGEST_EQ_PER_L: f64 = 0.02;

/// The equation for a salt, hydrate water left aside; `per_meq` is what a milliequivalent of it adds
/// to a litre, for the salts that none is published for. `None` where even the model fails.
#[must_use]
pub fn equation(salt: &Formula, per_meq: &Composition) -> Option<Equation> {
    let same = |text: &str| Formula::parse(text).is_ok_and(|f| f.same_but_for_water(salt));
    if same("MgSO4") {
        return Some(Equation::Paired);
    }
    if let Some(row) = CONDUCTIVITY_ROWS.iter().find(|row| same(row.formula)) {
        return Some(Equation::Published(row));
    }
    let aqueous = Aqueous::at(Celsius::new(CELSIUS)).ok()?;
    let conductor = Conductor::at(&aqueous);
    let modelled = Modelled { aqueous, conductor, per_meq: *per_meq };
    modelled.us_per_cm(1000.0 * STRONGEST_EQ_PER_L)?;
    Some(Equation::Modelled(Box::new(modelled)))
}

impl Modelled {
    fn us_per_cm(&self, meq_per_l: f64) -> Option<f64> {
        let water = self.aqueous.speciate(&(self.per_meq * meq_per_l), Carbon::Closed).ok()?;
        Some(self.conductor.conductivity(&water).us_per_cm)
    }
}

impl Equation {
    /// Conductivity of so many meq/L of a salt with so many equivalents in a mole.
    ///
    /// ```
    /// use waterflight::chemistry::{Composition, Conserved, Formula, single_salt};
    /// let mut per_meq = Composition::PURE_WATER;
    /// per_meq.set_mmol_per_l(Conserved::K, 1.0);
    /// per_meq.set_mmol_per_l(Conserved::Cl, 1.0);
    /// // 0.01 mol/L KCl, the calibration solution of meters: 1413 µS/cm at 25 °C
    /// let kcl = single_salt::equation(&Formula::parse("KCl").unwrap(), &per_meq).unwrap();
    /// let read = kcl.of(10.0, 1.0).us_per_cm;
    /// assert!((read / 1413.0 - 1.0).abs() < 0.005);
    /// ```
    #[must_use]
    pub fn of(&self, meq_per_l: f64, equivalents: f64) -> Conductivity {
        let eq_per_l = (meq_per_l / 1000.0).max(0.0);
        let (per_equivalent, relative) = match self {
            Equation::Published(row) => (published(row, eq_per_l / equivalents), PUBLISHED),
            Equation::Paired => (paired(eq_per_l / 2.0), PAIRED),
            Equation::Modelled(model) => {
                let us_per_cm = model.us_per_cm(1000.0 * eq_per_l).unwrap_or(0.0);
                return Conductivity { us_per_cm, relative: MODELLED };
            }
        };
        // S cm²/eq × eq/L = mS/cm
        Conductivity { us_per_cm: per_equivalent * eq_per_l * 1000.0, relative }
    }

    /// The concentration, meq/L, that shows a conductivity, by bisection up to
    /// [`STRONGEST_EQ_PER_L`]; `None` beyond it.
    #[must_use]
    pub fn meq_per_l(&self, us_per_cm: f64, equivalents: f64) -> Option<f64> {
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
    use crate::chemistry::composition::Conserved;

    /// Potassium with an anion, one equivalent of each.
    fn of_potassium(anion: Conserved, moles: f64) -> Composition {
        let mut per_meq = Composition::PURE_WATER;
        per_meq.set_mmol_per_l(Conserved::K, 1.0);
        per_meq.set_mmol_per_l(anion, moles);
        per_meq
    }

    #[test]
    fn reading_and_concentration_undo_each_other() {
        let citrate = of_potassium(Conserved::Citrate, 1.0 / 3.0);
        for text in ["MgSO4·7H2O", "CaCl2", "NaHCO3", "KCl", "K3C6H5O7·H2O"] {
            let equation = Formula::parse(text).ok().and_then(|f| equation(&f, &citrate));
            let read = equation.as_ref().map(|e| e.of(1.7, 2.0).us_per_cm).unwrap_or_default();
            assert!(read > 100.0, "{text}");
            let back = equation.and_then(|e| e.meq_per_l(read, 2.0));
            assert!(back.is_some_and(|c| (c - 1.7).abs() < 1e-9), "{text}");
        }
    }

    #[test]
    fn the_model_agrees_with_an_equation() {
        let per_meq = of_potassium(Conserved::Cl, 1.0);
        let kcl = Formula::parse("KCl").ok().and_then(|f| equation(&f, &per_meq));
        let published = kcl.map(|e| e.of(5.0, 1.0).us_per_cm).unwrap_or_default();
        // A formula that no equation is published for, with the ions of potassium chloride.
        let other = Formula::parse("K3C6H5O7").ok().and_then(|f| equation(&f, &per_meq));
        assert!(matches!(other, Some(Equation::Modelled(_))));
        let modelled = other.map(|e| e.of(5.0, 1.0).us_per_cm).unwrap_or_default();
        assert!((modelled / published - 1.0).abs() < 0.01, "{modelled} {published}");
    }

    #[test]
    fn what_is_too_strong_is_said() {
        let per_meq = of_potassium(Conserved::Cl, 1.0);
        let strong = Formula::parse("KCl").ok().and_then(|f| equation(&f, &per_meq));
        assert_eq!(strong.and_then(|e| e.meq_per_l(50_000.0, 1.0)), None);
    }
}
