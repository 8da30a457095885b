//! How even the orders of a session are.

use serde::{Deserialize, Serialize};

use crate::numerics::ends;
use crate::session::plan::Request;
use crate::session::plan::layout::{LaidTray, PouredGlass};
use crate::session::plan::williams::Counts;
use crate::session::plan::{DuoTrioReference, Method};

/// How even the orders are, counted from the trays: least and most often.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Balance {
    /// A water is served.
    pub servings: (usize, usize),
    /// A water stands at a place.
    pub places: (usize, usize),
    /// A water follows another.
    pub follows: (usize, usize),
    /// Two waters stand on the same tray.
    pub meetings: (usize, usize),
}

impl Balance {
    /// Whether nothing is uneven.
    #[must_use]
    pub fn is_even(&self) -> bool {
        [self.servings, self.places, self.follows, self.meetings].iter().all(|(a, b)| a == b)
    }
}

/// Trays that make every order come equally often: tasters × rounds should be a multiple of it.
/// Unknown where nobody has all waters.
///
/// Williams squares have as many rows as waters, twice as many where these are odd; a test of two
/// waters has as many as its cups can be put in order.
#[must_use]
pub fn whole_set(method: &Method, cups: usize, complete: bool) -> Option<usize> {
    match method {
        Method::Scoring { .. } | Method::Ranking { .. } if !complete => None,
        Method::Scoring { .. } | Method::Ranking { .. } if cups.is_multiple_of(2) => Some(cups),
        Method::Scoring { .. } | Method::Ranking { .. } => Some(2 * cups),
        Method::Triangle | Method::Tetrad => Some(6),
        Method::DuoTrio { reference: DuoTrioReference::Balanced } => Some(4),
        Method::DuoTrio { reference: DuoTrioReference::Constant } | Method::Paired { .. } => {
            Some(2)
        }
    }
}

/// Counts how even the trays are. For tests of two waters the glasses of a pair are counted by
/// water, so a water that stands twice on a tray is served twice.
pub(crate) fn balance(request: &Request, laid: &[LaidTray]) -> Balance {
    let waters = request.waters.len();
    let choice = request.method.compares_two();
    let places = request.cups_per_tray();
    let doubled: Vec<usize> =
        laid.iter().flat_map(|t| &t.cups).filter(|g| g.copy > 0).map(|g| g.water).collect();
    let mut labels: Vec<PouredGlass> =
        (0..waters).map(|water| PouredGlass { water, copy: 0 }).collect();
    if !choice {
        let mut copies = doubled;
        copies.sort_unstable();
        copies.dedup();
        labels.extend(copies.into_iter().map(|water| PouredGlass { water, copy: 1 }));
    }
    let label = |glass: &PouredGlass| {
        let wanted = if choice { PouredGlass { copy: 0, ..*glass } } else { *glass };
        labels.iter().position(|g| *g == wanted).unwrap_or(0)
    };
    let n = labels.len();
    let mut counts = Counts::new(n, places);
    let (mut served, mut met) = (vec![0_usize; n], vec![0_usize; n * n]);
    for tray in laid {
        let row: Vec<usize> = tray.cups.iter().map(label).collect();
        counts.add(&row);
        for (at, &a) in row.iter().enumerate() {
            if let Some(times) = served.get_mut(a) {
                *times += 1;
            }
            for &b in row.iter().skip(at + 1).filter(|&&b| b != a) {
                if let Some(times) = met.get_mut(a.min(b) * n + a.max(b)) {
                    *times += 1;
                }
            }
        }
    }
    let upper = |(at, times): (usize, &usize)| (at / n < at % n).then_some(*times);
    Balance {
        servings: ends(served.iter().copied()).unwrap_or((0, 0)),
        places: counts.places(),
        follows: counts.follows(),
        meetings: ends(met.iter().enumerate().filter_map(upper)).unwrap_or((0, 0)),
    }
}
