//! A batch in kitchen sizes against every weighing that the balance can show.
//!
//! The weighings are gone through one by one with molar masses and sums of this file, so nothing
//! is shared with the search.
#![expect(
    clippy::indexing_slicing,
    reason = "a key that an answer of the program lacks is null, and fails its test"
)]

use std::error::Error;

use rand::{RngExt, SeedableRng, rngs::StdRng};
use waterflight::assessment::{BoilerSettings, Lab};
use waterflight::bench::built_in_salts;
use waterflight::everyday::{Accuracy, BatchReport, ReadyProduct, Wanted};
use waterflight::flight::{BaseShare, Goal, Target};
use waterflight::quantities::{Celsius, Fraction, Grams};
use waterflight::stock::{Balance, DrySalt, Lot, Making, Recipe, Stock, Tools};
use waterflight::water::{BaseWater, Measure};

use crate::common::shelf::tap_of;

type Fallible = Result<(), Box<dyn Error>>;

/// Equivalent masses from the atomic weights of CIAAW 2021 (Ca 40.078, Mg 24.305, Na 22.98976928,
/// K 39.0983, Cl 35.45, S 32.06, C 12.011, O 15.999, H 1.008), and which of Ca, Mg, Na, K, Cl, SO4,
/// HCO3 an equivalent brings.
const SALTS: [(&str, f64, [f64; 7]); 8] = [
    ("CaCl2·2H2O", 73.504, [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]),
    ("CaCl2", 55.489, [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]),
    ("MgSO4·7H2O", 123.233, [0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0]),
    ("MgCl2·6H2O", 101.6475, [0.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0]),
    ("NaHCO3", 84.005_769_28, [0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0]),
    ("KHCO3", 100.1143, [0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0]),
    ("NaCl", 58.439_769_28, [0.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0]),
    ("Na2SO4", 71.017_769_28, [0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0]),
];

/// A tap water, meq/L.
const TAP: [f64; 7] = [1.1, 0.4, 0.5, 0.05, 0.6, 0.5, 0.95];

/// A goal on a sum of ions: which, lowest and highest forgiven, and the cost of a meq/L beyond.
struct Priorities {
    of: [f64; 7],
    low: f64,
    high: f64,
    rate: f64,
}

/// A question with its answer by hand.
struct Case {
    wanted: Wanted,
    wishes: Vec<Priorities>,
    bags: Vec<(f64, [f64; 7])>,
    waters: Vec<[f64; 7]>,
    litres: f64,
    tools: Tools,
}

impl Case {
    fn drawn(generator: &mut StdRng) -> Result<Self, Box<dyn Error>> {
        let known = built_in_salts()?;
        let mut places: Vec<usize> = Vec::new();
        while places.len() < 3 {
            let place = generator.random_range(0..SALTS.len());
            if !places.contains(&place) {
                places.push(place);
            }
        }
        let mut wanted = Wanted {
            target: Target { name: "wanted".to_owned(), goals: Vec::new() },
            base: Vec::new(),
            salts: Vec::new(),
            stocks: Vec::new(),
            notes: Vec::new(),
        };
        let mut bags = Vec::new();
        for place in places {
            let (formula, g_per_eq, ions) = SALTS.get(place).ok_or("no salt")?;
            let purity = generator.random_range(0.9..1.0);
            let lot = Lot { purity: Fraction::new(purity), ..Lot::default() };
            let salt = known.iter().find(|s| s.formula.to_string() == *formula);
            let salt = salt.ok_or("no such salt")?.clone();
            wanted.stocks.push(Stock::new(Recipe {
                name: (*formula).to_owned(),
                salt: salt.clone(),
                lot: lot.clone(),
                making: Making::ToTotalMass { salt: Grams::new(30.0), total: Grams::new(1000.0) },
                temperature: Celsius::new(20.0),
            })?);
            wanted.salts.push(DrySalt { name: (*formula).to_owned(), salt, lot });
            bags.push((1000.0 * purity / g_per_eq, *ions));
        }
        let mut waters = Vec::new();
        for (water, there) in [(BaseWater::distilled(), [0.0; 7]), (tap()?, TAP)] {
            if generator.random_range(0.0..1.0) < 0.6 {
                wanted.base.push(BaseShare { water, at_most: Fraction::new(1.0) });
                waters.push(there);
            }
        }
        if waters.is_empty() {
            let at_most = Fraction::new(1.0);
            wanted.base.push(BaseShare { water: BaseWater::distilled(), at_most });
            waters.push([0.0; 7]);
        }
        let step = if generator.random_range(0.0..1.0) < 0.5 { 0.01 } else { 0.1 };
        // Finer steps of fewer litres, so that all weighings are gone through in seconds.
        let litres = generator.random_range(0.5..if step < 0.05 { 2.0 } else { 4.0 });
        // Half of the waters can be made of these salts, if they could be weighed.
        let makeable = generator.random_range(0.0..1.0) < 0.5;
        let mut truth = waters.last().copied().unwrap_or_default();
        for (_, ions) in &bags {
            let meq_per_l = generator.random_range(0.3..2.0);
            for (sum, ion) in truth.iter_mut().zip(ions) {
                *sum += ion * meq_per_l;
            }
        }
        let wishes = wishes(generator, &mut wanted.target, makeable.then_some(&truth))?;
        let balance = Balance {
            resolution: Grams::new(step),
            error: Grams::new(step * generator.random_range(1.0..3.0)),
            most: Grams::new(200.0),
        };
        let tools = Tools { balance, ..Tools::default() };
        Ok(Self { wanted, wishes, bags, waters, litres, tools })
    }

