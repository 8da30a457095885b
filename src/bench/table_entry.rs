//! Targets and analyses from a table: a column of names, and one column for each measure with
//! its unit in the head, as in `hardness [mg/L as CaCO3]` or `calcium : magnesium [mol/mol]`.
//!
//! Above 400 lines: every head of a table, and what its cells are in a target and in an analysis.

use std::collections::HashSet;
use std::ops::Range;

use crate::bench::conductivity_entry::{CONDUCTIVITY_IS, us_per_cm_at_25};
use crate::bench::flight_writer::quoted;
use crate::bench::place::can_be_name;
use crate::bench::trade_answer::head_answer;
use crate::bench::water_entry::{WITHIN_IS, can_be_within};
use crate::bench::{explain, kept};
use crate::files::csv_table::{CsvRow, CsvTable};
use crate::files::{Diagnostic, SourceText};
use crate::flight::GoalError;
use crate::flight::ladder;
use crate::flight::ladder::WrittenTarget;
use crate::flight::{Goal, Target};
use crate::mix::table_report::BETWEEN_STOCKS;
use crate::quantities::spelling::bare_number;
use crate::quantities::{Dimension, Fraction, Quantity, QuantityError, Unit};
use crate::stock::Price;
use crate::text::names;
use crate::water::{Amount, Analysis, BaseWater, Measure, MeasureError};

/// What a column holds.
enum Column {
    Name,
    Ph,
    Conductivity(Option<String>),
    Measure(Measure, Option<String>),
    Ratio(Measure, Measure, Option<String>),
    /// How far the amounts of an analysis may be off.
    Within(Option<String>),
    /// What a base water costs.
    Price,
    /// Stocks that must be in a target.
    With,
    /// Stocks that stay out of it.
    Without,
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

/// A cell of the table with its head and its place in the file.
#[derive(Clone, Copy)]
struct Cell<'a> {
    source: &'a SourceText,
    head: &'a str,
    text: &'a str,
    place: &'a Range<usize>,
}

impl Cell<'_> {
    /// What is wrong with it.
    fn wrong(&self, title: impl Into<String>) -> Diagnostic {
        Diagnostic::content(title)
            .at(self.source, Some(self.place.clone()))
            .found(format!("`{}` in the column `{}`", self.text, self.head))
    }
}

/// The heads, each as a cell of its own column.
fn heads<'a>(source: &'a SourceText, table: &'a CsvTable) -> impl Iterator<Item = Cell<'a>> {
    let heads = table.heads.iter().zip(&table.head_places);
    heads.map(move |(head, place)| Cell { source, head, text: head, place })
}

/// The cells of a row.
fn cells<'a>(
    source: &'a SourceText,
    table: &'a CsvTable,
    row: &'a CsvRow,
) -> impl Iterator<Item = Cell<'a>> {
    let cells = table.heads.iter().zip(row.cells.iter().zip(&row.places));
    cells.map(move |(head, (text, place))| Cell { source, head, text, place })
}

/// What is wrong with a whole row.
fn wrong_row(source: &SourceText, row: &CsvRow, title: impl Into<String>) -> Diagnostic {
    Diagnostic::content(title).at(source, row.place())
}

fn columns(source: &SourceText, table: &CsvTable) -> Result<Vec<Column>, Diagnostic> {
    let columns = heads(source, table).map(|head| column(&head)).collect::<Result<Vec<_>, _>>()?;
    for (at, (column, head)) in columns.iter().zip(heads(source, table)).enumerate() {
        if let Some(first) = columns.iter().take(at).position(|c| c.holds_the_same(column)) {
            let first = table.heads.get(first).cloned().unwrap_or_default();
            return Err(head
                .wrong("two columns hold the same")
                .found(format!("`{first}` and `{}`", head.text))
                .expected("each measure in one column")
                .remedy("take one of the two out"));
        }
    }
    if !columns.iter().any(|c| matches!(c, Column::Name)) {
        let place = table.head_places.first().cloned();
        return Err(Diagnostic::content("no column holds the names")
            .at(source, place)
            .found(table.heads.join(", "))
            .expected("a column with the head `name`"));
    }
    Ok(columns)
}

