//! How well tasters repeat themselves, how far they agree, and who stands apart.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Serialize, Serializer};

use crate::numerics::{count, f_tail, t_two_sided};

use crate::session::analysis::ScoreTable;
use crate::session::analysis::icc::{Correlation, consistency, one_way};
use crate::session::analysis::score_table::{mean, squares};

/// Scatter of repeats.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RepeatScatter {
    /// Standard deviation, points.
    pub sd: f64,
    /// Degrees of freedom.
    pub df: usize,
}

/// One taster.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TasterCheck {
    /// Place of the taster in the table.
    #[serde(skip)]
    pub taster: usize,
    /// Cups scored.
    pub cups: usize,
    /// Mean of all scores less the mean of the panel's for the same waters: how high the scale is used.
    pub level: Option<f64>,
    /// Standard deviation between this taster's means: how much of the scale is used.
    pub spread: Option<f64>,
    /// Standard deviation of repeats of the same water.
    pub repeat: Option<RepeatScatter>,
    /// p that this taster repeats worse than the others (F test of the variances), allowing for all
    /// tasters and attributes of the session (Holm).
    pub p_repeat: Option<f64>,
    /// p that the others agree and this taster scores against them, allowing for the same; `None` with
    /// fewer than three tasters or waters in common.
    pub p_against: Option<f64>,
    /// Correlation with the mean of the other tasters over the waters.
    pub with_others: Option<f64>,
    /// Why the taster stands apart, if so; where no waters differ nobody does but against others who agree.
    pub marks: Vec<OutlierFlag>,
}

/// Why a taster stands apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutlierFlag {
    /// Repeats are further apart than the others'.
    RepeatsWorse,
    /// Scores the waters against the order on which the rest agree, by more than residual error explains.
    AgainstTheOthers,
    /// Gave the same score to everything.
    NoSpread,
}

impl fmt::Display for OutlierFlag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::RepeatsWorse => "repeats worse than the others",
            Self::AgainstTheOthers => "goes against the order on which the rest agree",
            Self::NoSpread => "gave every water the same score",
        })
    }
}

impl Serialize for OutlierFlag {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// The panel.
#[derive(Debug, Clone, PartialEq)]
pub struct PanelCheck {
    /// Every taster who gave a score.
    pub tasters: Vec<TasterCheck>,
    /// Standard deviation of repeats over all tasters.
    pub repeat: Option<RepeatScatter>,
    /// The same for hidden duplicates alone, which stood on one tray.
    pub hidden: Option<RepeatScatter>,
    /// Correlation of hidden duplicates over all tasters' trays, one-way.
    pub hidden_correlation: Option<Correlation>,
    /// Correlation of repeats over all tasters' cups, one-way; `None` without equal repeats.
    pub repeats: Option<Correlation>,
    /// Agreement of the tasters' means for the waters, levels not counted; `None` with gaps.
    pub agreement: Option<Correlation>,
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
        taster.p_against = against(taster.taster, &means);
    }
    let hidden = hidden_duplicates(table);
    let pooled = pool(tasters.iter().filter_map(|t| t.repeat));
    let complete: Option<Vec<Vec<f64>>> = (0..table.waters.len())
        .map(|water| {
            means.iter().map(|row| row.get(water).copied().flatten()).collect::<Option<Vec<f64>>>()
        })
        .collect();
    PanelCheck {
        repeat: pooled,
        hidden: pool(hidden.iter().map(|cell| spread_of(cell))),
        hidden_correlation: equal_repeats(&[hidden]).and_then(|repeats| one_way(&repeats)),
        repeats: equal_repeats(&cells).and_then(|repeats| one_way(&repeats)),
        agreement: complete.and_then(|scores| consistency(&scores)),
        tasters,
    }
}

/// p that the others agree and a taster scores against them, the larger of two: that of the others'
/// waters all alike (F), and that of no contradiction. For the latter, with c the others' means of the waters that all have
/// scored, centred, the sum of c times the taster's means is negative only by residual error when the taster
/// follows them or sees no difference. Its residual error is that of the others about each other, which neither
/// c nor the taster's own means depend on, so that t is exact for equal cups and normal residual error.
fn against(taster: usize, means: &[Vec<Option<f64>>]) -> Option<f64> {
    let scored = |row: &&Vec<Option<f64>>| row.iter().any(Option::is_some);
    let own = means.get(taster)?;
    let others: Vec<&Vec<Option<f64>>> = means
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != taster)
        .map(|(_, row)| row)
        .filter(scored)
        .collect();
    // The waters that everyone has scored: own mean and those of the others.
    let common: Vec<(f64, Vec<f64>)> = own
        .iter()
        .enumerate()
        .filter_map(|(water, own)| {
            let rest = others.iter().map(|row| row.get(water).copied().flatten());
            Some(((*own)?, rest.collect::<Option<Vec<f64>>>()?))
        })
        .collect();
    let df = others.len().saturating_sub(1) * common.len().saturating_sub(1);
    if common.len() < 3 || df == 0 {
        return None;
    }
    let of_rest: Vec<f64> = common.iter().filter_map(|(_, rest)| mean(rest)).collect();
    let centre = mean(&of_rest)?;
    let levels: Vec<f64> = (0..others.len())
        .filter_map(|at| {
            let row: Vec<f64> =
                common.iter().filter_map(|(_, rest)| rest.get(at).copied()).collect();
            mean(&row)
        })
        .collect();
    let residual: f64 = common
        .iter()
        .zip(&of_rest)
        .flat_map(|((_, rest), of_rest)| {
            rest.iter().zip(&levels).map(move |(v, level)| (v - of_rest - level + centre).powi(2))
        })
        .sum();
    let length: f64 = of_rest.iter().map(|c| (c - centre).powi(2)).sum();
    let along: f64 =
        common.iter().zip(&of_rest).map(|((own, _), c)| own * (c - centre)).sum::<f64>();
    let scale = length * residual / count(df);
    if scale <= 0.0 {
        return None;
    }
    let t = along / scale.sqrt();
    let beyond = t_two_sided(t, count(df)) / 2.0;
    let p_against = if t < 0.0 { beyond } else { 1.0 - beyond };
    let effects = count(common.len() - 1);
    let f = count(others.len()) * length / effects / (residual / count(df));
    Some(p_against.max(f_tail(f, effects, count(df))))
}

