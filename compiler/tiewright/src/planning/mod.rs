//! From an order book to lays: what is cut together, in which markers, under how many plies of which
//! cloth, and whose each tie is.
//!
//! Input: the lines of a book, the checked styles, a table, rolls; output: lays with their jobs, and what
//! is written and said of them. Nothing here reads or writes a file, and nothing searches for a marker.

pub mod articles;
pub mod assign;
pub mod groups;
pub mod json;
pub mod lengths;
pub mod markers;
pub mod plan;
pub mod spreading;
pub mod store;
pub mod sums;
pub mod tables;
pub mod text;
pub mod tickets;
