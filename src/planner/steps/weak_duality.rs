//! What multipliers of the rows prove of a stage.
//!
//! Whatever a solver does, its multipliers `π` prove that no values of the columns within their
//! bounds give less than `π·b + Σ_j min (c_j − π·a_j)·x_j` (weak duality). [`StageProgram::bound`]
//! works this out from the original numbers, rounding counted against itself, so a bound holds even
//! where the solver has gone wrong.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::planner::steps::cap_margin::CapMargin;
use crate::planner::steps::tableau::Columns;

/// The program of a stage with what its proofs need.
#[derive(Debug, Clone)]
pub(crate) struct StageProgram {
    pub(crate) columns: Columns,
    /// Entries by column: row, value; and where each column begins.
    pub(super) sparse: Vec<(usize, f64)>,
    pub(super) starts: Vec<usize>,
    /// What keeps a solution clear of its caps.
    pub(crate) cap_margins: Vec<CapMargin>,
    /// Costs are multiplied by this.
    pub(crate) scale: f64,
    /// The least and the most litres that are finished.
    pub(crate) litres: (f64, f64),
    pub(crate) theta: f64,
}

impl StageProgram {
    /// The bound that multipliers of the rows prove for columns within these bounds, as a value of
    /// the program; `reduced` becomes the reduced cost of every column.
    pub(crate) fn bound(
        &self,
        multipliers: &[f64],
        lower: &[f64],
        upper: &[f64],
        with_costs: bool,
        reduced: &mut Vec<f64>,
    ) -> f64 {
        /// Our choice: rounding of a sum of so many terms is below so many last places of them.
        const TERMS: f64 = 64.0;
        reduced.clear();
        let mut value = 0.0;
        let mut lost = 0.0;
        for (p, b) in multipliers.iter().zip(&self.columns.rhs) {
            value += p * b;
            lost += (p * b).abs();
        }
        for (j, ends) in self.starts.windows(2).enumerate() {
            let mut d = if with_costs { self.columns.costs[j] } else { 0.0 };
            let mut terms = d.abs();
            for (i, v) in &self.sparse[ends[0]..ends[1]] {
                let term = multipliers[*i] * v;
                d -= term;
                terms += term.abs();
            }
            reduced.push(d);
            let (low, high) = (lower[j], upper[j]);
            let at = if d > 0.0 { low } else { high };
            value += d * at;
            // Where rounding leaves the sign open either bound may be meant.
            let open = d.abs() <= TERMS * f64::EPSILON * terms;
            lost += terms * if open { low.abs().max(high.abs()) } else { at.abs() };
        }
        value - TERMS * f64::EPSILON * lost
    }

    /// The value of the stage that a value of the program means at least, for doses that finish
    /// any volume there can be.
    pub(crate) fn stage_value(&self, program_value: f64) -> f64 {
        let value = program_value / self.scale - self.theta;
        let litres = if value < 0.0 { self.litres.0 } else { self.litres.1 };
        self.theta + value / litres
    }

    /// The value of the program from which on no doses have a lower value of the stage than this.
    pub(crate) fn program_value(&self, stage_value: f64) -> f64 {
        let above = stage_value - self.theta;
        let litres = if above < 0.0 { self.litres.0 } else { self.litres.1 };
        (above * litres + self.theta) * self.scale
    }
}
