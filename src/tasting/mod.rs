//! The blind tasting before it begins: what is asked, who gets what when, and who may know.

pub mod ask;
pub mod balance;
pub mod block_orders;
pub mod blocks;
pub mod codes;
pub mod draw;
mod families;
pub mod forecast;
pub mod key;
mod layout;
pub mod method;
mod near_blocks;
pub mod panel;
pub mod prep;
pub mod psychometric;
pub mod request;
mod request_error;
pub mod session;
pub mod sets;
pub mod solo;
pub mod williams;
pub mod wording;

pub use ask::{Ask, Way, chosen_waters};
pub use balance::Balance;
pub use codes::{Code, CodeError};
pub use draw::{Draw, GENERATOR, NoRandomness, Purpose, Seed};
pub use forecast::{Forecast, FoundScore, forecast};
pub use key::{Key, KeyCup, KeyError, Nonce};
pub use method::{Attribute, DuoTrioReference, Method, OnScale, Question, Sides};
pub use panel::{ChoiceTest, Noise, Scatter, ScoreDesign};
pub use prep::{DosedWater, Preparation};
pub use psychometric::Test;
pub use request::{Blinding, Brewing, CodeScope, Duplicates, Request, RequestError, Serving};
pub use session::{Plan, PlanError, Tray, Verified};
pub use solo::Step;
pub use wording::WordingError;
