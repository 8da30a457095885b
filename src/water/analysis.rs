//! The analysis of a water: what was measured, what is assumed, and what neither is.
//!
//! What an analysis does not list was not measured, which is not zero. Its bounds and its estimate
//! are worked out in [`unmeasured`](crate::water::unmeasured); whether the figures can belong to
//! one water in [`plausible`](crate::water::plausible).

use crate::chemistry::{Composition, Conserved};
use crate::quantities::Fraction;
use crate::water::measured_sums::Sums;
use crate::water::{AnalysisError, BaseWater, Measure, MeasureError, plausible, unmeasured};

/// An amount of an analysis, in the native unit of its measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amount {
    /// A measured amount, in the native unit of its measure.
    Measured(f64),
    /// Looked for and not found: below this limit of detection.
    Below(f64),
    /// Not measured; taken to be this.
    Assumed(f64),
}

impl Amount {
    /// Reads an amount of an analysis: `"12 mg/L"`, `"< 0.5 mg/L"` or `"below 0.5 mg/L"` for what
    /// was not detected, `"assumed 10 mg/L"`; nothing for `"not measured"`, `"n/a"`, `"?"` or a dash.
    ///
    /// ```
    /// use waterflight::water::{Amount, Measure};
    /// let read = |text| Amount::parse(Measure::Silica, text).unwrap();
    /// assert_eq!(read("< 2 mmol/L"), Some(Amount::Below(2.0)));
    /// assert_eq!(read("0 mmol/L"), Some(Amount::Measured(0.0)));
    /// assert_eq!(read("not measured"), None);
    /// ```
    ///
    /// # Errors
    /// As [`Measure::parse`], and for what was not detected without its limit.
    pub fn parse(measure: Measure, text: &str) -> Result<Option<Self>, MeasureError> {
        let text = text.trim();
        let lower = text.to_lowercase();
        if matches!(lower.as_str(), "not measured" | "n/m" | "n/a" | "na" | "?" | "-" | "–" | "—")
        {
            return Ok(None);
        }
        if matches!(lower.as_str(), "not detected" | "n.d." | "nd" | "n/d" | "bdl" | "b.d.l.") {
            return Err(MeasureError::NoLimit { text: text.to_owned() });
        }
        let native = |text: &str| measure.parse(text).map(|(native, _)| native);
        let after = |words: &[&str]| {
            let word = words.iter().find(|word| lower.starts_with(**word))?;
            // The words are ASCII, so lower case has kept their length.
            text.get(word.len()..)
        };
        Ok(Some(if let Some(limit) = after(&["<", "below "]) {
            Amount::Below(native(limit)?)
        } else if let Some(assumed) = after(&["assumed "]) {
            Amount::Assumed(native(assumed)?)
        } else {
            Amount::Measured(native(text)?)
        }))
    }
}

/// What holds for the constituents that an analysis does not list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum NotListed {
    /// They were not measured.
    #[default]
    NotMeasured,
    /// They are assumed to be absent.
    Zero,
}

/// An analysis as it was given.
#[derive(Debug, Clone, PartialEq)]
pub struct Analysis {
    /// Name of the water.
    pub name: String,
    /// Amounts, each measure once. Calcium and magnesium may be given as ions, as their parts of
    /// the hardness, or one of them with the hardness; dissolved solids check and bound the rest.
    pub amounts: Vec<(Measure, Amount)>,
    /// What holds for the others.
    pub not_listed: NotListed,
    /// pH, taken at 25 °C.
    pub ph: Option<f64>,
    /// Conductivity at 25 °C, µS/cm.
    pub us_per_cm: Option<f64>,
    /// How far each measured amount may be off, relative; 0 when it is taken as exact.
    pub within: Fraction,
}

/// One constituent as it is known, in meq/L (silica: mmol/L).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Known {
    value: f64,
    open: Open,
    is_assumed: bool,
}

/// What is open of an amount.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Open {
    /// It was measured, or is assumed.
    Nothing,
    /// The value is the middle of 0 and a limit of detection.
    BelowALimit,
    /// The value is the middle of what it may be beside the other part of a hardness, which is known:
    /// half the width, meq/L.
    PartOfHardness { meq_per_l: f64 },
}

