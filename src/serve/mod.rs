//! The tasting table as a local page: each taster scores on the own phone, the host watches, and after
//! the reveal everybody sees what was learnt. The log of the session stays the one store, so terminal,
//! tables and phones are used side by side.
//!
//! [`explore`] is another page, of the bench and without a session: a target moved by hand.
//!
//! What can be asked before the reveal is made in [`blind`], which is given the plan and the log and
//! cannot reach the key or the waters. [`transport`] holds what concerns connections alone. May use:
//! `app`, `bench`, `page` for the results, and what `blind` may. Never: an answer kept anywhere but in
//! the log, a script or a font from elsewhere.
//!
//! ```
//! use waterflight::serve::transport::On;
//! use waterflight::serve::{Settings, TableServer};
//!
//! let settings = Settings { on: On::parse("lan")?, port: None, key: None };
//! let none = TableServer::open("stocks/demo".as_ref(), "autumn", settings);
//! assert!(none.is_err()); // the demo has no session of that name
//! # Ok::<(), waterflight::files::Diagnostic>(())
//! ```

pub mod blind;
pub mod explore;
mod revealed;
mod table_server;
pub mod transport;

pub use table_server::{Settings, TableLinks, TableServer};
