//! The lines of the records, their numbers, and what is taken back.
//!
//! A bench has two logs, of batches and of what was taken from the bottles. Lines are only ever added:
//! what is taken back is named by a later line and stays where it is. Numbers run through both logs
//! together; lines of older formats, which have none, are numbered by their days.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::bench::records::PourLine;

/// A line of the log of batches.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
pub(super) enum BatchLine {
    /// A batch as weighed.
    Made {
        v: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        n: Option<u64>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        instead_of: Option<u64>,
        stock: String,
        batch: u32,
        day: String,
        salt: String,
        made: MadeLine,
        celsius: f64,
        purity: f64,
        purity_within: Option<f64>,
        moisture: f64,
        moisture_within: Option<f64>,
        grade: Option<String>,
        lot: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        file_g_per_kg: Option<f64>,
    },
    /// A strength that was measured and taken over.
    Verified {
        v: u32,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        n: Option<u64>,
        stock: String,
        batch: u32,
        day: String,
        g_per_kg: f64,
        standard_g_per_kg: f64,
    },
    /// An earlier record of either log is taken back.
    Withdrawn {
        v: u32,
        n: Option<u64>,
        of: u64,
        day: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
    /// A planned session is taken back, or stands again.
    Session {
        v: u32,
        n: Option<u64>,
        session: String,
        withdrawn: bool,
        day: String,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        why: Option<String>,
    },
}

/// What was weighed or filled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub(super) enum MadeLine {
    ToTotalMass { salt_g: f64, total_g: f64 },
    ToVolume { salt_g: f64, volume_ml: f64 },
    IntoWater { salt_g: f64, water_g: f64 },
}

/// Something that happened to a bottle beside pours.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BottleLine {
    /// Format.
    pub v: u32,
    /// Always `bottle`.
    pub kind: String,
    /// Number of the record.
    pub n: Option<u64>,
    /// The record that it takes the place of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instead_of: Option<u64>,
    /// The day.
    pub day: String,
    /// Name of the stock.
    pub stock: String,
    /// Number of the batch in the bottle.
    pub batch: u32,
    /// What happened.
    pub change: BottleChange,
}

/// What happened to a bottle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BottleChange {
    /// So many mL were spilled, or taken for something else.
    SpilledMl(f64),
    /// So many mL were found in it.
    LeftMl(f64),
    /// It was thrown away.
    ThrownAway,
}

/// A line of the log of what was taken.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum TakenLine {
    Pour(PourLine),
    Bottle(BottleLine),
}

impl<'de> Deserialize<'de> for TakenLine {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        use serde::de::Error;
        let value = serde_json::Value::deserialize(deserializer)?;
        // A pour has no kind: it was the only line of the first formats.
        if value.get("kind").is_some() {
            return BottleLine::deserialize(value).map(Self::Bottle).map_err(D::Error::custom);
        }
        PourLine::deserialize(value).map(Self::Pour).map_err(D::Error::custom)
    }
}

/// A line with its place in its log.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum AnyLine {
    Batch(usize, BatchLine),
    Taken(usize, TakenLine),
}

impl AnyLine {
    pub(super) fn day(&self) -> &str {
        match self {
            Self::Batch(
                _,
                BatchLine::Made { day, .. }
                | BatchLine::Verified { day, .. }
                | BatchLine::Withdrawn { day, .. }
                | BatchLine::Session { day, .. },
            )
            | Self::Taken(
                _,
                TakenLine::Pour(PourLine { day, .. }) | TakenLine::Bottle(BottleLine { day, .. }),
            ) => day,
        }
    }

    fn own_number(&self) -> Option<u64> {
        match self {
            Self::Batch(
                _,
                BatchLine::Made { n, .. }
                | BatchLine::Verified { n, .. }
                | BatchLine::Withdrawn { n, .. }
                | BatchLine::Session { n, .. },
            )
            | Self::Taken(
                _,
                TakenLine::Pour(PourLine { n, .. }) | TakenLine::Bottle(BottleLine { n, .. }),
            ) => *n,
        }
    }

    /// The record that it takes back or replaces.
    fn takes_back(&self) -> Option<u64> {
        match self {
            Self::Batch(_, BatchLine::Withdrawn { of, .. }) => Some(*of),
            Self::Batch(_, BatchLine::Made { instead_of, .. })
            | Self::Taken(
                _,
                TakenLine::Pour(PourLine { instead_of, .. })
                | TakenLine::Bottle(BottleLine { instead_of, .. }),
            ) => *instead_of,
            Self::Batch(_, BatchLine::Verified { .. } | BatchLine::Session { .. }) => None,
        }
    }
}

/// The lines of both logs by their numbers.
pub(super) fn numbered(batches: Vec<AnyLine>, taken: Vec<AnyLine>) -> BTreeMap<u64, AnyLine> {
    let mut old: Vec<AnyLine> = Vec::new();
    let mut all: BTreeMap<u64, AnyLine> = BTreeMap::new();
    let mut later: Vec<(u64, AnyLine)> = Vec::new();
    for log in [batches, taken] {
        // The number of the line before; nothing before the first numbered one.
        let mut before = None;
        for line in log {
            match (line.own_number(), before) {
                (Some(n), _) if !all.contains_key(&n) => {
                    before = Some(n);
                    all.insert(n, line);
                }
                (_, Some(n)) | (Some(n), None) => later.push((n, line)),
                (None, None) => old.push(line),
            }
        }
    }
    // Days are written so that their order is that of the letters; what is of one day stays in order.
    old.sort_by(|a, b| a.day().cmp(b.day()));
    let mut free = 1;
    for line in old {
        while all.contains_key(&free) {
            free += 1;
        }
        all.insert(free, line);
    }
    // An older program may have written behind a newer one.
    for (behind, line) in later {
        let mut free = behind.saturating_add(1);
        while all.contains_key(&free) && free < u64::MAX {
            free += 1;
        }
        all.insert(free, line);
    }
    all
}

/// Which records are taken back, each with the record that does it. What takes back can itself be
/// taken back, and then does nothing.
pub(super) fn taken_back(lines: &BTreeMap<u64, AnyLine>) -> BTreeMap<u64, u64> {
    let mut back: BTreeMap<u64, u64> = BTreeMap::new();
    for (n, line) in lines.iter().rev() {
        if let Some(of) = line.takes_back().filter(|of| of < n && !back.contains_key(n)) {
            back.insert(of, *n);
        }
    }
    back
}

#[cfg(test)]
mod tests {
    use super::*;

    fn withdrawn(n: u64, of: u64) -> (u64, AnyLine) {
        let day = "2031-01-01".to_owned();
        (n, AnyLine::Batch(0, BatchLine::Withdrawn { v: 3, n: Some(n), of, day, why: None }))
    }

    #[test]
    fn a_record_taken_back_twice_stands_again() {
        let lines: BTreeMap<u64, AnyLine> = [withdrawn(2, 1), withdrawn(3, 2)].into();
        let back = taken_back(&lines);
        assert_eq!(back, BTreeMap::from([(2, 3)]));
        let lines: BTreeMap<u64, AnyLine> =
            [withdrawn(2, 1), withdrawn(3, 2), withdrawn(4, 3)].into();
        assert_eq!(taken_back(&lines), BTreeMap::from([(3, 4), (1, 2)]));
    }
}
