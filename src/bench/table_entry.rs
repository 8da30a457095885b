//! Targets and analyses from a table: a column of names, and one column for each measure with
//! its unit in the head, as in `hardness [mg/L as CaCO3]` or `calcium : magnesium [mol/mol]`.

use crate::bench::explain;
use crate::bench::flight_writer::quoted;
use crate::bench::water_entry::{CONDUCTIVITY_IS, us_per_cm_at_25};
use crate::files::csv_table::CsvTable;
use crate::files::{Diagnostic, Fault, SourceText};
use crate::flight::GoalError;
use crate::flight::ladder;
use crate::flight::ladder::WrittenTarget;
use crate::flight::{Goal, Target};
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, QuantityError, Unit};
use crate::water::{Amount, Analysis, BaseWater, Measure, MeasureError, trade_words};

/// What a column holds.
enum Column {
    Name,
    Ph,
    Conductivity(Option<String>),
    Measure(Measure, Option<String>),
    Ratio(Measure, Measure, Option<String>),
    /// What was poured for a litre of the water, as `export planned` writes it: nothing of an analysis.
    Dose,
}

impl Column {
    /// Whether both hold the same, in whatever unit.
    fn holds_the_same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Measure(a, _), Self::Measure(b, _)) => a == b,
            (Self::Ratio(a, b, _), Self::Ratio(c, d, _)) => (a, b) == (c, d),
            (Self::Dose, Self::Dose) => false,
            _ => std::mem::discriminant(self) == std::mem::discriminant(other),
        }
    }
}

/// A water made from a row, with the text of its file.
#[derive(Debug, Clone)]
pub struct WaterFile {
    /// The water.
    pub water: BaseWater,
    /// The text.
    pub text: String,
}

fn wrong(source: &SourceText, title: impl Into<String>) -> Diagnostic {
    Diagnostic::new(Fault::Content, title).at(source, None)
}

fn columns(source: &SourceText, table: &CsvTable) -> Result<Vec<Column>, Diagnostic> {
    let columns =
        table.heads.iter().map(|head| column(source, head)).collect::<Result<Vec<_>, _>>()?;
    for (at, column) in columns.iter().enumerate() {
        if let Some(first) = columns.iter().take(at).position(|c| c.holds_the_same(column)) {
            let head = |at: usize| table.heads.get(at).cloned().unwrap_or_default();
            return Err(wrong(source, "two columns hold the same")
                .found(format!("`{}` and `{}`", head(first), head(at)))
                .expected("each measure in one column")
                .remedy("take one of the two out"));
        }
    }
    if !columns.iter().any(|c| matches!(c, Column::Name)) {
        return Err(wrong(source, "no column holds the names")
            .found(table.heads.join(", "))
            .expected("a column with the head `name`"));
    }
    Ok(columns)
}

fn column(source: &SourceText, head: &str) -> Result<Column, Diagnostic> {
    let lower = head.trim().to_lowercase();
    if lower == "name" || lower == "target" || lower == "water" {
        return Ok(Column::Name);
    }
    if lower == "ph" {
        return Ok(Column::Ph);
    }
    let (key, unit) = match head.split_once(['[', '(']) {
        Some((key, rest)) => {
            let unit = rest.trim().trim_end_matches([']', ')']).trim();
            (key.trim(), Some(unit.to_owned()))
        }
        None => (head.trim(), None),
    };
    let of_volume = unit.as_deref().and_then(|unit| Unit::parse(unit).ok());
    if of_volume.is_some_and(|unit| unit.dimension() == Dimension::VolumePerVolume) {
        return Ok(Column::Dose);
    }
    if key.eq_ignore_ascii_case("conductivity") {
        return Ok(Column::Conductivity(unit));
    }
    let measure = |key: &str| {
        Measure::from_key(key).ok_or_else(|| {
            let diagnostic = wrong(source, format!("`{}` is not a measure known here", key.trim()))
                .found(format!("the head `{head}`"))
                .expected("as in `hardness [mg/L as CaCO3]`, or `name`, or `ph`");
            if let Some(said) = trade_words::meaning(key) {
                return diagnostic.remedy(said.to_string());
            }
            diagnostic
                .remedy(format!("measures are {}", Measure::KEYS.join(", ")))
                .near(key.trim(), Measure::KEYS)
        })
    };
    match key.split_once(':') {
        Some((of, to)) => Ok(Column::Ratio(measure(of)?, measure(to)?, unit)),
        None => Ok(Column::Measure(measure(key)?, unit)),
    }
}

