//! Scores as the analysis needs them: one row for each cup, waters and tasters by number.

use crate::session::score::Revealed;

/// One score.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// Place of the taster in [`ScoreTable::tasters`].
    pub taster: usize,
    /// Place of the water in [`ScoreTable::waters`].
    pub water: usize,
    /// Round, from 1.
    pub round: usize,
    /// Place on the tray, from 1; 0 when it is not known.
    pub position: usize,
    /// The water tasted just before, if no break lay between.
    pub previous: Option<usize>,
    /// The score.
    pub value: f64,
}

/// All scores of one attribute.
#[derive(Debug, Clone, PartialEq)]
pub struct ScoreTable {
    /// The attribute.
    pub attribute: String,
    /// The tasters.
    pub tasters: Vec<String>,
    /// The waters.
    pub waters: Vec<String>,
    /// The scores that were given, in the order of the session.
    pub rows: Vec<Observation>,
    /// Cups that were to be scored and were not.
    pub missing: usize,
}

impl ScoreTable {
    /// The tables of a revealed session, one for each attribute.
    #[must_use]
    pub fn of(revealed: &Revealed) -> Vec<Self> {
        let table = |(place, name): (usize, &String)| {
            let own = revealed.scores.iter().filter(|row| row.attribute == place);
            let rows: Vec<Observation> = own
                .clone()
                .filter_map(|row| {
                    Some(Observation {
                        taster: row.cup.taster,
                        water: row.cup.water,
                        round: row.cup.round,
                        position: row.cup.position,
                        previous: row.cup.previous,
                        value: row.value?,
                    })
                })
                .collect();
            Self {
                attribute: name.clone(),
                tasters: revealed.tasters.clone(),
                waters: revealed.waters.clone(),
                missing: own.count() - rows.len(),
                rows,
            }
        };
        revealed.attributes.iter().enumerate().map(table).collect()
    }

    /// The scores of each taster for each water: `cells[taster][water]`.
    #[must_use]
    pub fn cells(&self) -> Vec<Vec<Vec<f64>>> {
        let mut cells = vec![vec![Vec::new(); self.waters.len()]; self.tasters.len()];
        for row in &self.rows {
            if let Some(cell) = cells.get_mut(row.taster).and_then(|c| c.get_mut(row.water)) {
                cell.push(row.value);
            }
        }
        cells
    }

    /// Each taster's mean for each water; `None` where there is no score.
    #[must_use]
    pub fn means(&self) -> Vec<Vec<Option<f64>>> {
        self.cells().iter().map(|row| row.iter().map(|cell| mean(cell)).collect()).collect()
    }

    /// The plain mean of each water's cups, and nothing more: who tasted what is not allowed for. Waters
    /// without a score are left out.
    #[must_use]
    pub fn raw_means(&self) -> Vec<(usize, f64)> {
        let of = |water: usize| {
            let own = self.rows.iter().filter(|row| row.water == water).map(|row| row.value);
            Some((water, mean(&own.collect::<Vec<_>>())?))
        };
        (0..self.waters.len()).filter_map(of).collect()
    }

    /// Whether every taster scored all the waters that were scored equally often, so that their plain
    /// means can be set side by side.
    #[must_use]
    pub fn raw_means_compare(&self) -> bool {
        let scored = |water: usize| self.rows.iter().any(|row| row.water == water);
        let waters: Vec<usize> = (0..self.waters.len()).filter(|water| scored(*water)).collect();
        self.cells().iter().all(|own| {
            let mut counts = waters.iter().map(|water| own.get(*water).map_or(0, Vec::len));
            counts.next().is_none_or(|first| counts.all(|count| count == first))
        })
    }

    /// The number of scores in every cell, when it is the same in all.
    #[must_use]
    pub fn replicates(&self) -> Option<usize> {
        let cells = self.cells();
        let mut sizes = cells.iter().flatten().map(Vec::len);
        let first = sizes.next()?;
        (first > 0 && sizes.all(|n| n == first)).then_some(first)
    }
}

/// Share of a total sum of squares that is rounding. Our choice: a hundred times what is left of
/// sums that cancel; a single score one step off leaves a million times more.
pub(crate) const ROUNDING: f64 = 1e-13;

/// Mean of some values; `None` of none.
pub(crate) fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / crate::numerics::count(values.len()))
}

/// Sum of squared deviations from their mean.
pub(crate) fn squares(values: &[f64]) -> f64 {
    let Some(centre) = mean(values) else { return 0.0 };
    values.iter().map(|v| (v - centre).powi(2)).sum()
}
