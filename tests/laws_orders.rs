//! Serving orders and blocks, proved by counting for every size to 16.

use std::error::Error;

use proptest::prelude::*;
use waterflight::session::plan::block_orders::ordered;
use waterflight::session::plan::blocks::{blocks, smallest_balanced};
use waterflight::session::plan::williams::{Counts, complete_orders, williams};
use waterflight::session::plan::{Draw, Purpose, Seed};

fn draw(phrase: &str) -> Draw {
    Draw::new(&Seed::from_phrase(phrase), Purpose::Orders)
}

fn is_order(row: &[usize], n: usize) -> bool {
    let mut sorted = row.to_vec();
    sorted.sort_unstable();
    sorted == (0..n).collect::<Vec<_>>()
}

#[test]
fn williams_designs_balance_places_and_followings() {
    for n in 2..=16 {
        let rows = williams(n);
        let times = 1 + n % 2;
        assert_eq!(rows.len(), n * times, "rows for {n}");
        let mut counts = Counts::new(n, n);
        for row in &rows {
            assert!(is_order(row, n), "{row:?}");
            counts.add(row);
        }
        assert_eq!(counts.places(), (times, times), "places for {n}");
        assert_eq!(counts.follows(), (times, times), "followings for {n}");
    }
}

#[test]
fn whole_designs_are_even_over_tasters_and_rounds() {
    for n in 2..=16 {
        let design = n * (1 + n % 2);
        for (tasters, rounds) in [(design, 1), (n, 1 + n % 2), (design, 2)] {
            let orders = complete_orders(n, tasters, rounds, &mut draw("even"));
            let mut counts = Counts::new(n, n);
            for row in orders.iter().flatten() {
                assert!(is_order(row, n));
                counts.add(row);
            }
            let each = tasters * rounds / n;
            assert_eq!(counts.places(), (each, each), "{n} waters, {tasters} × {rounds}");
            assert_eq!(counts.follows(), (each, each), "{n} waters, {tasters} × {rounds}");
        }
    }
}

#[test]
fn every_balanced_block_design_is_balanced() -> Result<(), Box<dyn Error>> {
    for waters in 3..=16 {
        for size in 2..waters {
            let what = format!("{waters} waters in blocks of {size}");
            let smallest = smallest_balanced(waters, size).ok_or(what.clone())?;
            for copies in [1, 2] {
                let count = smallest * copies;
                let found = blocks(waters, size, count, &mut draw(&what));
                assert_eq!(found.blocks.len(), count, "{what}");
                let mut served = vec![0; waters];
                let mut met = vec![0; waters * waters];
                for block in &found.blocks {
                    assert_eq!(block.len(), size, "{what}");
                    assert!(block.windows(2).all(|pair| matches!(pair, [a, b] if a < b)), "{what}");
                    for &a in block {
                        *served.get_mut(a).ok_or("a water that is none")? += 1;
                        for &b in block {
                            *met.get_mut(a * waters + b).ok_or("a water that is none")? += 1;
                        }
                    }
                }
                let servings = count * size / waters;
                assert!(served.iter().all(|&n| n == servings), "{what}: servings");
                assert_eq!(servings * waters, count * size, "{what}");
                let meetings = servings * (size - 1) / (waters - 1);
                let pairs_meet = (0..waters).all(|a| {
                    (0..waters).all(|b| a == b || met.get(a * waters + b) == Some(&meetings))
                });
                assert!(pairs_meet, "{what}: meetings");
                assert!(found.balanced(), "{what}");
                assert!(count >= waters, "{what}: fewer blocks than waters");
            }
        }
    }
    Ok(())
}

#[test]
fn a_design_that_only_passes_the_counting_conditions_is_not_claimed() {
    // 15 waters in 21 blocks of 5: every count is whole, and no such design exists.
    let found = blocks(15, 5, 21, &mut draw("not there"));
    assert!(!found.balanced());
    assert_eq!(found.servings, (7, 7));
    assert!(found.meetings.0 >= 1 && found.meetings.1 <= 3, "{:?}", found.meetings);
}

#[test]
fn every_water_stands_at_every_place_as_often_as_any_other() {
    for waters in 3..=16 {
        for size in 2..waters {
            let count = smallest_balanced(waters, size).unwrap_or(waters).min(60);
            let found = blocks(waters, size, count, &mut draw("places"));
            let rows = ordered(waters, &found.blocks, &mut draw("order"));
            let mut counts = Counts::new(waters, size);
            for (row, block) in rows.iter().zip(&found.blocks) {
                let mut sorted = row.clone();
                sorted.sort_unstable();
                assert_eq!(&sorted, block);
                counts.add(row);
            }
            let (least, most) = counts.places();
            let what =
                format!("{waters} in {size}: {least} to {most}, served {:?}", found.servings);
            // Served n times, a water can stand at each of `size` places ⌊n/size⌋ or ⌈n/size⌉ times.
            assert!(least >= found.servings.0 / size, "{what}");
            assert!(most <= found.servings.1.div_ceil(size), "{what}");
        }
    }
}

/// The sum of squares of how often two waters meet: the least is the most even.
fn squares_of_meetings(waters: usize, blocks: &[Vec<usize>]) -> usize {
    let together = |a: usize, b: usize| {
        blocks.iter().filter(|block| block.contains(&a) && block.contains(&b)).count()
    };
    (0..waters).flat_map(|a| (0..a).map(move |b| (a, b))).map(|(a, b)| together(a, b).pow(2)).sum()
}

proptest! {
    #![proptest_config(crate::common::cases(40))]

    #[test]
    fn any_number_of_blocks_serves_all_waters_evenly(
        waters in 3_usize..=16, size in 2_usize..=8, count in 1_usize..=40, phrase in "[a-z]{4}",
    ) {
        let size = size.min(waters - 1);
        let found = blocks(waters, size, count, &mut draw(&phrase));
        prop_assert_eq!(found.blocks.len(), count);
        prop_assert!(found.servings.1 - found.servings.0 <= 1, "{:?}", found.servings);
        let uneven = squares_of_meetings(waters, &found.blocks);
        let mut chance = draw(&phrase);
        let by_chance = (0..50).map(|_| {
            let blocks: Vec<Vec<usize>> = (0..count)
                .map(|_| chance.permutation(waters).into_iter().take(size).collect())
                .collect();
            squares_of_meetings(waters, &blocks)
        });
        prop_assert!(by_chance.min().is_none_or(|best| uneven <= best));
        for block in &found.blocks {
            let mut distinct = block.clone();
            distinct.sort_unstable();
            distinct.dedup();
            prop_assert_eq!(distinct.len(), size);
        }
    }

    #[test]
    fn part_of_a_design_is_as_even_as_its_rows_allow(
        n in 2_usize..=12, tasters in 1_usize..=15, rounds in 1_usize..=3, phrase in "[a-z]{4}",
    ) {
        let orders = complete_orders(n, tasters, rounds, &mut draw(&phrase));
        let mut counts = Counts::new(n, n);
        for row in orders.iter().flatten() {
            prop_assert!(is_order(row, n));
            counts.add(row);
        }
        let (least, most) = counts.places();
        prop_assert!(most - least <= 1, "places {least} to {most}");
        // Nobody meets the same order twice while there are others.
        if rounds <= williams(n).len() && tasters > 1 && n > 2 {
            let repeats = (0..tasters).filter(|&taster| {
                let mut own: Vec<_> = orders.iter().filter_map(|round| round.get(taster)).collect();
                own.sort();
                own.windows(2).any(|pair| matches!(pair, [a, b] if a == b))
            });
            prop_assert!(repeats.count() <= 1);
        }
    }
}