/// The cell with the unit of its column, where it has none of its own.
fn with_unit(cell: &str, unit: Option<&str>) -> String {
    let Some(unit) = unit else { return cell.to_owned() };
    match cell.split_once(", ") {
        Some((wish, rest)) => format!("{} {unit}, {rest}", wish.trim()),
        None => format!("{cell} {unit}"),
    }
}

/// Where a cell stands, in words.
fn at_cell(diagnostic: Diagnostic, line: u64, head: &str, cell: &str) -> Diagnostic {
    diagnostic.found(format!("line {line}, column `{head}`: `{cell}`"))
}

/// The name in a row.
fn name_of(
    source: &SourceText,
    columns: &[Column],
    line: u64,
    cells: &[String],
) -> Result<String, Diagnostic> {
    let place = columns.iter().position(|c| matches!(c, Column::Name));
    let name = place.and_then(|n| cells.get(n)).map(|c| c.trim().to_owned()).unwrap_or_default();
    if name.is_empty() || name.chars().any(char::is_control) {
        return Err(wrong(source, "a row has no name").found(format!("line {line}")));
    }
    Ok(name)
}

/// The targets of a table, in its order.
///
/// # Errors
/// The first head or cell that is not understood, and names that stand twice.
pub fn targets(source: &SourceText, table: &CsvTable) -> Result<Vec<WrittenTarget>, Diagnostic> {
    let columns = columns(source, table)?;
    let mut targets: Vec<Target> = Vec::new();
    for (line, cells) in &table.rows {
        let name = name_of(source, &columns, *line, cells)?;
        if targets.iter().any(|t| t.name == name) {
            return Err(wrong(source, format!("the target `{name}` stands twice"))
                .found(format!("line {line}")));
        }
        let mut goals = Vec::new();
        for ((column, head), cell) in columns.iter().zip(&table.heads).zip(cells) {
            if cell.is_empty() {
                continue;
            }
            let goal = match column {
                Column::Name | Column::Dose => continue,
                Column::Ph | Column::Conductivity(_) => {
                    let title = format!("{head} is no goal: it follows from the water");
                    return Err(at_cell(wrong(source, title), *line, head, cell)
                        .remedy("leave the column out, or import the table as analyses"));
                }
                Column::Measure(m, unit) => {
                    read_goal(cell, unit.as_deref(), |text| Goal::parse(*m, text))
                }
                Column::Ratio(of, to, unit) => {
                    read_goal(cell, unit.as_deref(), |text| Goal::parse_ratio(*of, *to, text))
                }
            };
            goals.push(goal.map_err(|error| {
                at_cell(wrong(source, error.to_string()), *line, head, cell)
                    .expected("a goal as in a flight file; its unit in the cell or in the head")
            })?);
        }
        if goals.is_empty() {
            return Err(
                wrong(source, format!("target `{name}` has no goal")).found(format!("line {line}"))
            );
        }
        targets.push(Target { name, goals });
    }
    targets
        .iter()
        .map(|t| ladder::rewritten(t).map_err(|error| wrong(source, error.to_string())))
        .collect()
}

/// A cell as it stands; where it has no unit, with that of the head.
fn read_goal(
    cell: &str,
    unit: Option<&str>,
    parse: impl Fn(&str) -> Result<Goal, GoalError>,
) -> Result<Goal, GoalError> {
    match parse(cell) {
        Err(GoalError::Amount(MeasureError::Quantity(QuantityError::NoUnit { .. }))) => {
            parse(&with_unit(cell, unit))
        }
        other => other,
    }
}

