//! `tiewright check`: every style of every file in every size, drafted and proven; nothing is
//! written.

use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::{Compiled, compile};

use super::Outcome;
use super::drafting::{Sizes, jobs, prove_all, same_names};
use crate::cli::CheckArgs;
use crate::console::Console;
use crate::loader::FileLoader;
use crate::report;
use crate::table::counted;

/// Checks all files, the later ones even if an earlier one is wrong.
pub fn run(args: &CheckArgs, console: &Console) -> Outcome {
    let mut good = true;
    for file in &args.files {
        good &= check(file, console);
    }
    good.into()
}

/// Everything wrong with a compiled file: with its text, or else with its drafts in all styles and
/// sizes and their proofs. Gives the number of drafts too.
pub fn diagnostics(compiled: &Compiled) -> (Vec<Diagnostic>, usize) {
    let mut diagnostics = compiled.diagnostics.clone();
    if diagnostics.iter().any(Diagnostic::is_error) {
        return (diagnostics, 0);
    }
    match jobs(&compiled.program, None, Sizes::Every) {
        Ok(jobs) => {
            diagnostics.extend(same_names(&jobs));
            diagnostics.extend(prove_all(&compiled.program, &jobs));
            (diagnostics, jobs.len())
        }
        Err(error) => {
            diagnostics.push(*error);
            (diagnostics, 0)
        }
    }
}

fn check(file: &str, console: &Console) -> bool {
    let compiled = compile(file, &[], &FileLoader);
    let (diagnostics, count) = diagnostics(&compiled);
    console.complain(&report::render(
        &compiled.sources,
        &diagnostics,
        console.is_styled(),
    ));
    let errors = diagnostics.iter().filter(|d| d.is_error()).count();
    let styles = compiled.program.styles().len();
    if errors == 0 {
        let warned = match diagnostics.len() {
            0 => "nothing wrong".to_owned(),
            warnings => counted(warnings, "warning"),
        };
        console.say(&format!(
            "{file}: {warned} in {} of {}\n",
            counted(count, "draft"),
            counted(styles, "style")
        ));
    } else {
        console.say(&format!("{file}: wrong\n"));
    }
    errors == 0
}
