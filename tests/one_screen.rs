//! Short first: one screen for the starter flight, tables within the width of the terminal, no word
//! broken.

use std::error::Error;

use assert_cmd::Command;

use crate::common::starter_bench;

type Fallible = Result<(), Box<dyn Error>>;

#[test]
fn the_starter_flight_fits_a_small_terminal() -> Fallible {
    let (_folder, bench) = starter_bench()?;
    let output =
        Command::cargo_bin("waterflight")?.arg("--bench").arg(&bench).arg("mix").output()?;
    let text = String::from_utf8(output.stdout)?;
    assert!(text.lines().count() <= 24, "{} lines:\n{text}", text.lines().count());
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    // What is needed at the bench: every stock, every water, what fills the bottle, what is missed.
    for words in
        ["table salt", "8 hard, all", "one of each", "hill spring", "OUT OF REACH", "doctor"]
    {
        assert!(text.contains(words), "{words}:\n{text}");
    }
    Ok(())
}

#[cfg(unix)]
mod narrow {
    use super::{Fallible, starter_bench};
    use crate::common::terminal::Terminal;

    /// At 40 columns every line fits, and no word is a piece of one.
    #[test]
    fn nothing_is_wider_than_forty_columns_and_no_word_is_broken() -> Fallible {
        let (folder, bench) = starter_bench()?;
        let bench = bench.display().to_string();
        for command in [
            &["mix"][..],
            &["stock"],
            &["stocktake"],
            &["water", "harbour tap", "middle"],
            &["salts"],
        ] {
            let arguments = [command, &["--bench", &bench]].concat();
            let wide = Terminal::wide(folder.path(), &arguments, 80)?.end()?.1;
            let narrow = Terminal::wide(folder.path(), &arguments, 40)?.end()?.1;
            let plain = |text: &str| strip(text);
            for line in plain(&narrow).lines() {
                assert!(line.trim_end().chars().count() <= 40, "{command:?}: `{line}`");
            }
            // A piece of a word would be a word that the wide text does not have.
            let wide = plain(&wide);
            let words: Vec<&str> = wide.split_whitespace().collect();
            let narrow = plain(&narrow);
            let is_word = |w: &&str| w.chars().any(char::is_alphanumeric);
            for word in narrow.split_whitespace().filter(is_word) {
                assert!(words.contains(&word), "{command:?}: `{word}` is a piece:\n{narrow}");
            }
        }
        Ok(())
    }

    /// A text without the marks of colour.
    fn strip(text: &str) -> String {
        let mut out = String::new();
        let mut rest = text.chars();
        while let Some(c) = rest.next() {
            if c == '\u{1b}' {
                let _mark: String =
                    rest.by_ref().take_while(|c| !c.is_ascii_alphabetic()).collect();
            } else {
                out.push(c);
            }
        }
        out
    }
}
