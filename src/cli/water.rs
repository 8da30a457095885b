//! `water`: what a water is, what a meter will read, whether it scales or corrodes.

use std::path::Path;

use crate::app::NamedWaters;
use crate::app::mistakes::{internal, too_strong};
use crate::assessment::limescale_curve::LimescaleCurve;
use crate::assessment::{Described, Lab, WaterAnswer};
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome};
use crate::cli::print::{WaterPicture, WaterPictureOptions};
use crate::cli::progress::watched;
use crate::page::pictures;
use crate::water::Meter;

pub(super) fn run(
    bench: Option<&Path>,
    names: &[String],
    picture: &WaterPictureOptions,
    how: How,
) -> Outcome {
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
    let mut answers = chosen
        .iter()
        .map(|water| {
            WaterAnswer::new(&lab, &meter, water)
                .map(|answer| answer.beside(bench.machine.as_ref(), water))
                .map_err(|error| too_strong(&water.name, &error))
        })
        .collect::<Result<Vec<_>, _>>()?;
    let drawn = match picture.picture {
        WaterPicture::Charges => picture.file.write(|| pictures::charges(&answers))?,
        WaterPicture::Limescale => {
            for (answer, water) in answers.iter_mut().zip(&chosen) {
                answer.limescale_curve = lab
                    .limescale_curve(&water.name, &water.water)
                    .map_err(|error| too_strong(&water.name, &error))?;
            }
            let curves = answers.iter().filter_map(|answer| answer.limescale_curve.clone());
            let curves: Vec<LimescaleCurve> = curves.collect();
            let boilers = [
                (bench.boilers.brew.value(), "brew boiler"),
                (bench.boilers.steam.value(), "steam boiler"),
            ];
            picture.file.write(|| pictures::limescale(&curves, &boilers))?
        }
    };
    if how.json {
        crate::text::json::document(&answers).map_err(|e| internal(&e))
    } else {
        Ok(crate::assessment::water_text::text(&answers, how.extent) + &drawn)
    }
}
