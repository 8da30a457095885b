//! What stands on which tray, before codes hide it.

use crate::session::plan::block_orders::ordered;
use crate::session::plan::blocks::blocks;
use crate::session::plan::pair_orders::drawn_sets;
use crate::session::plan::williams::complete_orders;
use crate::session::plan::{Draw, Purpose, Seed};
use crate::session::plan::{Duplicates, Request};

/// One glass as the pourer sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct PouredGlass {
    /// Place of the water in the flight.
    pub(crate) water: usize,
    /// 0 for the first of the same water on a tray, 1 for its duplicate, …
    pub(crate) copy: usize,
}

/// One tray as the pourer sees it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LaidTray {
    /// Place of the taster in the list.
    pub(crate) taster: usize,
    /// Round, from 0.
    pub(crate) round: usize,
    /// Pair compared, for a test of two waters.
    pub(crate) pair: Option<usize>,
    /// The reference of a duo-trio.
    pub(crate) reference: Option<PouredGlass>,
    /// The cups in the order of tasting.
    pub(crate) cups: Vec<PouredGlass>,
}

/// All trays, by round, then by taster, then in the order of serving.
pub(crate) fn lay(request: &Request, seed: &Seed) -> (Vec<LaidTray>, Vec<usize>) {
    if request.method.compares_two() {
        return (lay_sets(request, seed), Vec::new());
    }
    let doubled = doubled(request, seed);
    let mut glasses: Vec<PouredGlass> =
        (0..request.waters.len()).map(|water| PouredGlass { water, copy: 0 }).collect();
    glasses.extend(doubled.iter().map(|&water| PouredGlass { water, copy: 1 }));
    Draw::new(seed, Purpose::Labels).shuffle(&mut glasses);
    let orders = row_orders(request, glasses.len(), seed);
    let mut trays = Vec::new();
    for (round, rows) in orders.iter().enumerate() {
        for (taster, row) in rows.iter().enumerate() {
            let cups = row.iter().filter_map(|&glass| glasses.get(glass).copied()).collect();
            trays.push(LaidTray { taster, round, pair: None, reference: None, cups });
        }
    }
    (trays, doubled)
}

/// Orders of `glasses` glasses: `orders[round][taster]`.
fn row_orders(request: &Request, glasses: usize, seed: &Seed) -> Vec<Vec<Vec<usize>>> {
    let mut draw = Draw::new(seed, Purpose::Orders);
    let (tasters, rounds) = (request.tasters.len(), request.rounds);
    let size = request.per_tray.unwrap_or(glasses);
    if size >= glasses {
        return complete_orders(glasses, tasters, rounds, &mut draw);
    }
    let mut search = Draw::new(seed, Purpose::Blocks);
    let found = blocks(glasses, size, tasters * rounds, &mut search);
    let mut left = ordered(glasses, &found.blocks, &mut search);
    draw.shuffle(&mut left);
    let mut had: Vec<Vec<usize>> = vec![Vec::new(); tasters];
    let mut orders = Vec::with_capacity(rounds);
    for _ in 0..rounds {
        let mut rows = Vec::with_capacity(tasters);
        for seen in &mut had {
            // The block with the fewest waters this taster has had, so that the rounds add up.
            let known = |row: &Vec<usize>| row.iter().filter(|w| seen.contains(w)).count();
            let next = left.iter().enumerate().min_by_key(|(_, row)| known(row)).map(|(i, _)| i);
            let Some(next) = next else { continue };
            let row = left.swap_remove(next);
            seen.extend(&row);
            rows.push(row);
        }
        orders.push(rows);
    }
    orders
}

/// Which waters are hidden twice, in the order of the flight.
fn doubled(request: &Request, seed: &Seed) -> Vec<usize> {
    let mut places = match &request.duplicates {
        Duplicates::None => Vec::new(),
        Duplicates::Drawn(n) => {
            let mut order = Draw::new(seed, Purpose::Duplicates).permutation(request.waters.len());
            order.truncate(*n);
            order
        }
        Duplicates::Named(names) => {
            names.iter().filter_map(|n| request.waters.iter().position(|w| w == n)).collect()
        }
    };
    places.sort_unstable();
    places
}

/// Trays of a test of two waters: each pair once per taster and round, in a shuffled succession.
fn lay_sets(request: &Request, seed: &Seed) -> Vec<LaidTray> {
    let mut draw = Draw::new(seed, Purpose::Orders);
    let pairs = request.pair_places();
    let (tasters, rounds) = (request.tasters.len(), request.rounds);
    let mut sets: Vec<_> = pairs
        .iter()
        .map(|_| drawn_sets(&request.method, tasters * rounds, &mut draw).into_iter())
        .collect();
    let mut trays = Vec::new();
    for round in 0..rounds {
        for taster in 0..tasters {
            for pair in draw.permutation(pairs.len()) {
                let (Some(&waters), Some(set)) =
                    (pairs.get(pair), sets.get_mut(pair).and_then(Iterator::next))
                else {
                    continue;
                };
                trays.push(tray_of(taster, round, pair, waters, &set.cups, set.reference));
            }
        }
    }
    trays
}

/// Puts the two waters of a pair at the places of a set.
fn tray_of(
    taster: usize,
    round: usize,
    pair: usize,
    (first, second): (usize, usize),
    places: &[usize],
    held: Option<usize>,
) -> LaidTray {
    let water = |side: usize| if side == 0 { first } else { second };
    let mut poured = [0_usize; 2];
    let mut pour = |side: usize| {
        let copy = poured.get_mut(side.min(1)).map_or(0, |n| {
            *n += 1;
            *n - 1
        });
        PouredGlass { water: water(side), copy }
    };
    let cups = places.iter().map(|&side| pour(side)).collect();
    let reference = held.map(pour);
    LaidTray { taster, round, pair: Some(pair), reference, cups }
}
