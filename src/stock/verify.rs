//! From readings of a diluted stock back to its true strength.

use serde::Serialize;
use thiserror::Error;

use crate::chemistry::Ion;
use crate::chemistry::single_salt::{STRONGEST_EQ_PER_L, SaltInWater};
use crate::numerics::least_squares::{BestValue, best};
use crate::quantities::uncertain::{Input, Spread, Uncertain, propagate};
use crate::quantities::{Fraction, Millilitres};
use crate::reference::water_hardness::CACO3_MG_PER_MEQ;
use crate::stock::reading::{Reading, Titration};
use crate::stock::{Stock, Tools};
use crate::water::{Compensation, MeterScale, MeterSettings};

/// A dilution: so much stock, with water to so much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dilution {
    /// Stock taken.
    pub taken: Millilitres,
    /// Volume of the whole.
    pub to: Millilitres,
}

/// The meter that a dilution is read with.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MeterInUse {
    /// What it shows, and what it does about the temperature of its sample.
    pub settings: MeterSettings,
    /// What it shows of the distilled water alone, µS/cm.
    pub blank_us_per_cm: f64,
}

impl MeterInUse {
    /// A salt as it shows it.
    fn salt(&self, stock: &Stock) -> Option<SaltInWater> {
        let per_meq = stock.recipe().salt.composition_per_meq();
        SaltInWater::new(&per_meq, self.settings.sample, self.settings.divisor())
    }

    /// The water as an input of every reading.
    fn blank(&self) -> Input {
        Input::new("water", self.blank_us_per_cm, Spread::Rectangular(BLANK_WITHIN))
    }
}

/// What a dilution should show.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// Concentration, meq/L.
    pub meq_per_l: f64,
    /// Conductivity that a meter shows, µS/cm: at 25 °C, or as it compensates the temperature of its
    /// sample.
    pub us_per_cm: Option<f64>,
    /// Its expanded uncertainty.
    pub us_per_cm_expanded: Option<f64>,
    /// Temperature of the sample, °C.
    pub sample_celsius: f64,
    /// Whether the meter compensates it to 25 °C.
    pub is_compensated: bool,
    /// Whether it is stronger than readings of it are understood for.
    pub too_strong_for_a_meter: bool,
    /// Readings of meters that show dissolved solids: scale, ppm.
    pub ppm_by_scale: Vec<[f64; 2]>,
    /// Hardness, mg/L as CaCO3.
    pub hardness_mg_per_l_caco3: Option<f64>,
    /// Titratable alkalinity, mg/L as CaCO3.
    pub alkalinity_mg_per_l_caco3: Option<f64>,
}

/// Why nothing can be inferred.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum VerifyError {
    /// The model of conductivity has no answer for the salt.
    #[error("the conductivity of {formula} cannot be computed")]
    NoConductivity {
        /// Formula of the salt.
        formula: String,
    },
    /// The titration finds nothing of this salt.
    #[error("{formula} has nothing that this titration finds")]
    NothingToTitrate {
        /// Formula of the salt.
        formula: String,
    },
    /// The titration finds a part of it that its end point decides.
    #[error(
        "an acid titration finds {formula} only in part, and how much depends on its end point"
    )]
    PartlyTitrated {
        /// Formula of the salt.
        formula: String,
    },
    /// Too strong to be computed.
    #[error("{us_per_cm:.0} µS/cm is beyond the range of dilute solutions")]
    TooStrong {
        /// The reading, µS/cm.
        us_per_cm: f64,
    },
    /// More water than stock is needed.
    #[error("a dilution takes less stock than it makes")]
    NoDilution,
    /// No reading, or readings that cannot be weighed against each other.
    #[error("these readings give no strength")]
    NoStrength,
}

/// Conductivity of the water that a stock is diluted with, µS/cm, half-width: our choice, what
/// fresh to stored distilled water shows; centred on the stated blank.
const BLANK_WITHIN: f64 = 1.0;

/// Repeatability of a reading, standard, as a part of it: our choice.
const REPEATABILITY: f64 = 0.003;