impl Known {
    fn of(amount: Amount) -> Self {
        let (value, open, is_assumed) = match amount {
            Amount::Measured(value) => (value, Open::Nothing, false),
            Amount::Below(limit) => (0.5 * limit, Open::BelowALimit, false),
            Amount::Assumed(value) => (value, Open::Nothing, true),
        };
        Self { value, open, is_assumed }
    }

    const ABSENT: Known = Known { value: 0.0, open: Open::Nothing, is_assumed: true };
}

impl Analysis {
    /// An analysis of these amounts and nothing else.
    #[must_use]
    pub fn new(name: String, amounts: Vec<(Measure, Amount)>) -> Self {
        Self {
            name,
            amounts,
            not_listed: NotListed::default(),
            ph: None,
            us_per_cm: None,
            within: Fraction::new(0.0),
        }
    }

    /// The water. Carbon follows from the alkalinity and the pH, taken at 25 °C; without a pH all
    /// of the alkalinity counts as bicarbonate.
    ///
    /// ```
    /// use waterflight::chemistry::Conserved;
    /// use waterflight::water::{Amount, Analysis, Measure};
    /// // A drop kit: 5 meq/L of hardness, 4 of it calcium, and 4 meq/L of alkalinity.
    /// let kit = [(Measure::Hardness, 5.0), (Measure::Calcium, 4.0), (Measure::Alkalinity, 4.0)];
    /// let kit = kit.map(|(measure, meq)| (measure, Amount::Measured(meq))).to_vec();
    /// let water = Analysis::new("kit".into(), kit).water().unwrap();
    /// assert_eq!(water.composition.measured_mg_per_l(Conserved::Cl), None);
    /// assert!(water.composition.measured_mg_per_l(Conserved::Mg).is_some());
    /// ```
    ///
    /// # Errors
    /// When the amounts contradict each other or do not determine calcium and magnesium.
    pub fn water(&self) -> Result<BaseWater, AnalysisError> {
        let known = self.known()?;
        let mut composition = Composition::PURE_WATER;
        let mut either = None;
        let mut unknown = Vec::new();
        let mut below = Vec::new();
        for (conserved, known) in known {
            let known = known.or((self.not_listed == NotListed::Zero).then_some(Known::ABSENT));
            let Some(known) = known else {
                unknown.push(conserved);
                continue;
            };
            let mmol_per_l = known.value / f64::from(conserved.charge().abs().max(1));
            match known.open {
                Open::Nothing => composition.set_mmol_per_l(conserved, mmol_per_l),
                Open::BelowALimit => {
                    composition.set_below_limit(conserved, mmol_per_l);
                    below.push(conserved);
                }
                Open::PartOfHardness { meq_per_l } => {
                    composition.set_mmol_per_l(conserved, mmol_per_l);
                    // The part that was looked for may be none; the other follows from it.
                    if known.value <= meq_per_l && !below.contains(&Conserved::Ca) {
                        below.push(conserved);
                    }
                    either = Some(meq_per_l / f64::from(conserved.charge()));
                }
            }
            if known.is_assumed {
                composition.mark_assumed(conserved);
            }
            match (conserved, known.open) {
                (Conserved::Alkalinity, Open::BelowALimit) => {
                    composition.set_below_limit(Conserved::Dic, mmol_per_l);
                }
                (Conserved::Alkalinity, _) => {
                    composition.set_mmol_per_l(Conserved::Dic, mmol_per_l);
                }
                _ => {}
            }
        }
        if let Some(either) = either {
            composition.set_calcium_or_magnesium(either);
        }
        let sum = |m: Measure| match self.given(m) {
            Some(Amount::Measured(mg_per_l)) => Some((m, mg_per_l)),
            _ => None,
        };
        let sums = Sums {
            us_per_cm: self.us_per_cm,
            solids: sum(Measure::ResidueOnEvaporation).or(sum(Measure::DissolvedSolids)),
        };
        let within = self.within.value();
        unmeasured::leave_unmeasured(&mut composition, &unknown, within, &Sums::default());
        let mut doubtful = Vec::new();
        let knows_alkalinity = !unknown.contains(&Conserved::Alkalinity);
        if let Some(ph) = self.ph.filter(|_| knows_alkalinity) {
            let as_bicarbonate = self.given(Measure::Bicarbonate).is_some();
            let (carbon, doubt) = plausible::carbon(&composition, ph, as_bicarbonate)?;
            composition.set_mmol_per_l(Conserved::Dic, carbon);
            doubtful.extend(doubt);
        }
        let contradicted = plausible::sums(&composition, &unknown, &sums);
        if contradicted.is_empty() && sums != Sums::default() {
            unmeasured::leave_unmeasured(&mut composition, &unknown, within, &sums);
        }
        doubtful.extend(contradicted);
        Ok(BaseWater {
            name: self.name.clone(),
            composition,
            ph: self.ph,
            us_per_cm: self.us_per_cm,
            solids: sums.solids,
            price_per_ml: None,
            within: self.within,
            below,
            doubtful,
        })
    }

