//! Electrical conductivity of a water.
//!
//! A cation and an anion alone follow Falkenhagen's form of the Debye–Hückel–Onsager law,
//! `Λ = [Λ° − E·(z₊ + z₋)·√I/(1 + κa)]·[1 − R·z₊z₋·q/(1 + √q)·√I/((1 + κa)(1 + √q·κa))]`
//! (Robinson R. A., Stokes R. H., "Electrolyte Solutions", 2nd ed. 1959, chapter 7; from memory).
//! R and E are theory; the limiting conductivities are tabulated; the closest approach `a` of each
//! pair is fitted here to measured single salts at 25 °C. A mixture is the sum over all pairs of a
//! cation and an anion, each by its share of the equivalents, so that Kohlrausch's law holds at
//! infinite dilution and single salts come out as measured.
//!
//! Measured values used (script `tests/oracle/conductivity_fit.py`): CRC Handbook, "Equivalent
//! conductivity of electrolytes in aqueous solution"; McCleskey R. B., J. Chem. Eng. Data 56 (2011)
//! 317–327; Larionov E. G., Kryukov P. A. 1984 for MgSO4.
//!
//! Above 400 lines: one law, its mixing rule and its tests.
#![expect(clippy::indexing_slicing, reason = "tables with one place per ion")]

use crate::chemistry::Aqueous;
use crate::chemistry::Speciation;
use crate::chemistry::Species;
use crate::chemistry::solution::MILLI;
use crate::chemistry::solvent::Solvent;
use crate::quantities::Celsius;
use crate::reference::crc_conductivity as crc;
use crate::reference::phreeqc_dat::mobility;
use crate::reference::physical_constants::{ELEMENTARY_CHARGE, FARADAY, ZERO_CELSIUS_IN_KELVIN};

/// An ion as a carrier of current.
#[derive(Debug, Clone, Copy)]
struct Carrier {
    charge: f64,
    /// Limiting conductivity per equivalent at 25 °C, S·cm²/mol.
    limiting: f64,
    /// Temperature coefficient of its mobility, K.
    temperature: f64,
}

const CATIONS: usize = 5;
const ANIONS: usize = 11;

/// Places of the carriers in the two tables.
mod cation {
    pub(super) const H: usize = 0;
    pub(super) const CA: usize = 1;
    pub(super) const MG: usize = 2;
    pub(super) const NA: usize = 3;
    pub(super) const K: usize = 4;
}
mod anion {
    pub(super) const OH: usize = 0;
    pub(super) const CL: usize = 1;
    pub(super) const SO4: usize = 2;
    pub(super) const HCO3: usize = 3;
    pub(super) const CO3: usize = 4;
    pub(super) const NO3: usize = 5;
    pub(super) const LACTATE: usize = 6;
}

const fn carrier(charge: f64, limiting: f64, temperature: f64) -> Carrier {
    Carrier { charge, limiting, temperature }
}

const CATION: [Carrier; CATIONS] = [
    carrier(1.0, crc::H, mobility::H),
    carrier(2.0, crc::CA, mobility::CA),
    carrier(2.0, crc::MG, mobility::MG),
    carrier(1.0, crc::NA, mobility::NA),
    carrier(1.0, crc::K, mobility::K),
];

/// After those of [`anion`]: HSO4⁻ with H3SiO4⁻ (which matter in sour or strongly alkaline waters
/// only), then citrate with one, two and three charges. Mobilities without a coefficient of their
/// own follow the viscosity.
const ANION: [Carrier; ANIONS] = [
    carrier(1.0, crc::OH, mobility::OH),
    carrier(1.0, crc::CL, mobility::CL),
    carrier(2.0, crc::SO4, mobility::SO4),
    carrier(1.0, crc::HCO3, mobility::HCO3),
    carrier(2.0, crc::CO3, mobility::CO3),
    carrier(1.0, crc::NO3, mobility::NO3),
    carrier(1.0, crc::LACTATE, 0.0),
    carrier(1.0, 0.5 * (crc::HSO4 + crc::H3SIO4), 0.0),
    carrier(1.0, crc::CITRATE_SINGLE, 0.0),
    carrier(2.0, crc::CITRATE_DOUBLE, 0.0),
    carrier(3.0, crc::CITRATE, 0.0),
];

