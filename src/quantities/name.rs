//! What a name may be: words in one line, of a length that a table can show.

use thiserror::Error;

/// Most letters of a name. Our choice: two lines and a half of a terminal.
pub const MOST_LETTERS: usize = 200;

/// Why a text is no name.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NameFault {
    /// Too long to be shown.
    #[error("it has {letters} letters, and {MOST_LETTERS} are the most")]
    TooLong {
        /// Its letters.
        letters: usize,
    },
    /// Something in it is no letter, sign or blank.
    #[error("it holds a line break or another control character")]
    Control,
    /// It would be read as an option where a command is typed.
    #[error("it begins with `-`, as options of a command do")]
    Dash,
}

/// Tests that a text can be a name.
///
/// ```
/// use waterflight::quantities::name::{NameFault, check};
/// assert_eq!(check("middle, all calcium"), Ok(()));
/// assert_eq!(check(&"soft ".repeat(50)), Err(NameFault::TooLong { letters: 250 }));
/// assert_eq!(check("so\u{9b}ft"), Err(NameFault::Control));
/// ```
///
/// # Errors
/// When it cannot.
pub fn check(name: &str) -> Result<(), NameFault> {
    match name.chars().count() {
        letters if letters > MOST_LETTERS => Err(NameFault::TooLong { letters }),
        _ if name.contains(char::is_control) => Err(NameFault::Control),
        _ => Ok(()),
    }
}

/// Tests that a text can be the name of something new, which commands are to be typed with. What was named
/// before is read whatever its first letter is.
///
/// ```
/// use waterflight::quantities::name::{NameFault, check_new};
/// assert_eq!(check_new("all-calcium"), Ok(()));
/// assert_eq!(check_new("-calcium"), Err(NameFault::Dash));
/// ```
///
/// # Errors
/// When it cannot.
pub fn check_new(name: &str) -> Result<(), NameFault> {
    check(name)?;
    if name.trim_start().starts_with('-') { Err(NameFault::Dash) } else { Ok(()) }
}
