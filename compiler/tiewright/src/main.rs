//! The tiewright program.

fn main() {}
