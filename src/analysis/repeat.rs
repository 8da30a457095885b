//! How well tasters repeat themselves, how far they agree, and who stands apart.

use std::collections::BTreeMap;

use crate::chance::{count, f_tail};

use super::comparisons::holm;
use super::icc::{Intraclass, intraclass};
use super::ranks::{quick_p, rank_test, ranked_scores};
use super::table::{ScoreTable, mean, squares};

/// Risk at which a taster is marked (common practice).
const MARK_AT: f64 = 0.05;

/// One taster.
#[derive(Debug, Clone, PartialEq)]
pub struct TasterCheck {
    /// Place of the taster in the table.
    pub taster: usize,
    /// Cups scored.
    pub cups: usize,
    /// Mean of all scores less the mean of the panel's for the same waters: how high the scale is used.
    pub level: Option<f64>,
    /// Standard deviation between this taster's means: how much of the scale is used.
    pub spread: Option<f64>,
    /// Standard deviation of repeats of the same water, with degrees of freedom.
    pub repeat: Option<(f64, usize)>,
    /// Correlation of repeats, one-way; weak evidence in one session.
    pub repeat_correlation: Option<f64>,
    /// Correlation with the mean of the other tasters over the waters.
    pub with_others: Option<f64>,
    /// p that this taster repeats worse than the others, allowing for all tasters (F test of the
    /// variances, Holm).
    pub p_repeat: Option<f64>,
    /// Why the taster stands apart, if so.
    pub marks: Vec<Mark>,
}

/// Why a taster stands apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Repeats are further apart than the others'.
    RepeatsWorse,
    /// Sees the waters in another order than the rest, who do agree with each other. (Where the rest
    /// do not agree, about half of all tasters would be against them by chance.)
    AgainstTheOthers,
    /// Gave the same score to everything.
    NoSpread,
}

/// The panel.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelCheck {
    /// Every taster who gave a score.
    pub tasters: Vec<TasterCheck>,
    /// Standard deviation of repeats over all tasters, with degrees of freedom.
    pub repeat: Option<(f64, usize)>,
    /// The same for hidden duplicates alone, which stood on one tray.
    pub hidden: Option<(f64, usize)>,
    /// Correlation of hidden duplicates over all tasters' trays, one-way.
    pub hidden_correlation: Option<Intraclass>,
    /// Correlation of repeats over all tasters' cups, one-way; `None` without equal repeats.
    pub repeats: Option<Intraclass>,
    /// Agreement of the tasters' means for the waters; `None` with gaps.
    pub agreement: Option<Intraclass>,
    /// Kendall's W of the tasters' means; `None` with gaps.
    pub kendall: Option<f64>,
}

/// Looks at the tasters of a table.
#[must_use]
pub fn panel_check(table: &ScoreTable) -> PanelCheck {
    let cells = table.cells();
    let means = table.means();
    let mut tasters: Vec<TasterCheck> = (0..table.tasters.len())
        .filter(|&taster| table.rows.iter().any(|row| row.taster == taster))
        .map(|taster| check(taster, &cells, &means))
        .collect();
    judge_repeats(&mut tasters);
    for taster in &mut tasters {
        // Asked only of those whom it could mark.
        let against = taster.with_others.is_some_and(|r| r < 0.0);
        let agree = against && rest_agree(table, taster.taster);
        mark(taster, agree);
    }
    let hidden = hidden_duplicates(table);
    let pooled = pool(tasters.iter().filter_map(|t| t.repeat));
    let complete: Option<Vec<Vec<f64>>> = (0..table.waters.len())
        .map(|water| {
            means.iter().map(|row| row.get(water).copied().flatten()).collect::<Option<Vec<f64>>>()
        })
        .collect();
    let blocks = ranked_scores(table);
    let kendall = rank_test(&blocks, table.waters.len())
        .filter(|_| blocks.len() > 1)
        .and_then(|test| test.agreement);
    PanelCheck {
        repeat: pooled,
        hidden: pool(hidden.iter().map(|cell| spread_of(cell))),
        hidden_correlation: equal_repeats(&[hidden]).and_then(|repeats| intraclass(&repeats)),
        repeats: equal_repeats(&cells).and_then(|repeats| intraclass(&repeats)),
        agreement: complete.and_then(|scores| intraclass(&scores)),
        kendall,
        tasters,
    }
}

