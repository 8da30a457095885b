//! One stage of a statement as rows and columns, portions taken as divisible; and what multipliers
//! of the rows prove of it.
//!
//! Stocks and base waters come first among the columns. A row that cannot cost anything in this
//! stage or an earlier one is left out; what a finished stage has reached is kept by a cap. The
//! value of a stage is `M/F` (see [`crate::planner::steps::portions`]); the program makes `M − θ·F` least, which is
//! below zero exactly where a value below `θ` is to be had.
#![expect(clippy::indexing_slicing, reason = "indices run over stocks and rows of one statement")]

use crate::planner::steps::cap_margin::CapMargin;
use crate::planner::steps::portions::{Stage, StatedRow, Statement};
use crate::planner::steps::program_builder::{Builder, loosely, near_one};
use crate::planner::steps::proof::PROVED_WITHIN;
use crate::planner::steps::tableau::Columns;
use crate::planner::steps::weak_duality::StageProgram;

/// Our choice: what a stage has reached may be exceeded by this much of a unit of miss (relative to
/// costs and volumes) in later stages. A millionth of a tolerance is far below anything that can
/// be poured, and far above the rounding of the arithmetic.
const CAP_SLACK: f64 = 1e-6;

/// Our choice: where a stage has reached nothing its columns are left out afterwards, and each row
/// may be missed by this much of a unit of miss.
const NEGLIGIBLE: f64 = 1e-9;

/// A cap up to this is that of a stage that has reached nothing.
const FORGOTTEN: f64 = 5.0 * NEGLIGIBLE;

/// Rounding of values as large as the machine's numbers let them be.
const LAST_PLACES: f64 = 1e-13;

/// The largest value of a finished stage that later stages must keep.
///
/// Misses inside tolerance are looked for to within a gap. Of the choices in that gap it is chance which one
/// is found first, so that none of them may bind the later stages more than another.
pub(crate) fn cap(statement: &Statement, stage: Stage, value: f64) -> f64 {
    match stage {
        Stage::Inside => value + PROVED_WITHIN,
        Stage::Count => value,
        Stage::Linear(k) => {
            // A billionth of a litre of the dearest thing is nothing.
            let dearest = statement.linear[k].iter().fold(0.0_f64, |most, c| most.max(c.abs()));
            value + CAP_SLACK * value.abs() + NEGLIGIBLE * dearest
        }
        Stage::Largest | Stage::Beyond => {
            if value.abs() <= NEGLIGIBLE {
                value + NEGLIGIBLE
            } else {
                value + CAP_SLACK + LAST_PLACES * value.abs()
            }
        }
    }
}

/// Our choice: a row counts in units of its own miss, but a tolerance of next to nothing must not
/// make the rounding of its sum larger than what the tableau tells from zero.
const MOST_SCALE: f64 = 1_048_576.0;

/// What the finished stages left for the one at hand.
struct FinishedStages {
    largest: Option<f64>,
    beyond: Option<f64>,
    /// All misses, those inside tolerance too.
    total: Option<f64>,
    /// What the misses of the stage at hand are worth looking at up to.
    best: f64,
    /// Litres that are finished at most.
    litres: f64,
}