impl Dilution {
    /// A dilution.
    ///
    /// # Errors
    /// When it is none.
    pub fn new(taken: Millilitres, to: Millilitres) -> Result<Self, VerifyError> {
        if taken.value() > 0.0 && taken < to {
            Ok(Self { taken, to })
        } else {
            Err(VerifyError::NoDilution)
        }
    }

    /// The inputs that every reading of this dilution shares: the dose's own error, the
    /// dispenser's scale, the mark of the flask.
    fn inputs(&self, tools: &Tools) -> [Input; 3] {
        /// A gram of a weak stock is a millilitre, near enough for an error.
        const G_PER_ML: f64 = 1.0;
        let (taken, to) = (self.taken.value(), self.to.value());
        [
            Input::new("stock taken", taken, tools.dose_error(taken, G_PER_ML)),
            Input::new("calibration of the dispenser", 1.0, tools.shared_dose_error()),
            Input::new("volume of the dilution", to, Spread::Rectangular(tools.flask.value() * to)),
        ]
    }
}

/// What a dilution of a stock should show on a meter; `strength` is the relative standard uncertainty
/// of its meq/mL.
#[must_use]
pub fn expected(
    stock: &Stock,
    strength: Fraction,
    dilution: Dilution,
    meter: &MeterInUse,
    tools: &Tools,
) -> Expected {
    let nominal = stock.meq_per_ml().value();
    let meq_per_l = 1000.0 * nominal * dilution.taken.value() / dilution.to.value();
    let salt = meter.salt(stock);
    let shown = salt.filter(|salt| salt.conductivity(meq_per_l).is_some()).map(|salt| {
        let [taken, scale, to] = dilution.inputs(tools);
        let [model, carbon_dioxide] = model_inputs(&salt, meq_per_l);
        let inputs = [
            taken,
            scale,
            to,
            Input::new("strength", 1.0, Spread::Normal(strength.value())),
            model,
            carbon_dioxide,
            meter_input(tools),
            meter.blank(),
        ];
        let shown = propagate(&inputs, |x| match *x {
            [taken, scale, to, strength, model, lost, meter, blank] => {
                let c = 1000.0 * nominal * strength * taken * scale / to;
                let own = salt.conductivity(c).map_or(0.0, |k| k.us_per_cm);
                vec![(own * model * (1.0 - lost) + blank) * meter]
            }
            _ => Vec::new(),
        });
        shown.into_iter().next().unwrap_or_default()
    });
    let us_per_cm = shown.as_ref().map(|shown| shown.value);
    let on_scales = |us: f64| MeterScale::PPM.map(|s| [s.factor(), s.factor() * us]).to_vec();
    let found_by = |kind| titrated(stock, kind).map(|share| share * meq_per_l * CACO3_MG_PER_MEQ);
    Expected {
        meq_per_l,
        us_per_cm,
        us_per_cm_expanded: shown.map(|shown| shown.expanded()),
        sample_celsius: meter.settings.sample.value(),
        is_compensated: meter.settings.compensation != Compensation::None,
        too_strong_for_a_meter: meq_per_l > 1000.0 * STRONGEST_EQ_PER_L,
        ppm_by_scale: us_per_cm.map(on_scales).unwrap_or_default(),
        hardness_mg_per_l_caco3: found_by(Titration::Edta),
        alkalinity_mg_per_l_caco3: found_by(Titration::Acid),
    }
}

/// How well the conductivity of a dilution is known: by the model, and by the carbon dioxide that
/// the water may have brought. Of that nothing is expected; as much as air gives, either way, is left
/// open, so that the ± is rather too large than too small.
fn model_inputs(salt: &SaltInWater, meq_per_l: f64) -> [Input; 2] {
    let known = salt.conductivity(meq_per_l);
    let relative = known.map_or(0.0, |k| k.standard_uncertainty / k.us_per_cm);
    let lost = salt.lost_to_carbon_dioxide(meq_per_l);
    [
        Input::new("conductivity model", 1.0, Spread::Normal(relative)),
        Input::new("carbon dioxide of the water", 0.0, Spread::Rectangular(lost)),
    ]
}

