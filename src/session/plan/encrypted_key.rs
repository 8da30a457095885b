//! The key as it lies in the session's folder before the reveal: encrypted, so that no search, preview
//! or glance reads a cup. What opens it is a secret that is kept outside of the folder.
//!
//! The cipher is XChaCha20-Poly1305 of the crate `chacha20poly1305` (RFC 8439 with the extended nonce of
//! draft-irtf-cfrg-xchacha-03): its nonce is long enough to be drawn by chance for every key.

use std::fmt;

use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{Key as CipherKey, XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::session::plan::draw::{HexError, bytes_from_hex, fresh_bytes, to_hex};
use crate::session::plan::{NoRandomness, Unwritable};

/// Version of the encrypted text; 1 is the key as plain text, which programs of earlier days wrote.
pub const ENCRYPTED_FORMAT: u32 = 2;

/// How the file of a secret begins.
const SECRET_MARK: &str = "waterflight secret 1";

const CIPHER: &str = "XChaCha20-Poly1305";
const NONCE_BYTES: usize = 24;

/// What opens encrypted keys: 256 bits that nobody can guess.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret([u8; 32]);

impl fmt::Debug for Secret {
    /// Shows nothing of it, so that no message can betray it.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(hidden)")
    }
}

impl Secret {
    /// A secret nobody has seen.
    ///
    /// # Errors
    /// When the operating system gives no randomness.
    pub fn fresh() -> Result<Self, NoRandomness> {
        fresh_bytes().map(Self)
    }

    /// A secret that opens nothing, to tell a key that cannot be read from one that is another's.
    #[must_use]
    pub const fn nobodys() -> Self {
        Self([0; 32])
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        format!(
            "{SECRET_MARK}\nIt opens the keys of your sessions until they are revealed. Keep it; show \
             it to no taster.\n{}\n",
            to_hex(&self.0)
        )
    }

    /// Reads the text of its file; `None` for a text that is no secret.
    #[must_use]
    pub fn from_text(text: &str) -> Option<Self> {
        let mut lines = text.lines();
        let is_marked = lines.next()?.trim() == SECRET_MARK;
        let bytes = bytes_from_hex(lines.last()?.trim()).ok()?;
        bytes.try_into().ok().map(Self).filter(|_| is_marked)
    }
}

/// A key that is encrypted.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct EncryptedKey {
    format: u32,
    cipher: String,
    nonce: String,
    text: String,
}

/// Why a key was not encrypted.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotEncrypted {
    /// No nonce.
    #[error(transparent)]
    Random(#[from] NoRandomness),
    /// No text.
    #[error(transparent)]
    Unwritable(#[from] Unwritable),
    /// The cipher refused, which is a fault of the program.
    #[error("the key cannot be encrypted")]
    Cipher,
}

/// Why an encrypted key is not opened.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NotOpened {
    /// It is another secret's, or was changed.
    #[error("this secret does not open the key, or the key was changed")]
    OtherSecret,
    /// It is no encrypted key of a kind known here.
    #[error("the encrypted key cannot be read: {reason}")]
    Unreadable {
        /// Why.
        reason: String,
    },
    /// Written by a newer program.
    #[error("the encrypted key has format {found} and this program reads up to {ENCRYPTED_FORMAT}")]
    TooNew {
        /// Format found.
        found: u32,
    },
}

impl From<HexError> for NotOpened {
    fn from(error: HexError) -> Self {
        Self::Unreadable { reason: error.to_string() }
    }
}

/// Whether a text is an encrypted key, and not one as plain text.
#[must_use]
pub fn is_encrypted(text: &str) -> bool {
    #[derive(Deserialize)]
    struct Format {
        format: u32,
        cipher: Option<String>,
    }
    let format: Option<Format> = serde_json::from_str(text).ok();
    format.is_some_and(|f| f.format >= ENCRYPTED_FORMAT && f.cipher.is_some())
}

