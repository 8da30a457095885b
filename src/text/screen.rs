//! Short first: what is needed at the bench, and the rest on request.

use crate::text::cautions;
use crate::text::table::wrapped;

/// How much of a text is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Extent {
    /// What is needed at the bench: one screen for a flight of ordinary size.
    Screen,
    /// Everything.
    #[default]
    Full,
}

/// The last line of a text of which something is left out.
pub(crate) const REST: &str = "The rest: --full.";

/// A text that is written in two extents at once.
#[derive(Debug)]
pub(crate) struct Screen {
    extent: Extent,
    out: String,
    is_cut: bool,
}

impl Screen {
    pub(crate) fn new(extent: Extent) -> Self {
        Self { extent, out: String::new(), is_cut: false }
    }

    /// Adds what stands in both.
    pub(crate) fn push(&mut self, text: &str) {
        self.out.push_str(text);
    }

    /// Adds what is left out of the screen.
    pub(crate) fn rest(&mut self, text: &str) {
        match self.extent {
            Extent::Full => self.out.push_str(text),
            Extent::Screen => self.is_cut |= !text.trim().is_empty(),
        }
    }

    /// Adds what stands on the screen in the place of the rest.
    pub(crate) fn instead(&mut self, text: &str) {
        if self.extent == Extent::Screen {
            self.out.push_str(text);
        }
    }

    /// Adds the caution for whoever drinks it: in one line on the screen.
    pub(crate) fn drinking(&mut self) {
        match self.extent {
            Extent::Full => self.push(&wrapped(cautions::DRINKING, 0)),
            Extent::Screen => self.push(&wrapped(cautions::DRINKING_IN_A_LINE, 0)),
        }
    }

    /// The text; where something was left out, with the word that shows it.
    pub(crate) fn end(mut self) -> String {
        if self.is_cut {
            self.out.push_str(&wrapped(REST, 0));
        }
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(extent: Extent, rest: &str) -> String {
        let mut screen = Screen::new(extent);
        screen.push("first\n");
        screen.rest(rest);
        screen.instead("short\n");
        screen.end()
    }

    #[test]
    fn what_is_left_out_is_said() {
        assert_eq!(said(Extent::Screen, "more\n"), "first\nshort\nThe rest: --full.\n");
        assert_eq!(said(Extent::Full, "more\n"), "first\nmore\n");
        assert_eq!(said(Extent::Screen, ""), "first\nshort\n");
    }
}
