//! Options of a command line that change what a flight asks of the bench.

use clap::Args;

use crate::app::FlightRequest;
use crate::cli::amount::bottle_size;
use crate::files::{Diagnostic, Mistakes};
use crate::flight::{StockSet, dose_limits};
use crate::quantities::{Dimension, Millilitres, Quantity};

/// What a flight asks of the bench, beside or instead of what its file says.
#[derive(Debug, Default, Args)]
pub(super) struct OrderOptions {
    /// Doses in steps of this dispenser of bench.ron; `none` for doses without steps.
    #[arg(long, value_name = "NAME")]
    dispenser: Option<String>,
    /// Size of a bottle, instead of that of the flight: mL, L, US gal, US fl oz, imp fl oz.
    #[arg(long, value_name = "VOLUME")]
    bottle: Option<String>,
    /// Add up for so many bottles of each water.
    #[arg(long = "for", value_name = "N", value_parser = clap::value_parser!(u32).range(1..=1000))]
    bottles: Option<u32>,
    /// Open as few stocks as serve every target.
    #[arg(long, conflicts_with = "at_most")]
    fewest: bool,
    /// Open at most so many stocks, those that make the best flight.
    #[arg(long, value_name = "N")]
    at_most: Option<usize>,
    /// Take the same stocks in every water, as few as serve; needs a dispenser.
    #[arg(long, conflicts_with_all = ["fewest", "at_most"])]
    same: bool,
    /// What is left of a stock, for the whole flight.
    #[arg(long, value_name = "STOCK=VOLUME")]
    left: Vec<String>,
    /// A stock that a water must have.
    #[arg(long, value_name = "[TARGET=]STOCK")]
    with: Vec<String>,
    /// A stock that a water must not have.
    #[arg(long, value_name = "[TARGET=]STOCK")]
    without: Vec<String>,
    /// Pour no more than this of all stocks together, per litre: 100 mL/L unless given, or none.
    #[arg(long, value_name = "AMOUNT")]
    most_stocks: Option<String>,
    /// Let no water hold more dissolved solids than this: 1500 mg/L unless given, or none.
    #[arg(long, value_name = "AMOUNT")]
    most_solids: Option<String>,
    /// Within the tolerances, as near as possible to the water of this target.
    #[arg(
        long,
        value_name = "TARGET",
        conflicts_with_all = ["fewest", "at_most", "same", "left", "with", "without"]
    )]
    nearest_to: Option<String>,
}

impl OrderOptions {
    /// The options read.
    pub(super) fn request(&self) -> Result<FlightRequest, Mistakes> {
        let limit = |option: &str, text: &Option<String>, dimension, example| {
            let Some(text) = text else { return Ok(None) };
            dose_limits::read(text, dimension).map(Some).map_err(|error| {
                Diagnostic::choice(error.to_string())
                    .found(format!("`{text}`"))
                    .expected(format!("an amount above zero, as in \"{example}\", or none"))
                    .typed_with(option)
            })
        };
        let stock_set = match (self.fewest, self.at_most, self.same) {
            (true, _, _) => Some(StockSet::Fewest),
            (_, Some(most), _) => Some(StockSet::AtMost(most)),
            (_, _, true) => Some(StockSet::Same),
            _ => None,
        };
        Ok(FlightRequest {
            dispenser: self.dispenser.clone(),
            stock_set,
            left: self.left.iter().map(|text| left(text)).collect::<Result<_, _>>()?,
            with: self.with.iter().map(|text| choice(text)).collect(),
            without: self.without.iter().map(|text| choice(text)).collect(),
            stocks_ml_per_l: limit(
                "--most-stocks",
                &self.most_stocks,
                Dimension::VolumePerVolume,
                "100 mL/L",
            )?,
            dissolved_solids_mg_per_l: limit(
                "--most-solids",
                &self.most_solids,
                Dimension::MassPerVolume,
                "1500 mg/L",
            )?,
            bottle: self.bottle.as_deref().map(bottle_size).transpose()?,
            bottles: self.bottles,
            nearest_to: self.nearest_to.clone(),
            only: None,
        })
    }
}

/// `STOCK=VOLUME`.
fn left(text: &str) -> Result<(String, Millilitres), Diagnostic> {
    let (name, volume) = text.split_once('=').unwrap_or((text, ""));
    let ml = Quantity::parse_as(volume, &[Dimension::Volume]).map_err(|error| {
        Diagnostic::choice(error.to_string())
            .found(format!("`{text}`"))
            .expected("a stock and a volume, as in --left \"epsom=80 mL\"")
    })?;
    Ok((name.to_owned(), Millilitres::new(ml)))
}

/// `[TARGET=]STOCK`.
fn choice(text: &str) -> (Option<String>, String) {
    match text.rsplit_once('=') {
        Some((target, name)) => (Some(target.to_owned()), name.to_owned()),
        None => (None, text.to_owned()),
    }
}
