//! The command line of waterflight.

fn main() {}
