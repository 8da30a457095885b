//! How far a water may be from its plan by more than a slip of the hand: what `mix` counts into its ±, for
//! the comparison with a meter.

use crate::assessment::Poured;
use crate::bench::Bench;
use crate::chemistry::{Composition, Conserved};
use crate::everyday::concentrate::LITRE_ML;
use crate::flight::BaseShare;
use crate::mix::spread_base::Blend;
use crate::quantities::uncertain::Spread;
use crate::stock::{Stock, Tools};

/// What decides the ± of a bottle beside its doses.
pub(super) struct FilledBottle<'a> {
    /// Stocks that its doses are of.
    pub(super) stocks: &'a [Stock],
    /// Tools that it was made with.
    pub(super) tools: &'a Tools,
    /// Base waters and their parts.
    pub(super) base: &'a [(&'a BaseShare, f64)],
    /// Finished water in it, mL.
    pub(super) ml: f64,
}

impl FilledBottle<'_> {
    /// What is not known exactly of a bottle, put into what was poured of it.
    pub(super) fn doubts(&self, bench: &Bench, poured: &mut Poured) {
        let (mut off, mut all) = (Vec::new(), Composition::PURE_WATER);
        let water = poured.water();
        let dosed: f64 = poured.known_doses().iter().map(|dose| dose.ml_per_l).sum();
        for dose in poured.doses.iter_mut().flatten() {
            let Some(stock) = self.stocks.iter().find(|stock| stock.name() == dose.stock) else {
                continue;
            };
            let brought = dose.per_ml * dose.ml_per_l;
            for model in bench.strength_models(std::slice::from_ref(stock)) {
                off.push(brought * model.relative(self.tools).value());
            }
            all += brought;
            let ml = dose.ml_per_l * self.ml / LITRE_ML;
            if ml > 0.0 {
                let g_per_ml = stock.density().value.value();
                dose.measured_out = self.tools.own_dose_standard(ml, g_per_ml);
            }
        }
        off.push(all * self.tools.shared_dose_error().standard());
        // Filled too high there is more of the base water, and as much of the salts in more water.
        let fill = Spread::Rectangular(self.tools.fill.value()).standard();
        off.push((poured.base + water * -1.0) * fill);
        let blend = Blend::of(self.base.iter().copied());
        // What is only known to be below a limit is in the ± of the conductivity itself.
        let is_below_limit = |spread: Spread| matches!(spread, Spread::Rectangular(1.0..));
        let sources: Vec<f64> = blend
            .uncertainty_sources()
            .map(|source| source.input.spread)
            .map(|spread| if is_below_limit(spread) { 0.0 } else { spread.standard() })
            .collect();
        for at in 0..sources.len() {
            let alone = sources.iter().enumerate();
            let alone: Vec<f64> = alone.map(|(n, u)| if n == at { *u } else { 0.0 }).collect();
            off.push(blend.error(&alone) * (1.0 - dosed / LITRE_ML).max(0.0));
        }
        let off = off.iter().map(amounts);
        poured.off = off.filter(|change| *change != Composition::PURE_WATER).collect();
    }
}

/// The amounts alone: a change leaves open what the water leaves open.
fn amounts(of: &Composition) -> Composition {
    let mut amounts = Composition::PURE_WATER;
    for (total, mmol_per_l) in Conserved::ALL.into_iter().zip(of.totals()) {
        amounts.set_mmol_per_l(total, mmol_per_l);
    }
    amounts
}
