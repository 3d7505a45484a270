//! `tiewright sheet`: the papers the workshop works by, of everything that is asked for, or nothing.

use tiewright_core::compile;
use tiewright_core::draft::Draft;
use tiewright_core::paper::papers;

use super::Outcome;
use super::delivery::{Export, chosen, deliver, nothing_to_cut, refuse, write_all};
use super::drafting::{Asked, Drafts, drafts_of};
use crate::cli::{PaperFormat, SheetArgs};
use crate::console::Console;
use crate::export::{html::html, pdf::pdf};
use crate::loader::FileLoader;
use crate::report;

/// Drafts what `args` ask for and writes its papers.
pub fn run(args: &SheetArgs, console: &Console) -> Outcome {
    let Some((formats, to_stdout)) = chosen(&args.formats, &args.out, console) else {
        return Outcome::Misused;
    };
    let compiled = compile(&args.file, &args.set, &FileLoader);
    let asked = Asked {
        style: args.style.as_deref(),
        size: args.size.as_deref(),
        unproven: false,
    };
    let Drafts {
        jobs,
        drafts,
        warnings,
    } = match drafts_of(&compiled, &asked) {
        Ok(made) => made,
        Err(diagnostics) => return refuse(console, &compiled, &diagnostics),
    };
    console.complain(&report::render(
        &compiled.sources,
        &warnings,
        console.is_styled(),
    ));
    let exports = |draft: &Draft| exports(draft, &formats, args);
    if to_stdout {
        return deliver(&drafts, exports, console);
    }
    let uncut = drafts.iter().filter(|draft| draft.pieces.is_empty());
    let uncut: String = uncut.map(|draft| nothing_to_cut(draft) + "\n").collect();
    write_all(
        &args.out,
        &jobs,
        &drafts,
        exports,
        Vec::new(),
        (console, &uncut),
    )
}

/// The files of one draft; none of one without pieces, which nobody cuts or sews.
fn exports(
    draft: &Draft,
    formats: &[PaperFormat],
    args: &SheetArgs,
) -> Result<Vec<Export>, String> {
    if draft.pieces.is_empty() {
        return Ok(Vec::new());
    }
    let document = papers(draft);
    let size = args.paper.into();
    let export = |format: &PaperFormat| {
        Ok(match format {
            PaperFormat::Html => Export {
                ending: "-sheets.html",
                bytes: html(&document, size).into_bytes(),
            },
            PaperFormat::Pdf => Export {
                ending: "-sheets.pdf",
                bytes: pdf(&document, size).map_err(|e| e.to_string())?,
            },
        })
    };
    formats.iter().map(export).collect()
}
