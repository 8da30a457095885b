//! Doses in steps against every choice there is: all whole numbers of steps of up to three stocks,
//! the best shares of the base waters for each by the linear planner. All options together: several
//! base waters with limits, both conventions, least amounts, stocks that must be in, weights from
//! 0.01 to 1,000, tolerances down to nearly nothing, ratios, sum and largest miss, all preferences,
//! limits on stocks and dissolved solids.

use std::error::Error;
use std::time::Duration;

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;
use waterflight::chemistry::{Composition, Conserved};
use waterflight::flight::{Convention, DoseLimits, Goal, Preference, Target};
use waterflight::planner::lp::program::{PourableColumns, Priorities, Row, push_rows};
use waterflight::planner::lp::stages::Planner;
use waterflight::planner::steps::deliver::{Portioned, best_portions};
use waterflight::planner::steps::portions::Portion;
use waterflight::water::Measure;

type Fallible<T> = Result<T, Box<dyn Error>>;

/// Cation, anion, meq/mL.
const STOCKS: [(Conserved, Conserved, f64); 8] = [
    (Conserved::Ca, Conserved::Cl, 0.41),
    (Conserved::Mg, Conserved::SO4, 0.33),
    (Conserved::Na, Conserved::Alkalinity, 0.36),
    (Conserved::K, Conserved::Alkalinity, 0.41),
    (Conserved::Mg, Conserved::Cl, 0.39),
    (Conserved::Na, Conserved::Cl, 0.35),
    (Conserved::Ca, Conserved::SO4, 0.021),
    (Conserved::Na, Conserved::SO4, 0.34),
];

/// Measures with a unit and the largest goal.
const MEASURES: [(Measure, &str, f64); 9] = [
    (Measure::Hardness, "mg/L as CaCO3", 150.0),
    (Measure::Calcium, "mg/L", 60.0),
    (Measure::Magnesium, "mg/L", 30.0),
    (Measure::Sodium, "mg/L", 40.0),
    (Measure::Chloride, "mg/L", 80.0),
    (Measure::Sulfate, "mg/L", 90.0),
    (Measure::Alkalinity, "mg/L as CaCO3", 100.0),
    (Measure::DissolvedSolids, "mg/L", 300.0),
    (Measure::Potassium, "mg/L", 30.0),
];

struct Case {
    pourable: PourableColumns,
    portions: Vec<Portion>,
    rows: Vec<Row>,
    priorities: Priorities,
    counting: bool,
    /// No tolerance is so small that the digits of a float do not tell what misses it.
    plain: bool,
    text: String,
}

/// One of a list.
fn of<T: Copy>(random: &mut ChaCha20Rng, list: &[T]) -> Fallible<T> {
    Ok(*list.get(random.random_range(0..list.len())).ok_or("an empty list")?)
}

fn log(random: &mut ChaCha20Rng, low: f64, high: f64) -> f64 {
    10.0_f64.powf(random.random_range(low..high))
}

