//! Scales for a thumb: a key for every whole number and one for the half; the words at both ends.

use crate::session::plan::Attribute;

/// Our choice: more keys than this do not fit two rows of a narrow phone.
const MOST_KEYS: usize = 13;

/// How an attribute is scored on a phone.
#[derive(Debug, Clone, PartialEq)]
pub enum Keys {
    /// A key for every score.
    Each(Vec<f64>),
    /// A key for every whole number, and one that adds a half.
    WholeAndHalf(Vec<f64>),
    /// Too many steps for keys: typed.
    Typed,
}

impl Keys {
    /// Those of an attribute.
    #[must_use]
    pub fn of(attribute: &Attribute) -> Self {
        let from_low = |step: f64| {
            let mut keys = Vec::new();
            let mut n = 0.0;
            while attribute.low + n * step < attribute.high + step / 2.0 && keys.len() <= MOST_KEYS
            {
                // A decimal step as it is written, not as it adds up.
                keys.push(((attribute.low + n * step) * 1e9).round() / 1e9);
                n += 1.0;
            }
            (keys.len() <= MOST_KEYS).then_some(keys)
        };
        let is = |value: f64, wanted: f64| (value - wanted).abs() < 1e-9;
        if let Some(keys) = from_low(attribute.step) {
            return Self::Each(keys);
        }
        let whole = is(attribute.low, attribute.low.round());
        match from_low(1.0) {
            Some(keys) if is(attribute.step, 0.5) && whole => Self::WholeAndHalf(keys),
            _ => Self::Typed,
        }
    }

    /// The fields of a form that give a score: the key, and the half beside it.
    #[must_use]
    pub fn fields_of(&self, value: f64) -> (String, bool) {
        match self {
            Self::WholeAndHalf(_) if (value - value.floor() - 0.5).abs() < 1e-9 => {
                (value.floor().to_string(), true)
            }
            _ => (value.to_string(), false),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(low: f64, high: f64, step: f64) -> Keys {
        Keys::of(&Attribute {
            name: "body".into(),
            low,
            high,
            step,
            low_word: String::new(),
            high_word: String::new(),
        })
    }

    #[test]
    fn every_score_can_be_given_by_keys() {
        assert!(matches!(scale(0.0, 10.0, 0.5), Keys::WholeAndHalf(keys) if keys.len() == 11));
        assert!(matches!(scale(1.0, 9.0, 1.0), Keys::Each(keys) if keys.len() == 9));
        assert!(
            matches!(scale(0.0, 1.0, 0.1), Keys::Each(keys) if keys == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
        );
        assert_eq!(scale(0.0, 100.0, 1.0), Keys::Typed);
        assert_eq!(scale(0.5, 9.5, 0.5), Keys::Typed);
        assert_eq!(scale(0.0, 10.0, 0.5).fields_of(6.5), ("6".to_owned(), true));
    }
}