/// Closest approach of two ions, Å: our fit to the measured single salts named above, each within
/// 1.5 % (most within 0.5 %) up to 0.1 equivalents per litre.
const CLOSEST: [(usize, usize, f64); 12] = [
    (cation::K, anion::CL, 2.9),
    (cation::NA, anion::CL, 3.0),
    (cation::CA, anion::CL, 3.5),
    (cation::MG, anion::CL, 3.7),
    (cation::H, anion::CL, 2.6),
    (cation::NA, anion::OH, 3.4),
    (cation::K, anion::NO3, 1.2),
    (cation::K, anion::HCO3, 2.2),
    (cation::NA, anion::SO4, 6.0),
    (cation::K, anion::SO4, 3.0),
    (cation::CA, anion::SO4, 4.7),
    (cation::MG, anion::SO4, 4.0),
];

/// Closest approach of pairs without measurements, Å: our choice, the middle of those that have
/// them. One more or less moves a brewing water by 0.3 %.
const CLOSEST_DEFAULT: f64 = 4.0;

/// Share of an ion pair that carries no current: our fit to the same measurements. The pairs of
/// the speciation model and those that conductivity sees are not the same; where the closest
/// approach already stands for part of the pairing, the share is below one. MgOH⁺ is taken as
/// CaOH⁺.
const SILENT: [(Species, usize, usize, f64); 6] = [
    (Species::NaSO4, cation::NA, anion::SO4, 0.6),
    (Species::KSO4, cation::K, anion::SO4, 0.35),
    (Species::CaCO3, cation::CA, anion::CO3, 1.0),
    (Species::MgCO3, cation::MG, anion::CO3, 1.0),
    (Species::CaOH, cation::CA, anion::OH, 0.85),
    (Species::MgOH, cation::MG, anion::OH, 0.85),
];

/// Association constant of MgSO4⁰ that conductivity sees, as a share of the speciation model's:
/// our fit to the same measurements.
const ASSOCIATION_MGSO4: f64 = 0.6;

/// The same for CaSO4⁰ in a solution of calcium sulfate alone, and the power of `calcium's share of
/// the cations × sulfate's share of the anions` that it is scaled with in a mixture: our choice. No
/// measured mixtures were at hand. PHREEQC 3.8.6, which overstates pure calcium sulfate by 8 to 14 %,
/// is met on random brewing waters within 5.7 % this way (99 of 100 within 4.6 %) and missed by up
/// to 7.2 % without.
const ASSOCIATION_CASO4: f64 = 1.0;
const MIXTURE_POWER: f64 = 0.75;

/// Pairs that conduct as their ions do: weak ones, whose effect the closest approach carries.
const LOUD: [(Species, usize, usize); 5] = [
    (Species::NaHCO3, cation::NA, anion::HCO3),
    (Species::KHCO3, cation::K, anion::HCO3),
    (Species::CaHCO3, cation::CA, anion::HCO3),
    (Species::MgHCO3, cation::MG, anion::HCO3),
    (Species::HCl, cation::H, anion::CL),
];

/// Conductivity at a temperature, with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conductivity {
    /// Conductivity, µS/cm.
    pub us_per_cm: f64,
    /// Standard uncertainty of the model, and of what was not measured, µS/cm.
    pub standard_uncertainty: f64,
    /// What the least and the most unmeasured salt would give; `None` where all is known.
    pub between: Option<[f64; 2]>,
    /// The same, and what amounts that are only known to be below a limit leave open; twice the
    /// conductivity where there is nothing of either.
    pub ends: [f64; 2],
}

/// Relative standard uncertainty at 25 °C of a pair of ions whose closest approach is fitted: our
/// choice, half of the 2 % that no measured single salt is missed by.
const MEASURED: f64 = 0.01;

/// The same of a pair that was never measured alone: our choice. PHREEQC differs by up to 3 % for
/// such salts (magnesium bicarbonate) at 0.02 eq/L.
const UNMEASURED: f64 = 0.02;

