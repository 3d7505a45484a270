//! `tiewright draft`: everything is drafted before anything is written, and everything is written
//! before anything takes its place. After an error no file has changed.

use tiewright_core::compile;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::draft::Draft;
use tiewright_core::layout::{folded_sheet, pattern_sheet};

use super::Outcome;
use super::delivery::{Export, chosen, deliver, nothing_to_cut, refuse, write_all};
use super::drafting::{Asked, Drafts, drafts_of};
use super::sized::{all_exports, deliver_style, not_nested, size_tables};
use crate::cli::{DraftArgs, Format};
use crate::console::Console;
use crate::export::{dxf::dxf, json::json, outline::outline, png::png, svg::svg};
use crate::loader::FileLoader;
use crate::{report, table};

/// More drafts than this get a line each, not a table each.
const MOST_TABLES: usize = 3;

/// Drafts what `args` ask for and writes it.
pub fn run(args: &DraftArgs, console: &Console) -> Outcome {
    let Some((formats, to_stdout)) = chosen(&args.formats, &args.out, console) else {
        return Outcome::Misused;
    };
    let compiled = compile(&args.file, &args.set, &FileLoader);
    let asked = Asked {
        style: args.style.as_deref(),
        size: args.size.as_deref(),
        unproven: args.unproven,
    };
    let Drafts {
        jobs,
        drafts,
        mut warnings,
    } = match drafts_of(&compiled, &asked) {
        Ok(made) => made,
        Err(diagnostics) => return refuse(console, &compiled, &diagnostics),
    };
    if formats.contains(&Format::Nested) {
        let errors = not_nested(&compiled.program, &jobs, args.size.as_deref());
        if !errors.is_empty() {
            return refuse(console, &compiled, &errors);
        }
    }
    warnings.extend(unfolded(&drafts, &formats));
    console.complain(&report::render(
        &compiled.sources,
        &warnings,
        console.is_styled(),
    ));
    let exports = |draft: &Draft| exports(draft, &formats, args);
    if let (true, [Format::Nested | Format::Table]) = (to_stdout, formats.as_slice()) {
        return deliver_style(args, &formats, &jobs, &drafts, console);
    }
    if to_stdout {
        return deliver(&drafts, exports, console);
    }
    let more = match all_exports(args, &formats, &jobs, &drafts) {
        Ok(more) => more,
        Err(why) => {
            console.complain(&format!("error: {why}\nnothing was written\n"));
            return Outcome::Wrong;
        }
    };
    let about = tables(&drafts, &formats) + &size_tables(args, &jobs, &drafts, console.columns());
    write_all(&args.out, &jobs, &drafts, exports, more, (console, &about))
}

/// A warning for every draft of which a folded picture is asked for and cannot be made.
fn unfolded(drafts: &[Draft], formats: &[Format]) -> Vec<Diagnostic> {
    if !formats.contains(&Format::Folded) {
        return Vec::new();
    }
    // Where nothing is cut, that is said instead.
    let cut = drafts.iter().filter(|draft| !draft.pieces.is_empty());
    let flat = cut.filter(|draft| draft.folded.is_none());
    let warning = |draft: &Draft| {
        let message = format!("{} has no folded picture", draft.title());
        Diagnostic::general_warning(Code::NoFinish, message)
            .hint("its shape has no assembly that states its `finish`")
    };
    flat.map(warning).collect()
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

/// The measures and proofs, and which drafts have nothing to draw where a drawing is asked for.
fn tables(drafts: &[Draft], formats: &[Format]) -> String {
    let table = if drafts.len() > MOST_TABLES {
        table::short
    } else {
        table::full
    };
    let drawn = formats.iter().any(|format| !format.is_data());
    let uncut = drafts.iter().filter(|d| drawn && d.pieces.is_empty());
    let uncut = uncut.map(|draft| nothing_to_cut(draft) + "\n");
    drafts.iter().map(table).chain(uncut).collect()
}
