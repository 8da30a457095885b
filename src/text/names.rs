//! Names as people type them: the case does not count, nor whether blanks are hyphens.

/// The known name that is meant: the same one; else the only one that differs in nothing but case,
/// blanks and hyphens.
#[must_use]
pub fn meant<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    let typed = typed.trim();
    if let Some(same) = known.iter().find(|name| **name == typed) {
        return Some(same);
    }
    let wanted = folded(typed);
    let alike: Vec<&&str> = known.iter().filter(|name| folded(name) == wanted).collect();
    match alike.as_slice() {
        [one] => Some(**one),
        _ => None,
    }
}

/// Whether a typed name may be meant for a name. Two things of a kind that are called alike could not be
/// told apart, so their names have to differ in more.
#[must_use]
pub fn alike(typed: &str, name: &str) -> bool {
    folded(typed) == folded(name)
}

/// A name without what does not count.
#[must_use]
pub fn folded(name: &str) -> String {
    let name = name.trim();
    let lower = name.to_lowercase();
    // A file is meant by its name, whatever folder stands before it.
    let file = lower.strip_suffix(".ron").map(|file| file.rsplit('/').next().unwrap_or(file));
    let stem = file.unwrap_or(&lower);
    let plain = stem.replace(['-', '_'], " ");
    plain.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Names one after the other; one that holds a comma stands in quotes, so that it is not read as two.
#[must_use]
pub fn listed<S: AsRef<str>>(names: &[S]) -> String {
    let one = |name: &S| match name.as_ref() {
        name if name.contains(',') => format!("`{name}`"),
        name => name.to_owned(),
    };
    names.iter().map(one).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_and_hyphens_do_not_count_where_nothing_else_is_meant() {
        assert_eq!(meant("Table-Salt", &["soda", "table salt"]), Some("table salt"));
        assert_eq!(meant("SODA.ron", &["soda"]), Some("soda"));
        assert_eq!(meant("stocks/soda.ron", &["soda"]), Some("soda"));
        assert_eq!(meant("soda", &["Soda", "soda"]), Some("soda"));
        assert_eq!(meant("SODA", &["Soda", "soda"]), None);
        assert_eq!(meant("sod", &["soda"]), None);
        assert_eq!(listed(&["soft", "middle, all calcium"]), "soft, `middle, all calcium`");
    }
}
