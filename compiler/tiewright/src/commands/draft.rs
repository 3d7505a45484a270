//! `tiewright draft`: everything is drafted before anything is written, and everything is written
//! before anything takes its place. After an error no file has changed.

use std::fmt::Write;
use std::path::Path;

use tiewright_core::check::style::ALL_SIZES;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::draft::Draft;
use tiewright_core::layout::{folded_sheet, pattern_sheet};
use tiewright_core::{Compiled, Program, StyleInfo, compile};

use super::Outcome;
use super::drafting::{Job, Sizes, draft_all, jobs, same_names};
use crate::cli::{DraftArgs, Format};
use crate::console::Console;
use crate::export::{dxf::dxf, json::json, outline::outline, png::png, svg::svg};
use crate::files::{Staged, Written};
use crate::loader::FileLoader;
use crate::{parallel, report, table};

/// `--out -`.
const STDOUT: &str = "-";
/// More drafts than this get a line each, not a table each.
const MOST_TABLES: usize = 3;
/// More files than this are counted, not listed.
const MOST_LISTED: usize = 20;

/// The bytes of one file of a draft and what its name ends in.
struct Export {
    ending: &'static str,
    bytes: Vec<u8>,
}

/// Drafts what `args` ask for and writes it.
pub fn run(args: &DraftArgs, console: &Console) -> Outcome {
    let mut formats = args.formats.clone();
    formats.sort_unstable();
    formats.dedup();
    let to_stdout = args.out == Path::new(STDOUT);
    if to_stdout && formats.len() != 1 {
        console.complain("error: `--out -` writes one file: choose one format with `--as`\n");
        return Outcome::Misused;
    }
    let compiled = compile(&args.file, &args.set, &FileLoader);
    let (jobs, drafts, diagnostics) = match drafts_of(&compiled, args) {
        Ok((jobs, drafts, warnings)) => (jobs, drafts, warnings),
        Err(diagnostics) => return fail(console, &compiled, &diagnostics),
    };
    console.complain(&report::render(
        &compiled.sources,
        &diagnostics,
        console.is_styled(),
    ));
    if to_stdout {
        return deliver(args, &formats, &drafts, console);
    }
    match write_all(args, &formats, &jobs, &drafts) {
        Ok(written) => {
            console.say(&(tables(&drafts) + &written));
            Outcome::Done
        }
        Err(why) => {
            console.complain(&format!("error: {why}\nnothing was written\n"));
            Outcome::Wrong
        }
    }
}

type Drafts = (Vec<Job>, Vec<Draft>, Vec<Diagnostic>);

/// Everything drafted, with warnings; or every diagnostic if one is an error.
fn drafts_of(compiled: &Compiled, args: &DraftArgs) -> Result<Drafts, Vec<Diagnostic>> {
    let mut diagnostics = compiled.diagnostics.clone();
    if diagnostics.iter().any(Diagnostic::is_error) {
        return Err(diagnostics);
    }
    let sizes = match args.size.as_deref() {
        None => Sizes::Base,
        Some(ALL_SIZES) => Sizes::Named,
        Some(size) => Sizes::One(size),
    };
    let jobs = match jobs(&compiled.program, args.style.as_deref(), sizes) {
        Ok(jobs) => jobs,
        Err(error) => return Err(vec![*error]),
    };
    diagnostics.extend(same_names(&jobs));
    if let Sizes::One(size) = sizes {
        diagnostics.extend(without_size(&compiled.program, &jobs, args, size));
    }
    let (drafts, more) = draft_all(&compiled.program, &jobs, args.unproven);
    diagnostics.extend(more);
    diagnostics.extend(unfolded(&drafts, &args.formats));
    let complete: Option<Vec<Draft>> = drafts.into_iter().collect();
    match complete {
        Some(drafts) if !diagnostics.iter().any(Diagnostic::is_error) => {
            Ok((jobs, drafts, diagnostics))
        }
        _ => Err(diagnostics),
    }
}

/// A warning for every style that is skipped because it lacks the size asked for.
fn without_size(program: &Program, jobs: &[Job], args: &DraftArgs, size: &str) -> Vec<Diagnostic> {
    let skipped = |style: &&StyleInfo| {
        args.style.is_none() && !jobs.iter().any(|job| job.style == style.name)
    };
    let warning = |style: &StyleInfo| {
        let message = format!("`{}` has no size `{size}` and is left out", style.name);
        Diagnostic::general_warning(Code::UnknownSize, message)
    };
    program
        .styles()
        .iter()
        .filter(skipped)
        .map(warning)
        .collect()
}

/// A warning for every draft of which a folded picture is asked for and cannot be made.
fn unfolded(drafts: &[Option<Draft>], formats: &[Format]) -> Vec<Diagnostic> {
    if !formats.contains(&Format::Folded) {
        return Vec::new();
    }
    // Where nothing is cut, that is said instead.
    let cut = drafts.iter().flatten().filter(|d| !d.pieces.is_empty());
    let flat = cut.filter(|draft| draft.folded.is_none());
    let warning = |draft: &Draft| {
        let message = format!("{} has no folded picture", draft.title());
        Diagnostic::general_warning(Code::NoFinish, message)
            .hint("its shape has no assembly that states its `finish`")
    };
    flat.map(warning).collect()
}

fn fail(console: &Console, compiled: &Compiled, diagnostics: &[Diagnostic]) -> Outcome {
    console.complain(&report::render(
        &compiled.sources,
        diagnostics,
        console.is_styled(),
    ));
    console.complain("nothing was written\n");
    Outcome::Wrong
}

