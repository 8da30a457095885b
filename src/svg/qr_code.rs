//! A text as a QR code (ISO/IEC 18004), to be read by the camera of a telephone.
//!
//! It is dark on light on every ground, as readers expect it, and has the quiet zone that the standard
//! asks for.

use qrcode::bits::Bits;
use qrcode::{Color, EcLevel, QrCode, Version};

use crate::svg::drawing::escaped;

/// Blank modules around a code: four (ISO/IEC 18004:2015, 6.3.8, from memory).
const QUIET_ZONE: usize = 4;

/// The code of a text as an SVG to stand in a page; `id` is its own on that page. Its class is `qr`;
/// those who do not see it are read the text. Nothing where the text is too long for any code: beyond
/// 2,331 bytes.
///
/// ```
/// let code = waterflight::svg::qr_code::inline("link", "http://192.0.2.7:8080/ann").unwrap();
/// assert!(code.starts_with("<svg class=\"qr\" role=\"img\""));
/// ```
#[must_use]
pub fn inline(id: &str, text: &str) -> Option<String> {
    let code = code_of(text)?;
    let (width, modules) = (code.width(), code.into_colors());
    let mut dark = String::new();
    for (y, row) in modules.chunks(width).enumerate() {
        let mut x = 0;
        for run in row.chunk_by(|a, b| a == b) {
            if run.first() == Some(&Color::Dark) {
                let length = run.len();
                let (from, top) = (x + QUIET_ZONE, y + QUIET_ZONE);
                dark.push_str(&format!("M{from} {top}h{length}v1h-{length}z"));
            }
            x += run.len();
        }
    }
    let side = width + 2 * QUIET_ZONE;
    let said = escaped(text);
    Some(format!(
        "<svg class=\"qr\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\" viewBox=\"0 0 {side} {side}\" \
         shape-rendering=\"crispEdges\"><title id=\"{id}-t\">QR code</title><desc id=\"{id}-d\">It says: \
         {said}</desc><path fill=\"#fff\" d=\"M0 0h{side}v{side}h-{side}z\"/><path fill=\"#000\" \
         d=\"{dark}\"/></svg>"
    ))
}

/// The code of a text in characters, two modules one above the other in each, to be shown at a terminal.
/// `in_colour` its colours are set, because a reader wants dark on light and many terminals are dark;
/// without, the ground decides.
///
/// ```
/// let code = waterflight::svg::qr_code::in_characters("http://192.0.2.7:8080/ann", false).unwrap();
/// assert!(code.lines().count() > 15 && code.contains('▀') && !code.contains('\u{1b}'));
/// ```
#[must_use]
pub fn in_characters(text: &str, in_colour: bool) -> Option<String> {
    /// Black on white of the 256 colours, which no theme changes.
    const BLACK_ON_WHITE: &str = "\u{1b}[38;5;16;48;5;231m";
    const AS_BEFORE: &str = "\u{1b}[0m";
    let (before, behind) = if in_colour { (BLACK_ON_WHITE, AS_BEFORE) } else { ("", "") };
    let code = code_of(text)?;
    let (width, modules) = (code.width(), code.into_colors());
    let side = width + 2 * QUIET_ZONE;
    let is_dark = |x: usize, y: usize| {
        let inside = |at: usize| at.checked_sub(QUIET_ZONE).filter(|at| *at < width);
        let place = inside(x).zip(inside(y)).map(|(x, y)| y * width + x);
        place.and_then(|place| modules.get(place)) == Some(&Color::Dark)
    };
    let mut lines = String::new();
    for y in (0..side).step_by(2) {
        lines.push_str(before);
        lines.extend((0..side).map(|x| match (is_dark(x, y), is_dark(x, y + 1)) {
            (false, false) => ' ',
            (true, false) => '▀',
            (false, true) => '▄',
            (true, true) => '█',
        }));
        lines.push_str(behind);
        lines.push('\n');
    }
    Some(lines)
}

/// Level M: a code still reads with 15 % of it spoilt, as by a drop of water.
const LEVEL: EcLevel = EcLevel::M;

/// UTF-8 as readers are told of it (AIM ECI 000026, from memory): without it some take a text beyond
/// ASCII for another alphabet.
const UTF_8: u32 = 26;

/// The smallest code that holds a text.
fn code_of(text: &str) -> Option<QrCode> {
    if text.is_ascii() {
        return QrCode::with_error_correction_level(text, LEVEL).ok();
    }
    (1..=40).find_map(|version| {
        let mut bits = Bits::new(Version::Normal(version));
        bits.push_eci_designator(UTF_8).ok()?;
        bits.push_byte_data(text.as_bytes()).ok()?;
        bits.push_terminator(LEVEL).ok()?;
        QrCode::with_bits(bits, LEVEL).ok()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The characters hold the very modules of the picture: each dark one is a half block.
    #[test]
    fn characters_and_picture_are_the_same_code() -> Result<(), Box<dyn std::error::Error>> {
        for text in ["a", "http://192.168.1.20:8420/t/k7hvh0w2nsss4fnn560h", "Härte"] {
            let code = code_of(text).ok_or("no code")?;
            let dark = code.to_colors().iter().filter(|c| **c == Color::Dark).count();
            let shown = in_characters(text, true).ok_or("no code")?;
            let halves = shown.chars().map(|c| match c {
                '█' => 2,
                '▀' | '▄' => 1,
                _ => 0,
            });
            assert_eq!(halves.sum::<usize>(), dark, "{text}");
            assert_eq!(shown.lines().count(), (code.width() + 2 * QUIET_ZONE).div_ceil(2));
        }
        Ok(())
    }

    #[test]
    fn what_no_code_can_hold_has_none() {
        assert!(inline("a", "").is_some());
        assert!(
            inline("a", &"a".repeat(2331)).is_some() && inline("a", &"a".repeat(2332)).is_none()
        );
        let code = inline("a", "a \"b\" <c> & d").unwrap_or_default();
        assert!(code.contains("It says: a &quot;b&quot; &lt;c&gt; &amp; d</desc>"), "{code}");
    }
}
