//! `tiewright readings`: a blank form for readings of finished ties, or readings judged. What is wrong with
//! one row refuses that row; all others are judged all the same.

use std::fs;
use std::path::Path;

use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::{Compiled, compile};

use super::Outcome;
use super::delivery::{Export, put, refuse};
use super::drafting::{Sizes, draft_all, jobs};
use crate::cli::ReadingsArgs;
use crate::console::Console;
use crate::export::svg::svg;
use crate::files::safe_name;
use crate::loader::{FileLoader, STDIN, table_bytes};
use crate::readings::judge::{Defaults, Judged, judge};
use crate::readings::{form, plot, summary, text};
use crate::report;
use crate::rows::as_text;

/// Writes a form, or judges readings.
pub fn run(args: &ReadingsArgs, console: &Console) -> Outcome {
    if args.file == STDIN && args.readings.as_deref() == Some(STDIN) {
        console.complain("error: only one of the two can be read from the standard input\n");
        return Outcome::Misused;
    }
    let compiled = compile(&args.file, &args.set, &FileLoader);
    if compiled.diagnostics.iter().any(Diagnostic::is_error) {
        return refuse(console, &compiled, &compiled.diagnostics);
    }
    match &args.readings {
        Some(table) => judged(args, table, compiled, console),
        None => blank(args, &compiled, console),
    }
}

/// What the names of all files begin with.
fn stem(args: &ReadingsArgs) -> String {
    let stem = Path::new(&args.file).file_stem().unwrap_or_default();
    safe_name(&stem.to_string_lossy())
}

/// Writes a blank form.
fn blank(args: &ReadingsArgs, compiled: &Compiled, console: &Console) -> Outcome {
    let sizes = args.size.as_deref().map_or(Sizes::Every, Sizes::One);
    let jobs = match jobs(&compiled.program, args.style.as_deref(), sizes) {
        Ok(jobs) => jobs,
        Err(error) => return refuse(console, compiled, &[*error]),
    };
    let (drafts, diagnostics) = draft_all(&compiled.program, &jobs, true);
    if diagnostics.iter().any(Diagnostic::is_error) {
        return refuse(console, compiled, &diagnostics);
    }
    let drafts: Vec<_> = drafts.into_iter().flatten().collect();
    let bytes = form::form(&drafts, args.unit).into_bytes();
    let written = match &args.out {
        Some(out) => {
            let ending = "-form.csv";
            put(out, stem(args), vec![Export { ending, bytes }])
        }
        None => console
            .deliver(&bytes)
            .map(|()| String::new())
            .map_err(|e| e.to_string()),
    };
    told(written, console)
}

fn told(written: Result<String, String>, console: &Console) -> Outcome {
    match written {
        Ok(said) => {
            console.say(&said);
            Outcome::Done
        }
        Err(why) => {
            console.complain(&format!("error: {why}\nnothing was written\n"));
            Outcome::Wrong
        }
    }
}

/// Judges a table.
fn judged(args: &ReadingsArgs, table: &str, compiled: Compiled, console: &Console) -> Outcome {
    let bytes = match table_bytes(table, "a table of readings") {
        Ok(bytes) => bytes,
        Err(why) => {
            console.complain(&format!("error: {why}\n"));
            return Outcome::Wrong;
        }
    };
    let Compiled {
        mut sources,
        program,
        ..
    } = compiled;
    let file = sources.add(table, as_text(&bytes));
    let defaults = Defaults {
        style: args.style.as_deref(),
        size: args.size.as_deref(),
    };
    let mut judged = judge(&program, &bytes, file, defaults);
    let (shown, more) = std::mem::take(&mut judged.findings).into_shown();
    console.complain(&report::render(&sources, &shown, console.is_styled()));
    if more > 0 {
        console.complain(&format!("and {more} more\n\n"));
    }
    let wrong = judged.refused() > 0 || shown.iter().any(Diagnostic::is_error);
    console.say(&text::report(&judged, args.unit));
    if let Some(out) = &args.out {
        let files = files(args, &judged);
        let target = |file: &Export| out.join(format!("{}{}", stem(args), file.ending));
        let written = if files.iter().any(|file| same(&target(file), table)) {
            Err("a file would take the place of the readings: choose another folder".to_owned())
        } else {
            put(out, stem(args), files)
        };
        if told(written, console) != Outcome::Done {
            return Outcome::Wrong;
        }
    }
    let outside = args.strict && judged.ties_outside > 0;
    (!wrong && !outside).into()
}

/// The files written about readings.
fn files(args: &ReadingsArgs, judged: &Judged) -> Vec<Export> {
    let export = |ending, text: String| Export {
        ending,
        bytes: text.into_bytes(),
    };
    let title = format!("{}, readings", stem(args));
    let drawing = svg(&plot::plot(judged, &title, args.unit));
    vec![
        export("-readings.csv", summary::summary(judged)),
        export("-outside.csv", summary::outside(judged)),
        export("-readings.svg", drawing),
    ]
}

/// Whether both paths are one file.
fn same(target: &Path, table: &str) -> bool {
    let paths = (fs::canonicalize(target), fs::canonicalize(table));
    matches!(paths, (Ok(a), Ok(b)) if a == b)
}
