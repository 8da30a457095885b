//! Probability that is the same on every machine: the generator, and the two draws made from it.
//!
//! Nothing here leans on a library's sampling code, which may change between its versions: the
//! generator is the ChaCha20 stream cipher, and how its words become numbers is written out below.

use std::fmt;

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha20Rng;
use sha2::{Digest, Sha256};
use thiserror::Error;

/// The generator and the drawing rules, as named in every plan and key.
///
/// A plan that names another generator or another number of rules cannot be drawn again by this
/// program; the seal of its key can still be verified.
///
/// Rules 1 counted breaks within each tray; rules 2 count them over the trays of a round where cups
/// are compared with each other, so that no break parts them.
pub const GENERATOR: &str = "ChaCha20 (rand_chacha 0.10), drawing rules 2";

/// 256 bits that nobody can guess, of one use.
#[derive(Clone, Copy, PartialEq, Eq)]
pub struct RandomBits<const IS_NONCE: bool>([u8; 32]);

/// The 256 bits that every draw of a session follows from.
pub type Seed = RandomBits<false>;

/// The 256 bits that keep the printed seal from being guessed: a flight of eight waters has few orders, and
/// without them anyone could try all keys against it.
pub type Nonce = RandomBits<true>;

/// The operating system gave no randomness.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the operating system gave no random numbers: {reason}; try again, or give a seed phrase")]
pub struct NoRandomness {
    /// What the operating system said.
    pub reason: String,
}

/// Text that is not as many hexadecimal digits as are needed, 64 for a seed or nonce of 256 bits.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{found}` is not the hexadecimal digits that are needed (64 for 256 bits)")]
pub struct HexError {
    /// The text found.
    pub found: String,
}

impl<const IS_NONCE: bool> RandomBits<IS_NONCE> {
    /// Bits that nobody has chosen or seen.
    ///
    /// # Errors
    /// When the operating system gives no randomness.
    pub fn fresh() -> Result<Self, NoRandomness> {
        fresh_bytes().map(Self)
    }

    /// The bits that a phrase stands for: SHA-256 over a fixed prefix and the phrase.
    ///
    /// Whoever knows the phrase can draw the plan and the key again, so it is for checks and
    /// demonstrations, not for a tasting.
    #[must_use]
    pub fn from_phrase(phrase: &str) -> Self {
        let what = if IS_NONCE { "nonce" } else { "seed" };
        Self(Sha256::digest(format!("waterflight {what} 1\n{phrase}")).into())
    }

    /// As 64 hexadecimal digits.
    #[must_use]
    pub fn to_hex(self) -> String {
        to_hex(&self.0)
    }

    /// Reads 64 hexadecimal digits.
    ///
    /// # Errors
    /// When the text is anything else.
    pub fn from_hex(text: &str) -> Result<Self, HexError> {
        let bytes = bytes_from_hex(text)?;
        bytes.try_into().map(Self).map_err(|_| HexError { found: text.to_owned() })
    }
}

impl<const IS_NONCE: bool> fmt::Debug for RandomBits<IS_NONCE> {
    /// Shows nothing of the bits, so that no message can betray them.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(if IS_NONCE { "Nonce(sealed)" } else { "Seed(sealed)" })
    }
}

/// 32 random bytes of the operating system.
///
/// # Errors
/// When it has none.
pub(crate) fn fresh_bytes() -> Result<[u8; 32], NoRandomness> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes)
        .map_err(|error| NoRandomness { reason: error.to_string() })
        .map(|()| bytes)
}

/// Bytes as lower-case hexadecimal digits.
pub(crate) fn to_hex(bytes: &[u8]) -> String {
    let digit = |half: u8| char::from_digit(u32::from(half), 16).unwrap_or('0');
    bytes.iter().flat_map(|byte| [digit(byte >> 4), digit(byte & 15)]).collect()
}

/// Pairs of hexadecimal digits as bytes.
pub(crate) fn bytes_from_hex(text: &str) -> Result<Vec<u8>, HexError> {
    let bad = || HexError { found: text.to_owned() };
    let digits: Vec<u8> = text
        .chars()
        .map(|c| c.to_digit(16).and_then(|d| u8::try_from(d).ok()))
        .collect::<Option<_>>()
        .ok_or_else(bad)?;
    digits
        .chunks(2)
        .map(|pair| match pair {
            [high, low] => Some(high * 16 + low),
            _ => None,
        })
        .collect::<Option<_>>()
        .ok_or_else(bad)
}

/// What a stream of the generator is used for. Each purpose has its own, so a change in one
/// kind of draw moves no other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u64)]
pub enum Purpose {
    /// Which water stands behind which letter of the design.
    Labels = 1,
    /// Which taster gets which order.
    Orders = 2,
    /// Codes on the cups.
    Codes = 3,
    /// Which waters are served twice in hiding.
    Duplicates = 4,
    /// Codes under the cups, where one person pours and tastes.
    Stickers = 5,
    /// Searches for balanced blocks.
    Blocks = 6,
    /// Scores drawn for a forecast; no plan depends on them.
    Forecast = 7,
}

/// One stream of draws.
#[derive(Debug, Clone)]
pub struct Draw(ChaCha20Rng);

impl Draw {
    /// The stream of a purpose.
    #[must_use]
    pub fn new(seed: &Seed, purpose: Purpose) -> Self {
        let mut rng = ChaCha20Rng::from_seed(seed.0);
        rng.set_stream(purpose as u64);
        Self(rng)
    }

    /// A whole number from 0 to `n` − 1, each equally likely; 0 when `n` is 0.
    ///
    /// The rule: take 32-bit words of the stream until one is below the largest multiple of `n`
    /// that 2³² holds; its remainder by `n` is the draw.
    pub fn below(&mut self, n: usize) -> usize {
        let Ok(n) = u64::try_from(n) else { return 0 };
        if n == 0 {
            return 0;
        }
        let words = 1_u64 << 32;
        let usable = words - words % n;
        loop {
            let word = u64::from(self.0.next_u32());
            if word < usable {
                return usize::try_from(word % n).unwrap_or(0);
            }
        }
    }

    /// Shuffles in place: from the last place to the second, each swapped with a place drawn from
    /// those up to and including itself (Durstenfeld R., Commun. ACM 7 (1964) 420).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }

    /// The numbers 0 to `n` − 1 in a shuffled order.
    pub fn permutation(&mut self, n: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..n).collect();
        self.shuffle(&mut order);
        order
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hexadecimal_goes_there_and_back_and_refuses_the_rest() {
        let seed = Seed::from_phrase("a rinse between cups");
        assert_eq!(Seed::from_hex(&seed.to_hex()), Ok(seed));
        for bad in ["", "12", &"g".repeat(64), &"a".repeat(63), &"a".repeat(66)] {
            assert!(Seed::from_hex(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_seed_is_not_shown() {
        let seed = Seed::from_phrase("shown nowhere");
        assert_eq!(format!("{seed:?}"), "Seed(sealed)");
    }

    #[test]
    fn every_number_below_is_drawn_about_equally_often() {
        let mut draw = Draw::new(&Seed::from_phrase("even"), Purpose::Labels);
        let mut seen = [0_u32; 7];
        for _ in 0..7000 {
            if let Some(count) = seen.get_mut(draw.below(7)) {
                *count += 1;
            }
        }
        // Six standard deviations of a count of 1000.
        assert!(seen.iter().all(|&count| (825..=1175).contains(&count)), "{seen:?}");
        assert_eq!(draw.below(0), 0);
        assert_eq!(draw.below(1), 0);
    }
}