fn case(random: &mut ChaCha20Rng, tiny: bool) -> Fallible<Case> {
    let mut pourable = PourableColumns {
        convention: of(random, &[Convention::MadeUpToALitre, Convention::AddedToALitre])?,
        ..PourableColumns::default()
    };
    let count = random.random_range(1..4_usize);
    let most = *[200, 30, 12].get(count - 1).ok_or("no such count")?;
    let bottle = of(random, &[0.25, 0.5, 1.0])?;
    let mut portions = Vec::new();
    let mut place = random.random_range(0..STOCKS.len());
    for _ in 0..count {
        place = (place + random.random_range(1..4)) % STOCKS.len();
        let (cation, anion, strength) = *STOCKS.get(place).ok_or("no stock")?;
        let strength = strength * random.random_range(0.3..2.0);
        let mut per_meq = Composition::PURE_WATER;
        for ion in [cation, anion] {
            per_meq.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
        }
        pourable.stocks.push((per_meq, 1.0 / strength));
        let step = of(random, &[0.05, 0.1, 0.25, 0.5, 1.0, 0.0481])?;
        portions.push(Portion {
            meq_per_l: strength * step / bottle,
            least: of(random, &[1, 1, 2, 5, 10])?,
            most,
            required: random.random_bool(0.1),
        });
        pourable.price_per_ml.push(random.random_range(0.0..0.01));
    }
    base_waters(random, &mut pourable);
    if random.random_bool(0.3) {
        pourable.limits = DoseLimits {
            stocks_ml_per_l: random.random_range(2.0..60.0),
            dissolved_solids_mg_per_l: random.random_range(80.0..1500.0),
            ..DoseLimits::NONE
        };
    } else if random.random_bool(0.5) {
        pourable.limits = DoseLimits::default();
    }
    let goals = goals(random, tiny)?;
    let preference = of(
        random,
        &[
            Preference::LeastVolume,
            Preference::LeastCost,
            Preference::LeastSodium,
            Preference::FewestStocks,
        ],
    )?;
    let priorities = Priorities {
        largest_first: random.random_bool(0.3),
        preference: pourable.preference_costs(preference),
    };
    let text = format!("{goals:?} {preference:?} {portions:?} {pourable:?}");
    let mut rows = Vec::new();
    push_rows(&Target { name: "random".to_owned(), goals }, &mut rows);
    let counting = preference == Preference::FewestStocks;
    Ok(Case { pourable, portions, rows, priorities, counting, plain: !tiny, text })
}

/// One to four base waters whose limits let them fill a litre.
fn base_waters(random: &mut ChaCha20Rng, pourable: &mut PourableColumns) {
    let count = random.random_range(1..5);
    let mut room = 0.0;
    for k in 0..count {
        let mut water = Composition::PURE_WATER;
        if k > 0 || random.random_bool(0.3) {
            water.set_mmol_per_l(Conserved::Ca, random.random_range(0.1..2.0));
            for ion in
                [Conserved::Mg, Conserved::Na, Conserved::Cl, Conserved::Alkalinity, Conserved::SO4]
            {
                if random.random_bool(0.7) {
                    water.set_mmol_per_l(ion, random.random_range(0.0..2.0));
                }
            }
        }
        let last = k == count - 1 && room < 1.0;
        let at_most =
            if last || random.random_bool(0.5) { 1.0 } else { random.random_range(0.1..1.0_f64) };
        room += at_most;
        pourable.base.push((water, at_most));
        pourable.base_price_per_l.push(random.random_range(0.0..0.5));
    }
}

fn goals(random: &mut ChaCha20Rng, tiny: bool) -> Fallible<Vec<Goal>> {
    let wide = random.random_bool(0.3);
    let weight = |random: &mut ChaCha20Rng| {
        if wide {
            log(random, -2.0, 3.0)
        } else if random.random_bool(0.3) {
            random.random_range(0.5..3.0)
        } else {
            1.0
        }
    };
    let mut goals: Vec<Goal> = Vec::new();
    for _ in 0..random.random_range(1..6) {
        let (measure, unit, most) = of(random, &MEASURES)?;
        if goals.iter().any(|g| g.subject == waterflight::flight::Subject::Measure(measure)) {
            continue;
        }
        let value = random.random_range(0.0..most);
        let value = if random.random_bool(0.5) { value.round() } else { value };
        let tolerance = match random.random_range(0..5) {
            0 => format!(" ± {:.12} {unit}", log(random, if tiny { -8.0 } else { -3.0 }, 1.0)),
            1 => format!(" ± 0 {unit}"),
            _ => String::new(),
        };
        let weight = weight(random);
        let text = match random.random_range(0..6) {
            0 => format!("at most {value} {unit}{tolerance}, weight {weight:.4}"),
            1 => format!("at least {value} {unit}{tolerance}, weight {weight:.4}"),
            2 => {
                let high = value * 1.2;
                format!("between {value} and {high} {unit}{tolerance}, weight {weight:.4}")
            }
            _ => format!("{value} {unit}{tolerance}, weight {weight:.4}"),
        };
        goals.push(Goal::parse(measure, &text)?);
    }
    if random.random_bool(0.35) {
        let (first, _, _) = of(random, &MEASURES)?;
        let (second, _, _) = of(random, &MEASURES)?;
        let kind = of(random, &["", "at least ", "at most "])?;
        let tolerance = of(random, &["", ", tolerance 0.5", ", tolerance 0", ", tolerance 10 %"])?;
        let ratio = random.random_range(0.2..3.0);
        let text = format!("{kind}{ratio:.2} meq/meq{tolerance}, weight {:.4}", weight(random));
        if first != second
            && let Ok(goal) = Goal::parse_ratio(first, second, &text)
        {
            goals.push(goal);
        }
    }
    Ok(goals)
}

