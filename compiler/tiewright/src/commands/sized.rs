//! What is written of a style in all its sizes together: one picture and one table.

use std::sync::Arc;

use tiewright_core::Program;
use tiewright_core::check::style::ALL_SIZES;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::draft::Draft;
use tiewright_core::layout::{MOST_SIZES, nested_sheet};

use super::Outcome;
use super::delivery::Export;
use super::drafting::Job;
use crate::cli::{DraftArgs, Format};
use crate::console::Console;
use crate::export::{csv::csv, png::png, svg::svg};
use crate::files::safe_name;
use crate::sizes::size_table;

/// An error for every style whose sizes cannot be nested; `size` is what was asked for.
pub fn not_nested(program: &Program, jobs: &[Job], size: Option<&str>) -> Vec<Diagnostic> {
    let error = |style: &Arc<str>, count: usize| {
        let mut styles = program.styles().iter();
        let known = styles
            .find(|s| s.name == *style)
            .map_or(0, |s| s.sizes.len());
        let all = size == Some(ALL_SIZES);
        let (message, hint) = match (count, known) {
            (0..=1, 1) if all => (
                format!("`{style}` has one size, and one alone cannot be nested"),
                "give it another size, or choose another style with `--style`",
            ),
            (0..=1, 0) => (
                format!("`{style}` has no sizes to nest"),
                "give it some, such as `size long { length 62 in }`, or choose another style with `--style`",
            ),
            (0..=1, _) => (
                format!("`{style}` is drafted in one size, and one alone cannot be nested"),
                "ask for all of them with `--size all`",
            ),
            _ => (
                format!(
                    "`{style}` has {count} sizes, and no more than {MOST_SIZES} can be told from each other in one picture"
                ),
                "make a style of some of them",
            ),
        };
        Diagnostic::general(Code::NotNested, message).hint(hint)
    };
    let groups = jobs.chunk_by(|a, b| a.style == b.style);
    let wrong = groups.filter(|group| !(2..=MOST_SIZES).contains(&group.len()));
    wrong
        .filter_map(|group| Some(error(&group.first()?.style, group.len())))
        .collect()
}

/// Writes the one file of the one style to the standard output.
pub fn deliver_style(
    args: &DraftArgs,
    formats: &[Format],
    jobs: &[Job],
    drafts: &[Draft],
    console: &Console,
) -> Outcome {
    let styles = by_style(jobs, drafts);
    let [style] = styles.as_slice() else {
        let count = styles.len();
        console.complain(&format!(
            "error: `--out -` writes one file, and this comes to {count} styles: choose with `--style`\n"
        ));
        return Outcome::Wrong;
    };
    let delivered = style_exports(style, formats, args).and_then(|files| match files.as_slice() {
        [file] => console.deliver(&file.bytes).map_err(|e| e.to_string()),
        _ => Err("there is nothing to write".to_owned()),
    });
    if let Err(why) = &delivered {
        console.complain(&format!("error: {why}\n"));
    }
    delivered.is_ok().into()
}

/// The files of every style in all its sizes, each with what their names begin with.
///
/// # Errors
/// Why a picture cannot be made.
pub fn all_exports(
    args: &DraftArgs,
    formats: &[Format],
    jobs: &[Job],
    drafts: &[Draft],
) -> Result<Vec<(String, Vec<Export>)>, String> {
    by_style(jobs, drafts)
        .iter()
        .map(|style| Ok((safe_name(style.style), style_exports(style, formats, args)?)))
        .collect()
}

/// The measures of every style that is drafted in several sizes, when all are asked for.
pub fn size_tables(args: &DraftArgs, jobs: &[Job], drafts: &[Draft], columns: usize) -> String {
    if args.size.as_deref() != Some(ALL_SIZES) {
        return String::new();
    }
    let styles = by_style(jobs, drafts);
    let several = styles.iter().filter(|style| style.drafts.len() > 1);
    several
        .filter_map(|style| size_table(&style.drafts))
        .map(|table| table.text(columns))
        .collect()
}

/// One style in the sizes it is drafted in.
struct Sized<'d> {
    style: &'d str,
    drafts: Vec<&'d Draft>,
}

/// The drafts of each style.
fn by_style<'d>(jobs: &'d [Job], drafts: &'d [Draft]) -> Vec<Sized<'d>> {
    let mut rest = drafts.iter();
    let groups = jobs.chunk_by(|a, b| a.style == b.style);
    groups
        .filter_map(|group| {
            Some(Sized {
                style: &group.first()?.style,
                drafts: rest.by_ref().take(group.len()).collect(),
            })
        })
        .collect()
}

/// The files of one style in all its sizes.
fn style_exports(
    style: &Sized<'_>,
    formats: &[Format],
    args: &DraftArgs,
) -> Result<Vec<Export>, String> {
    let has = |format: Format| formats.contains(&format);
    let mut files = Vec::new();
    let drawn = style.drafts.iter().any(|draft| !draft.pieces.is_empty());
    let nested = (drawn && has(Format::Nested)).then(|| nested_sheet(&style.drafts));
    if let Some(sheet) = nested.flatten() {
        let drawing = svg(&sheet);
        if has(Format::Png) {
            let bytes = png(&drawing, args.pixels_per_mm).map_err(|e| e.to_string())?;
            files.push(Export {
                ending: "-nested.png",
                bytes,
            });
        }
        files.push(Export {
            ending: "-nested.svg",
            bytes: drawing.into_bytes(),
        });
    }
    let table = has(Format::Table).then(|| size_table(&style.drafts));
    if let Some(table) = table.flatten() {
        files.push(Export {
            ending: "-sizes.csv",
            bytes: csv(&table).into_bytes(),
        });
    }
    Ok(files)
}
