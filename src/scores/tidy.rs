//! Results as tidy rows: one row for each observation, one column for each thing known of it.

use crate::tasting::method::Method;

use super::reveal::{CupWhere, Revealed, ScoreRow};

/// Names of the columns, in order; kept stable. A caller may add columns of its own, such as the
/// composition of the water.
pub const COLUMNS: [&str; 14] = [
    "session",
    "taster",
    "round",
    "tray",
    "position",
    "code",
    "water",
    "copy",
    "previous",
    "measure",
    "value",
    "note",
    "unblinded",
    "pair",
];

/// One row; empty where nothing is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TidyRow {
    /// Place of the water in the flight, for joining composition and doses.
    pub water: Option<usize>,
    /// The cells, as [`COLUMNS`] names them.
    pub cells: [String; COLUMNS.len()],
}

/// All observations of a session: a score, a rank, or an answer (1 right, 0 wrong; of a paired test
/// 1 where the first water was chosen). Owed ones have no value, late ones are marked.
#[must_use]
pub fn tidy(revealed: &Revealed) -> Vec<TidyRow> {
    let mut rows: Vec<TidyRow> = Vec::new();
    let scored = revealed.scores.iter().map(|row| (row, false));
    for (row, late) in scored.chain(revealed.late_scores.iter().map(|row| (row, true))) {
        rows.push(score_row(revealed, row, late));
    }
    let measure = match &revealed.method {
        Method::Ranking { criterion } => format!("rank of {criterion}"),
        other => format!("{} answer", other.name()),
    };
    for ranking in &revealed.rankings {
        let rank = |cup: &CupWhere| {
            let place = ranking.order.as_ref()?.iter().position(|other| other.code == cup.code)?;
            Some((place + 1).to_string())
        };
        for cup in &ranking.served {
            let value = rank(cup).unwrap_or_default();
            let note = ranking.note.clone().unwrap_or_default();
            rows.push(row_of(revealed, cup, [measure.clone(), value, note], (false, "")));
        }
    }
    for choice in &revealed.choices {
        let Some(first) = choice.served.first() else { continue };
        let value = choice.right.map_or_else(String::new, |right| u8::from(right).to_string());
        let note = choice.note.clone().unwrap_or_default();
        let name = |water: usize| revealed.waters.get(water).map_or("", String::as_str);
        let pair = format!("{} / {}", name(choice.pair.0), name(choice.pair.1));
        let mut row = row_of(revealed, first, [measure.clone(), value, note], (false, &pair));
        // An answer belongs to the tray, not to a cup.
        row.water = None;
        for cell in row.cells.iter_mut().skip(4).take(5) {
            cell.clear();
        }
        rows.push(row);
    }
    rows
}

fn score_row(revealed: &Revealed, row: &ScoreRow, late: bool) -> TidyRow {
    let measure = revealed.attributes.get(row.attribute).cloned().unwrap_or_default();
    let value = row.value.map_or_else(String::new, |value| value.to_string());
    let note = row.note.clone().unwrap_or_default();
    row_of(revealed, &row.cup, [measure, value, note], (late, ""))
}

fn row_of(
    revealed: &Revealed,
    cup: &CupWhere,
    [measure, value, note]: [String; 3],
    (late, pair): (bool, &str),
) -> TidyRow {
    let water = |place: usize| revealed.waters.get(place).cloned().unwrap_or_default();
    TidyRow {
        water: Some(cup.water),
        cells: [
            revealed.session.clone(),
            revealed.tasters.get(cup.taster).cloned().unwrap_or_default(),
            cup.round.to_string(),
            cup.tray.to_string(),
            cup.position.to_string(),
            cup.code.to_string(),
            water(cup.water),
            cup.copy.to_string(),
            cup.previous.map(water).unwrap_or_default(),
            measure,
            value,
            note,
            late.to_string(),
            pair.to_owned(),
        ],
    }
}