fn column(cell: &Cell) -> Result<Column, Diagnostic> {
    let head = cell.text;
    let lower = head.trim().to_lowercase();
    if lower == "name" || lower == "target" || lower == "water" {
        return Ok(Column::Name);
    }
    match lower.as_str() {
        "ph" => return Ok(Column::Ph),
        "price" => return Ok(Column::Price),
        "with" => return Ok(Column::With),
        "without" => return Ok(Column::Without),
        _ => {}
    }
    let (key, unit) = match head.split_once(['[', '(']) {
        Some((key, rest)) => {
            let unit = rest.trim().trim_end_matches([']', ')']).trim();
            (key.trim(), Some(unit.to_owned()))
        }
        None => match unit_behind(head.trim()) {
            Some((key, unit)) => (key, Some(unit.to_owned())),
            None => (head.trim(), None),
        },
    };
    let of_volume = unit.as_deref().and_then(|unit| Unit::parse(unit).ok());
    if of_volume.is_some_and(|unit| unit.dimension() == Dimension::VolumePerVolume) {
        return Ok(Column::Dose);
    }
    if key.eq_ignore_ascii_case("conductivity") {
        return Ok(Column::Conductivity(unit));
    }
    if key.eq_ignore_ascii_case("within") {
        return Ok(Column::Within(unit));
    }
    let measure = |key: &str| {
        Measure::from_key(key).ok_or_else(|| {
            let diagnostic = cell
                .wrong(format!("`{}` is not a measure known here", key.trim()))
                .found(format!("the head `{head}`"))
                .expected("as in `hardness [mg/L as CaCO3]`, or `name`, or `ph`");
            if let Some(said) = head_answer(key, unit.as_deref()) {
                return diagnostic.remedy(said);
            }
            diagnostic
                .remedy(format!("measures are {}; ph and conductivity", Measure::KEYS.join(", ")))
                .near(key.trim(), Measure::KEYS)
        })
    };
    match key.split_once(':') {
        Some((of, to)) => Ok(Column::Ratio(measure(of)?, measure(to)?, unit)),
        None => Ok(Column::Measure(measure(key)?, unit)),
    }
}

/// `hardness °dH`: a unit that stands behind the name of a column without brackets.
fn unit_behind(head: &str) -> Option<(&str, &str)> {
    let mut places = head.match_indices(' ').map(|(at, _)| head.split_at(at));
    let is_unit =
        |unit: &str| Unit::parse(unit).is_ok() || us_per_cm_at_25(&format!("1 {unit}")).is_some();
    places.find(|(_, unit)| is_unit(unit.trim())).map(|(key, unit)| (key.trim(), unit.trim()))
}

/// The cell with the unit of its column, where it has none of its own.
fn with_unit(cell: &str, unit: Option<&str>) -> String {
    let Some(unit) = unit else { return cell.to_owned() };
    match cell.split_once(", ") {
        Some((wanted, rest)) => format!("{} {unit}, {rest}", wanted.trim()),
        None => format!("{cell} {unit}"),
    }
}

/// The name in a row.
fn name_of(source: &SourceText, columns: &[Column], row: &CsvRow) -> Result<String, Diagnostic> {
    let place = columns.iter().position(|c| matches!(c, Column::Name));
    let name = place.and_then(|n| row.cells.get(n)).map(|c| c.trim().to_owned());
    let name = name.filter(|name| !name.is_empty());
    let name = name.ok_or_else(|| wrong_row(source, row, "a row has no name"))?;
    can_be_name(&name).map_err(|error| error.at(source, row.place()))?;
    Ok(name)
}

