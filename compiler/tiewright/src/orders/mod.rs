//! The order book: what is ordered, a line an order of one article, as a table that people keep in a
//! spreadsheet.
//!
//! Input: the bytes of the table and the names it may speak of; output: the lines that are good, and what
//! is wrong with the others. Every row is either good or refused, none is passed over. Nothing here
//! drafts, plans or reads a file.

pub mod book;
pub mod cell;
pub mod columns;
pub mod rolls;
