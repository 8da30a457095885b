//! What part an attribute has in the tests of its session.

use crate::numerics::count;

/// What part an attribute has in the tests of its session.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Tested {
    /// It is tested by itself: the only one, or the one named beforehand.
    #[default]
    Alone,
    /// It is tested together with others.
    Together {
        /// So many.
        attributes: usize,
        /// In so many of them waters differ.
        differing: usize,
    },
    /// It is described: another was named beforehand.
    Described,
}

impl Tested {
    /// The share of the usual risk that its pairs are judged at.
    #[must_use]
    pub fn share(self) -> f64 {
        match self {
            Tested::Together { attributes, differing } => {
                count(differing.max(1)) / count(attributes.max(1))
            }
            Tested::Alone | Tested::Described => 1.0,
        }
    }
}
