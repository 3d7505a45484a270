//! What the commands that write files share: everything is staged before anything takes its
//! place, and what was written is told.

use std::collections::BTreeSet;
use std::fmt::Write;
use std::path::Path;

use tiewright_core::Compiled;
use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::draft::Draft;

use super::Outcome;
use super::drafting::Job;
use crate::console::Console;
use crate::files::{Staged, Written};
use crate::{parallel, report};

/// `--out -`.
pub const STDOUT: &str = "-";
/// More files than this are counted, not listed.
const MOST_LISTED: usize = 20;

/// The bytes of one file of a draft or style and what its name ends in.
#[derive(Debug)]
pub struct Export {
    /// What follows the name of the draft, such as `.svg`.
    pub ending: &'static str,
    /// What is in the file.
    pub bytes: Vec<u8>,
}

/// The formats asked for, each once and in order, and whether their file goes to the standard output;
/// `None`, which has been said, where several files would go there.
pub fn chosen<F: Copy + Ord>(
    formats: &[F],
    out: &Path,
    console: &Console,
) -> Option<(Vec<F>, bool)> {
    let formats: BTreeSet<F> = formats.iter().copied().collect();
    let to_stdout = out == Path::new(STDOUT);
    if to_stdout && formats.len() != 1 {
        console.complain("error: `--out -` writes one file: choose one format with `--as`\n");
        return None;
    }
    Some((formats.into_iter().collect(), to_stdout))
}

/// Says why nothing can be written.
pub fn refuse(console: &Console, compiled: &Compiled, diagnostics: &[Diagnostic]) -> Outcome {
    console.complain(&report::render(
        &compiled.sources,
        diagnostics,
        console.is_styled(),
    ));
    console.complain("nothing was written\n");
    Outcome::Wrong
}

/// What is said of a draft without pieces.
pub fn nothing_to_cut(draft: &Draft) -> String {
    format!("{} has nothing to cut and is not drawn", draft.title())
}

/// Writes the one file of the one draft to the standard output, or says what stands in the way.
pub fn deliver(
    drafts: &[Draft],
    exports: impl Fn(&Draft) -> Result<Vec<Export>, String>,
    console: &Console,
) -> Outcome {
    let delivered = match drafts {
        [draft] => exports(draft).and_then(|files| match files.as_slice() {
            [file] => console.deliver(&file.bytes).map_err(|e| e.to_string()),
            _ if draft.pieces.is_empty() => Err(nothing_to_cut(draft)),
            _ => Err(format!("{} has nothing to fold", draft.title())),
        }),
        _ => Err(format!(
            "`--out -` writes one draft, and this comes to {}: choose with `--style` and `--size`",
            drafts.len()
        )),
    };
    if let Err(why) = &delivered {
        console.complain(&format!("error: {why}\n"));
    }
    delivered.is_ok().into()
}

/// Writes every file of every draft to the folder `out`, and `more`, each with what the names of its
/// files begin with, all or none; then says `about` and what was written.
pub fn write_all(
    out: &Path,
    jobs: &[Job],
    drafts: &[Draft],
    exports: impl Fn(&Draft) -> Result<Vec<Export>, String> + Sync,
    more: Vec<(String, Vec<Export>)>,
    (console, about): (&Console, &str),
) -> Outcome {
    match written(out, jobs, drafts, exports, more) {
        Ok(written) => {
            console.say(&(about.to_owned() + &written.listing(out)));
            Outcome::Done
        }
        Err(why) => {
            console.complain(&format!("error: {why}\nnothing was written\n"));
            Outcome::Wrong
        }
    }
}

/// Writes files whose names begin with `stem` to the folder `out`, all or none; gives what was written.
///
/// # Errors
/// Why they cannot be written.
pub fn put(out: &Path, stem: String, files: Vec<Export>) -> Result<String, String> {
    put_each(out, vec![(stem, files)]).map(|done| done.listing(out))
}

/// Writes files to the folder `out`, each list with what the names of its files begin with, all or none;
/// gives what was written.
///
/// # Errors
/// Why they cannot be written.
pub fn put_each(out: &Path, files: Vec<(String, Vec<Export>)>) -> Result<Done, String> {
    written(out, &[], &[], |_| Ok(Vec::new()), files)
}

/// Stages every file, then puts them all in place; gives what was written.
fn written(
    out: &Path,
    jobs: &[Job],
    drafts: &[Draft],
    exports: impl Fn(&Draft) -> Result<Vec<Export>, String> + Sync,
    more: Vec<(String, Vec<Export>)>,
) -> Result<Done, String> {
    let shown = out.display();
    if out.exists() && !out.is_dir() {
        return Err(format!(
            "`{shown}` is a file, not a folder: name another with `--out`"
        ));
    }
    let work: Vec<(&Job, &Draft)> = jobs.iter().zip(drafts).collect();
    let staged = parallel::map(&work, |(job, draft)| {
        stage(out, &job.stem(), exports(draft)?)
    });
    // One that failed drops all others, and each of them takes its temporary file with it.
    let mut staged: Vec<Vec<Staged>> = staged.into_iter().collect::<Result<_, String>>()?;
    for (stem, files) in more {
        staged.push(stage(out, &stem, files)?);
    }
    let staged: Vec<Staged> = staged.into_iter().flatten().collect();
    one_name_each(&staged)?;
    let mut done = Vec::new();
    for file in staged {
        let name = file.target().display().to_string();
        let written = file
            .finish()
            .map_err(|e| format!("{name} cannot be written: {e}"))?;
        done.push((name, written));
    }
    Ok(Done(done))
}

fn stage(out: &Path, stem: &str, files: Vec<Export>) -> Result<Vec<Staged>, String> {
    // Where nothing is written no folder is made.
    if files.is_empty() {
        return Ok(Vec::new());
    }
    std::fs::create_dir_all(out)
        .map_err(|e| format!("the folder {} cannot be made: {e}", out.display()))?;
    let stage_one = |file: Export| {
        let target = out.join(format!("{stem}{}", file.ending));
        Staged::new(target.clone(), &file.bytes)
            .map_err(|e| format!("{} cannot be written: {e}", target.display()))
    };
    files.into_iter().map(stage_one).collect()
}

/// Refuses two files of one name, such as the folded picture of a tie and the pattern of its size
/// `folded`.
fn one_name_each(staged: &[Staged]) -> Result<(), String> {
    let mut taken = BTreeSet::new();
    // Some file systems do not tell upper from lower case.
    let again = staged
        .iter()
        .find(|file| !taken.insert(file.target().to_string_lossy().to_lowercase()));
    again.map_or(Ok(()), |file| {
        Err(format!(
            "two files would be called {}: rename a style or size, or write fewer formats at a time",
            file.target().display()
        ))
    })
}

/// Files that were written, and how.
#[derive(Debug, Default)]
pub struct Done(Vec<(String, Written)>);

impl Done {
    /// Takes those of `more`.
    pub fn add(&mut self, more: Done) {
        self.0.extend(more.0);
    }

    /// What is said of them; `out` is their folder.
    pub fn listing(&self, out: &Path) -> String {
        let done = &self.0;
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
}