    fn misses(&self, water: &[f64; 7]) -> f64 {
        let one = |wish: &Priorities| {
            let value: f64 = wish.of.iter().zip(water).map(|(a, b)| a * b).sum();
            wish.rate * (wish.low - value).max(value - wish.high).max(0.0)
        };
        self.wishes.iter().map(one).sum()
    }

    /// The least misses of these salts with the best blend of base waters: misses are straight
    /// between the shares at which a goal begins to be missed.
    fn best_blend(&self, salts: &[f64; 7]) -> f64 {
        let at = |share: f64| {
            let mut water = *salts;
            for (n, of) in self.waters.iter().enumerate() {
                let share = match (self.waters.len(), n) {
                    (1, _) => 1.0,
                    (_, 0) => 1.0 - share,
                    _ => share,
                };
                for (sum, ion) in water.iter_mut().zip(of) {
                    *sum += share * ion;
                }
            }
            water
        };
        if self.waters.len() == 1 {
            return self.misses(&at(1.0));
        }
        let mut least = self.misses(&at(0.0)).min(self.misses(&at(1.0)));
        for wish in &self.wishes {
            let value =
                |share: f64| -> f64 { wish.of.iter().zip(at(share)).map(|(a, b)| a * b).sum() };
            let (from, to) = (value(0.0), value(1.0));
            for edge in [wish.low, wish.high] {
                let share = (edge - from) / (to - from);
                if share.is_finite() && (0.0..=1.0).contains(&share) {
                    least = least.min(self.misses(&at(share)));
                }
            }
        }
        least
    }

    /// The least misses of all weighings of at least so many grams of each salt, or none of it.
    fn least(&self, least_g: f64) -> f64 {
        let step = self.tools.balance.resolution.value();
        let mut least = f64::INFINITY;
        // Beyond twice the largest goal a salt only harms.
        let most = |(meq_per_g, _): &(f64, [f64; 7])| 2.0 * 4.0 * self.litres / meq_per_g / step;
        let most: Vec<f64> = self.bags.iter().map(most).map(f64::ceil).collect();
        let mut counts = [0.0; 3];
        loop {
            let mut water = [0.0; 7];
            let mut allowed = true;
            for (count, (meq_per_g, ions)) in counts.iter().zip(&self.bags) {
                let grams = count * step;
                allowed &= *count < 0.5 || grams > least_g - 1e-9;
                for (sum, ion) in water.iter_mut().zip(ions) {
                    *sum += ion * meq_per_g * grams / self.litres;
                }
            }
            if allowed {
                least = least.min(self.best_blend(&water));
            }
            let mut at = 0;
            loop {
                let (Some(count), Some(most)) = (counts.get_mut(at), most.get(at)) else {
                    return least;
                };
                *count += 1.0;
                if *count <= *most {
                    break;
                }
                *count = 0.0;
                at += 1;
            }
        }
    }