/// The stage values of one choice with the best shares of the base waters for it, by the linear
/// planner: with the doses given, a litre is a mixture of waters that hold them already.
fn best_shares(case: &Case, steps: &[u32], planner: &mut Planner) -> Option<Vec<f64>> {
    let pourable = &case.pourable;
    let added = pourable.convention == Convention::AddedToALitre;
    let doses: Vec<f64> =
        steps.iter().zip(&case.portions).map(|(n, p)| f64::from(*n) * p.meq_per_l).collect();
    let litres: f64 = doses.iter().zip(&pourable.stocks).map(|(u, (_, ml))| u * ml / 1000.0).sum();
    let (finished, base) =
        if added { (1.0 + litres, 1.0 / (1.0 + litres)) } else { (1.0, 1.0 - litres) };
    let too_much = 1000.0 * litres > pourable.limits.stocks_ml_per_l * (1.0 + 1e-9);
    if base < 1e-9 || too_much {
        return None;
    }
    let mut dosed = Composition::PURE_WATER;
    for (u, (water, _)) in doses.iter().zip(&pourable.stocks) {
        dosed += *water * (u / finished);
    }
    let mut mixture = PourableColumns::default();
    for (water, at_most) in &pourable.base {
        let at_most = if added { *at_most } else { at_most / base };
        mixture.base.push((*water * base + dosed, at_most.min(1.0)));
    }
    let solids = pourable.most_solids();
    mixture.limits.dissolved_solids_mg_per_l = solids;
    if mixture.most_solids() > solids * (1.0 + 1e-9) {
        return None;
    }
    let preference = case.priorities.preference.iter();
    let on_base = preference.clone().map(|(_, b)| b.iter().map(|c| c * base).collect());
    let priorities = Priorities {
        largest_first: case.priorities.largest_first,
        preference: on_base.map(|b| (Vec::new(), b)).collect(),
    };
    let found = planner.solve(&mixture, &case.rows, &priorities).ok()?;
    let mut values: Vec<f64> = found.largest.into_iter().collect();
    values.extend([found.beyond, found.inside]);
    if case.counting {
        values.push(steps.iter().map(|n| f64::from(u8::from(*n > 0))).sum());
    }
    let of_doses =
        preference.map(|(s, _)| s.iter().zip(&doses).map(|(c, u)| c * u / finished).sum::<f64>());
    values.extend(found.preference.iter().zip(of_doses).map(|(b, s)| b + s));
    Some(values)
}

/// Every choice of steps that the dispenser delivers, with its stage values.
fn all_choices(case: &Case) -> Vec<(Vec<u32>, Vec<f64>)> {
    let mut planner = Planner::default();
    let mut all = vec![Vec::new()];
    for portion in &case.portions {
        let longer = |known: &Vec<u32>| -> Vec<Vec<u32>> {
            let nothing = (!portion.required).then_some(0);
            let some = portion.least.max(1)..=portion.most;
            let with = |n: u32| [known.as_slice(), &[n]].concat();
            nothing.into_iter().chain(some).map(with).collect()
        };
        all = all.iter().flat_map(longer).collect();
    }
    all.into_iter().filter_map(|n| best_shares(case, &n, &mut planner).map(|v| (n, v))).collect()
}

