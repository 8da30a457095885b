//! How one water did from session to session, as far as sessions can be compared.

use crate::session::analysis::recipe_scores::{Kind, RecipeScore};

/// Why the first and the last session are not compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotCompared {
    /// Other people tasted, who may use the scale otherwise.
    OtherTasters,
    /// The scale had other ends.
    OtherScale,
    /// One of them has no estimate of error to judge a change by.
    NoInterval,
    /// Ranks say where a water stands among those beside it, and nothing of another flight.
    Ranks,
}

/// One measure of one water over several sessions.
#[derive(Debug, Clone, PartialEq)]
pub struct OverTime {
    /// What was judged.
    pub measure: String,
    /// What the values are.
    pub kind: Kind,
    /// Values and places in the order of time: value, place, number of waters.
    pub values: Vec<(f64, usize, usize)>,
    /// Last less first with its 95 % interval, or why they are not compared.
    ///
    /// The interval has half the width √(a² + b²), a and b those of the two means: right where the
    /// sessions are independent, too wide where the tasters' levels are the same in both.
    pub change: Result<(f64, (f64, f64)), NotCompared>,
}

/// Every measure that `entries`, of one water or recipe in the order of time, hold from more than one
/// session.
#[must_use]
pub fn over_time(entries: &[RecipeScore]) -> Vec<OverTime> {
    let mut measures: Vec<(&str, Kind)> = Vec::new();
    for entry in entries {
        if !measures.contains(&(entry.of.as_str(), entry.kind)) {
            measures.push((&entry.of, entry.kind));
        }
    }
    let of = |(measure, kind): (&str, Kind)| {
        let own: Vec<&RecipeScore> =
            entries.iter().filter(|e| e.of == measure && e.kind == kind).collect();
        let (first, last) = (own.first()?, own.last()?);
        (first.session != last.session).then(|| OverTime {
            measure: measure.to_owned(),
            kind,
            values: own.iter().map(|e| (e.value, e.place, e.waters)).collect(),
            change: change(first, last),
        })
    };
    measures.into_iter().filter_map(of).collect()
}

fn change(first: &RecipeScore, last: &RecipeScore) -> Result<(f64, (f64, f64)), NotCompared> {
    if first.kind == Kind::MeanRank {
        return Err(NotCompared::Ranks);
    }
    if first.scale != last.scale {
        return Err(NotCompared::OtherScale);
    }
    let sorted = |entry: &RecipeScore| {
        let mut names = entry.tasters.clone();
        names.sort();
        names
    };
    if sorted(first) != sorted(last) {
        return Err(NotCompared::OtherTasters);
    }
    let half = |entry: &RecipeScore| entry.interval.map(|(low, high)| (high - low) / 2.0);
    let (Some(one), Some(other)) = (half(first), half(last)) else {
        return Err(NotCompared::NoInterval);
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
            recipe: None,
            of: "body".to_owned(),
            kind,
            scale: Some((0.0, 10.0)),
            value,
            interval: Some((value - 0.3, value + 0.3)),
            wanted: None,
            above: Vec::new(),
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
        assert!(all.iter().all(|found| found.change.is_ok_and(|(moved, (low, high))| {
            (moved - 1.0).abs() < 1e-12
                && (low - 1.0 + reach).abs() < 1e-12
                && (high - 1.0 - reach).abs() < 1e-12
        })));
        let others = entry("2", 6.0, "bo", Kind::Mean);
        let why = |a: &RecipeScore, b: &RecipeScore| {
            over_time(&[a.clone(), b.clone()]).first().map(|found| found.change)
        };
        assert_eq!(why(&first, &others), Some(Err(NotCompared::OtherTasters)));
        let wider = RecipeScore { scale: Some((0.0, 100.0)), ..again.clone() };
        assert_eq!(why(&first, &wider), Some(Err(NotCompared::OtherScale)));
        let bare = RecipeScore { interval: None, ..again.clone() };
        assert_eq!(why(&first, &bare), Some(Err(NotCompared::NoInterval)));
        let ranks =
            [entry("1", 1.5, "ann", Kind::MeanRank), entry("2", 2.5, "ann", Kind::MeanRank)];
        assert_eq!(why(&ranks[0], &ranks[1]), Some(Err(NotCompared::Ranks)));
        // One session is no course.
        assert!(over_time(&[first.clone(), first]).is_empty());
    }
}
