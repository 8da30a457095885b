//! Where a text proposes a command: between backticks, or behind `Next:`. Such a command is copied, so it
//! stands in one line, however wide that gets.

/// How a command of this program begins.
pub(crate) const PROGRAM: &str = "waterflight ";

/// Whether a line is a command to be typed next, and nothing else.
pub(crate) fn is_next(line: &str) -> bool {
    let next = line.strip_prefix("Next: ").or_else(|| line.strip_prefix("next: "));
    next.is_some_and(|next| next.starts_with(PROGRAM))
}

/// A text taken apart at its backticks: every second part stands between two of them, but for a last one
/// that nothing closes. One behind a backslash is a letter of a name.
pub(crate) fn parts(text: &str) -> Vec<&str> {
    let mut escaped = false;
    let is_mark = |c: char| {
        let is_mark = c == '`' && !escaped;
        escaped = c == '\\' && !escaped;
        is_mark
    };
    text.split(is_mark).collect()
}

/// Whether a line may be broken at a letter, asked letter by letter: anywhere but in a command.
pub(crate) fn breakable(text: &str) -> impl FnMut(char) -> bool {
    let mut commands = Vec::new();
    if is_next(text) {
        commands.push(0..text.len());
    }
    let parts = parts(text);
    let mut start = 0;
    for (n, part) in parts.iter().enumerate() {
        if n % 2 == 1 && n + 1 < parts.len() && part.starts_with(PROGRAM) {
            commands.push(start..start + part.len());
        }
        start += part.len() + '`'.len_utf8();
    }
    let mut at = 0;
    move |c| {
        let here = at;
        at += c.len_utf8();
        !commands.iter().any(|command| command.contains(&here))
    }
}

/// A text taken apart at each of its blanks but those within a command.
pub(crate) fn at_blanks(text: &str) -> impl Iterator<Item = &str> {
    let mut breakable = breakable(text);
    text.split(move |c| breakable(c) && c == ' ')
}

/// The words of a text; a command is one of them.
pub(crate) fn words(text: &str) -> impl Iterator<Item = &str> {
    let mut breakable = breakable(text);
    text.split(move |c: char| breakable(c) && c.is_whitespace()).filter(|word| !word.is_empty())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_command_is_one_word() {
        let said = |text| words(text).collect::<Vec<_>>();
        let text = "see  (`waterflight undo 3`), or `a b`";
        assert_eq!(said(text), ["see", "(`waterflight undo 3`),", "or", "`a", "b`"]);
        assert_eq!(said("Next: waterflight mix \"a  b\""), ["Next: waterflight mix \"a  b\""]);
        assert_eq!(said("Next: `waterflight mix f`."), ["Next:", "`waterflight mix f`."]);
        assert_eq!(said("an `open waterflight mix"), ["an", "`open", "waterflight", "mix"]);
        assert_eq!(said("`waterflight mix \"a \\` b\"` c"), ["`waterflight mix \"a \\` b\"`", "c"]);
    }
}