/// Writes the one file of the one draft to the standard output.
fn deliver(args: &DraftArgs, formats: &[Format], drafts: &[Draft], console: &Console) -> Outcome {
    let [draft] = drafts else {
        let count = drafts.len();
        console.complain(&format!(
            "error: `--out -` writes one draft, and this comes to {count}: choose with `--style` and `--size`\n"
        ));
        return Outcome::Wrong;
    };
    let delivered = exports(draft, formats, args).and_then(|files| match files.as_slice() {
        [file] => console.deliver(&file.bytes).map_err(|e| e.to_string()),
        _ if draft.pieces.is_empty() => Err(nothing_to_cut(draft)),
        _ => Err(format!("{} has nothing to fold", draft.title())),
    });
    if let Err(why) = &delivered {
        console.complain(&format!("error: {why}\n"));
    }
    delivered.is_ok().into()
}

/// Stages every file of every draft, then puts them all in place; says what was written.
fn write_all(
    args: &DraftArgs,
    formats: &[Format],
    jobs: &[Job],
    drafts: &[Draft],
) -> Result<String, String> {
    let uncut = drafts.iter().filter(|draft| draft.pieces.is_empty());
    let mut said: String = uncut.map(|draft| nothing_to_cut(draft) + "\n").collect();
    let written = |draft: &Draft| !draft.pieces.is_empty() || formats.iter().any(|f| f.is_data());
    if !drafts.iter().any(written) {
        return Ok(said);
    }
    let out = args.out.display();
    if args.out.exists() && !args.out.is_dir() {
        return Err(format!(
            "`{out}` is a file, not a folder: name another with `--out`"
        ));
    }
    std::fs::create_dir_all(&args.out)
        .map_err(|e| format!("the folder {out} cannot be made: {e}"))?;
    let work: Vec<(&Job, &Draft)> = jobs.iter().zip(drafts).collect();
    let staged = parallel::map(&work, |(job, draft)| stage(args, formats, job, draft));
    // One that failed drops all others, and each of them takes its temporary file with it.
    let staged: Vec<Vec<Staged>> = staged.into_iter().collect::<Result<_, String>>()?;
    let mut done = Vec::new();
    for file in staged.into_iter().flatten() {
        let name = file.target().display().to_string();
        let written = file
            .finish()
            .map_err(|e| format!("{name} cannot be written: {e}"))?;
        done.push((name, written));
    }
    said += &listing(&done, &args.out);
    Ok(said)
}

fn stage(
    args: &DraftArgs,
    formats: &[Format],
    job: &Job,
    draft: &Draft,
) -> Result<Vec<Staged>, String> {
    let stem = job.stem();
    let stage_one = |file: Export| {
        let target = args.out.join(format!("{stem}{}", file.ending));
        Staged::new(target.clone(), &file.bytes)
            .map_err(|e| format!("{} cannot be written: {e}", target.display()))
    };
    exports(draft, formats, args)?
        .into_iter()
        .map(stage_one)
        .collect()
}

/// What is said of a draft without pieces.
fn nothing_to_cut(draft: &Draft) -> String {
    format!("{} has nothing to cut and is not drawn", draft.title())
}

/// The files of one draft. A PNG is a picture of each drawing asked for, of the pattern always. A
/// draft that folds nothing has no folded drawing, and one without pieces no drawing at all.
fn exports(draft: &Draft, formats: &[Format], args: &DraftArgs) -> Result<Vec<Export>, String> {
    let drawn = !draft.pieces.is_empty();
    let has = |format: Format| formats.contains(&format) && (drawn || format.is_data());
    let mut files = Vec::new();
    let mut add = |ending, bytes| files.push(Export { ending, bytes });
    let picture = |drawing: &str| png(drawing, args.pixels_per_mm).map_err(|e| e.to_string());
    if has(Format::Dxf) || has(Format::Svg) || has(Format::Png) {
        let sheet = pattern_sheet(draft);
        if has(Format::Dxf) {
            let drawing = dxf(&sheet, args.tolerance.0).map_err(|e| e.to_string())?;
            add(".dxf", drawing.into_bytes());
        }
        if has(Format::Svg) || has(Format::Png) {
            let drawing = svg(&sheet);
            if has(Format::Png) {
                add(".png", picture(&drawing)?);
            }
            if has(Format::Svg) {
                add(".svg", drawing.into_bytes());
            }
        }
    }
    if has(Format::Json) {
        add(
            ".json",
            json(draft).map_err(|e| e.to_string())?.into_bytes(),
        );
    }
    if has(Format::Outline) {
        add(".txt", outline(draft).into_bytes());
    }
    if let Some(sheet) = has(Format::Folded).then(|| folded_sheet(draft)).flatten() {
        let drawing = svg(&sheet);
        if has(Format::Png) {
            add("-folded.png", picture(&drawing)?);
        }
        add("-folded.svg", drawing.into_bytes());
    }
    Ok(files)
}

fn tables(drafts: &[Draft]) -> String {
    let table = if drafts.len() > MOST_TABLES {
        table::short
    } else {
        table::full
    };
    drafts.iter().map(table).collect()
}

fn listing(done: &[(String, Written)], out: &Path) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    if done.len() > MOST_LISTED {
        let unchanged = done.iter().filter(|d| d.1 == Written::Unchanged).count();
        let written = done.len() - unchanged;
        let out = out.display();
        let _ = writeln!(
            text,
            "wrote {written} files to {out}, {unchanged} were unchanged"
        );
        return text;
    }
    for (name, written) in done {
        let what = match written {
            Written::Written => "wrote",
            Written::Unchanged => "unchanged",
        };
        let _ = writeln!(text, "{what} {name}");
    }
    text
}
