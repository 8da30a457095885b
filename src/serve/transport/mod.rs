//! Connections and requests: which address, how many at once, how long, how large, from which page. It
//! knows no word of the trade and nothing of what it carries.
//!
//! May use: `files`. Never: what an answer says.
//!
//! ```
//! use waterflight::serve::transport::Token;
//!
//! let token = Token::new()?;
//! assert!(token.is_whole() && token.is(token.text()));
//! assert!(!token.is("guessed"));
//! # Ok::<(), waterflight::files::Diagnostic>(())
//! ```

pub mod accept;
pub mod address;
pub mod guard;
mod run;
pub mod token;

pub use address::{On, Opened};
pub use guard::{Fields, Guard};
pub use run::run;
pub use token::Token;
