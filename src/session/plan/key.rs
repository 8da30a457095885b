//! The sealed key: which water stands behind which code, and the seal that proves it unchanged.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use thiserror::Error;

use crate::session::plan::Code;
use crate::session::plan::Unwritable;
use crate::session::plan::draw::to_hex;
use crate::session::plan::unread;

/// Version of the key's text. Raised when a reader of this one could not read it.
pub const KEY_FORMAT: u32 = 1;

/// What stands behind one code.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeyCup {
    /// The code; for a tasting alone, the one on the sticker underneath.
    pub code: Code,
    /// The water.
    pub water: String,
    /// 1 for the first cup of this water on a tray, 2 for its duplicate.
    pub copy: usize,
    /// Round in which it is served, from 1.
    pub round: usize,
    /// For a tasting alone: number of the tray it stands on.
    pub tray: Option<usize>,
}

/// The key of a session. Its text is the file that is kept apart; its seal is SHA-256 over
/// exactly that text, so any program that computes such a sum can verify it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Key {
    /// [`KEY_FORMAT`].
    pub format: u32,
    /// The session it belongs to.
    pub session: String,
    /// Generator and drawing rules.
    pub generator: String,
    /// Random bits that keep the seal from being guessed.
    pub nonce: String,
    /// The seed from which the plan follows.
    pub seed: String,
    /// The waters in the order of the flight.
    pub waters: Vec<String>,
    /// Waters hidden twice.
    pub doubled: Vec<String>,
    /// Pairs compared.
    pub pairs: Vec<(String, String)>,
    /// The water of the named reference cup.
    pub reference: Option<String>,
    /// The water of the unscored first cup.
    pub warm_up: Option<String>,
    /// Every code, in ascending order.
    pub cups: Vec<KeyCup>,
}

/// Why a key cannot be trusted or read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum KeyError {
    /// It is not the text that was sealed.
    #[error(
        "the key is not the one that was sealed: the plan says {sealed} and this text gives {found}"
    )]
    SealBroken {
        /// Seal in the plan.
        sealed: String,
        /// Seal of the text.
        found: String,
    },
    /// It cannot be read.
    #[error("the key cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Written by a newer program.
    #[error("the key has format {found} and this program reads up to {KEY_FORMAT}")]
    TooNew {
        /// Format found.
        found: u32,
    },
    /// It belongs to another session, or does not fit the plan.
    #[error("the key does not fit the plan: {reason}")]
    OtherPlan {
        /// What does not fit.
        reason: String,
    },
}

impl KeyError {
    /// What to do.
    #[must_use]
    pub fn remedy(&self) -> &'static str {
        match self {
            Self::SealBroken { .. } | Self::Unreadable { .. } => {
                "restore the file that was written with the plan; no other opens this session"
            }
            Self::TooNew { .. } => "use the newer program that wrote it",
            Self::OtherPlan { .. } => {
                "restore plan and key as they were written; a key or plan that was changed cannot \
                 be revealed"
            }
        }
    }
}

impl Key {
    /// The text that is kept apart and sealed: one line of JSON and a line feed.
    ///
    /// # Errors
    /// When it has none, which is a fault of the program.
    pub fn to_text(&self) -> Result<String, Unwritable> {
        Ok(Unwritable::line("key", self)? + "\n")
    }

    /// Reads the text.
    ///
    /// # Errors
    /// When it is no key, or one of a newer format.
    pub fn from_text(text: &str) -> Result<Self, KeyError> {
        let unreadable =
            |error: serde_json::Error| KeyError::Unreadable { reason: error.to_string() };
        let found = unread::format(text).map_err(unreadable)?;
        if found > KEY_FORMAT {
            return Err(KeyError::TooNew { found });
        }
        serde_json::from_str(text).map_err(unreadable)
    }

    /// What stands behind a code.
    #[must_use]
    pub fn cup(&self, code: Code) -> Option<&KeyCup> {
        let place = self.cups.binary_search_by_key(&code, |cup| cup.code).ok()?;
        self.cups.get(place)
    }
}

/// The seal of a key's text: SHA-256, in lower-case hexadecimal digits.
///
/// ```
/// use waterflight::session::plan::key::seal;
/// // FIPS 180-4, the three-letter message of its examples.
/// assert_eq!(seal("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
/// ```
#[must_use]
pub fn seal(text: &str) -> String {
    to_hex(&Sha256::digest(text.as_bytes()))
}

/// The digits of a seal in groups, as people read them to each other.
#[must_use]
pub fn in_groups(seal: &str) -> String {
    /// Our choice: as many digits as an eye holds at once.
    const DIGITS: usize = 8;
    let digits: Vec<char> = seal.chars().collect();
    let groups: Vec<String> = digits.chunks(DIGITS).map(|group| group.iter().collect()).collect();
    groups.join(" ")
}

/// Reads a key after testing that its text is the one that was sealed.
///
/// # Errors
/// When the seal is broken or the text is no key.
pub fn open(text: &str, sealed: &str) -> Result<Key, KeyError> {
    let found = seal(text);
    if found != sealed {
        return Err(KeyError::SealBroken { sealed: sealed.to_owned(), found });
    }
    Key::from_text(text)
}
