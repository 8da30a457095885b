//! Commands that a text proposes, as they can be typed: names in quotes where a shell needs them, and
//! the bench that was named.

use std::path::Path;

use crate::text::table::{blanks_before, columns, letters, wrapped_words};

/// A name as it is typed behind a command: in quotes unless it is one plain word.
///
/// ```
/// use waterflight::text::command_line::typed;
/// assert_eq!(typed("middle"), "middle");
/// assert_eq!(typed("my b'ench"), "\"my b'ench\"");
/// assert_eq!(typed("a \"b\" $c"), r#""a \"b\" \$c""#);
/// ```
#[must_use]
pub fn typed(name: &str) -> String {
    quoted_unless(name, |c| c.is_alphanumeric() || matches!(c, '-' | '_'))
}

/// A path, likewise: its dots and slashes are plain.
#[must_use]
pub fn typed_path(path: &Path) -> String {
    let plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/' | '…');
    quoted_unless(&path.display().to_string(), plain)
}

fn quoted_unless(word: &str, plain: impl Fn(char) -> bool) -> String {
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    let mut out = String::from("\"");
    for c in word.chars() {
        if matches!(c, '\\' | '"' | '$' | '`') {
            out.push('\\');
        }
        out.push(c);
    }
    out.push('"');
    out
}

/// How a command of this program begins.
const PROGRAM: &str = "waterflight ";

/// Commands that make or need no bench.
const WITHOUT_BENCH: [&str; 6] = ["new", "start", "unpack", "salts", "sources", "completions"];

/// A text whose proposals of a command are for this bench: those behind `Next:` and those between
/// backticks. A command that was broken over lines stands in one, to be copied.
#[must_use]
pub fn for_bench(text: &str, bench: &Path) -> String {
    let option = format!("--bench {}", typed_path(bench));
    let mut out = String::new();
    let mut lines = text.split_inclusive('\n').peekable();
    while let Some(line) = lines.next() {
        let mut whole = line.trim_end().to_owned();
        let mut last = line;
        // What was broken goes on with a word that found no room.
        while is_open(&whole)
            && let Some(more) = lines.peek().filter(|more| goes_on(last, more))
        {
            whole = format!("{whole} {}", more.trim());
            last = more;
            lines.next();
        }
        // What grows is broken afresh, to the end of its paragraph.
        if !is_next(&whole) && with_option(&whole, &option) != whole {
            let inset = blanks_before(line);
            let is_further = |more: &str| inset == 0 || blanks_before(more) > inset;
            let is_same = |last: &str, more: &str| {
                !begins_anew(more) && is_further(more) && goes_on(last, more)
            };
            while let Some(more) = lines.peek().filter(|more| is_same(last, more)) {
                whole = format!("{whole} {}", more.trim());
                last = more;
                lines.next();
            }
        }
        let end = if last.ends_with('\n') { "\n" } else { "" };
        let changed = with_option(&whole, &option);
        if changed == line.trim_end() {
            out.push_str(line);
        } else if is_next(&whole) {
            out.push_str(&format!("{changed}{end}"));
        } else {
            out.push_str(&format!("{}{end}", broken(&changed, last)));
        }
    }
    out
}

/// A text whose commands for a session, between backticks, are written out for this one: `session progress
/// NAME` is said where nobody knows the session.
///
/// ```
/// use waterflight::text::command_line::for_session;
/// let said = for_session("`session progress NAME` lists the tasters; `--late`", "my night");
/// assert_eq!(said, "`waterflight session progress \"my night\"` lists the tasters; `--late`");
/// ```
#[must_use]
pub fn for_session(text: &str, session: &str) -> String {
    let name = typed(session);
    let part = |(at, part): (usize, &str)| match part.strip_prefix("session ") {
        Some(step) if at % 2 == 1 => {
            let words = step.split(' ').map(|word| if word == "NAME" { &name } else { word });
            format!("{PROGRAM}session {}", words.collect::<Vec<_>>().join(" "))
        }
        _ => part.to_owned(),
    };
    text.split('`').enumerate().map(part).collect::<Vec<_>>().join("`")
}

/// Whether a line begins with a command to be typed next.
fn is_next(line: &str) -> bool {
    let next = line.strip_prefix("Next: ").or_else(|| line.strip_prefix("next: "));
    next.is_some_and(|next| next.starts_with(PROGRAM))
}

