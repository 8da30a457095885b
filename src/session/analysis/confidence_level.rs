//! How often an interval holds what it is about.

/// Level of every interval (common practice).
pub const LEVEL: f64 = 0.95;

/// Share left outside each end of an interval.
pub(crate) const OUTSIDE: f64 = (1.0 - LEVEL) / 2.0;
