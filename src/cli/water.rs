//! `water`: what a water is, what a meter will read, whether it scales or corrodes.

use std::path::Path;

use crate::app::NamedWaters;
use crate::app::mistakes::{internal, too_strong};
use crate::assessment::{Described, Lab, WaterAnswer};
use crate::cli::bench;
use crate::cli::outcome::Outcome;
use crate::cli::progress::watched;
use crate::water::Meter;

pub(super) fn run(bench: Option<&Path>, names: &[String], details: bool, json: bool) -> Outcome {
    let bench = bench::open_any(bench)?;
    let chosen: Vec<Described> = watched(|watch| {
        let waters = NamedWaters::of(&bench, watch);
        if names.is_empty() {
            waters.all()
        } else {
            names.iter().map(|name| waters.find(name)).collect()
        }
    })?;
    let lab = Lab::new(bench.boilers).map_err(|error| internal(&error))?;
    let meter = Meter::new(bench.meter).map_err(|error| internal(&error))?;
    let answers = chosen
        .iter()
        .map(|water| {
            WaterAnswer::new(&lab, &meter, water)
                .map(|answer| answer.beside(bench.machine.as_ref(), water))
                .map_err(|error| too_strong(&water.name, &error))
        })
        .collect::<Result<Vec<_>, _>>()?;
    if json {
        crate::text::json::document(&answers).map_err(|e| internal(&e))
    } else {
        Ok(crate::assessment::water_text::text(&answers, details))
    }
}
