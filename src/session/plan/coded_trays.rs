//! Laid trays with their codes: which cups share one, what stands on top, where breaks come.

use std::collections::BTreeMap;

use crate::session::plan::Code;
use crate::session::plan::Tray;
use crate::session::plan::codes::{TooManyCodes, draw_codes};
use crate::session::plan::layout::{LaidTray, PouredGlass};
use crate::session::plan::{CodeScope, Request, RequestError};
use crate::session::plan::{Draw, Purpose, Seed};

/// What makes two cups differ in code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct CupPlace {
    pub(super) round: usize,
    pair: Option<usize>,
    taster: Option<usize>,
    pub(super) glass: PouredGlass,
}

impl CupPlace {
    fn of(tray: &LaidTray, glass: PouredGlass, scope: CodeScope) -> Self {
        let taster = (scope == CodeScope::PerTaster).then_some(tray.taster);
        Self { round: tray.round, pair: tray.pair, taster, glass }
    }
}

/// Codes for all cups, in the scope asked for or in the one that fits.
///
/// Where cups of a tray are alike, no code stands on two trays: of cups that share codes, those
/// that are seen together and apart tell which are alike to anyone who lays the trays side by side,
/// and the probability of guessing is then no longer the one that p is reckoned with.
pub(super) fn coded(
    request: &Request,
    laid: &[LaidTray],
    seed: &Seed,
    avoid: &[u16],
) -> Result<(CodeScope, BTreeMap<CupPlace, Code>), RequestError> {
    let with = |scope| -> Result<(CodeScope, BTreeMap<CupPlace, Code>), TooManyCodes> {
        let mut places: Vec<CupPlace> = laid
            .iter()
            .flat_map(|tray| {
                let glasses = tray.cups.iter().chain(&tray.reference);
                glasses.map(move |&glass| CupPlace::of(tray, glass, scope))
            })
            .collect();
        places.sort_unstable();
        places.dedup();
        let codes = draw_codes(&mut Draw::new(seed, Purpose::Codes), places.len(), avoid)?;
        Ok((scope, places.into_iter().zip(codes).collect()))
    };
    match request.codes {
        _ if request.method.hides_two_alike() => {
            with(CodeScope::PerTaster).map_err(|too_many| RequestError::TooManyTrays {
                method: request.method.name(),
                wanted: too_many.wanted,
                available: too_many.available,
            })
        }
        Some(scope) => Ok(with(scope)?),
        None if request.method.compares_two() => {
            Ok(with(CodeScope::PerTaster).or_else(|_| with(CodeScope::PerSession))?)
        }
        None => Ok(with(CodeScope::PerSession)?),
    }
}

/// Codes for the tops of the cups, different from those underneath: `tops[tray][place]`.
pub(super) fn top_codes(
    laid: &[LaidTray],
    under: &BTreeMap<CupPlace, Code>,
    seed: &Seed,
    avoid: &[u16],
) -> Result<Vec<Vec<Code>>, TooManyCodes> {
    let cups: usize = laid.iter().map(|tray| tray.cups.len()).sum();
    let spare = cups + under.len();
    let drawn = draw_codes(&mut Draw::new(seed, Purpose::Stickers), spare, avoid)?;
    let mut free = drawn.into_iter().filter(|code| !under.values().any(|taken| taken == code));
    Ok(laid.iter().map(|tray| free.by_ref().take(tray.cups.len()).collect()).collect())
}

/// Number of the tray that a cup of the only taster stands on.
pub(super) fn tray_number(laid: &[LaidTray], place: &CupPlace) -> Option<usize> {
    let on = |tray: &LaidTray| tray.round == place.round && tray.pair == place.pair;
    laid.iter().position(on).map(|at| at + 1)
}

/// The trays as everyone may read them, by taster.
pub(super) fn public_trays(
    request: &Request,
    laid: &[LaidTray],
    (scope, codes): (CodeScope, &BTreeMap<CupPlace, Code>),
    tops: Option<&[Vec<Code>]>,
) -> Vec<Tray> {
    let code =
        |tray: &LaidTray, glass: PouredGlass| codes.get(&CupPlace::of(tray, glass, scope)).copied();
    let mut trays = Vec::with_capacity(laid.len());
    for (place, taster) in request.tasters.iter().enumerate() {
        let own = laid.iter().enumerate().filter(|(_, tray)| tray.taster == place);
        let first = trays.len();
        for (before, (at, tray)) in own.enumerate() {
            let cups = match tops.and_then(|tops| tops.get(at)) {
                Some(tops) => tops.clone(),
                None => tray.cups.iter().filter_map(|&glass| code(tray, glass)).collect(),
            };
            trays.push(Tray {
                taster: taster.clone(),
                number: before + 1,
                round: tray.round + 1,
                reference: tray.reference.and_then(|glass| code(tray, glass)),
                breaks_after: Vec::new(),
                cups,
            });
        }
        if let (Some(every), Some(own)) = (request.break_after, trays.get_mut(first..)) {
            set_breaks(own, every, request.method.compares_two());
        }
    }
    trays
}

/// Sets the breaks of one taster's trays: after every `every` cups of a round, but not after its
/// last. Cups that are compared with each other stay together, so there a break comes before the
/// tray that would pass the number.
fn set_breaks(trays: &mut [Tray], every: usize, together: bool) {
    let mut before = 0;
    for at in 0..trays.len() {
        let tasted = |tray: &Tray| tray.cups.len() + usize::from(tray.reference.is_some());
        let next = trays.get(at + 1).map(|next| (next.round, tasted(next)));
        let Some(tray) = trays.get_mut(at) else { return };
        if !together {
            let cups = tray.cups.len();
            tray.breaks_after = (1..cups).filter(|place| place % every == 0).collect();
            continue;
        }
        before += tasted(tray);
        match next {
            Some((round, cups)) if round == tray.round => {
                if before + cups > every {
                    tray.breaks_after = vec![tray.cups.len()];
                    before = 0;
                }
            }
            _ => before = 0,
        }
    }
}