    /// What a report's weighing misses, from its grams and shares.
    fn missed_by(&self, report: &BatchReport) -> f64 {
        self.missed_with(report, report.salts.iter().map(|salt| (salt.name.as_str(), salt.g)))
    }

    /// What its stocks miss in the same base waters, poured exactly.
    fn missed_by_stocks(&self, report: &BatchReport) -> f64 {
        let weighed = report.salts.iter().map(|s| (s.name.as_str(), s.g_without_steps));
        let others = report.not_weighed.iter().map(|s| (s.name.as_str(), s.g_without_steps));
        self.missed_with(report, weighed.chain(others))
    }

    fn missed_with<'a>(
        &self,
        report: &BatchReport,
        salts: impl Iterator<Item = (&'a str, f64)>,
    ) -> f64 {
        let mut water = [0.0; 7];
        for (name, grams) in salts {
            let bag = self.wanted.salts.iter().position(|bag| bag.name == name);
            let Some((meq_per_g, ions)) = bag.and_then(|place| self.bags.get(place)) else {
                return f64::NAN;
            };
            for (sum, ion) in water.iter_mut().zip(ions) {
                *sum += ion * meq_per_g * grams / self.litres;
            }
        }
        for base in report.base.iter().filter(|base| base.water == "tap") {
            for (sum, ion) in water.iter_mut().zip(TAP) {
                *sum += ion * base.share;
            }
        }
        self.misses(&water)
    }
}

fn tap() -> Result<BaseWater, Box<dyn Error>> {
    use Measure::{Bicarbonate, Calcium, Chloride, Magnesium, Potassium, Sodium, Sulfate};
    let measures = [Calcium, Magnesium, Sodium, Potassium, Chloride, Sulfate, Bicarbonate];
    let amounts: Vec<(Measure, f64)> = measures.into_iter().zip(TAP).collect();
    Ok(tap_of(&amounts)?)
}

/// Wishes as a file would hold them, and as sums of ions.
fn wishes(
    generator: &mut StdRng,
    target: &mut Target,
    truth: Option<&[f64; 7]>,
) -> Result<Vec<Priorities>, Box<dyn Error>> {
    let of = |places: &[usize]| {
        let mut ions = [0.0; 7];
        for place in places {
            if let Some(ion) = ions.get_mut(*place) {
                *ion = 1.0;
            }
        }
        ions
    };
    let mut wishes = Vec::new();
    for (measure, ions, always) in [
        (Measure::Hardness, of(&[0, 1]), true),
        (Measure::Alkalinity, of(&[6]), true),
        (Measure::Sodium, of(&[2]), false),
        (Measure::Chloride, of(&[4]), false),
        (Measure::Sulfate, of(&[5]), false),
        (Measure::Magnesium, of(&[1]), false),
    ] {
        if !always && generator.random_range(0.0..1.0) < 0.5 {
            continue;
        }
        let there = |water: &[f64; 7]| ions.iter().zip(water).map(|(a, b)| a * b).sum::<f64>();
        let value: f64 = truth.map_or_else(|| generator.random_range(0.2..3.0), there);
        let tolerance: f64 = generator.random_range(0.01..0.15);
        let weight = 10.0_f64.powf(generator.random_range(-2.0..3.0));
        let (words, low, high) = match generator.random_range(0..4) {
            0 if !always => ("at most", f64::NEG_INFINITY, value),
            1 if !always => ("at least", value, f64::INFINITY),
            _ => ("near", value, value),
        };
        let text = format!("{words} {value:.4} meq/L ± {tolerance:.4} meq/L, weight {weight:.4}");
        let goal = Goal::parse(measure, &text)?;
        // The digits that were written are what is wanted.
        let (tolerance, weight) = (goal.tolerance, goal.weight);
        let (low, high) = (low.max(-1e9), high.min(1e9));
        let (low, high) = ((low * 1e4).round() / 1e4, (high * 1e4).round() / 1e4);
        let rate = weight / tolerance;
        wishes.push(Priorities { of: ions, low: low - tolerance, high: high + tolerance, rate });
        target.goals.push(goal);
    }
    Ok(wishes)
}

/// Weights from a hundredth to a thousand make units of miss of very different size.
fn as_little(misses: f64, least: f64) -> bool {
    misses <= least + 2e-4 * least.max(1.0)
}