    /// Every constituent that an analysis can list, as far as this one does.
    fn known(&self) -> Result<[(Conserved, Option<Known>); 9], AnalysisError> {
        self.check_amounts()?;
        let given = |m: Measure| self.given(m).map(Known::of);
        let one_of = |first: Measure, second: Measure| match (given(first), given(second)) {
            (Some(_), Some(_)) => Err(AnalysisError::Twice { first, second }),
            (a, b) => Ok(a.or(b)),
        };
        let calcium = one_of(Measure::Calcium, Measure::CalciumHardness)?;
        let magnesium = one_of(Measure::Magnesium, Measure::MagnesiumHardness)?;
        let (calcium, magnesium) = split_hardness(calcium, magnesium, given(Measure::Hardness))?;
        let alkalinity = one_of(Measure::Alkalinity, Measure::Bicarbonate)?;
        Ok([
            (Conserved::Ca, calcium),
            (Conserved::Mg, magnesium),
            (Conserved::Na, given(Measure::Sodium)),
            (Conserved::K, given(Measure::Potassium)),
            (Conserved::Cl, given(Measure::Chloride)),
            (Conserved::SO4, given(Measure::Sulfate)),
            (Conserved::NO3, given(Measure::Nitrate)),
            (Conserved::SiO2, given(Measure::Silica)),
            (Conserved::Alkalinity, alkalinity),
        ])
    }

    fn given(&self, measure: Measure) -> Option<Amount> {
        self.amounts.iter().find(|(m, _)| *m == measure).map(|(_, amount)| *amount)
    }

    /// What no amount may be.
    fn check_amounts(&self) -> Result<(), AnalysisError> {
        for (place, (measure, amount)) in self.amounts.iter().enumerate() {
            let measure = *measure;
            let is_solids = measure.is_sum_of_masses();
            match amount {
                Amount::Below(_) if is_solids || measure == Measure::Hardness => {
                    return Err(AnalysisError::LimitOfSum { measure });
                }
                Amount::Assumed(_) if is_solids => {
                    return Err(AnalysisError::AssumedSum { measure });
                }
                _ => {}
            }
            if self.amounts.iter().skip(place + 1).any(|(m, _)| *m == measure) {
                return Err(AnalysisError::AssumedToo { measure });
            }
        }
        Ok(())
    }
}

