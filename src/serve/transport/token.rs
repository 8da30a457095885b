//! Secrets that stand in the path of a link: whoever has the link may open it, and nobody guesses one.

use serde::{Deserialize, Serialize};

use crate::files::{Diagnostic, Fault};

/// Thirty-two characters that are not taken for each other when a link is typed (Crockford's base 32,
/// from memory).
const ALPHABET: &[u8; 32] = b"0123456789abcdefghjkmnpqrstvwxyz";

/// Our choice: 100 bits. At a thousand guesses a second one of fifty links is found in 10¹⁸ years.
const CHARACTERS: usize = 20;

/// A secret in a link.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Token(String);

impl Token {
    /// Draws one.
    ///
    /// # Errors
    /// When the system has no randomness to give.
    pub fn new() -> Result<Self, Diagnostic> {
        let mut bytes = [0_u8; CHARACTERS];
        getrandom::fill(&mut bytes).map_err(|error| {
            Diagnostic::new(
                Fault::Internal,
                format!("the system gave no random numbers for a link: {error}"),
            )
        })?;
        let character =
            |byte: &u8| char::from(*ALPHABET.get(usize::from(byte & 31)).unwrap_or(&b'0'));
        Ok(Self(bytes.iter().map(character).collect()))
    }

    /// As it stands in a link.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether `found` is this one. How long that takes says nothing of where they differ.
    #[must_use]
    pub fn is(&self, found: &str) -> bool {
        let (own, found) = (self.0.as_bytes(), found.as_bytes());
        let differing = own.iter().zip(found).fold(0, |bits, (a, b)| bits | (a ^ b));
        own.len() == found.len() && differing == 0 && !own.is_empty()
    }

    /// Whether it is as long as one that was drawn here.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.0.len() == CHARACTERS && self.0.bytes().all(|byte| ALPHABET.contains(&byte))
    }
}

impl std::fmt::Debug for Token {
    /// A secret is not for messages.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Token")
    }
}
