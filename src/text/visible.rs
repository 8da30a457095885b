//! Text on its way to a terminal.

use std::borrow::Cow;

/// A text in which every control character but line break and tab is a picture of itself (Unicode's
/// block Control Pictures), so that no word of a user moves a cursor, colours a line or hides one.
///
/// ```
/// use waterflight::text::visible;
/// assert_eq!(visible("soft\u{1b}[2J\r"), "soft␛[2J␍");
/// assert_eq!(visible("a\tb\n"), "a\tb\n");
/// ```
#[must_use]
pub fn visible(text: &str) -> Cow<'_, str> {
    let hides = |c: char| c.is_control() && !matches!(c, '\n' | '\t');
    if !text.contains(hides) {
        return Cow::Borrowed(text);
    }
    let shown = |c: char| match u32::from(c) {
        _ if !hides(c) => c,
        code @ 0..=0x1f => char::from_u32(0x2400 + code).unwrap_or('\u{fffd}'),
        0x7f => '␡',
        _ => '\u{fffd}',
    };
    Cow::Owned(text.chars().map(shown).collect())
}
