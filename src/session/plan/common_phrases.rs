//! Words that several pages say alike.

use crate::quantities::show::plain;
use crate::session::plan::panel::USUAL_POWER;

/// So many of a thing: `1 cup`, `2 cups`.
pub(crate) fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

/// `a, b and c`.
pub(crate) fn and_list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [others @ .., last] => format!("{} and {last}", others.join(", ")),
    }
}

/// The usual probability of finding what is there, as people say it.
pub(crate) fn usual_times() -> String {
    format!("{} times in 10", plain(10.0 * USUAL_POWER))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_no_plural() {
        assert_eq!([0, 1, 2].map(|n| counted(n, "cup")), ["0 cups", "1 cup", "2 cups"]);
    }
}