/// The program of stage number `at`; `reached` holds the values of the stages before it, and `best`
/// what is at hand for this one. What it makes least is that stage's `M − θ·F`, among doses that
/// miss no more than `best`.
pub(crate) fn program(
    statement: &Statement,
    at: usize,
    reached: &[f64],
    best: f64,
    theta: f64,
) -> StageProgram {
    let stage = statement.stages[at];
    let before = |wanted: Stage| {
        let mut done = statement.stages[..at].iter().zip(reached);
        done.find(|(s, _)| **s == wanted).map(|(s, v)| cap(statement, *s, *v))
    };
    let earlier = FinishedStages {
        largest: before(Stage::Largest),
        beyond: before(Stage::Beyond),
        total: before(Stage::Inside),
        // A margin's breadth more, so that the doses at hand are among those that are looked at.
        best: best + CAP_SLACK + NEGLIGIBLE * best.abs(),
        litres: 1.0,
    };
    let mut b = Builder {
        program: Columns::default(),
        entries: Vec::new(),
        cap_margins: Vec::new(),
        rows: 0,
    };
    let stocks = statement.stocks();
    let volume_row = b.row(1.0);
    let cost_of = |column: usize| match stage {
        Stage::Linear(k) => statement.linear[k][column],
        _ => 0.0,
    };
    for (j, portion) in statement.portions.iter().enumerate() {
        let least = if portion.required { portion.least.max(1) } else { 0 };
        let low = f64::from(least) * portion.meq_per_l;
        let high = f64::from(portion.most) * portion.meq_per_l;
        let cost = cost_of(j) - theta * statement.finished[j];
        b.column(low, high, cost, &[(volume_row, statement.volume[j])]);
    }
    for (k, most) in statement.base_at_most.iter().enumerate() {
        let j = stocks + k;
        b.column(0.0, *most, cost_of(j), &[(volume_row, statement.volume[j])]);
    }
    let litres = (1.0, (1.0 + b.range(&statement.finished).1).min(statement.most_litres));
    let earlier = FinishedStages { litres: litres.1, ..earlier };
    for limit in &statement.limits {
        let entries: Vec<(usize, f64)> = nonzero(&limit.coefficients);
        let (low, _) = b.range(&limit.coefficients);
        b.at_most(&entries, limit.most, loosely(limit.most - low));
    }
    let mut sums = Sums::default();
    for row in &statement.rows {
        state_row(&mut b, row, stage, &earlier, &mut sums);
    }
    if stage == Stage::Largest {
        largest(&mut b, &sums);
    }
    if let Some(limit) = earlier.largest.filter(|_| litres.1 > litres.0) {
        for (two, cost) in &sums.each {
            cap_sum(&mut b, statement, &two.map(|j| (j, *cost)), limit, litres);
        }
    }
    for (caps, limit) in [(&sums.beyond, earlier.beyond), (&sums.total, earlier.total)] {
        if let Some(limit) = limit.filter(|_| !caps.is_empty()) {
            cap_sum(&mut b, statement, caps, limit, litres);
        }
    }
    for (done, value) in statement.stages[..at].iter().zip(reached) {
        if let Stage::Linear(k) = done {
            let costs = nonzero(&statement.linear[*k]);
            cap_sum(&mut b, statement, &costs, cap(statement, *done, *value), litres);
        }
    }
    // The part of θ·F that does not depend on the doses is taken off the value instead.
    let largest_cost = b.program.costs.iter().fold(0.0_f64, |size, c| size.max(c.abs()));
    let scale = 1.0 / near_one(largest_cost);
    for cost in &mut b.program.costs {
        *cost *= scale;
    }
    let Builder { program: columns, entries, cap_margins, .. } = b.finish();
    let mut starts = vec![0];
    starts.extend(entries.iter().scan(0, |end, of| {
        *end += of.len();
        Some(*end)
    }));
    let sparse = entries.concat();
    StageProgram { columns, sparse, starts, cap_margins, scale, litres, theta }
}

/// Columns of misses with what one of them costs.
#[derive(Default)]
struct Sums {
    beyond: Vec<(usize, f64)>,
    total: Vec<(usize, f64)>,
    /// By row with misses beyond tolerance: its two columns and the cost.
    each: Vec<([usize; 2], f64)>,
}

fn nonzero(coefficients: &[f64]) -> Vec<(usize, f64)> {
    coefficients.iter().copied().enumerate().filter(|(_, c)| *c != 0.0).collect()
}