fn meter_input(tools: &Tools) -> Input {
    Input::new("meter", 1.0, Spread::Rectangular(tools.meter.value()))
}

/// Equivalents that a titration finds for each equivalent of a stock.
fn titrated(stock: &Stock, kind: Titration) -> Option<f64> {
    let salt = &stock.recipe().salt;
    let found: f64 = salt
        .ions
        .iter()
        .map(|(ion, n)| match (kind, ion) {
            (Titration::Edta, Ion::Calcium | Ion::Magnesium)
            | (Titration::Acid, Ion::Carbonate) => 2.0 * f64::from(*n),
            (Titration::Acid, Ion::Bicarbonate | Ion::Hydroxide) => f64::from(*n),
            _ => 0.0,
        })
        .sum();
    (found > 0.0).then(|| found / salt.equivalents_per_mole())
}

/// Whether an ion takes up some of a titrant acid without being alkalinity here.
fn is_of_weak_acid(ion: Ion) -> bool {
    matches!(ion, Ion::Lactate | Ion::Citrate)
}

/// Inputs that all readings of one dilution share, before those of each reading. The first, the delivery of
/// the stock, is that of this dilution alone.
const SHARED: usize = 9;

/// The part of the standard uncertainty of what was inferred that another dilution has in common with it,
/// made and read with the same tools: repeating both does not make it smaller.
#[must_use]
pub fn standard_of_the_tools(inferred: &Uncertain) -> f64 {
    let parts = inferred.parts.iter().take(SHARED).skip(1);
    parts.map(|part| part * part).sum::<f64>().sqrt()
}

