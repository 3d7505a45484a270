//! The tiewright program: reads the command line, runs the command, gives its exit code.

use std::process::ExitCode;

use clap::Parser;
use tiewright::cli::{Cli, Command};
use tiewright::commands;
use tiewright::console::Console;

fn main() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(said) => {
            // Help and usage errors alike; a closed pipe is no reason to complain.
            let _ = said.print();
            return ExitCode::from(u8::try_from(said.exit_code()).unwrap_or(2));
        }
    };
    let console = Console::new();
    let outcome = match &cli.command {
        Command::Draft(args) => commands::draft::run(args, &console),
        Command::Sheet(args) => commands::sheet::run(args, &console),
        Command::Lay(args) => commands::lay::run(args, &console),
        Command::Check(args) => commands::check::run(args, &console),
        Command::Readings(args) => commands::readings::run(args, &console),
        Command::Plan(args) => commands::plan::run(args, &console),
        Command::Fit(args) => commands::fit::run(args, &console),
        Command::Golden(args) => commands::golden::run(args, &console),
    };
    outcome.into()
}
