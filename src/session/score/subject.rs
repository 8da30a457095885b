//! The cup or the tray that an answer or a line is about.

use crate::session::plan::Code;

/// What an answer is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Subject {
    /// A cup, with the place of its tray in the plan.
    Cup(usize, Code),
    /// A tray, by its place in the plan.
    Tray(usize),
}

impl Subject {
    /// The place in the plan of the tray that it is or stands on.
    pub(crate) fn tray(self) -> usize {
        let (Self::Cup(place, _) | Self::Tray(place)) = self;
        place
    }
}

/// What a line is about: the answers of a cup or a tray, or the turning of a tray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct About {
    pub(crate) subject: Subject,
    pub(crate) turning: bool,
}