/// Stocks that a cell names, with its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StockCell {
    /// The stocks.
    pub names: Vec<String>,
    /// Its place in the file.
    pub place: Range<usize>,
}

impl StockCell {
    fn of(cell: &Cell) -> Self {
        let names = cell.text.split(BETWEEN_STOCKS.trim()).map(str::trim);
        let names = names.filter(|name| !name.is_empty()).map(str::to_owned).collect();
        Self { names, place: cell.place.clone() }
    }
}

/// A target made from a row.
#[derive(Debug, Clone)]
pub struct TableTarget {
    /// The target, as it is written into a flight.
    pub target: WrittenTarget,
    /// The stocks that must be in it; nothing where the table has no such column.
    pub with: Option<StockCell>,
    /// The stocks that stay out of it, likewise.
    pub without: Option<StockCell>,
}

/// The targets of a table, in its order.
///
/// # Errors
/// The first head or cell that is not understood, and names that stand twice.
pub fn targets(source: &SourceText, table: &CsvTable) -> Result<Vec<TableTarget>, Diagnostic> {
    let columns = columns(source, table)?;
    let mut targets: Vec<TableTarget> = Vec::new();
    let mut taken = HashSet::new();
    for row in &table.rows {
        let name = name_of(source, &columns, row)?;
        if !taken.insert(names::folded(&name)) {
            let title = format!("the target `{name}` stands twice");
            return Err(wrong_row(source, row, title).remedy("give one of the two another name"));
        }
        let mut goals = Vec::new();
        let (mut with, mut without) = (None, None);
        for (column, cell) in columns.iter().zip(cells(source, table, row)) {
            match column {
                Column::With => with = Some(StockCell::of(&cell)),
                Column::Without => without = Some(StockCell::of(&cell)),
                _ => {}
            }
            if cell.text.is_empty() {
                continue;
            }
            let goal = match column {
                Column::Name | Column::Dose | Column::With | Column::Without => continue,
                Column::Within(_) | Column::Price => {
                    let title = format!("{} is no goal: it belongs to a base water", cell.head);
                    return Err(cell
                        .wrong(title)
                        .remedy("leave the column out, or import the table as analyses"));
                }
                Column::Ph | Column::Conductivity(_) => {
                    let title = format!("{} is no goal: it follows from the water", cell.head);
                    return Err(cell
                        .wrong(title)
                        .remedy("leave the column out, or import the table as analyses"));
                }
                Column::Measure(m, unit) => {
                    read_goal(cell.text, unit.as_deref(), |text| Goal::parse(*m, text))
                }
                Column::Ratio(of, to, unit) => {
                    read_goal(cell.text, unit.as_deref(), |text| Goal::parse_ratio(*of, *to, text))
                }
            };
            goals.push(goal.map_err(|error| {
                let units = match column {
                    Column::Measure(measure, _) => measure.choices(),
                    _ => Vec::new(),
                };
                let wrong = explain::goal(&error, &units).to(cell.wrong(error.to_string()));
                wrong.expected("a goal as in a flight file; its unit in the cell or in the head")
            })?);
        }
        if goals.is_empty() {
            return Err(wrong_row(source, row, format!("target `{name}` has no goal"))
                .expected("an amount in at least one of its columns"));
        }
        let target = ladder::rewritten(&Target { name, goals })
            .map_err(|error| wrong_row(source, row, error.to_string()))?;
        targets.push(TableTarget { target, with, without });
    }
    Ok(targets)
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
#[derive(Default)]
struct AnalysisRow {
    amounts: Vec<(Measure, Amount)>,
    ph: Option<f64>,
    us_per_cm: Option<f64>,
    within: Option<f64>,
    /// Its lines in the file of the water: measured, and what stands beside them.
    measured: String,
    beside: String,
}

impl AnalysisRow {
    /// Takes in a cell. An empty one was not measured.
    fn take(&mut self, column: &Column, cell: &Cell) -> Result<(), Diagnostic> {
        match column {
            _ if cell.text.is_empty() => {}
            Column::Name | Column::Dose => {}
            Column::Ph => {
                let ph = bare_number(cell.text).ok().filter(|v| (0.0..=14.0).contains(v));
                let ph = ph.ok_or_else(|| {
                    cell.wrong("this is not a pH").expected("a number from 0 to 14")
                })?;
                self.ph = Some(ph);
                self.beside.push_str(&format!("    ph: {ph},\n"));
            }
            Column::Conductivity(unit) => {
                let text = match us_per_cm_at_25(cell.text) {
                    Some(_) => cell.text.to_owned(),
                    None => with_unit(cell.text, unit.as_deref()),
                };
                self.us_per_cm = Some(us_per_cm_at_25(&text).ok_or_else(|| {
                    cell.wrong("this is no conductivity of a water").expected(CONDUCTIVITY_IS)
                })?);
                self.beside.push_str(&format!("    conductivity: {},\n", quoted(&text)));
            }
            Column::Within(unit) => {
                let share = |text: &str| Quantity::parse_as(text, &[Dimension::Percent]);
                let text = match share(cell.text) {
                    Err(QuantityError::NoUnit { .. }) => with_unit(cell.text, unit.as_deref()),
                    _ => cell.text.to_owned(),
                };
                let read = share(&text).ok().filter(|share| can_be_within(*share));
                self.within = Some(read.ok_or_else(|| {
                    cell.wrong("an analysis is not that far off").expected(WITHIN_IS)
                })?);
                self.beside.push_str(&format!("    within: {},\n", quoted(&text)));
            }
            Column::Price => {
                Price::parse(cell.text, Dimension::Volume).map_err(|error| {
                    cell.wrong(error.to_string()).expected(kept::price_is(Dimension::Volume))
                })?;
                self.beside.push_str(&format!("    price: {},\n", quoted(cell.text)));
            }
            Column::With | Column::Without => {
                return Err(cell
                    .wrong("an analysis names no stocks")
                    .remedy("leave the column out, or import the table as targets"));
            }
            Column::Ratio(..) => {
                return Err(cell.wrong("a ratio is no part of an analysis"));
            }
            Column::Measure(measure, unit) => {
                let text = match Amount::parse(*measure, cell.text) {
                    Err(MeasureError::Quantity(QuantityError::NoUnit { .. })) => {
                        with_unit(cell.text, unit.as_deref())
                    }
                    _ => cell.text.to_owned(),
                };
                let amount = Amount::parse(*measure, &text).map_err(|error| {
                    let wrong =
                        explain::measure(*measure, &error).to(cell.wrong(error.to_string()));
                    match error {
                        MeasureError::NoLimit { .. } => {
                            wrong.remedy("leave the cell empty where it was not looked for")
                        }
                        MeasureError::Quantity(QuantityError::NoUnit { .. }) => wrong
                            .remedy(format!("name the unit in the head: `{} [mg/L]`", cell.head)),
                        _ => wrong,
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
    let mut taken = HashSet::new();
    for row in &table.rows {
        let name = name_of(source, &columns, row)?;
        if !taken.insert(names::folded(&name)) {
            let title = format!("the water `{name}` stands twice");
            return Err(wrong_row(source, row, title).remedy("give one of the two another name"));
        }
        let mut read = AnalysisRow::default();
        for (column, cell) in columns.iter().zip(cells(source, table, row)) {
            read.take(column, &cell)?;
        }
        let AnalysisRow { amounts, ph, us_per_cm, within, measured, beside } = read;
        let within = Fraction::new(within.unwrap_or(0.0));
        let analysis = Analysis { ph, us_per_cm, within, ..Analysis::new(name.clone(), amounts) };
        let water = analysis.water().map_err(|error| {
            let wrong = wrong_row(source, row, error.to_string()).found(format!("`{name}`"));
            explain::analysis(&error).to(wrong)
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
