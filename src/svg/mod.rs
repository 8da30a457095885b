//! Pictures as SVG: pure, fed by plain numbers, readable without colour and without sight.
//!
//! May use: `quantities` and the round axes of `text`. Never: a report, a file, a colour that is not
//! in the palette.
//!
//! ```
//! use waterflight::svg::Drawing;
//!
//! let mut picture = Drawing::new("one", "One dot", "A dot in the middle.");
//! picture.circle("mark", (50.0, 50.0), 4.0);
//! picture.reach_down_to(100.0);
//! let file = picture.file();
//! assert!(file.contains("<title") && file.contains("One dot"));
//! ```

pub mod agreement;
pub mod charge_stacks;
pub mod drawing;
pub mod intervals;
pub mod labels;
pub mod levels;
pub mod lines;
pub mod map;
pub mod palette;
pub mod plot;
pub mod qr_code;
pub mod text_width;

pub use drawing::{Anchor, Drawing, Weight};