/// Encrypts the text of a key. The seal of the plan goes with it: the text opens for no other plan.
///
/// # Errors
/// When the operating system gives no randomness.
pub fn encrypt(key_text: &str, seal: &str, secret: &Secret) -> Result<String, NotEncrypted> {
    let bytes: [u8; 32] = fresh_bytes()?;
    let nonce: [u8; NONCE_BYTES] = std::array::from_fn(|at| bytes.get(at).copied().unwrap_or(0));
    let payload = Payload { msg: key_text.as_bytes(), aad: seal.as_bytes() };
    let hidden = cipher(secret).encrypt(&XNonce::from(nonce), payload);
    let encrypted = EncryptedKey {
        format: ENCRYPTED_FORMAT,
        cipher: CIPHER.to_owned(),
        nonce: to_hex(&nonce),
        text: to_hex(&hidden.map_err(|_| NotEncrypted::Cipher)?),
    };
    Ok(Unwritable::line("encrypted key", &encrypted)? + "\n")
}

/// The text of a key that was encrypted for the plan with this seal.
///
/// # Errors
/// When the secret is another one's, or the text is no encrypted key.
pub fn decrypt(text: &str, seal: &str, secret: &Secret) -> Result<String, NotOpened> {
    let unreadable = |reason: String| NotOpened::Unreadable { reason };
    let encrypted: EncryptedKey =
        serde_json::from_str(text).map_err(|error| unreadable(error.to_string()))?;
    if encrypted.format > ENCRYPTED_FORMAT {
        return Err(NotOpened::TooNew { found: encrypted.format });
    }
    if encrypted.cipher != CIPHER {
        return Err(unreadable(format!("its cipher is `{}`", encrypted.cipher)));
    }
    let nonce: [u8; NONCE_BYTES] = bytes_from_hex(&encrypted.nonce)?
        .try_into()
        .map_err(|_| unreadable("its nonce has another length".to_owned()))?;
    let hidden = bytes_from_hex(&encrypted.text)?;
    let payload = Payload { msg: &hidden, aad: seal.as_bytes() };
    let bytes = cipher(secret).decrypt(&XNonce::from(nonce), payload);
    String::from_utf8(bytes.map_err(|_| NotOpened::OtherSecret)?)
        .map_err(|_| unreadable("it holds no text".to_owned()))
}

fn cipher(secret: &Secret) -> XChaCha20Poly1305 {
    XChaCha20Poly1305::new(&CipherKey::from(secret.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    type Fallible = Result<(), Box<dyn std::error::Error>>;

    #[test]
    fn a_key_opens_with_its_secret_for_its_plan_and_otherwise_not() -> Fallible {
        let (secret, other) = (Secret::fresh()?, Secret::fresh()?);
        let text = "{\"water\":\"soft\"}\n";
        let hidden = encrypt(text, "seal", &secret)?;
        assert!(is_encrypted(&hidden) && !hidden.contains("soft") && !is_encrypted(text));
        assert_eq!(decrypt(&hidden, "seal", &secret).as_deref(), Ok(text));
        assert_eq!(decrypt(&hidden, "seal", &other), Err(NotOpened::OtherSecret));
        assert_eq!(decrypt(&hidden, "other", &secret), Err(NotOpened::OtherSecret));
        assert_ne!(encrypt(text, "seal", &secret)?, hidden, "each time another nonce");
        Ok(())
    }

    /// draft-irtf-cfrg-xchacha-03, A.3.1: key, nonce, associated data and the first bytes of the text.
    #[test]
    fn the_cipher_is_the_published_one() -> Fallible {
        let key: [u8; 32] = std::array::from_fn(|n| 0x80 + u8::try_from(n).unwrap_or(0));
        let nonce: [u8; 24] = std::array::from_fn(|n| 0x40 + u8::try_from(n).unwrap_or(0));
        let aad = bytes_from_hex("50515253c0c1c2c3c4c5c6c7")?;
        let text =
            b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for \
                     the future, sunscreen would be it.";
        let payload = Payload { msg: text, aad: &aad };
        let hidden = cipher(&Secret(key)).encrypt(&XNonce::from(nonce), payload);
        let hidden = to_hex(&hidden.map_err(|_| "the cipher refused")?);
        assert!(
            hidden.starts_with("bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb")
        );
        assert!(hidden.ends_with("c0875924c1c7987947deafd8780acf49"), "{hidden}");
        Ok(())
    }

    #[test]
    fn a_secret_is_read_back_and_nothing_else_is_one() -> Fallible {
        let secret = Secret::fresh()?;
        assert_eq!(Secret::from_text(&secret.to_text()), Some(secret.clone()));
        assert_eq!(Secret::from_text(""), None);
        assert_eq!(Secret::from_text("{\"format\":1}"), None);
        assert!(!format!("{secret:?}").contains(&to_hex(&secret.0)));
        Ok(())
    }
}