/// The strength, meq/mL, that readings of one dilution give together, with the inputs that its
/// uncertainty comes from.
///
/// # Errors
/// When a reading does not fit the salt or lies beyond dilute solutions.
pub fn infer(
    stock: &Stock,
    dilution: Dilution,
    meter: &MeterInUse,
    readings: &[Reading],
    tools: &Tools,
) -> Result<(BestValue, Vec<Input>), VerifyError> {
    let salt = &stock.recipe().salt;
    let formula = || salt.formula.to_string();
    let in_water = meter.salt(stock);
    let mut inputs: Vec<Input> = dilution.inputs(tools).into();
    inputs.push(meter_input(tools));
    inputs.push(meter.blank());
    // How well the conductivity is known depends little on the strength: that of the label will do.
    let label = 1000.0 * stock.meq_per_ml().value() * dilution.taken.value() / dilution.to.value();
    let label = label.min(1000.0 * STRONGEST_EQ_PER_L);
    inputs.extend(match &in_water {
        Some(salt) => model_inputs(salt, label),
        None => ["", ""].map(|name| Input::new(name, 0.0, Spread::Normal(0.0))),
    });
    // Two inputs that all readings of one titrant share, whether there are any or not.
    let titrant = |kind: Titration| {
        let within = readings.iter().filter_map(|r| match r {
            Reading::Titration { kind: k, titrant_within, .. } if *k == kind => {
                Some(*titrant_within)
            }
            _ => None,
        });
        Input::new("titrant", 1.0, Spread::Rectangular(within.fold(0.0, f64::max)))
    };
    inputs.extend([titrant(Titration::Edta), titrant(Titration::Acid)]);
    let meters = readings.iter().filter_map(|reading| match reading {
        Reading::Conductivity { us_per_cm, .. } => Some(*us_per_cm),
        Reading::Titration { .. } => None,
    });
    #[expect(clippy::cast_precision_loss, reason = "a handful of readings")]
    let mean_us_per_cm = meters.clone().sum::<f64>() / meters.count().max(1) as f64;
    let mut kinds: Vec<Kind<'_>> = Vec::new();
    for reading in readings {
        let own = match *reading {
            Reading::Conductivity { us_per_cm, rounded_within } => {
                let salt = in_water
                    .as_ref()
                    .ok_or_else(|| VerifyError::NoConductivity { formula: formula() })?;
                // Twice the possible error of meter and model still has to be in range.
                if salt.meq_per_l(1.1 * us_per_cm).is_none() {
                    return Err(VerifyError::TooStrong { us_per_cm });
                }
                kinds.push(Kind::Meter { salt, us_per_cm });
                let rounded = Spread::Rectangular(rounded_within / us_per_cm).standard();
                Spread::Normal(REPEATABILITY.hypot(rounded))
            }
            Reading::Titration { kind, meq_per_l, volume_within, .. } => {
                let share = titrated(stock, kind).ok_or_else(|| {
                    let is_weak = salt.ions.iter().any(|(ion, _)| is_of_weak_acid(*ion));
                    match (kind, is_weak) {
                        (Titration::Acid, true) => {
                            VerifyError::PartlyTitrated { formula: formula() }
                        }
                        _ => VerifyError::NothingToTitrate { formula: formula() },
                    }
                })?;
                kinds.push(Kind::Titration { kind, meq_per_l: meq_per_l / share });
                Spread::Rectangular(volume_within)
            }
        };
        inputs.push(Input::new("reading", 1.0, own));
    }
    let strengths = |x: &[f64], kinds: &[Kind<'_>]| -> Vec<f64> {
        let (common, own) = x.split_at_checked(SHARED).unwrap_or((&[], &[]));
        kinds.iter().zip(own).map(|(kind, own)| kind.strength(common, *own)).collect()
    };
    let estimates: Vec<f64> = inputs.iter().map(|input| input.estimate).collect();
    let values = strengths(&estimates, &kinds);
    // What all readings share pulls each by the same part of one true value. Were it taken of each
    // reading instead, the lower would count for more, and of two that differ the best value would lie
    // below both (Peelle's puzzle).
    let alike: Vec<Kind<'_>> = kinds.iter().map(|kind| kind.reading(mean_us_per_cm)).collect();
    let spreads = propagate(&inputs, |x| strengths(x, &alike));
    if !values.iter().all(|value| *value > 0.0) {
        return Err(VerifyError::NoStrength);
    }
    let logarithms: Vec<Uncertain> = values
        .iter()
        .zip(&spreads)
        .map(|(value, spread)| Uncertain {
            value: value.ln(),
            parts: spread.parts.iter().map(|part| part / spread.value).collect(),
        })
        .collect();
    let mut best = best(&logarithms).ok_or(VerifyError::NoStrength)?;
    let (value, scatter) = (best.result.value.exp(), best.scatter());
    best.result.value = value;
    for (at, part) in best.result.parts.iter_mut().enumerate() {
        // Readings that scatter wider than they should are as uncertain as they show.
        *part *= if at < SHARED { value } else { value * scatter };
    }
    Ok((best, inputs))
}

/// A reading with what it takes to understand it.
enum Kind<'a> {
    Meter { salt: &'a SaltInWater, us_per_cm: f64 },
    Titration { kind: Titration, meq_per_l: f64 },
}

impl<'a> Kind<'a> {
    /// The same with another reading of the meter.
    fn reading(&self, us_per_cm: f64) -> Kind<'a> {
        match *self {
            Kind::Meter { salt, .. } => Kind::Meter { salt, us_per_cm },
            Kind::Titration { kind, meq_per_l } => Kind::Titration { kind, meq_per_l },
        }
    }

    /// Strength of the stock, meq/mL, for one number per shared input and the reading's own.
    fn strength(&self, shared: &[f64], own: f64) -> f64 {
        let [taken, scale, to, meter, blank, model, lost, edta, acid] = *shared else {
            return 0.0;
        };
        let meq_per_l = match self {
            Kind::Meter { salt, us_per_cm } => {
                let shown = us_per_cm * own / meter - blank;
                salt.meq_per_l((shown / (model * (1.0 - lost))).max(0.0)).unwrap_or(0.0)
            }
            Kind::Titration { kind: Titration::Edta, meq_per_l } => meq_per_l * own * edta,
            Kind::Titration { kind: Titration::Acid, meq_per_l } => meq_per_l * own * acid,
        };
        meq_per_l * to / (taken * scale) / 1000.0
    }
}
