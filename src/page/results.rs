//! The pages of what was learnt.