/// Calcium and magnesium, meq/L, from what is given of calcium, magnesium and hardness.
fn split_hardness(
    calcium: Option<Known>,
    magnesium: Option<Known>,
    hardness: Option<Known>,
) -> Result<(Option<Known>, Option<Known>), AnalysisError> {
    /// Our choice: rounding of an analysis report excuses this much, meq/L and relative.
    const ROUNDING: f64 = 0.05;
    // The part that is given, and the other.
    let parts = |measure, part: Known, whole: Known| {
        let hardness = whole.value;
        let is_assumed = part.is_assumed || whole.is_assumed;
        if part.open == Open::BelowALimit {
            // The limit is twice the value; more than the hardness the part cannot be.
            let half = part.value.min(0.5 * hardness);
            let open = Open::PartOfHardness { meq_per_l: half };
            let of = |value, is_assumed| Known { value, open, is_assumed };
            return Ok((of(half, part.is_assumed), of(hardness - half, is_assumed)));
        }
        if part.value > hardness * (1.0 + ROUNDING) + ROUNDING {
            return Err(AnalysisError::PartExceedsHardness { measure, part: part.value, hardness });
        }
        let value = (hardness - part.value).max(0.0);
        Ok((part, Known { value, open: Open::Nothing, is_assumed }))
    };
    match (calcium, magnesium, hardness) {
        (ca, mg, None) => Ok((ca, mg)),
        (Some(ca), None, Some(h)) => {
            let (ca, mg) = parts(Measure::Calcium, ca, h)?;
            Ok((Some(ca), Some(mg)))
        }
        (None, Some(mg), Some(h)) => {
            let (mg, ca) = parts(Measure::Magnesium, mg, h)?;
            Ok((Some(ca), Some(mg)))
        }
        (Some(ca), Some(mg), Some(h)) => {
            let sum = ca.value + mg.value;
            if (sum - h.value).abs() > ROUNDING * h.value + ROUNDING {
                return Err(AnalysisError::HardnessDisagrees { sum, hardness: h.value });
            }
            Ok((Some(ca), Some(mg)))
        }
        (None, None, Some(h)) if h.value > 0.0 => Err(AnalysisError::HardnessAlone),
        (None, None, Some(h)) => Ok((Some(h), Some(h))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn analysis(amounts: &[(Measure, f64)]) -> Result<BaseWater, AnalysisError> {
        let measured = amounts.iter().map(|(m, value)| (*m, Amount::Measured(*value)));
        Analysis::new("test".into(), measured.collect()).water()
    }

    #[test]
    fn hardness_and_one_part_give_the_other() {
        let water = analysis(&[(Measure::Hardness, 3.0), (Measure::Calcium, 2.0)]);
        assert_eq!(water.map(|w| w.composition.mmol_per_l(Conserved::Mg)), Ok(0.5));
    }

    #[test]
    fn contradictions_are_named() {
        assert_eq!(analysis(&[(Measure::Hardness, 3.0)]), Err(AnalysisError::HardnessAlone));
        assert!(matches!(
            analysis(&[(Measure::Hardness, 1.0), (Measure::Magnesium, 2.0)]),
            Err(AnalysisError::PartExceedsHardness { .. })
        ));
        assert!(matches!(
            analysis(&[
                (Measure::Hardness, 1.0),
                (Measure::Magnesium, 2.0),
                (Measure::Calcium, 2.0)
            ]),
            Err(AnalysisError::HardnessDisagrees { .. })
        ));
        assert!(matches!(
            analysis(&[(Measure::Alkalinity, 1.0), (Measure::Bicarbonate, 1.0)]),
            Err(AnalysisError::Twice { .. })
        ));
    }

    #[test]
    fn absent_assumed_and_not_detected_are_three_things() -> Result<(), AnalysisError> {
        let amounts = vec![
            (Measure::Chloride, Amount::Below(0.2)),
            (Measure::Sulfate, Amount::Assumed(0.4)),
            (Measure::Sodium, Amount::Measured(0.0)),
        ];
        let water = Analysis::new("test".into(), amounts).water()?.composition;
        let chloride = water.bounds_mmol_per_l(Conserved::Cl);
        assert!(water.is_measured(Conserved::Cl));
        assert!((water.mmol_per_l(Conserved::Cl) - 0.1).abs() < 1e-12);
        assert!(chloride.at_least < 1e-12 && chloride.at_most.is_some_and(|m| m < 0.2 + 1e-12));
        assert_eq!(water.assumed().iter().collect::<Vec<_>>(), [Conserved::SO4]);
        assert!(water.is_measured(Conserved::Na) && !water.is_measured(Conserved::K));
        let sum = vec![(Measure::Hardness, Amount::Below(0.2))];
        assert!(matches!(
            Analysis::new("test".into(), sum).water(),
            Err(AnalysisError::LimitOfSum { .. })
        ));
        Ok(())
    }
}
