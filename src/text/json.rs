//! One JSON document.

use std::io::{self, BufWriter, Write};

use serde::Serialize;
use serde_json::Value;

use crate::quantities::show;

/// A report as JSON, indented, with a final line break.
///
/// # Errors
/// Never for the reports of this program; the type is that of the writer.
pub fn document(report: &impl Serialize) -> Result<String, serde_json::Error> {
    serde_json::to_string_pretty(report).map(|text| text + "\n")
}

/// Writes what [`document`] gives as it comes, without holding the whole text.
///
/// # Errors
/// When it cannot be written.
pub fn write(report: &impl Serialize, out: &mut dyn Write) -> io::Result<()> {
    /// Our choice: a page of output at a time is few enough calls of the system.
    const AT_A_TIME: usize = 1 << 16;
    let mut out = BufWriter::with_capacity(AT_A_TIME, out);
    serde_json::to_writer_pretty(&mut out, report)?;
    out.write_all(b"\n")?;
    out.flush()
}

/// The same with numbers that carry no noise of the arithmetic.
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

    #[test]
    fn numbers_at_any_depth_lose_their_noise() {
        let text = rounded(&serde_json::json!({"a": [{"g": 0.350_000_000_000_000_03}], "n": 3}));
        let text = text.unwrap_or_default();
        assert!(text.contains("0.35\n") && text.contains("\"n\": 3"), "{text}");
    }
}
