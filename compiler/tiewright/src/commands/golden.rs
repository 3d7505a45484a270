//! `tiewright golden`: the drafts of some shape files, every style in every size, against outlines
//! kept from before, so that whoever changes a shape sees what moved. What cannot be drafted or
//! proven is not compared and never kept.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use similar::TextDiff;
use tiewright_core::compile;
use tiewright_core::diagnostic::Diagnostic;

use super::Outcome;
use super::drafting::{Job, Sizes, draft_all, jobs};
use crate::cli::GoldenArgs;
use crate::console::Console;
use crate::export::outline::outline;
use crate::files::{Staged, Written};
use crate::loader::FileLoader;
use crate::report;
use crate::table::counted;

/// What the outlines kept start with; nothing else is taken for one.
const FIRST_WORD: &str = "style ";
/// Lines shown round a difference.
const CONTEXT: usize = 3;

/// Outlines by file name.
type Outlines = BTreeMap<String, String>;

/// Compares, or keeps what is there now.
pub fn run(args: &GoldenArgs, console: &Console) -> Outcome {
    let compared = current(args, console).and_then(|current| {
        let kept = kept(&args.golden).map_err(|e| said(&args.golden, &e))?;
        if args.accept {
            accept(args, &current, &kept, console)
        } else {
            Ok(compare(args, &current, &kept, console))
        }
    });
    match compared {
        Ok(same) => same.into(),
        Err(why) => {
            console.complain(&format!("error: {why}\n"));
            Outcome::Wrong
        }
    }
}

/// The outlines of all shape files as they are now.
fn current(args: &GoldenArgs, console: &Console) -> Result<Outlines, String> {
    let mut outlines = Outlines::new();
    let examples = with_ending(&args.examples, "tie").map_err(|e| said(&args.examples, &e))?;
    if examples.is_empty() {
        return Err(format!("{} has no shape files", args.examples.display()));
    }
    for path in examples {
        for (stem, text) in outlines_of(&path, console)? {
            if outlines.insert(format!("{stem}.txt"), text).is_some() {
                return Err(format!(
                    "two drafts in {} would be kept as {stem}.txt: give one of the styles another name",
                    args.examples.display()
                ));
            }
        }
    }
    Ok(outlines)
}

/// The outlines of one file, by the stems of their names.
fn outlines_of(path: &Path, console: &Console) -> Result<Vec<(String, String)>, String> {
    let compiled = compile(&path.to_string_lossy(), &[], &FileLoader);
    let mut diagnostics = compiled.diagnostics;
    let mut outlines = Vec::new();
    if !diagnostics.iter().any(Diagnostic::is_error) {
        match jobs(&compiled.program, None, Sizes::Every) {
            Ok(jobs) => {
                let (drafts, more) = draft_all(&compiled.program, &jobs, false);
                diagnostics.extend(more);
                let stems = jobs.iter().map(Job::stem);
                outlines.extend(stems.zip(drafts.iter().flatten().map(outline)));
            }
            Err(error) => diagnostics.push(*error),
        }
    }
    console.complain(&report::render(
        &compiled.sources,
        &diagnostics,
        console.is_styled(),
    ));
    if diagnostics.iter().any(Diagnostic::is_error) {
        return Err(format!("{} cannot be drafted", path.display()));
    }
    Ok(outlines)
}

/// The outlines kept; none if there is no such folder yet.
fn kept(folder: &Path) -> std::io::Result<Outlines> {
    let mut outlines = Outlines::new();
    if !folder.exists() {
        return Ok(outlines);
    }
    for path in with_ending(folder, "txt")? {
        let text = fs::read_to_string(&path)?;
        if let Some(name) = path.file_name().filter(|_| text.starts_with(FIRST_WORD)) {
            outlines.insert(name.to_string_lossy().into_owned(), text);
        }
    }
    Ok(outlines)
}

/// Says what differs; whether nothing does.
fn compare(args: &GoldenArgs, current: &Outlines, kept: &Outlines, console: &Console) -> bool {
    let mut same = true;
    let names = current
        .keys()
        .chain(kept.keys().filter(|name| !current.contains_key(*name)));
    for name in names {
        let path = args.golden.join(name).display().to_string();
        let difference = match (kept.get(name), current.get(name)) {
            (Some(then), Some(now)) if then == now => continue,
            (Some(then), Some(now)) => unified(&path, then, now),
            (_, None) => format!("{path}: nothing makes it any more\n"),
            (None, _) => format!("{path}: not kept yet\n"),
        };
        console.say(&difference);
        same = false;
    }
    if same {
        console.say(&(counted(current.len(), "outline") + ", no difference\n"));
    } else {
        console.say(&format!(
            "keep the drafts as they are now with `tiewright golden --accept {} {}`\n",
            args.examples.display(),
            args.golden.display()
        ));
    }
    same
}

fn unified(path: &str, then: &str, now: &str) -> String {
    let diff = TextDiff::from_lines(then, now);
    let headers = (format!("{path} (kept)"), format!("{path} (now)"));
    diff.unified_diff()
        .context_radius(CONTEXT)
        .header(&headers.0, &headers.1)
        .to_string()
}

/// Makes the outlines kept those of now.
fn accept(
    args: &GoldenArgs,
    current: &Outlines,
    kept: &Outlines,
    console: &Console,
) -> Result<bool, String> {
    fs::create_dir_all(&args.golden).map_err(|e| said(&args.golden, &e))?;
    // All are written before any takes its place.
    let mut staged = Vec::with_capacity(current.len());
    for (name, text) in current {
        let path = args.golden.join(name);
        staged.push(Staged::new(path.clone(), text.as_bytes()).map_err(|e| said(&path, &e))?);
    }
    for file in staged {
        let path = file.target().to_owned();
        if file.finish().map_err(|e| said(&path, &e))? == Written::Written {
            console.say(&format!("wrote {}\n", path.display()));
        }
    }
    for name in kept.keys().filter(|name| !current.contains_key(*name)) {
        let path = args.golden.join(name);
        fs::remove_file(&path).map_err(|e| said(&path, &e))?;
        console.say(&format!("removed {}\n", path.display()));
    }
    console.say(&(counted(current.len(), "outline") + " kept\n"));
    Ok(true)
}

/// The files of `folder` with that ending, by name.
fn with_ending(folder: &Path, ending: &str) -> std::io::Result<Vec<PathBuf>> {
    let mut paths = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.extension().is_some_and(|e| e == ending) {
            paths.push(path);
        }
    }
    paths.sort();
    Ok(paths)
}

fn said(path: &Path, error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => format!("there is no file or folder `{}`", path.display()),
        _ => format!("`{}`: {error}", path.display()),
    }
}
