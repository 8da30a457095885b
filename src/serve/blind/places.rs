//! What a taster does one after the other: the cups and trays in their own order, each on a screen of
//! its own.

use crate::session::plan::{Blinding, Code, Method, Plan, Tray};
use crate::session::score::{History, ScoreLog};

/// What is done at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A cup is scored.
    Cup(Code),
    /// A tray is answered as a whole.
    Tray,
    /// The cups of a tray are turned over.
    Turning,
}

/// One screen of a taster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// Place of the tray in the plan.
    pub tray: usize,
    /// Number of the tray among the taster's.
    pub number: usize,
    /// What is done.
    pub kind: Kind,
    /// The break to be taken before it.
    pub break_before: bool,
    /// Whether it is the first of its tray.
    pub begins_tray: bool,
}

impl Place {
    /// How it stands in an address.
    #[must_use]
    pub fn address(&self) -> String {
        match self.kind {
            Kind::Cup(code) => format!("{}-{code}", self.number),
            Kind::Tray => self.number.to_string(),
            Kind::Turning => format!("{}-turn", self.number),
        }
    }

    /// How it is called.
    #[must_use]
    pub fn title(&self) -> String {
        match self.kind {
            Kind::Cup(code) => format!("Cup {code}"),
            Kind::Tray => format!("Tray {}", self.number),
            Kind::Turning => format!("Turn over tray {}", self.number),
        }
    }

    /// What the log says of it.
    #[must_use]
    pub fn history<'a>(&self, score_log: &'a ScoreLog) -> History<'a> {
        let code = match self.kind {
            Kind::Cup(code) => Some(code),
            _ => None,
        };
        History::at(score_log, self.tray, code, self.kind == Kind::Turning)
    }
}

/// All screens of a taster, in the order of serving.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Places(Vec<Place>);

impl Places {
    /// Those of one taster.
    #[must_use]
    pub fn of(plan: &Plan, taster: &str) -> Self {
        let mut places = Vec::new();
        let mut round = 0;
        let mut break_due = false;
        for (at, tray) in own(plan, taster) {
            break_due = break_due || (round > 0 && tray.round > round);
            round = tray.round;
            let mut add = |kind, begins_tray, break_before| {
                let number = tray.number;
                places.push(Place { tray: at, number, kind, break_before, begins_tray });
            };
            if matches!(plan.method, Method::Scoring { .. }) {
                for (n, &code) in tray.cups.iter().enumerate() {
                    add(Kind::Cup(code), n == 0, std::mem::take(&mut break_due));
                    break_due = tray.breaks_after.contains(&(n + 1));
                }
            } else {
                add(Kind::Tray, true, std::mem::take(&mut break_due));
                break_due = !tray.breaks_after.is_empty();
            }
        }
        if plan.blinding == Blinding::Solo {
            places.extend(own(plan, taster).map(|(at, tray)| Place {
                tray: at,
                number: tray.number,
                kind: Kind::Turning,
                break_before: false,
                begins_tray: true,
            }));
        }
        Self(places)
    }

    /// In the order of serving.
    #[must_use]
    pub fn list(&self) -> &[Place] {
        &self.0
    }

    /// The one that an address means, with its number from 0.
    #[must_use]
    pub fn find(&self, address: &str) -> Option<(usize, &Place)> {
        self.0.iter().enumerate().find(|(_, place)| place.address() == address)
    }

    /// The first of which something is missing, behind `after` where that is said, else from the
    /// beginning.
    #[must_use]
    pub fn next(&self, score_log: &ScoreLog, after: Option<usize>) -> Option<usize> {
        let open = |at: &usize| self.0.get(*at).is_some_and(|place| is_open(score_log, place));
        let begin = after.map_or(0, |after| after + 1);
        (begin..self.0.len()).find(open).or_else(|| (0..self.0.len()).find(open))
    }

    /// How many are answered in full.
    #[must_use]
    pub fn done(&self, score_log: &ScoreLog) -> usize {
        self.0.iter().filter(|place| !is_open(score_log, place)).count()
    }
}

fn own<'a>(plan: &'a Plan, taster: &'a str) -> impl Iterator<Item = (usize, &'a Tray)> {
    plan.trays.iter().enumerate().filter(move |(_, tray)| tray.taster == taster)
}

/// Whether anything is missing of a place.
#[must_use]
pub fn is_open(score_log: &ScoreLog, place: &Place) -> bool {
    match place.kind {
        Kind::Cup(code) => {
            let scored = score_log.scores_of(place.tray, code);
            let attributes = score_log.plan().method.attributes();
            attributes.iter().any(|a| scored.is_none_or(|s| !s.contains_key(&a.name)))
        }
        Kind::Tray => score_log.answer_about(place.tray).is_none(),
        Kind::Turning => score_log.turned(place.tray).is_none(),
    }
}