/// Whether a line is a note or a step of its own.
fn begins_anew(line: &str) -> bool {
    is_next(line) || line.trim_start().starts_with(['*', '!', '-'])
}

/// Whether a command that begins in a line may go on in the one after it.
fn is_open(line: &str) -> bool {
    let last = line.rfind('`').map_or("", |at| line.get(at + 1..).unwrap_or_default());
    is_next(line) || (line.matches('`').count() % 2 == 1 && format!("{last} ").starts_with(PROGRAM))
}

/// Whether a line is one with that before it: it begins with a word that found no room there.
fn goes_on(line: &str, more: &str) -> bool {
    let is_further = !is_next(line) || more.starts_with("  ");
    let Some(word) = more.split_whitespace().next().filter(|_| is_further) else { return false };
    letters(line.trim_end()) + 1 + letters(word) > columns()
}

/// A line with the option behind each of its commands that can have it.
fn with_option(line: &str, option: &str) -> String {
    if is_next(line) {
        let named = line.contains("--bench");
        return if named { line.to_owned() } else { format!("{line} {option}") };
    }
    let mut parts: Vec<String> = line.split('`').map(str::to_owned).collect();
    let count = parts.len();
    // Every second part stands between backticks, but for a last one that nothing closes.
    let closed = parts.iter_mut().enumerate().filter(|(n, _)| n % 2 == 1 && n + 1 < count);
    for (_, command) in closed {
        let verb = command.strip_prefix(PROGRAM).and_then(|rest| rest.split(' ').next());
        let takes = verb.is_some_and(|verb| !WITHOUT_BENCH.contains(&verb));
        if takes && !command.contains("--bench") && !command.contains("--help") {
            command.push(' ');
            command.push_str(option);
        }
    }
    parts.join("`")
}

/// A line broken to the width of the screen, commands between backticks kept whole; it goes on as far in as
/// the last of its lines did, or behind the mark of a note.
fn broken(line: &str, last: &str) -> String {
    let is_note = line.starts_with("* ") || line.starts_with("! ");
    let indent = if is_note { 2 } else { blanks_before(last) };
    let mut inside = false;
    let words = line.trim_start().split(|c: char| {
        inside ^= c == '`';
        c == ' ' && !inside
    });
    wrapped_words(words, blanks_before(line), indent)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::table::fitted;

    #[test]
    fn every_proposed_command_names_the_bench() {
        let bench = Path::new("/tmp/my b'ench");
        let said = for_bench("Record 3; `waterflight undo 3` takes it back.\n", bench);
        assert_eq!(
            said,
            "Record 3; `waterflight undo 3 --bench \"/tmp/my b'ench\"` takes it back.\n"
        );
        // What begins a line at the indent of the paragraph is another one.
        let two = "  see (more:\n    `waterflight why 7 and this is a name that is long enough to fill it`)\n  salts: 1 mg/L\n";
        assert!(for_bench(two, bench).ends_with("\n  salts: 1 mg/L\n"));
        let said = for_bench("see `waterflight mix --help` and `waterflight new DIR`\n", bench);
        assert!(!said.contains("--bench"), "{said}");
        let long = "Next: waterflight session score tasting-of-the-second-week-of-the-autumn-and-more \
                    \"ann of the hill\"\nmore\n";
        let wrapped = fitted(long);
        assert_ne!(wrapped, long, "too short to be broken");
        let said = for_bench(&wrapped, Path::new("b"));
        assert!(said.contains("\"ann of the hill\" --bench b\nmore\n"), "{said}");
        let note = "* calcium: no batch was recorded, so nothing is taken from it (`waterflight weighed`\n  \
                    records one).\n";
        let said = for_bench(note, Path::new("/tmp/some/where"));
        assert!(said.contains("\n  (`waterflight weighed --bench /tmp/some/where`"), "{said}");
        let paragraph = fitted(
            "`waterflight targets NAME … --into FLIGHT` makes a flight of them. They are starting points, not \
             findings about taste.\n",
        );
        let said = for_bench(&paragraph, Path::new("b"));
        assert!(said.contains("flight of them.\n  They are starting points"), "{said}");
        let plain = "Next: waterflight mix f\nNot wrapped\n";
        assert_eq!(
            for_bench(plain, Path::new("b")),
            "Next: waterflight mix f --bench b\nNot wrapped\n"
        );
    }
}
