//! One JSON document. Its numbers have the digits that a reader can use: what the arithmetic of binary
//! fractions leaves behind them is cut here and nowhere else.

use std::io::{self, BufWriter, Write};

use serde::Serialize;
use serde_json::ser::{CompactFormatter, Formatter};
use serde_json::{Serializer, Value};

use crate::quantities::show;

/// A report as JSON, indented, with a final line break; numbers as [`show::twelve_digits`] cuts them.
///
/// ```
/// let report = serde_json::json!({ "g": 0.1 + 0.2, "n": 3 });
/// assert_eq!(waterflight::text::json::document(&report)?, "{\n  \"g\": 0.3,\n  \"n\": 3\n}\n");
/// # Ok::<(), serde_json::Error>(())
/// ```
///
/// # Errors
/// Never for the reports of this program; the type is that of the writer.
pub fn document(report: &impl Serialize) -> Result<String, serde_json::Error> {
    let mut text = Vec::new();
    report.serialize(&mut Serializer::with_formatter(&mut text, Indented::default()))?;
    text.push(b'\n');
    // The serializer writes nothing but UTF-8.
    Ok(String::from_utf8(text)
        .unwrap_or_else(|e| String::from_utf8_lossy(e.as_bytes()).into_owned()))
}

/// Writes the same document as it comes, without holding the whole text. Each field of an entry has a line,
/// and what is inside of it stands in that line: blanks would be nearly half of a long document.
///
/// # Errors
/// When it cannot be written.
pub fn write(report: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    /// Our choice: a page of output at a time is few enough calls of the system.
    const AT_A_TIME: usize = 1 << 16;
    let mut out = BufWriter::with_capacity(AT_A_TIME, out);
    let layout = Indented { deepest: FIELDS_OF_AN_ENTRY, ..Indented::default() };
    report.serialize(&mut Serializer::with_formatter(&mut out, layout))?;
    out.write_all(b"\n")?;
    out.flush()
}

/// The same as one text.
///
/// # Errors
/// As [`write`].
pub fn long_document(report: &impl Serialize) -> io::Result<String> {
    let mut text = Vec::new();
    write(report, &mut text)?;
    // The serializer writes nothing but UTF-8.
    String::from_utf8(text).map_err(io::Error::other)
}

/// Indented by two blanks for each level, as [`serde_json::ser::PrettyFormatter`] does it, but every line
/// break with its indentation in one piece: they are half of a document. Numbers are such as a person
/// can read, and words such as no terminal takes for commands.
struct Indented {
    level: usize,
    /// The deepest level that begins lines.
    deepest: usize,
    /// Whether what was begun last holds anything.
    has_value: bool,
}

impl Default for Indented {
    fn default() -> Self {
        Self { level: 0, deepest: usize::MAX, has_value: false }
    }
}

/// The level of the fields of an entry of a list of a document.
const FIELDS_OF_AN_ENTRY: usize = 3;

/// A comma, a line break and the indentation of the deepest level that is written in one piece.
const LINE: &[u8; 66] = b",\n                                                                ";

impl Indented {
    fn line<W: Write + ?Sized>(&self, writer: &mut W, comma: bool) -> io::Result<()> {
        if self.level > self.deepest {
            return writer.write_all(if comma { b", " } else { b"" });
        }
        let from = usize::from(!comma);
        if let Some(line) = LINE.get(from..2 + 2 * self.level) {
            return writer.write_all(line);
        }
        writer.write_all(LINE.get(from..2).unwrap_or_default())?;
        (0..self.level).try_for_each(|_| writer.write_all(b"  "))
    }

    fn begin<W: Write + ?Sized>(&mut self, writer: &mut W, bracket: u8) -> io::Result<()> {
        self.level += 1;
        self.has_value = false;
        writer.write_all(&[bracket])
    }

    fn end<W: Write + ?Sized>(&mut self, writer: &mut W, bracket: u8) -> io::Result<()> {
        if self.has_value && self.level <= self.deepest {
            self.level = self.level.saturating_sub(1);
            self.line(writer, false)?;
        } else {
            self.level = self.level.saturating_sub(1);
        }
        writer.write_all(&[bracket])
    }
}

