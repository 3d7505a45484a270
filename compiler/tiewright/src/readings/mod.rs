//! Readings of finished ties against their points of measure: what came back from the bench as a table
//! of comma-separated values, judged row by row.
//!
//! Input: the bytes of the table and the checked styles; output: for every style and size and every
//! point the readings' mean, spread and range, which ties are outside, and what is wrong with the
//! table. Every row is either judged or refused, none is passed over. Nothing here reads or writes a
//! file.

pub mod cell;
pub mod columns;
pub mod form;
pub mod judge;
pub mod plot;
pub mod subject;
pub mod summary;
pub mod tally;
pub mod text;