/// One row of a table of analyses.
struct Row<'a> {
    source: &'a SourceText,
    line: u64,
    amounts: Vec<(Measure, Amount)>,
    ph: Option<f64>,
    us_per_cm: Option<f64>,
    /// Its lines in the file of the water: measured, and what stands beside them.
    measured: String,
    beside: String,
}

impl Row<'_> {
    /// Takes in a cell. An empty one was not measured.
    fn take(&mut self, column: &Column, head: &str, cell: &str) -> Result<(), Diagnostic> {
        let fail = |title: String| at_cell(wrong(self.source, title), self.line, head, cell);
        match column {
            _ if cell.is_empty() => {}
            Column::Name | Column::Dose => {}
            Column::Ph => {
                let ph = bare_number(cell).ok().filter(|v| (0.0..=14.0).contains(v));
                let ph = ph.ok_or_else(|| {
                    fail("this is not a pH".to_owned()).expected("a number from 0 to 14")
                })?;
                self.ph = Some(ph);
                self.beside.push_str(&format!("    ph: {ph},\n"));
            }
            Column::Conductivity(unit) => {
                let text = match us_per_cm_at_25(cell) {
                    Some(_) => cell.to_owned(),
                    None => with_unit(cell, unit.as_deref()),
                };
                self.us_per_cm = Some(us_per_cm_at_25(&text).ok_or_else(|| {
                    fail("this is no conductivity of a water".to_owned()).expected(CONDUCTIVITY_IS)
                })?);
                self.beside.push_str(&format!("    conductivity: {},\n", quoted(&text)));
            }
            Column::Ratio(..) => {
                return Err(fail("a ratio is no part of an analysis".to_owned()));
            }
            Column::Measure(measure, unit) => {
                let text = match Amount::parse(*measure, cell) {
                    Err(MeasureError::Quantity(QuantityError::NoUnit { .. })) => {
                        with_unit(cell, unit.as_deref())
                    }
                    _ => cell.to_owned(),
                };
                let amount = Amount::parse(*measure, &text).map_err(|error| {
                    let fail = fail(error.to_string());
                    match error {
                        MeasureError::NoLimit { .. } => fail
                            .expected("the limit of detection, as in `< 0.5`")
                            .remedy("leave the cell empty where it was not looked for"),
                        _ => fail
                            .expected(format!("one of the units {}", measure.choices().join(", "))),
                    }
                })?;
                if let Some(amount) = amount {
                    self.amounts.push((*measure, amount));
                    let line = format!("        {}: {},\n", measure.key(), quoted(&text));
                    self.measured.push_str(&line);
                }
            }
        }
        Ok(())
    }
}

/// The waters of a table, each with the text of its file. A column that is not there, and an empty
/// cell, is what was not measured; "0" is zero, "< 5" is below a limit of detection.
///
/// # Errors
/// The first head or cell that is not understood, and analyses that contradict themselves.
pub fn analyses(source: &SourceText, table: &CsvTable) -> Result<Vec<WaterFile>, Diagnostic> {
    let columns = columns(source, table)?;
    let mut files: Vec<WaterFile> = Vec::new();
    for (line, cells) in &table.rows {
        let name = name_of(source, &columns, *line, cells)?;
        let mut row = Row {
            source,
            line: *line,
            amounts: Vec::new(),
            ph: None,
            us_per_cm: None,
            measured: String::new(),
            beside: String::new(),
        };
        for ((column, head), cell) in columns.iter().zip(&table.heads).zip(cells) {
            row.take(column, head, cell)?;
        }
        let Row { amounts, ph, us_per_cm, measured, beside, .. } = row;
        let analysis = Analysis { ph, us_per_cm, ..Analysis::new(name.clone(), amounts) };
        let water = analysis.water().map_err(|error| {
            let found = wrong(source, error.to_string()).found(format!("line {line}, `{name}`"));
            explain::analysis(&error).to(found)
        })?;
        let text = format!(
            "// Read from a table. What it does not list was not measured.\nWater(\n    name: {},\n    \
             analysis: (\n{measured}    ),\n{beside})\n",
            quoted(&name)
        );
        files.push(WaterFile { water, text });
    }
    Ok(files)
}