/// Whether the tasters but this one rank the waters alike, beyond chance.
fn rest_agree(table: &ScoreTable, taster: usize) -> bool {
    let rows = table.rows.iter().filter(|row| row.taster != taster).copied().collect();
    let rest = ScoreTable { rows, ..table.clone() };
    quick_p(&ranked_scores(&rest), table.waters.len()) < MARK_AT
}

/// Scores of the same water by the same taster in the same round.
fn hidden_duplicates(table: &ScoreTable) -> Vec<Vec<f64>> {
    let mut cups: BTreeMap<(usize, usize, usize), Vec<f64>> = BTreeMap::new();
    for row in &table.rows {
        cups.entry((row.taster, row.round, row.water)).or_default().push(row.value);
    }
    cups.into_values().filter(|cell| cell.len() > 1).collect()
}

/// Standard deviation of some repeats, with its degrees of freedom.
fn spread_of(cell: &[f64]) -> (f64, usize) {
    let df = cell.len().saturating_sub(1);
    ((squares(cell) / count(df.max(1))).sqrt(), df)
}

/// Cells with as many repeats as the fewest repeated have, each cut to that number.
fn equal_repeats(cells: &[Vec<Vec<f64>>]) -> Option<Vec<Vec<f64>>> {
    let repeated: Vec<&Vec<f64>> = cells.iter().flatten().filter(|cell| cell.len() > 1).collect();
    let least = repeated.iter().map(|cell| cell.len()).min()?;
    Some(repeated.iter().map(|cell| cell.iter().take(least).copied().collect()).collect())
}

fn check(taster: usize, cells: &[Vec<Vec<f64>>], means: &[Vec<Option<f64>>]) -> TasterCheck {
    let own_cells: &[Vec<f64>] = cells.get(taster).map_or(&[], Vec::as_slice);
    let own_means: &[Option<f64>] = means.get(taster).map_or(&[], Vec::as_slice);
    // Pairs of own mean and mean of the others, for waters that both scored.
    let beside: Vec<(f64, f64)> = own_means
        .iter()
        .enumerate()
        .filter_map(|(water, own)| {
            let others: Vec<f64> = means
                .iter()
                .enumerate()
                .filter(|(other, _)| *other != taster)
                .filter_map(|(_, row)| row.get(water).copied().flatten())
                .collect();
            Some(((*own)?, mean(&others)?))
        })
        .collect();
    let own: Vec<f64> = own_means.iter().filter_map(|m| *m).collect();
    let spread = (own.len() > 1).then(|| (squares(&own) / count(own.len() - 1)).sqrt());
    let gaps: Vec<f64> = beside.iter().map(|(own, others)| own - others).collect();
    TasterCheck {
        taster,
        cups: own_cells.iter().map(Vec::len).sum(),
        level: mean(&gaps),
        spread,
        repeat: pool(own_cells.iter().filter(|cell| cell.len() > 1).map(|cell| spread_of(cell))),
        repeat_correlation: equal_repeats(&[own_cells.to_vec()])
            .and_then(|repeats| intraclass(&repeats))
            .map(|forms| forms.one_way.value),
        with_others: correlation(&beside),
        p_repeat: None,
        marks: Vec::new(),
    }
}

/// Pools standard deviations by their degrees of freedom.
fn pool(parts: impl Iterator<Item = (f64, usize)>) -> Option<(f64, usize)> {
    let (sum, df) =
        parts.fold((0.0, 0), |(sum, df), (sd, own)| (sum + sd * sd * count(own), df + own));
    (df > 0).then(|| ((sum / count(df)).sqrt(), df))
}

