//! How far the base water of a planned flight may be from its analyses.

use crate::chemistry::{Composition, Conserved};
use crate::flight::{BaseShare, Flight};
use crate::planner::Plan;
use crate::quantities::uncertain::{Input, Spread};
use crate::stock::{Cause, UncertaintySource};

/// A blend of base waters as one plan has it.
pub(crate) struct Blend {
    /// What a litre of it holds.
    nominal: Composition,
    /// What the analyses leave open, one input each.
    analysed: Vec<Analysed>,
}

/// One amount of one analysis.
struct Analysed {
    water: String,
    of: Conserved,
    /// What it adds to a litre of the blend, mmol/L.
    mmol_per_l: f64,
    /// What comes or goes with it, mmol/L: the carbon of an alkalinity, the rest of a hardness.
    with: Option<(Conserved, f64)>,
    /// Relative half-width.
    within: f64,
}

impl Blend {
    /// The blend of a plan.
    pub(crate) fn new(flight: &Flight, plan: &Plan) -> Self {
        Self::of(flight.base.iter().zip(plan.shares.iter().copied()))
    }

    /// A blend of base waters with their parts.
    pub(crate) fn of<'a>(parts: impl Iterator<Item = (&'a BaseShare, f64)> + Clone) -> Self {
        let whole: f64 = parts.clone().map(|(_, part)| part).sum();
        let mut blend = Self { nominal: Composition::PURE_WATER, analysed: Vec::new() };
        for (base, part) in parts {
            let share = if whole > 0.0 { part / whole } else { 0.0 };
            let brought = base.water.composition * share;
            blend.nominal += brought;
            // Carbon follows the alkalinity: a pH is measured apart, and far better.
            for of in Conserved::ALL.into_iter().filter(|c| *c != Conserved::Dic) {
                let mmol_per_l = brought.mmol_per_l(of);
                let within = base.water.within_of(of).value();
                if within > 0.0 && mmol_per_l.abs() > 0.0 {
                    let rest = |other| {
                        let moves =
                            base.water.below.contains(&of) && brought.leaves_calcium_or_magnesium();
                        moves.then_some((other, -mmol_per_l))
                    };
                    let with = match of {
                        Conserved::Alkalinity => {
                            Some((Conserved::Dic, brought.mmol_per_l(Conserved::Dic)))
                        }
                        Conserved::Ca => rest(Conserved::Mg),
                        Conserved::Mg => rest(Conserved::Ca),
                        _ => None,
                    };
                    blend.analysed.push(Analysed {
                        water: base.water.name.clone(),
                        of,
                        mmol_per_l,
                        with,
                        within,
                    });
                }
            }
        }
        blend
    }

    /// One input for each analysed amount: its relative error.
    pub(crate) fn uncertainty_sources(&self) -> impl Iterator<Item = UncertaintySource> {
        self.analysed.iter().map(|part| UncertaintySource {
            input: Input::new(
                format!("{}: {} of {}", part.water, Cause::Analysis, part.of.key()),
                0.0,
                Spread::Rectangular(part.within),
            ),
            cause: Cause::Analysis,
        })
    }

    /// What it adds to a litre when the amounts are off by these errors.
    pub(crate) fn error(&self, errors: &[f64]) -> Composition {
        self.composition(errors) + self.nominal * -1.0
    }

    /// How many of its amounts are open.
    pub(crate) fn analysed(&self) -> usize {
        self.analysed.len()
    }

    /// What a litre holds when the amounts are off by these errors.
    pub(crate) fn composition(&self, errors: &[f64]) -> Composition {
        let mut blend = self.nominal;
        for (part, error) in self.analysed.iter().zip(errors) {
            blend.add_mmol_per_l(part.of, part.mmol_per_l * error);
            if let Some((other, mmol_per_l)) = part.with {
                blend.add_mmol_per_l(other, mmol_per_l * error);
            }
        }
        blend
    }
}

/// Names of the base waters in use that hold something and are taken as exact.
pub(crate) fn exact_analyses(flight: &Flight, plans: &[Plan]) -> Vec<String> {
    let used = |at: usize| plans.iter().any(|p| p.shares.get(at).is_some_and(|s| *s > 0.0));
    let bases = flight.base.iter().enumerate().filter(|(at, _)| used(*at));
    exact(bases.map(|(_, base)| base))
}

/// Names of those base waters that hold something and are taken as exact.
pub(crate) fn exact<'a>(bases: impl Iterator<Item = &'a BaseShare>) -> Vec<String> {
    bases
        .map(|base| &base.water)
        .filter(|w| w.within.value() <= 0.0 && w.composition != Composition::PURE_WATER)
        .map(|w| w.name.clone())
        .collect()
}
