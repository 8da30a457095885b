//! A target moved by hand: its goals on a page, and at once the doses, what the water then holds, its
//! limescale and cost, and where it lies on the map of what the shelf can make. Everything is computed
//! by the planner; the page only shows it. One thing is written, and only when asked: a flight with the
//! target, never over a file.
//!
//! May use: `bench`, the planner and what reports a flight, `page` and `svg` for pictures, and of the
//! table its frame and responses. Never: a session, a formula, a file that is there already.
//!
//! ```
//! use waterflight::bench::Bench;
//! use waterflight::serve::explore::{Asked, Shelf};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let bench = Bench::open("stocks/demo".as_ref())?;
//! let shelf = Shelf::of(&bench, Some("first-flight"))?;
//! let fields = [("hardness".to_owned(), "70 mg/L as CaCO3".to_owned())];
//! let answer = shelf.answer(&Asked::read(&fields))?;
//! assert!(answer.waters[0].reached);
//! # Ok(())
//! # }
//! ```

mod asked;
mod explore_page;
mod explore_server;
mod shelf;

pub use asked::{Asked, AskedError};
pub use explore_server::ExploreServer;
pub use shelf::{Answer, Shelf};
