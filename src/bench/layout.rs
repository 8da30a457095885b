//! What lies where in a bench: its mark, its folders, the files that the program writes into them, and the
//! word that the text of each begins with.

/// Name of the file that marks a folder as a bench.
pub const MARK: &str = "bench.ron";

/// The folders of what people write, in the order of the job, with the word that their files begin with;
/// `salts` and `targets` are for the user's own.
pub(super) const WRITTEN: [(&str, &str); 5] = [
    ("salts", "Salt"),
    ("stocks", "Stock"),
    ("waters", "Water"),
    ("flights", "Flight"),
    ("targets", "Target"),
];

/// The folders of what the tool records.
pub(super) const RECORDED: [&str; 2] = ["records", "sessions"];

/// The files of the folder `records`.
pub(super) const RECORDS: [&str; 2] = ["batches.jsonl", "pours.jsonl"];

/// The files of a session.
pub(super) const OF_A_SESSION: [&str; 5] =
    ["plan.json", "key.sealed", "key.json", "waters.json", "scores.jsonl"];

/// What is kept of a log's torn end.
pub(super) const TORN: &str = ".torn";

/// The folder that a text belongs into by its first word.
pub(super) fn kind_of_text(text: &str) -> Option<&'static str> {
    let first = first_line(text)?;
    let kind = WRITTEN.iter().find(|(_, word)| {
        first.strip_prefix(word).is_some_and(|rest| rest.trim_start().starts_with('('))
    });
    kind.map(|(folder, _)| *folder)
}

/// The first line that is no comment.
fn first_line(text: &str) -> Option<&str> {
    let lines = text.trim_start_matches('\u{feff}').lines().map(str::trim_start);
    lines.filter(|line| !line.is_empty()).find(|line| !line.starts_with("//"))
}

/// Whether a text was meant as a file of a folder, however wrong it is: it begins with the word of such
/// files, or with the bracket behind it.
pub(super) fn is_meant_for(folder: Option<&str>, text: &str) -> bool {
    let word = WRITTEN.iter().find(|(name, _)| Some(*name) == folder).map(|(_, word)| *word);
    first_line(text).zip(word).is_some_and(|(first, word)| {
        let rest = first.strip_prefix(word);
        let ends = |rest: &str| !rest.starts_with(char::is_alphanumeric);
        first.starts_with(['(', '#']) || rest.is_some_and(ends)
    })
}
