//! Loads the file asked for and all files it uses, each once, and parses them. Input: a path and the
//! loader; output: the trees, and what was wrong. Nothing here looks at what the files declare.

use crate::diagnostic::{Code, Diagnostic};
use crate::source::{LoadError, Loader, MAX_SOURCE_BYTES, Source, Sources, Span};
use crate::syntax::{self, tree};

/// How often one run asks for a file. A house has a few shape files; the limit keeps memory and time
/// bounded when files use thousands of others.
const MAX_LOADS: usize = 1000;

/// Bytes of all texts of one run together, for the same reason.
const MAX_ALL_BYTES: usize = 16 << 20;

/// The files of one run.
pub struct Loaded {
    /// The file asked for, unless it could not be had.
    pub main: Option<tree::File>,
    /// The files it uses, directly or not.
    pub used: Vec<tree::File>,
    /// Whether every file could be had.
    pub complete: bool,
}

/// A file whose uses are still to be gone through.
struct Open {
    uses: Vec<tree::Text>,
    /// The files that led to it, itself last.
    chain: Vec<String>,
}

/// Loads `path` and all it uses.
pub fn load(
    path: &str,
    loader: &dyn Loader,
    sources: &mut Sources,
    diagnostics: &mut Vec<Diagnostic>,
) -> Loaded {
    let mut out = Loaded {
        main: None,
        used: Vec::new(),
        complete: true,
    };
    let source = match loader.load(path, None) {
        Ok(source) => source,
        Err(error) => {
            diagnostics.push(failure(path, None, &error));
            out.complete = false;
            return out;
        }
    };
    let mut bytes = source.text.len();
    let mut known = vec![source.name.clone()];
    let main = parse(source, sources, diagnostics);
    let mut open = vec![Open {
        uses: main.uses.clone(),
        chain: known.clone(),
    }];
    out.main = Some(main);
    let mut loads = 1;
    while let Some(Open { uses, chain }) = open.pop() {
        for used in uses {
            loads += 1;
            if loads > MAX_LOADS || bytes > MAX_ALL_BYTES {
                diagnostics.push(too_many(used.span));
                out.complete = false;
                return out;
            }
            let source = match loader.load(&used.text, chain.last().map(|from| &**from)) {
                Ok(source) => source,
                Err(error) => {
                    diagnostics.push(failure(&used.text, Some(used.span), &error));
                    out.complete = false;
                    continue;
                }
            };
            if chain.contains(&source.name) {
                diagnostics.push(cycle(used.span, &chain, &source.name));
                continue;
            }
            if known.contains(&source.name) {
                continue;
            }
            known.push(source.name.clone());
            bytes += source.text.len();
            let mut longer = chain.clone();
            longer.push(source.name.clone());
            let file = parse(source, sources, diagnostics);
            open.push(Open {
                uses: file.uses.clone(),
                chain: longer,
            });
            out.used.push(file);
        }
    }
    out
}

fn parse(source: Source, sources: &mut Sources, diagnostics: &mut Vec<Diagnostic>) -> tree::File {
    let text = source.text.clone();
    let id = sources.add(source.name, source.text);
    let (file, found) = syntax::parse(id, &text);
    diagnostics.extend(found);
    file
}

fn too_many(span: Span) -> Diagnostic {
    let message = format!(
        "up to here, more than {MAX_LOADS} files or {} MiB are used in all",
        MAX_ALL_BYTES >> 20
    );
    Diagnostic::error(Code::TooMany, span, message).hint("use only the files that are needed")
}

fn cycle(span: Span, chain: &[String], name: &str) -> Diagnostic {
    if chain.last().is_some_and(|last| last == name) {
        let message = format!("`{name}` uses itself");
        return Diagnostic::error(Code::UseCycle, span, message).hint("take the line out");
    }
    let mut round: Vec<String> = chain
        .iter()
        .skip_while(|c| *c != name)
        .map(|c| format!("`{c}`"))
        .collect();
    round.push(format!("`{name}`"));
    let message = format!("these files use each other: {}", round.join(" uses "));
    Diagnostic::error(Code::UseCycle, span, message).hint("move what both need into a third file")
}

fn failure(path: &str, span: Option<Span>, error: &LoadError) -> Diagnostic {
    let (code, message, hint) = match error {
        LoadError::Missing => (
            Code::NoFile,
            format!("there is no file `{path}`"),
            match span {
                Some(_) => "a used file is looked for beside the file that uses it",
                None => "check the name and the folder it is in",
            }
            .to_owned(),
        ),
        LoadError::TooLarge => (
            Code::FileTooLarge,
            format!("`{path}` is larger than {} MiB", MAX_SOURCE_BYTES >> 20),
            "give a shape file; those are a few kilobytes".to_owned(),
        ),
        LoadError::NotText => (
            Code::NotText,
            format!("`{path}` is not a text file"),
            "give the `.tie` file itself, saved as plain text (UTF-8)".to_owned(),
        ),
        LoadError::Folder => (
            Code::CannotRead,
            format!("`{path}` is a folder"),
            "name a shape file in it".to_owned(),
        ),
        LoadError::Other(why) => (
            Code::CannotRead,
            format!("`{path}` cannot be read: {why}"),
            "check that you may open it".to_owned(),
        ),
    };
    match span {
        Some(span) => Diagnostic::error(code, span, message).hint(hint),
        None => Diagnostic::general(code, message).hint(hint),
    }
}
