#![expect(clippy::indexing_slicing, reason = "one of three, by a number below three")]

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha20Rng;

use super::*;
use crate::chemistry::{Composition, Conserved};
use crate::flight::Preference;

const IONS: [Conserved; 6] = [
    Conserved::Ca,
    Conserved::Mg,
    Conserved::Na,
    Conserved::Cl,
    Conserved::SO4,
    Conserved::Alkalinity,
];

fn salt(cation: Conserved, anion: Conserved) -> Composition {
    let mut per_meq = Composition::PURE_WATER;
    for ion in [cation, anion] {
        per_meq.add_mmol_per_l(ion, 1.0 / f64::from(ion.charge().abs()));
    }
    per_meq
}

/// Nine stocks, up to three base waters, and rows whose costs are up to 10^`apart` apart.
fn program(random: &mut ChaCha20Rng, apart: f64) -> (PourableColumns, Vec<Row>, Priorities) {
    let mut pourable = PourableColumns::default();
    let (cations, anions) = IONS.split_at(3);
    for cation in cations {
        for anion in anions {
            let ml_per_meq = random.random_range(1.5..40.0);
            pourable.stocks.push((salt(*cation, *anion), ml_per_meq));
        }
    }
    pourable.base.push((Composition::PURE_WATER, 1.0));
    for _ in 0..random.random_range(0..3) {
        let mut water = Composition::PURE_WATER;
        for ion in IONS {
            water.set_mmol_per_l(ion, random.random_range(0.0..2.0));
        }
        pourable.base.push((water, random.random_range(0.2..1.0)));
    }
    let rows = IONS
        .iter()
        .take(random.random_range(2..=6))
        .map(|ion| {
            let mut form = [0.0; Conserved::ALL.len()];
            for (slot, c) in form.iter_mut().zip(Conserved::ALL) {
                *slot = if c == *ion { f64::from(ion.charge().abs()) } else { 0.0 };
            }
            let low = random.random_range(0.0..3.0);
            let high = [low, f64::INFINITY, low + 0.3][random.random_range(0..3)];
            let rate = 10.0_f64.powf(random.random_range(0.0..apart));
            let tolerance = [0.0, 1.0 / rate, 0.05][random.random_range(0..3)];
            Row::band(form, low, high, tolerance, rate)
        })
        .collect();
    let preference =
        if random.random_bool(0.5) { Preference::LeastVolume } else { Preference::LeastSodium };
    let priorities = Priorities {
        largest_first: random.random_bool(0.3),
        preference: pourable.preference_costs(preference),
    };
    (pourable, rows, priorities)
}

/// Two solvers that share neither basis nor digits come to the same value in every stage.
#[test]
fn the_second_solver_agrees() {
    let mut random = ChaCha20Rng::seed_from_u64(7);
    let mut compared = 0;
    for number in 0..600 {
        let (pourable, rows, priorities) = program(&mut random, 4.0);
        let problem = Problem {
            pourable: &pourable,
            rows: &rows,
            priorities: &priorities,
            hard: &[],
            excluded: &[],
        };
        let litre = Litre::new(&pourable, &rows, &priorities, &[], &[]);
        let second = solve_in::<Twofold>(&litre, problem).map(|s| s.values().collect::<Vec<_>>());
        let second = second.unwrap_or_default();
        assert!(!second.is_empty(), "number {number} has no answer");
        let mut piecewise = Piecewise::default();
        piecewise.prepare(&pourable, &rows, &priorities, &[], &[]);
        let (mut simplex, mut proved) = (Simplex::default(), Proved::default());
        let (at_upper, last) = litre::fill(&pourable, false);
        let at_upper: Vec<usize> = at_upper.iter().map(|k| 9 + k).collect();
        simplex.start(&piecewise, &at_upper, 9 + last);
        let found = stages(&piecewise, &mut simplex, &mut proved, &rows, false);
        let Ok(first) = found else { continue };
        compared += 1;
        let second = second.into_iter().skip(usize::from(priorities.largest_first));
        for (a, b) in first.values().zip(second) {
            if priorities.largest_first {
                // Without the first stage it is another problem.
                break;
            }
            assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "number {number}: {a} and {b}");
        }
    }
    assert!(compared > 590, "only {compared} compared");
}

/// Costs up to 10^13 apart, as tolerances of next to nothing make them: every program has an
/// answer, and it is proved.
#[test]
fn costs_far_apart_have_an_answer() {
    let mut random = ChaCha20Rng::seed_from_u64(8);
    for number in 0..600 {
        let (pourable, rows, priorities) = program(&mut random, 13.0);
        let found = Planner::default().solve(&pourable, &rows, &priorities);
        assert!(found.is_ok(), "number {number}: {found:?}");
    }
}

/// A planner that starts from the bases of other waters finds what one finds that starts from
/// nothing: goals, tolerances, weights and stocks that are shut out all move while the forms stay. Two
/// of three waters are neighbours of the one before, as on a map, for which its basis often serves.
#[test]
fn a_warm_start_changes_no_answer() {
    let mut random = ChaCha20Rng::seed_from_u64(9);
    for number in 0..90 {
        // Costs as far apart as a tight tolerance or a large weight makes them.
        let apart = [3.0, 5.0][number % 2];
        let (pourable, mut rows, priorities) = program(&mut random, apart);
        let mut warm = Planner::default();
        let mut allowed = Vec::new();
        for turn in 0..30 {
            let is_near = turn % 3 > 0;
            for row in rows.iter_mut().filter(|_| is_near) {
                row.reference += random.random_range(-0.05..0.05);
            }
            for row in rows.iter_mut().filter(|_| !is_near) {
                let low = random.random_range(0.0..3.0);
                let high = [low, f64::INFINITY, low + 0.3][random.random_range(0..3)];
                let rate = 10.0_f64.powf(random.random_range(0.0..apart));
                let tolerance = [0.0, 1.0 / rate, 0.05, f64::INFINITY][random.random_range(0..4)];
                *row = if random.random_bool(0.2) {
                    Row::band(row.form, f64::NEG_INFINITY, low, tolerance, rate)
                } else {
                    Row::band(row.form, low, high, tolerance, rate)
                };
            }
            if !is_near {
                allowed = (0..9).map(|_| random.random_bool(0.8)).collect::<Vec<bool>>();
            }
            warm.allow(&allowed);
            let mut cold = Planner::default();
            cold.allow(&allowed);
            let both = [&mut warm, &mut cold].map(|p| p.solve(&pourable, &rows, &priorities));
            let [Ok(from_bases), Ok(from_nothing)] = &both else {
                assert!(both.iter().all(Result::is_err), "{number}, {turn}: {both:?}");
                continue;
            };
            for (a, b) in from_bases.values().zip(from_nothing.values()) {
                assert!((a - b).abs() <= 1e-8 * b.abs().max(1.0), "{number}, {turn}: {a}, {b}");
            }
            // Where two sets of doses are as good, it has those that it would have alone.
            let doses = |s: &Solution| [s.meq_per_l.as_slice(), &s.shares].concat();
            for (a, b) in doses(from_bases).iter().zip(doses(from_nothing)) {
                assert!((a - b).abs() <= 1e-6, "{number}, {turn}: {both:?}");
            }
        }
    }
}
