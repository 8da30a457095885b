//! Results as tidy rows: one row for each observation, one column for each thing known of it.

use crate::session::plan::Method;

use crate::session::score::{ChoiceRow, CupPlace, Revealed, ScoreRow};

/// Names of the columns, in order; kept stable. A caller may add columns of its own, such as the
/// composition of the water.
pub const COLUMNS: [&str; 16] = [
    "session",
    "method",
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
    "reference",
];

/// One row; empty where nothing is known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TidyRow {
    /// Place of the water in the flight, for joining composition and doses; none where the row is of
    /// a pair.
    pub water: Option<usize>,
    /// The cells, as [`COLUMNS`] names them.
    pub cells: [String; COLUMNS.len()],
}

/// What was observed of a cup or a tray.
struct Observed {
    measure: String,
    value: String,
    note: String,
}

/// All observations of a session, missing ones without a value, late scores marked.
///
/// A score is a row of its cup, and so is a rank. A test of two waters has a row `chosen` for every
/// cup, 1 or 0, and one of the tray about the pair: `right`, 1 or 0, or for a paired test
/// `first named`, 1 where the cup chosen was of the first water of the pair.
#[must_use]
pub fn tidy_rows(revealed: &Revealed) -> Vec<TidyRow> {
    let mut rows: Vec<TidyRow> = Vec::new();
    let scored = revealed.scores.iter().map(|row| (row, false));
    for (row, late) in scored.chain(revealed.late_scores.iter().map(|row| (row, true))) {
        rows.push(score_row(revealed, row, late));
    }
    for ranking in &revealed.rankings {
        let rank = |cup: &CupPlace| {
            let place = ranking.order.as_ref()?.iter().position(|other| other.code == cup.code)?;
            Some((place + 1).to_string())
        };
        for cup in &ranking.served {
            let observed = Observed {
                measure: "rank".to_owned(),
                value: rank(cup).unwrap_or_default(),
                note: ranking.note.clone().unwrap_or_default(),
            };
            rows.push(row_of(revealed, cup, observed));
        }
    }
    for choice in &revealed.choices {
        rows.extend(choice_rows(revealed, choice));
    }
    rows
}

/// The rows of one answer: of each cup, and of the pair.
fn choice_rows(revealed: &Revealed, choice: &ChoiceRow) -> Vec<TidyRow> {
    let name = |water: usize| revealed.waters.get(water).map_or("", String::as_str);
    let pair = format!("{} / {}", name(choice.pair.0), name(choice.pair.1));
    let reference = choice.reference.map_or("", name).to_owned();
    let one_or_none = |yes: bool| u8::from(yes).to_string();
    let note = choice.note.clone().unwrap_or_default();
    let about = |mut row: TidyRow| {
        row.set("pair", pair.clone());
        row.set("reference", reference.clone());
        row
    };
    let mut rows: Vec<TidyRow> = Vec::new();
    for cup in &choice.served {
        let picked = choice.right.map(|_| one_or_none(choice.picked.contains(&cup.code)));
        let observed = Observed {
            measure: "chosen".to_owned(),
            value: picked.unwrap_or_default(),
            note: note.clone(),
        };
        rows.push(about(row_of(revealed, cup, observed)));
    }
    let measure = match revealed.method {
        Method::Paired { .. } => "first named",
        _ => "right",
    };
    if let Some(cup) = choice.served.first() {
        let value = choice.right.map_or_else(String::new, one_or_none);
        let observed = Observed { measure: measure.to_owned(), value, note };
        let mut row = about(row_of(revealed, cup, observed));
        // This answer belongs to the tray, not to a cup.
        row.water = None;
        for column in ["position", "code", "water", "copy", "previous"] {
            row.set(column, String::new());
        }
        rows.push(row);
    }
    rows
}

impl TidyRow {
    fn set(&mut self, column: &str, text: String) {
        let place = COLUMNS.iter().position(|name| *name == column);
        if let Some(cell) = place.and_then(|place| self.cells.get_mut(place)) {
            *cell = text;
        }
    }
}

fn score_row(revealed: &Revealed, row: &ScoreRow, late: bool) -> TidyRow {
    let observed = Observed {
        measure: revealed.attributes.get(row.attribute).cloned().unwrap_or_default(),
        value: row.value.map_or_else(String::new, |value| value.to_string()),
        note: row.note.clone().unwrap_or_default(),
    };
    let mut found = row_of(revealed, &row.cup, observed);
    found.set("unblinded", late.to_string());
    found
}

fn row_of(revealed: &Revealed, cup: &CupPlace, observed: Observed) -> TidyRow {
    let water = |place: usize| revealed.waters.get(place).cloned().unwrap_or_default();
    TidyRow {
        water: Some(cup.water),
        cells: [
            revealed.session.clone(),
            revealed.method.name().to_owned(),
            revealed.tasters.get(cup.taster).cloned().unwrap_or_default(),
            cup.round.to_string(),
            cup.tray.to_string(),
            cup.position.to_string(),
            cup.code.to_string(),
            water(cup.water),
            cup.copy.to_string(),
            cup.previous.map(water).unwrap_or_default(),
            observed.measure,
            observed.value,
            observed.note,
            false.to_string(),
            String::new(),
            String::new(),
        ],
    }
}
