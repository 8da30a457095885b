//! `water`: what a water is, what a meter will read, whether it scales or corrodes.

use std::path::Path;

use crate::app::water_answers::water_answers;
use crate::cli::bench;
use crate::cli::outcome::{How, Outcome, answer};
use crate::cli::print::{WaterPicture, WaterPictureOptions};
use crate::cli::progress::watched;
use crate::page::pictures;

pub(super) fn run(
    bench: Option<&Path>,
    names: &[String],
    picture: &WaterPictureOptions,
    how: How,
) -> Outcome {
    let bench = bench::open_any(bench)?;
    let curves = picture.picture == WaterPicture::Limescale;
    let answers = watched(|watch| water_answers(&bench, names, curves, watch))?;
    let drawn = picture.file.write(|| match picture.picture {
        WaterPicture::Charges => pictures::charges(&answers),
        WaterPicture::Limescale => pictures::limescale(&answers, bench.boilers),
    })?;
    answer(&answers, how.json, |answers| {
        crate::assessment::water_text::text(answers, how.extent) + &drawn
    })
}
