//! The commands: each takes what the command line said and gives how it went.

pub mod check;
pub mod delivery;
pub mod draft;
pub mod drafting;
pub mod fit;
pub mod golden;
pub mod knots;
pub mod lay;
pub mod laying;
pub mod plan;
pub mod proposal;
pub mod readings;
pub mod search;
pub mod sheet;
mod sized;

use std::process::ExitCode;

/// How a command went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// All done.
    Done,
    /// The input is wrong, or a file cannot be read or written.
    Wrong,
    /// The command line asks for what cannot be.
    Misused,
}

impl From<Outcome> for ExitCode {
    fn from(outcome: Outcome) -> ExitCode {
        ExitCode::from(match outcome {
            Outcome::Done => 0,
            Outcome::Wrong => 1,
            Outcome::Misused => 2,
        })
    }
}

impl From<bool> for Outcome {
    fn from(good: bool) -> Outcome {
        if good { Outcome::Done } else { Outcome::Wrong }
    }
}