impl Formatter for Indented {
    fn write_f64<W: Write + ?Sized>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        CompactFormatter.write_f64(writer, show::twelve_digits(value))
    }

    fn write_string_fragment<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        fragment: &str,
    ) -> io::Result<()> {
        // JSON itself escapes only those below the blank. In UTF-8 the others are the byte 7F, or begin with
        // C2; nearly no text has either.
        if !fragment.bytes().any(|byte| matches!(byte, 0x7f | 0xc2)) {
            return writer.write_all(fragment.as_bytes());
        }
        let commands = |c: char| matches!(c, '\u{7f}'..='\u{9f}');
        for piece in fragment.split_inclusive(commands) {
            let last = piece.chars().next_back().filter(|c| commands(*c));
            let words = piece.trim_end_matches(commands);
            writer.write_all(words.as_bytes())?;
            if let Some(c) = last {
                write!(writer, "\\u{:04x}", u32::from(c))?;
            }
        }
        Ok(())
    }

    fn begin_array<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer, b'[')
    }

    fn end_array<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b']')
    }

    fn begin_array_value<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.line(writer, !first)
    }

    fn end_array_value<W: Write + ?Sized>(&mut self, _: &mut W) -> io::Result<()> {
        self.has_value = true;
        Ok(())
    }

    fn begin_object<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.begin(writer, b'{')
    }

    fn end_object<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        self.end(writer, b'}')
    }

    fn begin_object_key<W: Write + ?Sized>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.line(writer, !first)
    }

    fn begin_object_value<W: Write + ?Sized>(&mut self, writer: &mut W) -> io::Result<()> {
        writer.write_all(b": ")
    }

    fn end_object_value<W: Write + ?Sized>(&mut self, _: &mut W) -> io::Result<()> {
        self.has_value = true;
        Ok(())
    }
}

/// The same as [`document`] for amounts that are measured out next: with no more digits than a bench can
/// use ([`show::without_noise`]).
///
/// # Errors
/// As [`document`].
pub fn rounded(report: &impl Serialize) -> Result<String, serde_json::Error> {
    let mut value = serde_json::to_value(report)?;
    round(&mut value);
    document(&value)
}

fn round(value: &mut Value) {
    match value {
        Value::Number(number) if number.is_f64() => {
            let cut = number.as_f64().map(show::without_noise);
            if let Some(cut) = cut.and_then(serde_json::Number::from_f64) {
                *number = cut;
            }
        }
        Value::Array(list) => list.iter_mut().for_each(round),
        Value::Object(map) => map.values_mut().for_each(round),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Down to levels below those that are written in one piece.
    #[test]
    fn indented_as_usual() -> Result<(), serde_json::Error> {
        let mut report = serde_json::json!({
            "a": [{ "g": 0.35 }, [], {}, [[]]],
            "text": "é\n\u{1b}\"",
            "none": null,
            "f": [1.0, 1e300, 2.5e-7],
            "n": u64::MAX,
        });
        for _ in 0..40 {
            assert_eq!(document(&report)?, serde_json::to_string_pretty(&report)? + "\n");
            report = serde_json::json!({ "deeper": [report] });
        }
        Ok(())
    }

    #[test]
    fn numbers_at_any_depth_lose_their_noise() {
        let text = rounded(&serde_json::json!({"a": [{"g": 0.350_000_000_000_000_03}], "n": 3}));
        let text = text.unwrap_or_default();
        assert!(text.contains("0.35\n") && text.contains("\"n\": 3"), "{text}");
    }

    #[test]
    fn all_but_fractions_stands_as_usual() -> Result<(), serde_json::Error> {
        let report = serde_json::json!({
            "a": [{ "g": 0.350_000_000_000_000_03 }, []],
            "b": {},
            "n": u64::MAX,
            "negative": i64::MIN,
            "text": "é\n\u{1b}\"",
            "commands": "a\u{9b}\u{7f}\u{9b}b",
            "none": null,
            "is": true,
            "f": [1.0, -0.0, 1e300, 2.5e-7],
        });
        let usual = serde_json::to_string_pretty(&report)?;
        let usual = usual.replace("0.35000000000000003", "0.35") + "\n";
        let usual = usual.replace('\u{9b}', "\\u009b").replace('\u{7f}', "\\u007f");
        assert_eq!(document(&report)?, usual.replace("-0.0", "0.0"));
        let mut streamed = Vec::new();
        assert!(write(&report, &mut streamed).is_ok());
        let read = |text: &[u8]| serde_json::from_slice::<Value>(text);
        assert_eq!(read(&streamed)?, read(document(&report)?.as_bytes())?);
        Ok(())
    }

    #[test]
    fn a_long_document_has_a_line_for_each_field_of_an_entry() -> io::Result<()> {
        let report =
            serde_json::json!({ "a": [{ "b": [{ "c": 1, "d": [] }, {}], "e": 2 }], "f": {} });
        let mut streamed = Vec::new();
        write(&report, &mut streamed)?;
        let text = String::from_utf8_lossy(&streamed).into_owned();
        let wanted = "{\n  \"a\": [\n    {\n      \"b\": [{\"c\": 1, \"d\": []}, {}],\n      \"e\": 2\n    \
                      }\n  ],\n  \"f\": {}\n}\n";
        assert_eq!(text, wanted);
        Ok(())
    }
}