/// Three salts of random purity, hydrates among them, from distilled water, a tap water or both;
/// half a litre to four; steps of 0.01 and 0.1 g; weights from 0.01 to 1,000.
#[test]
fn no_weighing_is_better() -> Fallible {
    const CASES: usize = 24;
    let mut generator = StdRng::seed_from_u64(19);
    let lab = Lab::new(BoilerSettings::default())?;
    let instead = ReadyProduct::default();
    let (mut reached, mut small, mut limited) = (0, 0, 0);
    for number in 0..CASES {
        let case = Case::drawn(&mut generator)?;
        let batch = |accuracy: Accuracy| {
            let prices: (&[_], &ReadyProduct) = (&[], &instead);
            BatchReport::new(&case.wanted, case.litres, accuracy, &case.tools, &lab, prices)
        };
        let free = Accuracy::from(Fraction::new(0.01));
        let report = batch(free)?;
        let (is, least) = (case.missed_by(&report), case.least(0.0));
        assert!(as_little(is, least), "{number}: {is} and not {least}, {:?}", report.salts);
        assert!(report.proved, "{number}");
        let poured = case.missed_by_stocks(&report);
        assert!(as_little(poured, is), "{number}: stocks {poured}, weighed {is}");
        if least <= 0.0 {
            reached += 1;
            assert!(report.goals.iter().all(|g| g.reached), "{number}: {:?}", report.goals);
        }
        small += usize::from(report.salts.iter().any(|salt| salt.expanded_percent > 20.0));
        // With a limit nothing is weighed worse, and nothing that keeps it misses less.
        let limit = Fraction::new(0.2);
        let report = batch(Accuracy { at_worst: Some(limit), ..free })?;
        let floor = case.tools.balance.least_for(limit).value();
        assert!(report.salts.iter().all(|salt| salt.expanded_percent <= 20.0 + 1e-6));
        let (is, least) = (case.missed_by(&report), case.least(floor));
        assert!(as_little(is, least), "{number}, limited: {is} and not {least}");
        limited += usize::from(!report.missed_for_the_limit.is_empty());
    }
    // The cases are of every kind.
    assert!(reached > CASES / 5 && small > CASES / 6 && limited > 0, "{reached} {small} {limited}");
    Ok(())
}

/// 1.9 L of the starter's middle water: what a least weight of 20 % accuracy cost is not missed,
/// and no salt goes missing at a litre without a word.
#[test]
fn a_litre_keeps_its_salts() -> Fallible {
    use crate::common::{answers, starter_bench};
    let (_folder, bench) = starter_bench()?;
    for make in ["0.5 L", "1 L", "1.9 L", "2.7 L", "4 L"] {
        for water in ["soft", "middle", "sulfate side", "hard"] {
            let batch = answers::json(&bench, &["batch", water, "--make", make])?;
            let list = |key: &str| batch[key].as_array().cloned().unwrap_or_default();
            let named = list("salts").into_iter().chain(list("not_weighed"));
            for salt in named {
                // What its stock gives in its place is told exactly.
                let number = |key: &str| salt[key].as_f64().unwrap_or(f64::NAN);
                let litres = batch["litres"].as_f64().unwrap_or(f64::NAN);
                assert!((number("stock_ml") - litres * number("stock_ml_per_l")).abs() < 1e-4);
                assert!(number("stock_g") >= number("stock_ml"), "{salt}");
            }
            if make != "0.5 L" {
                let missed = list("goals").iter().any(|goal| goal["reached"] != true);
                assert!(!missed, "{water}, {make}: {:?}", list("goals"));
            }
        }
    }
    // With drops of the dropper the same litre is poured.
    let batch =
        answers::json(&bench, &["batch", "middle", "--make", "1 L", "--dispenser", "dropper"])?;
    let doses = batch["by_dispenser"]["doses"].as_array().ok_or("no doses")?;
    assert!(
        doses.len() >= 2 && batch["by_dispenser"]["missed"].as_array().is_some_and(Vec::is_empty)
    );
    for dose in doses {
        let (drops, ml) = (dose["steps"].as_f64(), dose["amount"].as_f64());
        assert!(drops.zip(ml).is_some_and(|(drops, ml)| (ml - 0.05 * drops).abs() < 1e-9));
    }
    Ok(())
}
