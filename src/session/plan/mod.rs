//! A session before anyone tastes: the method that answers a question, serving orders balanced for
//! place and carry-over, codes, the sealed key, what a panel can find, how much to prepare.
//!
//! The same request, seed and nonce draw the same plan on every machine. May use: `quantities`,
//! `numerics`. Never: an answer of a taster, or in a plan anything that says which code is which
//! water.
//!
//! ```
//! use waterflight::session::plan::{ChoiceTest, Test};
//!
//! // of 24 triangles 13 right are needed at 5 %; that many or more are guessed with p = 0.0284
//! let triangle = ChoiceTest { test: Test::Triangle, two_sided: false, alpha: 0.05 };
//! assert_eq!(triangle.least_right(24), Some(13));
//! assert!((triangle.p_value(13, 24) - 0.028_441).abs() < 1e-6);
//! ```

pub mod analysis_plan;
pub mod ask;
pub(crate) mod block_designs;
pub mod block_orders;
pub mod blocks;
mod coded_trays;
pub mod codes;
pub(crate) mod common_phrases;
pub mod draw;
mod each_once;
pub mod encrypted_key;
pub mod forecast;
pub mod key;
pub(crate) mod layout;
pub mod least_p;
pub mod method;
pub(crate) mod nearly_balanced_blocks;
pub mod order_balance;
pub mod pair_orders;
pub mod panel;
pub mod preparation;
pub mod psychometric;
pub mod ranking_blocks;
pub mod request;
pub(crate) mod request_error;
pub mod session;
pub mod solo;
mod tray;
pub(crate) mod unread;
pub mod unwritable;
pub mod wanted;
pub mod williams;
pub mod wording;

pub use analysis_plan::{AdjustFor, AnalysisPlan, UnknownAdjustment};
pub use ask::{MethodRequest, chosen_waters};
pub use codes::{Code, CodeError};
pub use draw::{Draw, GENERATOR, NoRandomness, Nonce, Purpose, Seed};
pub(crate) use each_once::each_once;
pub use forecast::{Forecast, FoundScore, forecast_of_answers};
pub use key::{Key, KeyCup, KeyError};
pub use method::{Attribute, DuoTrioReference, Method, MethodKind, OnScale, Question, Sides};
pub use order_balance::Balance;
pub use panel::{AssumedScatter, ChoiceTest, Scatter, ScoreDesign};
pub use preparation::{DosedWater, Preparation};
pub use psychometric::Test;
pub use request::{Blinding, Brewing, CodeScope, Duplicates, Request, Serving};
pub use request_error::RequestError;
pub use session::{Plan, PlanError, Verified};
pub use solo::Step;
pub use tray::Tray;
pub use unwritable::Unwritable;
pub use wanted::{Aim, AimError, Direction};
pub use wording::WordingError;
