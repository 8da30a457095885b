//! A bicarbonate solution, fresh and after it has stood open to the air, at 25 °C.
//!
//! Alkalinity stays when carbon dioxide comes or goes; what changes is the carbon and with it pH
//! and form. One salt of sodium or potassium in water, activities by extended Debye–Hückel with
//! the ion pair of bicarbonate: no calcium, so nothing settles.

use crate::reference::carbonate_25 as k;

/// The cation of the bicarbonate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cation {
    /// Na⁺
    Sodium,
    /// K⁺
    Potassium,
}

/// What decides the carbon in the solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Carbon {
    /// Closed: this much inorganic carbon for each equivalent of alkalinity.
    Closed(f64),
    /// In equilibrium with carbon dioxide of this pressure, atm.
    Open(f64),
}

/// The solution.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CarbonateState {
    /// pH.
    pub ph: f64,
    /// Inorganic carbon for each equivalent of alkalinity.
    pub carbon_per_alkalinity: f64,
}

/// The state of a solution of so many moles of MHCO3 (or as many equivalents of alkalinity) in a
/// kilogram of water. Meant for up to 1 mol/kg, where it is within 0.02 in pH of PHREEQC.
///
/// ```
/// use waterflight::chemistry::open_air::{Carbon, Cation, bicarbonate};
/// use waterflight::reference::carbonate_25::AIR_CO2_ATM;
/// // PHREEQC 3.8.6 with phreeqc.dat: 0.1 mol/kg NaHCO3 open to air ends at pH 9.75, with 0.74 of
/// // its carbon left
/// let end = bicarbonate(Cation::Sodium, 0.1, Carbon::Open(AIR_CO2_ATM));
/// assert!((end.ph - 9.75).abs() < 0.01);
/// assert!((end.carbon_per_alkalinity - 0.74).abs() < 0.005);
/// ```
#[must_use]
pub fn bicarbonate(cation: Cation, mol_per_kg: f64, carbon: Carbon) -> CarbonateState {
    /// Our choice: each round changes the ionic strength by a small part of the last change.
    const ROUNDS: usize = 40;
    let mut ionic_strength = mol_per_kg;
    let mut state = CarbonateState { ph: 7.0, carbon_per_alkalinity: 1.0 };
    for _ in 0..ROUNDS {
        (state, ionic_strength) = at(cation, mol_per_kg, carbon, ionic_strength);
    }
    state
}

/// Concentrations of everything at one activity of H⁺.
struct Species {
    alkalinity: f64,
    carbon: f64,
    ionic_strength: f64,
}

fn at(cation: Cation, m: f64, carbon: Carbon, i: f64) -> (CarbonateState, f64) {
    /// Our choice: bisection of pH 2 to 14 down to rounding.
    const HALVINGS: usize = 60;
    let (mut low, mut high) = (2.0, 14.0);
    for _ in 0..HALVINGS {
        let ph = f64::midpoint(low, high);
        if species(cation, m, carbon, i, ph).alkalinity < m {
            low = ph;
        } else {
            high = ph;
        }
    }
    let ph = f64::midpoint(low, high);
    let found = species(cation, m, carbon, i, ph);
    (CarbonateState { ph, carbon_per_alkalinity: found.carbon / m }, found.ionic_strength)
}

fn species(cation: Cation, m: f64, carbon: Carbon, i: f64, ph: f64) -> Species {
    let (gamma, log_pair, gamma_pair) = match cation {
        Cation::Sodium => (k::GAMMA_NA, k::LOG_K_NAHCO3, k::GAMMA_NAHCO3),
        Cation::Potassium => (k::GAMMA_K, k::LOG_K_KHCO3, k::GAMMA_KHCO3),
    };
    let charged = |z: f64, (a, b): (f64, f64)| {
        let (big_a, big_b) = k::DEBYE_HUCKEL;
        let root = i.sqrt();
        10_f64.powf(-big_a * z * z * root / (1.0 + big_b * a * root) + b * i)
    };
    let neutral = |b: f64| 10_f64.powf(b * i);
    let (g_one, g_two) = (charged(1.0, k::GAMMA_CARBONATES), charged(2.0, k::GAMMA_CARBONATES));
    let h = 10_f64.powf(-ph);
    // Everything as a multiple of the activity of CO2.
    let bicarbonate = 10_f64.powf(k::LOG_K_BICARBONATE - k::LOG_K_CO2) / h / g_one;
    let carbonate = 10_f64.powf(-k::LOG_K_CO2) / h / h / g_two;
    let co2 = 1.0 / neutral(k::GAMMA_CO2);
    // Free cation: m / (1 + K·γM·γB·[HCO3]/γP), so the pair needs the amount of bicarbonate.
    let pair_factor = 10_f64.powf(log_pair) * charged(1.0, gamma) * g_one / neutral(gamma_pair);
    let pair = |hco3: f64| m * pair_factor * hco3 / (1.0 + pair_factor * hco3);
    let activity = match carbon {
        Carbon::Open(atm) => 10_f64.powf(k::LOG_K_HENRY) * atm,
        Carbon::Closed(share) => {
            closed(share * m, co2 + bicarbonate + carbonate, bicarbonate, pair)
        }
    };
    let hco3 = bicarbonate * activity;
    let co3 = carbonate * activity;
    let paired = pair(hco3);
    let oh = 10_f64.powf(k::LOG_K_WATER) / h / charged(1.0, k::GAMMA_OH);
    let free_h = h / charged(1.0, k::GAMMA_H);
    Species {
        alkalinity: hco3 + paired + 2.0 * co3 + oh - free_h,
        carbon: co2 * activity + hco3 + co3 + paired,
        ionic_strength: 0.5 * (m - paired + hco3 + 4.0 * co3 + oh + free_h),
    }
}

/// Activity of CO2 at which all carbon adds up to a total, by bisection.
fn closed(total: f64, per_activity: f64, bicarbonate: f64, pair: impl Fn(f64) -> f64) -> f64 {
    /// Our choice: halvings of an interval down to rounding.
    const HALVINGS: usize = 60;
    let (mut low, mut high) = (0.0, total / per_activity);
    for _ in 0..HALVINGS {
        let activity = f64::midpoint(low, high);
        if per_activity * activity + pair(bicarbonate * activity) < total {
            low = activity;
        } else {
            high = activity;
        }
    }
    f64::midpoint(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fresh_solution_is_near_ph_eight() {
        let fresh = bicarbonate(Cation::Sodium, 0.1, Carbon::Closed(1.0));
        assert!((8.0..8.4).contains(&fresh.ph), "{fresh:?}");
        assert!((fresh.carbon_per_alkalinity - 1.0).abs() < 1e-9);
    }

    #[test]
    fn pure_carbon_dioxide_keeps_it_bicarbonate() {
        let under = bicarbonate(Cation::Potassium, 0.3, Carbon::Open(1.0));
        assert!(under.ph < 8.0 && under.carbon_per_alkalinity > 1.0);
    }
}
