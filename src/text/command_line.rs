//! Commands that a text proposes, as they can be typed: names in quotes where a shell needs them, and
//! the bench that was named.

use std::path::Path;

use crate::text::proposed::{PROGRAM, at_blanks, is_next, parts, words};
use crate::text::table::{blanks_before, columns, letters, wrapped_words};

/// A name as it is typed behind a command: in quotes unless it is one plain word.
///
/// ```
/// use waterflight::text::command_line::typed;
/// assert_eq!(typed("middle"), "middle");
/// assert_eq!(typed("my b'ench"), "\"my b'ench\"");
/// assert_eq!(typed("a \"b\" $c"), r#""a \"b\" \$c""#);
/// assert_eq!(typed("what's \"new\"!"), r#"'what'\''s "new"!'"#);
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
    let mut out = String::new();
    // A shell at a terminal reads `!` between double quotes as a command of its history.
    if word.contains('!') {
        out.push('\'');
        for c in word.chars() {
            match c {
                // These stand outside of the quotes: the one ends them, the other would end the proposal.
                '\'' | '`' => out.push_str(&format!("'\\{c}'")),
                _ => out.push(c),
            }
        }
        out.push('\'');
        return out;
    }
    out.push('"');
    for c in word.chars() {
        if matches!(c, '\\' | '"' | '$' | '`') {
            out.push('\\');
        }
        out.push(c);
    }
    out.push('"');
    out
}

/// Commands that make or need no bench.
const WITHOUT_BENCH: [&str; 6] = ["new", "start", "unpack", "salts", "sources", "completions"];

/// A text whose proposals of a command are for this bench: those behind `Next:` and those between
/// backticks. What grows beyond the width of the screen is broken afresh, to the end of its paragraph.
#[must_use]
pub fn for_bench(text: &str, bench: &Path) -> String {
    let option = option_of(bench);
    let mut out = String::new();
    let mut lines = text.split_inclusive('\n').peekable();
    let mut above = "";
    while let Some(line) = lines.next() {
        let is_in_paragraph = !begins_anew(line) && goes_on(above, line);
        above = line;
        let mut whole = line.trim_end().to_owned();
        if with_option(&whole, &option) == whole {
            out.push_str(line);
            continue;
        }
        let mut last = line;
        if !is_next(&whole) {
            let least = match blanks_before(line) {
                _ if is_note(line) => NOTE_INDENT,
                inset if inset == 0 || is_in_paragraph => inset,
                inset => inset + 1,
            };
            let is_same = |last: &str, more: &str| {
                !begins_anew(more) && blanks_before(more) >= least && goes_on(last, more)
            };
            while let Some(more) = lines.peek().filter(|more| is_same(last, more)) {
                whole = format!("{whole} {}", more.trim());
                last = more;
                lines.next();
            }
            above = last;
        }
        let end = if last.ends_with('\n') { "\n" } else { "" };
        let changed = with_option(&whole, &option);
        let changed = if is_next(&whole) { changed } else { broken(&changed, last) };
        out.push_str(&format!("{changed}{end}"));
    }
    out
}

/// The same where the lines are broken later, as those of a mistake are.
#[must_use]
pub fn for_bench_unbroken(text: &str, bench: &Path) -> String {
    let option = option_of(bench);
    text.split('\n').map(|line| with_option(line, &option)).collect::<Vec<_>>().join("\n")
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
    parts(text).into_iter().enumerate().map(part).collect::<Vec<_>>().join("`")
}

/// Whether a line is a note or a step of its own.
fn begins_anew(line: &str) -> bool {
    is_next(line) || line.trim_start().starts_with(['*', '!', '-'])
}

/// Whether a line begins a note behind its mark.
fn is_note(line: &str) -> bool {
    line.starts_with("* ") || line.starts_with("! ")
}

/// How far in a note goes on: behind its mark.
const NOTE_INDENT: usize = 2;

/// Whether a line is one with that before it: it begins with a word that found no room there.
fn goes_on(line: &str, more: &str) -> bool {
    let Some(word) = words(more).next() else { return false };
    letters(line.trim_end()) + 1 + letters(word) > columns()
}

fn option_of(bench: &Path) -> String {
    format!("--bench {}", typed_path(bench))
}

/// A line with the option behind each of its commands that can have it.
fn with_option(line: &str, option: &str) -> String {
    if is_next(line) {
        let named = line.contains("--bench");
        return if named { line.to_owned() } else { format!("{line} {option}") };
    }
    let mut parts: Vec<String> = parts(line).into_iter().map(str::to_owned).collect();
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

/// A line broken to the width of the screen, commands kept whole; it goes on as far in as the last of its
/// lines did, or behind the mark of a note.
fn broken(line: &str, last: &str) -> String {
    let indent = if is_note(line) { NOTE_INDENT } else { blanks_before(last) };
    wrapped_words(at_blanks(line.trim_start()), blanks_before(line), indent)
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
        let said = for_bench(&fitted(long), Path::new("b"));
        assert!(said.contains("\"ann of the hill\" --bench b\nmore\n"), "{said}");
        assert_eq!(fitted(&said), said);
        let note = "* calcium: no batch was recorded, so nothing is taken from it (`waterflight weighed`\n  \
                    records one).\n";
        let said = for_bench(note, Path::new("/tmp/some/where"));
        assert!(said.contains("\n  (`waterflight weighed --bench /tmp/some/where`"), "{said}");
        let note = "* Only the bottle was looked at: `waterflight stocktake` lists the other ones too.\n\
                    Record 8; `waterflight undo 8` takes it back.\n";
        let said = for_bench(note, Path::new("led"));
        assert!(said.contains("\nRecord 8; `waterflight undo 8 --bench led` takes"), "{said}");
        let wide =
            "`waterflight session poured night --spare \"20 %\" --least \"1.1 L\" --key secret`";
        let paragraph =
            format!("Once it is poured:\n  {wide}, which\n  takes it from the bottles.\n");
        let said = for_bench(&paragraph, Path::new("b"));
        assert!(said.ends_with("--bench b`,\n  which takes it from the bottles.\n"), "{said}");
        let words = "see above; `waterflight undo 3` takes it back";
        let said = for_bench_unbroken(words, Path::new("/tmp/a/folder/that/has/a/name/of/its/own"));
        assert!(said.ends_with("/its/own` takes it back") && !said.contains('\n'), "{said}");
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