/// Scores of the same water by the same taster in the same round.
fn hidden_duplicates(table: &ScoreTable) -> Vec<Vec<f64>> {
    let mut cups: BTreeMap<(usize, usize, usize), Vec<f64>> = BTreeMap::new();
    for row in &table.rows {
        cups.entry((row.taster, row.round, row.water)).or_default().push(row.value);
    }
    cups.into_values().filter(|cell| cell.len() > 1).collect()
}

/// Standard deviation of some repeats.
fn spread_of(cell: &[f64]) -> RepeatScatter {
    let df = cell.len().saturating_sub(1);
    RepeatScatter { sd: (squares(cell) / count(df.max(1))).sqrt(), df }
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
        with_others: correlation(&beside),
        p_repeat: None,
        p_against: None,
        marks: Vec::new(),
    }
}

/// Pools standard deviations by their degrees of freedom.
fn pool(parts: impl Iterator<Item = RepeatScatter>) -> Option<RepeatScatter> {
    let (sum, df) =
        parts.fold((0.0, 0), |(sum, df), one| (sum + one.sd * one.sd * count(one.df), df + one.df));
    (df > 0).then(|| RepeatScatter { sd: (sum / count(df)).sqrt(), df })
}

/// Tests each taster's repeats against those of all others together.
fn judge_repeats(tasters: &mut [TasterCheck]) {
    let repeats: Vec<Option<RepeatScatter>> = tasters.iter().map(|t| t.repeat).collect();
    for (at, taster) in tasters.iter_mut().enumerate() {
        let others = repeats.iter().enumerate().filter(|(other, _)| *other != at);
        let rest = pool(others.filter_map(|(_, r)| *r));
        taster.p_repeat =
            taster.repeat.zip(rest).filter(|(_, rest)| rest.sd > 0.0).map(|(own, rest)| {
                f_tail((own.sd / rest.sd).powi(2), count(own.df), count(rest.df))
            });
    }
}

/// Pearson's correlation; `None` with fewer than three pairs or where either side does not vary.
pub(crate) fn correlation(pairs: &[(f64, f64)]) -> Option<f64> {
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
    use super::super::mixed::ModelChoice;
    use super::super::results::family_results;
    use super::*;
    use crate::session::analysis::Observation;

    fn table(scores: &[(usize, usize, f64)]) -> ScoreTable {
        ScoreTable {
            attribute: "body".into(),
            tasters: (0..6).map(|n| format!("taster {n}")).collect(),
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
        // Six tasters, four waters, two cups, residual error of a tenth; the last taster is odd in one way.
        let residual = [0.1, -0.2, 0.05, 0.15, -0.12, 0.17, -0.03, -0.08];
        let gives = |way: OutlierFlag, water: f64, off: f64| match way {
            OutlierFlag::AgainstTheOthers => 3.0 - water + off,
            OutlierFlag::RepeatsWorse => 2.0 * water + 6.0 * off,
            OutlierFlag::NoSpread => 5.0,
        };
        for wanted in
            [OutlierFlag::AgainstTheOthers, OutlierFlag::RepeatsWorse, OutlierFlag::NoSpread]
        {
            let mut scores = Vec::new();
            for water in 0..4_usize {
                for repeat in 0..2_usize {
                    for taster in 0..6_usize {
                        let at = (3 * taster + 5 * water + 4 * repeat) % 8;
                        let off = residual.get(at).copied().unwrap_or(0.0);
                        let water_score = count(water);
                        let value = if taster == 5 {
                            gives(wanted, water_score, off)
                        } else {
                            2.0 * water_score + off
                        };
                        scores.push((taster, water, value));
                    }
                }
            }
            let found = family_results(vec![table(&scores)], ModelChoice::default(), None);
            let tasters = found.iter().flat_map(|one| &one.panel.tasters);
            let marks: Vec<&[OutlierFlag]> = tasters.map(|t| t.marks.as_slice()).collect();
            assert_eq!(marks, [&[], &[], &[], &[], &[], [wanted].as_slice()]);
        }
    }

    #[test]
    fn the_repeat_of_a_pair_is_its_difference_over_root_two() {
        let check = panel_check(&table(&[(0, 0, 4.0), (0, 0, 5.0), (0, 1, 2.0)]));
        let repeat = check.tasters.first().and_then(|t| t.repeat);
        assert!(repeat.is_some_and(|r| (r.sd - 0.5_f64.sqrt()).abs() < 1e-15 && r.df == 1));
    }
}