/// Tests each taster's repeats against those of all others together.
fn judge_repeats(tasters: &mut [TasterCheck]) {
    let repeats: Vec<Option<(f64, usize)>> = tasters.iter().map(|t| t.repeat).collect();
    let alone: Vec<Option<f64>> = repeats
        .iter()
        .enumerate()
        .map(|(at, own)| {
            let (sd, df) = (*own)?;
            let others = repeats.iter().enumerate().filter(|(other, _)| *other != at);
            let (rest, rest_df) = pool(others.filter_map(|(_, r)| *r))?;
            (rest > 0.0).then(|| f_tail((sd / rest).powi(2), count(df), count(rest_df)))
        })
        .collect();
    let tested: Vec<f64> = alone.iter().filter_map(|p| *p).collect();
    let mut adjusted = holm(&tested).into_iter();
    for (taster, p) in tasters.iter_mut().zip(alone) {
        taster.p_repeat = p.and_then(|_| adjusted.next());
    }
}

fn mark(taster: &mut TasterCheck, against: bool) {
    let mut marks = Vec::new();
    if taster.p_repeat.is_some_and(|p| p < MARK_AT) {
        marks.push(Mark::RepeatsWorse);
    }
    if against {
        marks.push(Mark::AgainstTheOthers);
    }
    if taster.spread.is_some_and(|s| s <= 0.0) {
        marks.push(Mark::NoSpread);
    }
    taster.marks = marks;
}

/// Pearson's correlation; `None` with fewer than three pairs or where either side does not vary.
pub(super) fn correlation(pairs: &[(f64, f64)]) -> Option<f64> {
    if pairs.len() < 3 {
        return None;
    }
    let (x, y): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    let (mx, my) = (mean(&x)?, mean(&y)?);
    let across: f64 = pairs.iter().map(|(a, b)| (a - mx) * (b - my)).sum();
    let scale = (squares(&x) * squares(&y)).sqrt();
    (scale > 0.0).then(|| (across / scale).clamp(-1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::super::table::Observation;
    use super::*;

    fn table(scores: &[(usize, usize, f64)]) -> ScoreTable {
        ScoreTable {
            attribute: "body".into(),
            tasters: (0..4).map(|n| format!("taster {n}")).collect(),
            waters: (0..4).map(|n| format!("water {n}")).collect(),
            rows: scores
                .iter()
                .map(|&(taster, water, value)| Observation {
                    taster,
                    water,
                    round: 1,
                    position: 0,
                    previous: None,
                    value,
                })
                .collect(),
            missing: 0,
        }
    }

    #[test]
    fn a_taster_who_contradicts_cannot_repeat_or_scores_all_alike_is_marked() {
        let mut scores = Vec::new();
        for water in 0..4_usize {
            let value = count(water);
            for repeat in [0.0, 0.1] {
                scores.push((0, water, value + repeat));
                scores.push((1, water, value - repeat));
                scores.push((2, water, 3.0 - value + 30.0 * repeat * (value - 1.5)));
                scores.push((3, water, 5.0));
            }
        }
        let check = panel_check(&table(&scores));
        let marks: Vec<&[Mark]> = check.tasters.iter().map(|t| t.marks.as_slice()).collect();
        assert_eq!(marks.first(), Some(&[].as_slice()));
        assert_eq!(marks.get(2), Some(&[Mark::RepeatsWorse].as_slice()));
        assert_eq!(marks.get(3), Some(&[Mark::NoSpread].as_slice()));
    }

    #[test]
    fn the_repeat_of_a_pair_is_its_difference_over_root_two() {
        let check = panel_check(&table(&[(0, 0, 4.0), (0, 0, 5.0), (0, 1, 2.0)]));
        let repeat = check.tasters.first().and_then(|t| t.repeat);
        assert!(repeat.is_some_and(|(sd, df)| (sd - 0.5_f64.sqrt()).abs() < 1e-15 && df == 1));
        assert_eq!(check.kendall, None);
    }
}