/// What a proof claims holds for every choice: none that keeps the earlier stages has less than the
/// bound of a stage.
fn check(number: usize, case: &Case) -> Fallible<bool> {
    let found: Option<Portioned> = best_portions(
        &case.pourable,
        &case.portions,
        &case.rows,
        &case.priorities,
        case.counting,
        Duration::from_secs(5),
    );
    let all = all_choices(case);
    let Some(found) = found else {
        assert!(all.is_empty(), "number {number}: {} choices fit. {}", all.len(), case.text);
        return Ok(true);
    };
    assert!(
        all.iter().any(|(steps, _)| *steps == found.portions),
        "number {number}: {:?} is no choice. {}",
        found.portions,
        case.text
    );
    for (stage, proof) in found.proofs.iter().enumerate() {
        assert!(proof.bound <= proof.value, "number {number}: {proof:?}");
        for (steps, values) in &all {
            let mut earlier = values.iter().zip(&found.proofs).take(stage);
            let keeps = earlier.all(|(v, p)| *v <= p.value + 1e-9 + 1e-14 * p.value.abs());
            let value = *values.get(stage).ok_or("a stage is missing")?;
            assert!(
                !keeps || value >= proof.bound - 1e-9 * proof.value.abs().max(1.0),
                "number {number}: stage {stage} of {:?} {:?}, but {steps:?} reach {values:?}. {}",
                found.portions,
                found.proofs,
                case.text
            );
        }
    }
    let proved = found.proofs.iter().all(waterflight::planner::steps::Proof::proved);
    assert!(
        proved || !case.plain,
        "number {number} is not proved: {:?}. {}",
        found.proofs,
        case.text
    );
    Ok(proved)
}

/// Three hundred flights with tolerances that a person might write: all proved, and all claims true.
#[test]
fn proved_steps_are_the_best_of_all_choices() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(20_260_303);
    for number in 0..300 {
        let case = case(&mut random, false)?;
        check(number, &case)?;
    }
    Ok(())
}

/// Tolerances down to 10^-8 mg/L among them: then some stages stay open, and no claim is false.
#[test]
fn next_to_no_tolerance_makes_no_claim_false() -> Fallible<()> {
    let mut random = ChaCha20Rng::seed_from_u64(20_260_304);
    let mut open = 0;
    for number in 0..200 {
        let case = case(&mut random, true)?;
        open += usize::from(!check(number, &case)?);
    }
    assert!(open < 20, "{open} of 200 are not proved");
    Ok(())
}

/// Distilled water and tap water, one stock of calcium chloride: of the doses that miss the goals by
/// as little the smallest is taken.
#[test]
fn two_base_waters_take_no_more_stock_than_they_must() -> Fallible<()> {
    let mut calcium_chloride = Composition::PURE_WATER;
    calcium_chloride.add_mmol_per_l(Conserved::Ca, 0.5);
    calcium_chloride.add_mmol_per_l(Conserved::Cl, 1.0);
    let mut tap = Composition::PURE_WATER;
    for (ion, mmol) in [
        (Conserved::Ca, 1.9),
        (Conserved::Mg, 0.6),
        (Conserved::Na, 0.8),
        (Conserved::Cl, 0.9),
        (Conserved::Alkalinity, 4.0),
    ] {
        tap.set_mmol_per_l(ion, mmol);
    }
    let mut random = ChaCha20Rng::seed_from_u64(20_260_305);
    for number in 0..150 {
        let mut pourable = PourableColumns::default();
        pourable.stocks.push((calcium_chloride, 1.0 / 0.41));
        pourable.base.extend([(Composition::PURE_WATER, 1.0), (tap, 1.0)]);
        let hardness = random.random_range(20.0..200.0);
        let alkalinity = random.random_range(10.0..120.0);
        let goals = vec![
            Goal::parse(Measure::Hardness, &format!("{hardness:.1} mg/L as CaCO3"))?,
            Goal::parse(Measure::Alkalinity, &format!("{alkalinity:.1} mg/L as CaCO3"))?,
        ];
        let mut rows = Vec::new();
        push_rows(&Target { name: "random".to_owned(), goals }, &mut rows);
        let preference = pourable.preference_costs(Preference::LeastVolume);
        let portion = Portion { meq_per_l: 0.041 * 2.0, least: 1, most: 100, required: false };
        let case = Case {
            pourable,
            portions: vec![portion],
            rows,
            priorities: Priorities { largest_first: false, preference },
            counting: false,
            plain: true,
            text: format!("hardness {hardness:.1}, alkalinity {alkalinity:.1}"),
        };
        check(number, &case)?;
    }
    Ok(())
}