/// The same where hydrolysis or a limiting conductivity from memory stands behind the ion: our
/// choice. Sodium and potassium carbonate are 0 to 4 % above what was measured at 18 °C and 5 to 6 %
/// above PHREEQC, whose mixing rule stays 3 % below the sum of the ions even where they no longer
/// act on each other (0.00005 eq/L).
const HYDROLYSED: f64 = 0.03;

/// The same of the rule for mixtures, where no pair carries more than a small part of the current:
/// our choice. Random brewing waters agree with PHREEQC's own rule with a spread of 2 %.
const MIXED: f64 = 0.02;

/// What it grows by per kelvin away from 25 °C: our choice, after the differences of up to 7 % at
/// 60 K between the limiting conductivities used and those measured by McCleskey 2011, and of up
/// to 20 % at 100 K from PHREEQC.
const UNCERTAINTY_PER_KELVIN: f64 = 0.001;

/// Metres to centimetres, squared: S·m²/mol to S·cm²/mol.
const CM2_PER_M2: f64 = 1e4;

/// mPa·s to Pa·s.
const PA_S_PER_MPA_S: f64 = 1e-3;

/// mol/L times S·cm²/mol is mS/cm; in µS/cm.
const MICROSIEMENS: f64 = 1000.0;

/// The law of one pair at one temperature.
#[derive(Debug, Clone, Copy, Default)]
struct PairLaw {
    limiting: f64,
    /// E·(z₊ + z₋).
    electrophoretic: f64,
    /// R·z₊z₋·q/(1 + √q).
    relaxation: f64,
    /// κ·a/√I.
    size: f64,
    root_q: f64,
    /// Relative standard uncertainty at 25 °C.
    relative_uncertainty: f64,
}

/// Conductivity at one temperature: made once, used for any number of waters.
#[derive(Debug, Clone)]
pub struct Conductor {
    celsius: f64,
    pairs: [[PairLaw; ANIONS]; CATIONS],
}

impl Conductor {
    /// Prepares the laws of all pairs at the temperature of a set of constants.
    ///
    /// ```
    /// use waterflight::chemistry::{Aqueous, Carbon, Composition, Conserved, Conductor};
    /// use waterflight::quantities::Celsius;
    /// let at_25 = Aqueous::at(Celsius::new(25.0)).unwrap();
    /// let mut kcl = Composition::PURE_WATER;
    /// kcl.set_mmol_per_l(Conserved::K, 10.0);
    /// kcl.set_mmol_per_l(Conserved::Cl, 10.0);
    /// let water = at_25.speciate(&kcl, Carbon::Closed).unwrap();
    /// // 0.01 mol/L KCl, the standard of conductivity meters: 1413 µS/cm at 25 °C.
    /// let read = Conductor::at(&at_25).conductivity(&water).us_per_cm;
    /// assert!((read - 1413.0).abs() < 5.0);
    /// ```
    #[must_use]
    pub fn at(aqueous: &Aqueous) -> Self {
        let solvent = aqueous.solvent();
        let mut pairs = [[PairLaw::default(); ANIONS]; CATIONS];
        for (c, row) in pairs.iter_mut().enumerate() {
            for (a, law) in row.iter_mut().enumerate() {
                let given = CLOSEST.iter().find(|(cc, aa, _)| *cc == c && *aa == a);
                let closest = given.map_or(CLOSEST_DEFAULT, |(_, _, angstrom)| *angstrom);
                *law = pair_law(solvent, CATION[c], ANION[a], closest);
                law.relative_uncertainty = match (a, given) {
                    (anion::OH | anion::CO3 | anion::LACTATE.., _) => HYDROLYSED,
                    (_, Some(_)) => MEASURED,
                    _ => UNMEASURED,
                };
            }
        }
        Self { celsius: aqueous.temperature().value(), pairs }
    }

    /// Temperature of the laws.
    #[must_use]
    pub fn temperature(&self) -> Celsius {
        Celsius::new(self.celsius)
    }

