//! The tiewright program as a library, so that tests and benches reach its parts: the command
//! line, the files read and written, and the formats. Everything that touches the outside world
//! is here; the language and the geometry live in their own crates.

pub mod cli;
pub mod commands;
pub mod console;
pub mod export;
pub mod files;
pub mod lay;
pub mod loader;
pub mod orders;
pub mod parallel;
pub mod planning;
pub mod readings;
pub mod report;
pub mod rows;
#[cfg(test)]
mod sample;
pub mod sizes;
pub mod table;
