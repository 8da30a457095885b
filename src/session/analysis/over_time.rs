//! How one water did from session to session, as far as sessions can be compared.

use serde::Serialize;

use crate::session::analysis::recipe_scores::{Kind, RecipeScore};
use crate::session::plan::each_once;

/// One measure of one water over several sessions.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OverTime {
    /// What was judged.
    pub of: String,
    /// What the values are.
    pub kind: Kind,
    /// Values and places in the order of time: value, place, number of waters.
    pub values: Vec<(f64, usize, usize)>,
    /// Last less first with its 95 % interval.
    ///
    /// The interval has half the width √(a² + b²), a and b those of the two means: right where the
    /// sessions are independent, too wide where the tasters' levels are the same in both.
    pub change: Option<(f64, (f64, f64))>,
    /// Why the two are not compared.
    pub not_compared: Option<&'static str>,
}

/// Every measure that `entries`, of one water or recipe in the order of time, hold from more than one
/// session.
#[must_use]
pub fn over_time(entries: &[RecipeScore]) -> Vec<OverTime> {
    let measures = each_once(entries.iter().map(|entry| (&entry.of, entry.kind)));
    let trend = |(of, kind): (&String, Kind)| {
        let own: Vec<&RecipeScore> =
            entries.iter().filter(|e| e.of == *of && e.kind == kind).collect();
        let (first, last) = (own.first()?, own.last()?);
        let change = change(first, last);
        (first.session != last.session).then(|| OverTime {
            of: of.clone(),
            kind,
            values: own.iter().map(|e| (e.value, e.place, e.waters)).collect(),
            change: change.ok(),
            not_compared: change.err(),
        })
    };
    measures.into_iter().filter_map(trend).collect()
}

fn change(first: &RecipeScore, last: &RecipeScore) -> Result<(f64, (f64, f64)), &'static str> {
    if first.kind == Kind::MeanRank {
        return Err("a rank compares only the waters of one session");
    }
    if first.scale != last.scale {
        return Err("the scale was another");
    }
    let sorted = |entry: &RecipeScore| {
        let mut names = entry.tasters.clone();
        names.sort();
        names
    };
    if sorted(first) != sorted(last) {
        // They may use the scale otherwise.
        return Err("other people tasted");
    }
    let half = |entry: &RecipeScore| entry.interval.map(|(low, high)| (high - low) / 2.0);
    let (Some(one), Some(other)) = (half(first), half(last)) else {
        return Err("one of the sessions has no estimate of error");
    };
    let (moved, reach) = (last.value - first.value, one.hypot(other));
    Ok((moved, (moved - reach, moved + reach)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(session: &str, value: f64, taster: &str, kind: Kind) -> RecipeScore {
        RecipeScore {
            session: session.to_owned(),
            water: "Soft".to_owned(),
            of: "body".to_owned(),
            kind,
            scale: Some((0.0, 10.0)),
            value,
            interval: Some((value - 0.3, value + 0.3)),
            wanted: None,
            above: Vec::new(),
            comparable: true,
            place: 1,
            waters: 4,
            differs_from: Vec::new(),
            won: false,
            tasters: vec![taster.to_owned()],
        }
    }

    #[test]
    fn only_sessions_of_the_same_tasters_on_the_same_scale_are_compared() {
        let first = entry("1", 5.0, "ann", Kind::Mean);
        let again = entry("2", 6.0, "ann", Kind::Mean);
        let all = over_time(&[first.clone(), again.clone()]);
        assert_eq!(all.len(), 1);
        // Half widths of 0.3 and 0.3.
        let reach = 0.3 * 2.0_f64.sqrt();
        assert!(all.iter().all(|found| found.change.is_some_and(|(moved, (low, high))| {
            (moved - 1.0).abs() < 1e-12
                && (low - 1.0 + reach).abs() < 1e-12
                && (high - 1.0 - reach).abs() < 1e-12
        })));
        let others = entry("2", 6.0, "bo", Kind::Mean);
        let why = |a: &RecipeScore, b: &RecipeScore| {
            over_time(&[a.clone(), b.clone()]).first().and_then(|found| found.not_compared)
        };
        assert_eq!(why(&first, &others), Some("other people tasted"));
        let wider = RecipeScore { scale: Some((0.0, 100.0)), ..again.clone() };
        assert_eq!(why(&first, &wider), Some("the scale was another"));
        let bare = RecipeScore { interval: None, ..again.clone() };
        assert_eq!(why(&first, &bare), Some("one of the sessions has no estimate of error"));
        let ranks =
            [entry("1", 1.5, "ann", Kind::MeanRank), entry("2", 2.5, "ann", Kind::MeanRank)];
        assert!(why(&ranks[0], &ranks[1]).is_some_and(|why| why.starts_with("a rank")));
        // One session is no course.
        assert!(over_time(&[first.clone(), first]).is_empty());
    }
}