    /// Conductivity of a water that was speciated at the same temperature.
    #[must_use]
    pub fn conductivity(&self, water: &Speciation<'_>) -> Conductivity {
        let (cations, anions) = carried(water);
        let plus: f64 = cations.iter().sum();
        let minus: f64 = anions.iter().sum();
        let strength = |eq: &[f64], table: &[Carrier]| -> f64 {
            eq.iter().zip(table).map(|(eq, carrier)| eq * carrier.charge).sum()
        };
        let ionic_strength = 0.5 * (strength(&cations, &CATION) + strength(&anions, &ANION));
        let root = ionic_strength.sqrt();
        // Either sum may be off by what an unbalanced analysis misses.
        let per_mean = 2.0 / (plus + minus);
        let (mut sum, mut doubt, mut squares) = (0.0, 0.0, 0.0);
        for (c, laws) in self.pairs.iter().enumerate() {
            if cations[c] <= NO_CURRENT {
                continue;
            }
            for (a, law) in laws.iter().enumerate() {
                if anions[a] > NO_CURRENT {
                    let part = cations[c] * anions[a] * per_mean * law.at(root);
                    sum += part;
                    doubt += part * law.relative_uncertainty;
                    squares += part * part;
                }
            }
        }
        let us_per_cm = sum * MICROSIEMENS;
        // The errors of pairs are taken as one, since one theory stands behind all; a single pair has
        // nothing to mix.
        let (pairs, mixed) = if sum > 0.0 {
            (doubt / sum, MIXED * (1.0 - squares / (sum * sum)).max(0.0))
        } else {
            (HYDROLYSED, 0.0)
        };
        let relative = (pairs * pairs + mixed * mixed).sqrt()
            + UNCERTAINTY_PER_KELVIN * (self.celsius - REFERENCE_CELSIUS).abs();
        Conductivity {
            us_per_cm,
            standard_uncertainty: relative * us_per_cm,
            between: None,
            ends: [us_per_cm; 2],
        }
    }
}

/// Temperature to which conductivities are referred, °C (ISO 7888).
pub const REFERENCE_CELSIUS: f64 = 25.0;

/// Equivalents per kg below which a carrier is left out: our choice, 1e-12 mol of H⁺ carry
/// 0.0000003 µS/cm.
const NO_CURRENT: f64 = 1e-12;

impl PairLaw {
    /// Conductivity per equivalent at √I, S·cm²/mol.
    #[inline]
    fn at(&self, root: f64) -> f64 {
        let screen = 1.0 / (1.0 + self.size * root);
        let slowed = self.limiting - self.electrophoretic * root * screen;
        let relaxed = self.relaxation * root * screen / (1.0 + self.root_q * self.size * root);
        (slowed * (1.0 - relaxed)).max(0.0)
    }
}

fn pair_law(solvent: &Solvent, cation: Carrier, anion: Carrier, closest: f64) -> PairLaw {
    let (zc, za) = (cation.charge, anion.charge);
    let (lc, la) = (limiting(cation, solvent), limiting(anion, solvent));
    let q = zc * za / (zc + za) * (lc + la) / (zc * la + za * lc);
    let root_q = q.sqrt();
    // Thickness of the ion cloud: κ = B·√I per Å; Bjerrum's length times κ/3 is the relaxation.
    let relaxation = 2.0 / 3.0 * solvent.debye_a_ln;
    let kappa_per_m = solvent.debye_b_per_angstrom / ANGSTROM_M;
    let viscosity = solvent.viscosity_mpa_s * PA_S_PER_MPA_S;
    let electrophoretic = FARADAY * ELEMENTARY_CHARGE * kappa_per_m
        / (6.0 * std::f64::consts::PI * viscosity)
        * CM2_PER_M2;
    PairLaw {
        limiting: lc + la,
        electrophoretic: electrophoretic * (zc + za),
        relaxation: relaxation * zc * za * q / (1.0 + root_q),
        size: solvent.debye_b_per_angstrom * closest,
        root_q,
        relative_uncertainty: UNMEASURED,
    }
}

/// One ångström in metres.
const ANGSTROM_M: f64 = 1e-10;

/// Viscosity of water at 25 °C, mPa·s (IAPWS SR6-08, as the solvent gives it).
const VISCOSITY_25_MPA_S: f64 = 0.889_997;

