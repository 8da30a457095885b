//! Values as they stand in a file, with their place.
//!
//! RON has no values with positions, so a leaf is taken as the raw piece of text it is: the
//! piece is borrowed from the file's text, and its address there is its place.

use std::fmt;

use ron::value::RawValue;
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};

/// One leaf of a file: a text in quotes, a number, a word.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    text: String,
    quoted: bool,
    /// Address and length of the piece inside the text it was read from.
    place: Option<(usize, usize)>,
}

impl Written {
    /// What it says: the content of quotes, or the bare piece.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Whether it stood in quotes.
    #[must_use]
    pub fn is_quoted(&self) -> bool {
        self.quoted
    }

    pub(super) fn address(&self) -> Option<usize> {
        self.place.map(|(address, _)| address)
    }

    pub(super) fn length(&self) -> usize {
        self.place.map_or(0, |(_, length)| length)
    }
}

impl<'de> Deserialize<'de> for Written {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let raw: &'de RawValue = Deserialize::deserialize(deserializer)?;
        let piece = raw.trim().get_ron();
        let unquoted: Option<String> = ron::from_str(piece).ok();
        Ok(Self {
            quoted: unquoted.is_some(),
            text: unquoted.unwrap_or_else(|| piece.to_owned()),
            place: Some((piece.as_ptr().addr(), piece.len())),
        })
    }
}

/// Named leaves in the order of the file: `( hardness: "…", sodium: "…" )`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fields(pub Vec<(Written, Written)>);

/// A field's name.
struct Key(Written);

impl<'de> Deserialize<'de> for Key {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Name;
        impl<'de> Visitor<'de> for Name {
            type Value = Key;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a name")
            }
            fn visit_str<E>(self, text: &str) -> Result<Key, E> {
                Ok(Key(Written { text: text.to_owned(), quoted: false, place: None }))
            }
            fn visit_borrowed_str<E>(self, text: &'de str) -> Result<Key, E> {
                let place = Some((text.as_ptr().addr(), text.len()));
                Ok(Key(Written { text: text.to_owned(), quoted: false, place }))
            }
        }
        deserializer.deserialize_identifier(Name)
    }
}

impl<'de> Deserialize<'de> for Fields {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Named;
        impl<'de> Visitor<'de> for Named {
            type Value = Fields;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("named values in brackets, as in ( name: \"value\" )")
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Fields, A::Error> {
                let mut fields = Vec::new();
                while let Some(Key(key)) = map.next_key()? {
                    fields.push((key, map.next_value()?));
                }
                Ok(Fields(fields))
            }
        }
        deserializer.deserialize_struct("", &[], Named)
    }
}
