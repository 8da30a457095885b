//! Pages and pictures written beside what a command says.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::bench::Bench;
use crate::files::{Diagnostic, Mistakes, write};
use crate::page::labels::{self, Label};
use crate::svg::Drawing;
use crate::svg::drawing::MARK;
use crate::water::Measure;
use crate::water::trade_words::in_a_sentence;

/// A page to print.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct PrintOptions {
    /// Write a page to print: one HTML file with everything in it.
    #[arg(long, value_name = "FILE.html")]
    pub(super) print: Option<PathBuf>,
    /// Write labels instead: columns x rows of the sheet, as in 3x7, or a name of `labels` in bench.ron.
    #[arg(long, value_name = "SHEET", requires = "print")]
    labels: Option<String>,
    /// First free label of the sheet, counted along the rows.
    #[arg(long, value_name = "POSITION", requires = "labels", default_value_t = 1)]
    start: usize,
}

impl PrintOptions {
    /// Writes the page, or the labels where they are asked for; says so in a line. `page` and `labels`
    /// are made only when they are needed.
    pub(super) fn write(
        &self,
        bench: &Bench,
        title: &str,
        page: impl FnOnce() -> String,
        of_labels: impl FnOnce() -> Vec<Label>,
    ) -> Result<String, Mistakes> {
        let Some(path) = &self.print else { return Ok(String::new()) };
        let text = match &self.labels {
            None => page(),
            Some(name) => {
                let sheet = bench.label_sheet(name)?;
                if !(1..=sheet.per_sheet()).contains(&self.start) {
                    return Err(Mistakes::from(
                        Diagnostic::choice(format!(
                            "there is no label {} on this sheet",
                            self.start
                        ))
                        .expected(format!("--start from 1 to {}", sheet.per_sheet())),
                    ));
                }
                labels::page(title, &sheet, &of_labels(), self.start)
            }
        };
        written(path, "html", &text)
    }
}

/// A picture as a file.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct PictureOptions {
    /// Write a picture as a file of its own.
    #[arg(long, value_name = "FILE.svg")]
    pub(super) svg: Option<PathBuf>,
}

impl PictureOptions {
    /// Writes the picture where one is asked for; says so in a line.
    pub(super) fn write(
        &self,
        drawing: impl FnOnce() -> Option<Drawing>,
    ) -> Result<String, Mistakes> {
        let Some(path) = &self.svg else { return Ok(String::new()) };
        let drawing =
            drawing().ok_or_else(|| Diagnostic::choice("there is nothing to draw a picture of"))?;
        written(path, "svg", &drawing.file())
    }
}

/// A picture of a flight.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct FlightPictureOptions {
    #[command(flatten)]
    pub(super) file: PictureOptions,
    /// The waters on a map with what the shelf can make, or by charge, cations beside anions.
    #[arg(long, value_enum, default_value_t = FlightPicture::Map, requires = "svg")]
    pub(super) picture: FlightPicture,
    /// The two measures of the map: to the right, upward.
    #[arg(
        long,
        value_name = "MEASURES",
        value_delimiter = ',',
        default_value = "hardness,alkalinity"
    )]
    pub(super) axes: Vec<String>,
}

/// What a picture of a flight shows.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum FlightPicture {
    #[default]
    Map,
    Charges,
}

impl FlightPictureOptions {
    /// The measures of the map.
    pub(super) fn measures(&self) -> Result<[Measure; 2], Mistakes> {
        let found: Vec<Option<Measure>> =
            self.axes.iter().map(|key| Measure::from_key(key)).collect();
        match found.as_slice() {
            [Some(x), Some(y)] if x != y => Ok([*x, *y]),
            _ => {
                let diagnostic = Diagnostic::choice(format!(
                    "--axes: `{}` are no two measures",
                    self.axes.join(",")
                ))
                .expected(format!("two of {}", Measure::KEYS.join(", ")));
                Err(match self.axes.iter().find_map(|key| in_a_sentence(key)) {
                    Some(meaning) => diagnostic.remedy(meaning).into(),
                    None => diagnostic.into(),
                })
            }
        }
    }
}

/// A picture of waters.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct WaterPictureOptions {
    #[command(flatten)]
    pub(super) file: PictureOptions,
    /// By charge, cations beside anions, or limescale over the temperature, of four waters at most.
    #[arg(long, value_enum, default_value_t = WaterPicture::Charges, requires = "svg")]
    pub(super) picture: WaterPicture,
}

/// What a picture of waters shows.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum WaterPicture {
    #[default]
    Charges,
    Limescale,
}

/// Writes a page or a picture; says so in a line. A file of another kind is never written over.
pub(super) fn written(path: &Path, ending: &str, text: &str) -> Result<String, Mistakes> {
    let has = path.extension().map(|e| e.to_string_lossy().to_lowercase());
    if has.as_deref() != Some(ending) && !(ending == "html" && has.as_deref() == Some("htm")) {
        return Err(Mistakes::from(
            Diagnostic::choice(format!("`{}` does not end in .{ending}", path.display()))
                .expected(format!("a file name as in sheet.{ending}")),
        ));
    }
    write::page_file(path, text, MARK)?;
    Ok(format!("Written: {}\n", path.display()))
}
