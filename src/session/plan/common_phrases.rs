//! Words that several pages say alike.

use crate::quantities::show::plain;
use crate::session::plan::panel::USUAL_POWER;

/// So many of a thing: `1 cup`, `2 cups`.
pub(crate) fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
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