/// One row of goals, counted in units of its own miss.
fn state_row(
    b: &mut Builder,
    row: &StatedRow,
    stage: Stage,
    earlier: &FinishedStages,
    sums: &mut Sums,
) {
    let early = matches!(stage, Stage::Largest | Stage::Beyond);
    if early && !row.beyond {
        return;
    }
    let scale = near_one(row.rate.min(MOST_SCALE));
    let cost = row.rate / scale;
    let tolerance = row.tolerance * scale;
    let is_nothing = |v: f64| v <= FORGOTTEN;
    // What a cap of next to nothing leaves this row: all of it.
    let up_to = |cap: f64| cap * earlier.litres / cost;
    let margin = |cap: Option<f64>| up_to(cap.unwrap_or_default());
    // The place in the band takes up what costs nothing: the band itself, the tolerance before the
    // inside counts, and the hair's breadth that a finished stage may be exceeded by.
    let mut wider = if early && tolerance.is_finite() { tolerance } else { 0.0 };
    let with_beyond = row.beyond && !earlier.beyond.is_some_and(is_nothing);
    let counts_inside = row.total && !early;
    let with_inside = counts_inside && tolerance > 0.0 && !earlier.total.is_some_and(is_nothing);
    let mut slack = 0.0;
    if row.beyond && !with_beyond && tolerance <= 0.0 {
        slack = margin(earlier.beyond);
    }
    if counts_inside && !with_inside && tolerance > 0.0 {
        slack = margin(earlier.total);
    }
    wider += slack;
    let (low, high) = (row.low * scale - wider, row.high * scale + wider);
    let anchor = if low.is_finite() { low } else { high };
    let i = b.row(anchor);
    let (least, most) = b.range(&row.coefficients);
    let (least, most) = (least * scale, most * scale);
    for (j, v) in row.coefficients.iter().enumerate().filter(|(_, v)| **v != 0.0) {
        b.entries[j].push((i, v * scale));
    }
    // No value is further from the anchor than the bounds of the doses let it be.
    let below = loosely(anchor - least);
    let above = loosely(most - anchor);
    if low < high {
        let (from, to) = ((low - anchor).max(-below), (high - anchor).min(above));
        let place = b.column(from, to, 0.0, &[(i, -1.0)]);
        b.program.first[i] = Some((place, -1.0));
        if slack > 0.0 {
            // An end that the doses cannot pass was not widened.
            let low_end = if -below < low - anchor { slack } else { 0.0 };
            let high_end = if high - anchor < above { slack } else { 0.0 };
            b.cap_margins.push(CapMargin::Place(place, [low_end, high_end]));
        }
    }
    let reach = below.max(above) + slack;
    if with_inside {
        // Where nothing is beyond tolerance the inside ends a hair's breadth behind it.
        let more = if row.beyond && !with_beyond { margin(earlier.beyond) } else { 0.0 };
        let all = earlier.total.unwrap_or(earlier.best);
        let room = (tolerance + more).min(up_to(all));
        let of_stage = if stage == Stage::Inside { cost } else { 0.0 };
        for sign in [1.0, -1.0] {
            let j = b.column(0.0, room.min(reach), of_stage, &[(i, sign)]);
            sums.total.push((j, cost));
        }
    }
    if with_beyond {
        // No row misses more than the whole flight of rows may.
        let whole = earlier.beyond.unwrap_or(match stage {
            Stage::Largest | Stage::Beyond => earlier.best,
            _ => f64::INFINITY,
        });
        let most = earlier.largest.map_or(whole, |most| most.min(whole));
        let room = up_to(most).min(reach);
        let of_stage = match stage {
            Stage::Beyond => cost,
            Stage::Inside if row.total => cost,
            _ => 0.0,
        };
        let two = [1.0, -1.0].map(|sign| b.column(0.0, room, of_stage, &[(i, sign)]));
        sums.each.push((two, cost));
        for j in two {
            if earlier.largest.is_some() && up_to(most) < reach {
                b.cap_margins.push(CapMargin::Miss(j));
            }
            sums.beyond.push((j, cost));
            if row.total {
                sums.total.push((j, cost));
            }
        }
    }
}

/// The largest miss, in units of the dearest one: at least every row's.
fn largest(b: &mut Builder, sums: &Sums) {
    let dearest = sums.each.iter().fold(f64::MIN_POSITIVE, |most, (_, cost)| most.max(*cost));
    let reach = sums.each.iter().flat_map(|(two, cost)| two.map(|j| (j, *cost)));
    let most = reach.map(|(j, cost)| b.program.upper[j] * cost).fold(0.0, f64::max);
    let most = loosely(most) / dearest;
    let largest = b.column(0.0, most, dearest, &[]);
    for (two, cost) in &sums.each {
        let row = b.row(0.0);
        b.entries[largest].push((row, dearest / cost));
        for j in two {
            b.entries[*j].push((row, -1.0));
        }
        let rest = b.column(0.0, loosely(most * dearest / cost), 0.0, &[(row, -1.0)]);
        b.program.first[row] = Some((rest, -1.0));
    }
}

/// A row that keeps `Σ cost·column ≤ limit·F`.
fn cap_sum(
    b: &mut Builder,
    statement: &Statement,
    costs: &[(usize, f64)],
    limit: f64,
    litres: (f64, f64),
) {
    let mut entries = costs.to_vec();
    for (j, f) in statement.finished.iter().enumerate().filter(|(_, f)| **f != 0.0) {
        match entries.iter_mut().find(|(of, _)| *of == j) {
            Some((_, v)) => *v -= limit * f,
            None => entries.push((j, -limit * f)),
        }
    }
    let (low, _) = costs.iter().fold((0.0, 0.0), |(low, high), (j, c)| {
        let ends = [c * b.program.lower[*j], c * b.program.upper[*j]];
        (low + ends[0].min(ends[1]), high + ends[0].max(ends[1]))
    });
    let room = loosely(limit.abs() * litres.1 - low);
    let rest = b.at_most(&entries, limit, room);
    b.cap_margins.push(CapMargin::Left(rest));
}
