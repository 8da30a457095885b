//! The committed tables of numbers, row by row.

use std::error::Error;

use waterflight::chemistry::{Composition, Conserved};

/// The water of a row that has a column for each total of a mineral water, mmol/L.
pub(crate) fn mineral_water(
    number: impl Fn(&str) -> Result<f64, Box<dyn Error>>,
) -> Result<Composition, Box<dyn Error>> {
    let mut water = Composition::PURE_WATER;
    for total in Conserved::ALL {
        let column = match total {
            Conserved::Alkalinity => "Alkalinity",
            Conserved::Lactate | Conserved::Citrate => continue,
            other => other.key(),
        };
        water.set_mmol_per_l(total, number(column)?);
    }
    Ok(water)
}

pub(crate) fn rows(table: &str) -> Result<Vec<csv::StringRecord>, csv::Error> {
    csv::Reader::from_reader(table.as_bytes()).records().collect()
}

pub(crate) fn text(row: &csv::StringRecord, column: usize) -> Result<&str, Box<dyn Error>> {
    row.get(column).ok_or_else(|| "a column is missing".into())
}

pub(crate) fn number(row: &csv::StringRecord, column: usize) -> Result<f64, Box<dyn Error>> {
    Ok(text(row, column)?.parse()?)
}