/// Limiting conductivity at the solvent's temperature.
fn limiting(carrier: Carrier, solvent: &Solvent) -> f64 {
    let kelvin_25 = REFERENCE_CELSIUS + ZERO_CELSIUS_IN_KELVIN;
    let warmed = (carrier.temperature * (1.0 / solvent.kelvin - 1.0 / kelvin_25)).exp();
    carrier.limiting * warmed * VISCOSITY_25_MPA_S / solvent.viscosity_mpa_s
}

/// Equivalents of each carrier, per kg of water.
fn carried(water: &Speciation<'_>) -> ([f64; CATIONS], [f64; ANIONS]) {
    let m = |species: Species| water.mmol_per_kg(species) * MILLI;
    let mut cations = [
        m(Species::H),
        2.0 * m(Species::Ca),
        2.0 * m(Species::Mg),
        m(Species::Na) + m(Species::NaCit),
        m(Species::K) + m(Species::KCit),
    ];
    let mut anions = [
        m(Species::OH),
        m(Species::Cl),
        2.0 * m(Species::SO4),
        m(Species::HCO3),
        2.0 * m(Species::CO3),
        m(Species::NO3),
        m(Species::Lac),
        m(Species::HSO4) + m(Species::H3SiO4) + 2.0 * m(Species::H2SiO4),
        m(Species::H2Cit) + m(Species::CaCit) + m(Species::MgCit),
        2.0 * m(Species::HCit),
        3.0 * (m(Species::Cit) + m(Species::NaCit) + m(Species::KCit)),
    ];
    let mut add = |cation: usize, anion: usize, molality: f64| {
        let (zc, za) = (CATION[cation].charge, ANION[anion].charge);
        cations[cation] += zc * molality;
        anions[anion] += za * molality;
    };
    for (species, cation, anion) in LOUD {
        add(cation, anion, m(species));
    }
    let bisulfate = m(Species::MgSO42);
    add(cation::MG, anion::SO4, bisulfate);
    for (species, cation) in [(Species::CaLac, cation::CA), (Species::MgLac, cation::MG)] {
        add(cation, anion::LACTATE, m(species));
    }
    for (species, cation, anion, silent) in SILENT {
        add(cation, anion, (1.0 - silent) * m(species));
    }
    anions[anion::SO4] += 2.0 * bisulfate;
    add_sulfate_pairs(&mut cations, &mut anions, m(Species::MgSO4), m(Species::CaSO4));
    (cations, anions)
}

/// Adds what of MgSO4⁰ and CaSO4⁰ moves in the field.
fn add_sulfate_pairs(
    cations: &mut [f64; CATIONS],
    anions: &mut [f64; ANIONS],
    magnesium_pair: f64,
    calcium_pair: f64,
) {
    let loosen = |cation: &mut f64, sulfate: &mut f64, pair: f64, share: f64| {
        let loud = pair - associated(0.5 * *cation, 0.5 * *sulfate, pair, share);
        *cation += 2.0 * loud;
        *sulfate += 2.0 * loud;
    };
    loosen(&mut cations[cation::MG], &mut anions[anion::SO4], magnesium_pair, ASSOCIATION_MGSO4);
    let equivalents = 2.0 * calcium_pair;
    let share = |of: f64, all: f64| (of + equivalents) / (all + equivalents);
    let calcium = share(cations[cation::CA], cations.iter().sum());
    let sulfate = share(anions[anion::SO4], anions.iter().sum());
    let share = ASSOCIATION_CASO4 * (calcium * sulfate).powf(MIXTURE_POWER);
    loosen(&mut cations[cation::CA], &mut anions[anion::SO4], calcium_pair, share);
}

/// The pair that so much of the association constant would leave, from the free ions and the pair
/// of the speciation model, mol/kg: the smaller root of `x = share·K·(a − x)(b − x)`.
fn associated(free_a: f64, free_b: f64, pair: f64, share: f64) -> f64 {
    if pair <= 0.0 || share <= 0.0 {
        return 0.0;
    }
    let (a, b) = (free_a + pair, free_b + pair);
    let sum = a + b + free_a * free_b / (share * pair);
    2.0 * a * b / (sum + (sum * sum - 4.0 * a * b).sqrt())
}
