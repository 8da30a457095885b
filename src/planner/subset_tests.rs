#![expect(clippy::indexing_slicing, reason = "sets of seven things, indexed below seven")]

use super::*;

fn never() -> bool {
    false
}

/// Every set of seven things against a rule, smallest first: the plain way.
fn by_trial(serves: impl Fn(&[bool]) -> bool) -> usize {
    (0_u32..128)
        .map(|bits| (0..7).map(|j| bits >> j & 1 == 1).collect::<Members>())
        .filter(|m| serves(m))
        .map(|m| size(&m))
        .min()
        .unwrap_or(usize::MAX)
}

#[test]
fn every_subset_stands_once_the_smallest_first() {
    for things in 0..8 {
        let all: Vec<Mask> = by_size(things).collect();
        let mut sorted: Vec<Mask> = (0..1 << things).collect();
        sorted.sort_by_key(|mask| mask.count_ones());
        assert_eq!(all, sorted, "{things}");
    }
}

#[test]
fn the_first_smallest_is_that_of_every_one_looked_at() {
    for seed in 0_u32..200 {
        let cores = [seed % 127, seed.wrapping_mul(31) % 127, seed.wrapping_mul(57) % 127];
        let sought = |mask: Mask| cores.iter().any(|core| *core > 0 && mask & core == *core);
        let mut looks = 0;
        let probe =
            |mask| {
                looks += 1;
                let larger = (0..7).fold(mask, |larger, j| {
                    if sought(larger | 1 << j) { larger } else { larger | 1 << j }
                });
                Ok::<_, ()>(if sought(mask) { Probe::Sought } else { Probe::Within(larger) })
            };
        assert_eq!(first_by_size(7, probe), Ok(by_size(7).find(|mask| sought(*mask))));
        assert!(looks < 40, "{looks}");
    }
}

#[test]
fn the_fewest_are_those_that_trial_finds() {
    for seed in 0_usize..40 {
        // Three needs, each met by some of the things: a covering problem.
        let serves = |m: &[bool]| {
            (0..4).all(|need| {
                (0..7).any(|j| m[j] && (seed * 31 + need * 17 + j * 7) % 3 == 0) || seed == 0
            })
        };
        let found = fewest(&[false; 7], serves, &never);
        if serves(&[true; 7]) {
            assert!(found.proved && serves(&found.members), "{seed}");
            assert_eq!(size(&found.members), by_trial(serves), "{seed}");
        }
    }
}

#[test]
fn the_best_so_many_are_those_that_trial_finds() {
    let gain = [3.0, 1.0, 4.0, 1.5, 5.0, 9.0, 2.6];
    let set_value = |m: &[bool]| {
        let sum: f64 = m.iter().zip(gain).filter(|(m, _)| **m).map(|(_, g)| g).sum();
        vec![100.0 - sum]
    };
    let best = |required: &[bool], most| {
        let evaluation = SetEvaluation {
            bound: &mut |m| set_value(m),
            set_value: &mut |m| SetValue { values: set_value(m), proved: true },
            even: 1e-6,
        };
        best_of_size(required, most, evaluation, &never)
    };
    let found = best(&[false; 7], 3);
    assert_eq!(found.members, [false, false, true, false, true, true, false]);
    assert!(found.proved);
    // What must be in it takes the place of another one.
    let required = [false, true, false, false, false, false, false];
    assert_eq!(best(&required, 3).members, [false, true, false, false, true, true, false]);
}

/// Every way to divide things, each part a bit mask.
fn every_division(things: usize) -> Vec<Vec<usize>> {
    let mut all: Vec<Vec<usize>> = vec![Vec::new()];
    for thing in 0..things {
        let longer = all.iter().flat_map(|division| {
            (0..=division.len()).map(move |place| {
                let mut next = division.clone();
                match next.get_mut(place) {
                    Some(group) => *group |= 1 << thing,
                    None => next.push(1 << thing),
                }
                next
            })
        });
        all = longer.collect();
    }
    all
}

#[test]
fn no_division_has_fewer_parts() {
    // Bell numbers: 1, 2, 5, 15, 52
    assert_eq!([1, 2, 3, 4, 5].map(|n| every_division(n).len()), [1, 2, 5, 15, 52]);
    let mut seen = Vec::new();
    for seed in 0_usize..200 {
        // Any pattern of clear groups in which each thing alone is clear.
        let clear = |set: usize| {
            set.is_power_of_two()
                || (set.wrapping_mul(2_654_435_761) >> (seed % 13)).is_multiple_of(3)
        };
        let costs: Vec<Option<u32>> = (0..32).map(|set| clear(set).then_some(0)).collect();
        let found = fewest_parts(&costs).unwrap_or_default();
        assert_eq!(found.iter().fold(0, |all, set| all ^ set), 31);
        assert!(found.iter().all(|set| clear(*set)));
        let best = every_division(5)
            .into_iter()
            .filter(|d| d.iter().all(|set| clear(*set)))
            .map(|d| d.len())
            .min();
        assert_eq!(Some(found.len()), best);
        seen.push(found.len());
    }
    seen.sort_unstable();
    seen.dedup();
    assert!(seen.len() >= 3, "{seen:?}");
}

#[test]
fn a_set_that_does_not_serve_hides_none_that_does() {
    // The first stock alone does not serve, the third serves best.
    let values = |m: &[bool]| match m {
        [_, _, true] => vec![0.0, 1.0],
        [_, true, false] => vec![0.0, 2.0],
        _ => vec![f64::INFINITY],
    };
    let evaluation = SetEvaluation {
        bound: &mut |m| values(m),
        set_value: &mut |m| SetValue { values: values(m), proved: true },
        even: 1e-6,
    };
    let found = best_of_size(&[false; 3], 1, evaluation, &|| false);
    assert_eq!(found.members, [false, false, true]);
    assert!(found.proved);
}
