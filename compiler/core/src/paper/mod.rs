//! From a draft to the papers a workshop works by: what is said, in which order, beside which
//! picture.
//!
//! Input is a [`Draft`], output a [`Document`]: papers of headings, tables, steps and pictures.
//! Nothing here knows how a page or a screen shows them, what fits on a page, or a file format;
//! no value is reckoned here but sums, extents and distances of what the draft holds.

mod bench;
mod cutting;
mod measuring;
mod numbered;
mod picture;
mod tools;

use std::sync::Arc;

pub use tools::caution;

use crate::draft::Draft;
use crate::format::{paper_inches, paper_mm};
use crate::sheet::Sheet;

/// The widest a picture gets, mm: the width of A4 paper less margins of 15 mm.
pub const WIDEST: f64 = 180.0;
/// The highest a picture gets, mm: well under the height of Letter paper less margins.
pub const HIGHEST: f64 = 200.0;

/// A blank at which no line breaks.
const NO_BREAK: char = '\u{a0}';
/// What may follow a number in running words.
const UNITS: [&str; 4] = ["mm", "in)", "cm²", "deg"];

/// All papers of one draft.
#[derive(Debug, Clone)]
pub struct Document {
    /// The style and, if there is one, the size.
    pub title: Arc<str>,
    /// The style's doc line; empty if it has none.
    pub doc: Arc<str>,
    /// The papers, in the order they are used. Each starts on a fresh page.
    pub papers: Vec<Paper>,
}

/// One paper: what one person at one table works by.
#[derive(Debug, Clone)]
pub struct Paper {
    /// What it is called.
    pub title: String,
    /// What stands on it, from the top.
    pub blocks: Vec<Block>,
}

/// A part of a paper.
#[derive(Debug, Clone)]
pub enum Block {
    /// A heading of what follows.
    Heading(String),
    /// Running words.
    Paragraph(String),
    /// What facts are, each with room to write one in.
    Facts(Vec<String>),
    /// Steps to be done in this order, counted from 1.
    Steps(Vec<Step>),
    /// A table.
    Table(Table),
    /// A drawing.
    Picture(Picture),
    /// What could hurt somebody.
    Caution(Caution),
}

/// One step of the work.
#[derive(Debug, Clone)]
pub struct Step {
    /// What is done, in a few words.
    pub title: String,
    /// How, with the draft's own numbers.
    pub text: String,
    /// What to beware of while doing it.
    pub caution: Option<Caution>,
}

/// A warning.
#[derive(Debug, Clone)]
pub struct Caution {
    /// Of what.
    pub title: String,
    /// What to do about it.
    pub text: String,
}

/// A table. Every row has as many cells as there are columns.
#[derive(Debug, Clone)]
pub struct Table {
    /// What it lists, for those who hear it read.
    pub name: String,
    /// The columns, from the left.
    pub columns: Vec<Column>,
    /// The rows, from the top.
    pub rows: Vec<Vec<Cell>>,
}

/// A column of a table.
#[derive(Debug, Clone)]
pub struct Column {
    /// Its heading.
    pub heading: String,
    /// How words lie in it.
    pub align: Align,
    /// Its part of the table's width; the parts of all columns make up the whole.
    pub share: f64,
}

/// How words lie in a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Against its left side.
    Start,
    /// In its middle.
    Middle,
    /// Against its right side.
    End,
}

/// What is in one place of a table.
#[derive(Debug, Clone)]
pub enum Cell {
    /// Nothing: room to write.
    Blank,
    /// Words; a line end starts a new line.
    Words(String),
    /// A name and, smaller in weight, what is to be said about it.
    Named {
        /// The name.
        name: String,
        /// What is said about it; may be empty.
        note: String,
    },
    /// A small drawing.
    Picture(Sheet),
}

/// A drawing with what it shows.
#[derive(Debug, Clone)]
pub struct Picture {
    /// What it shows, and to which scale.
    pub caption: String,
    /// The drawing, at most [`WIDEST`] by [`HIGHEST`].
    pub drawing: Sheet,
}

/// The papers of `draft`.
pub fn papers(draft: &Draft) -> Document {
    let ticket = (!draft.pieces.is_empty()).then(|| cutting::ticket(draft));
    let rest = [bench::sheet(draft), measuring::sheet(draft)];
    Document {
        title: draft.title().into(),
        doc: draft.doc.clone(),
        papers: ticket
            .into_iter()
            .chain(rest.into_iter().flatten())
            .collect(),
    }
}

/// Facts to be written in.
fn facts(names: &[&str]) -> Block {
    Block::Facts(names.iter().map(|name| (*name).to_owned()).collect())
}

/// A cell with a length in millimetres, and in inches below.
fn lengths(value: f64) -> Cell {
    Cell::Words(format!("{} mm\n{}", paper_mm(value), paper_inches(value)))
}

/// `text` with every number kept on a line with its fraction and its unit, by blanks that do not
/// break.
fn unbroken(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some((before, after)) = rest.split_once(' ') {
        let joins = before.ends_with(|c: char| c.is_ascii_digit())
            && (after.starts_with(|c: char| c.is_ascii_digit())
                || UNITS.iter().any(|unit| after.starts_with(unit)));
        out.push_str(before);
        out.push(if joins { NO_BREAK } else { ' ' });
        rest = after;
    }
    out + rest
}

impl From<Caution> for Block {
    fn from(caution: Caution) -> Block {
        Block::Caution(caution)
    }
}

fn column(heading: &str, align: Align, share: f64) -> Column {
    Column {
        heading: heading.to_owned(),
        align,
        share,
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::source::{LoadError, Loader, Source};

    struct OneText(&'static str);

    impl Loader for OneText {
        fn load(&self, path: &str, _: Option<&str>) -> Result<Source, LoadError> {
            Ok(Source {
                name: path.to_owned(),
                text: self.0.into(),
            })
        }
    }

    /// The papers of every style of a text.
    fn papers_of(text: &'static str) -> Vec<Document> {
        let compiled = crate::compile("t.tie", &[], &OneText(text));
        assert_eq!(compiled.diagnostics, []);
        let styles = compiled.program.styles();
        let draft = |name: &str| compiled.program.draft(name, None).draft.expect("a draft");
        styles.iter().map(|s| papers(&draft(&s.name))).collect()
    }

    fn tables(document: &Document) -> impl Iterator<Item = &Table> {
        let blocks = document.papers.iter().flat_map(|paper| &paper.blocks);
        blocks.filter_map(|block| match block {
            Block::Table(table) => Some(table),
            _ => None,
        })
    }

    fn drawings(document: &Document) -> Vec<&Sheet> {
        let blocks = document.papers.iter().flat_map(|paper| &paper.blocks);
        let mut found: Vec<&Sheet> = blocks
            .filter_map(|block| match block {
                Block::Picture(picture) => Some(&picture.drawing),
                _ => None,
            })
            .collect();
        let cells = tables(document).flat_map(|table| table.rows.iter().flatten());
        found.extend(cells.filter_map(|cell| match cell {
            Cell::Picture(sheet) => Some(sheet),
            _ => None,
        }));
        found
    }

    const TIES: &str = "style long from four-in-hand
style short from four-in-hand {
  length 30 in; taper-run 9 in; tail-taper-run 7 in; blade-width 2 in; tail-width 1 3/8 in
  blade-length 15 in; tail-length 9 in; label-station 4 in; loop-station 6 in; tab-station 4 in
}
style wide from four-in-hand { blade-width 5 in; blade-length 33 in }
";

    #[test]
    fn pictures_keep_to_their_size_and_names_are_unique() {
        let all = papers_of(TIES);
        assert_eq!(all.len(), 3);
        for document in &all {
            let mut names = BTreeSet::new();
            for drawing in drawings(document) {
                assert!(drawing.width <= WIDEST, "{}", drawing.width);
                assert!(drawing.height <= HIGHEST, "{}", drawing.height);
                for group in &drawing.groups {
                    assert!(names.insert(group.name.clone()), "{}", group.name);
                }
            }
            assert!(names.len() > 10);
        }
    }

    #[test]
    fn numbers_stay_with_their_units() {
        let text = "sew 1 1/2 in, 38.1 mm (1 1/2 in) in 100 stitches at 45 deg";
        let kept = "sew 1_1/2 in, 38.1_mm (1_1/2_in) in 100 stitches at 45_deg";
        assert_eq!(unbroken(text), kept.replace('_', "\u{a0}"));
    }

    #[test]
    fn every_row_fills_its_columns() {
        for document in papers_of(TIES) {
            assert_eq!(tables(&document).count(), 5);
            for table in tables(&document) {
                assert!(!table.rows.is_empty(), "{}", table.name);
                for row in &table.rows {
                    assert_eq!(row.len(), table.columns.len(), "{}", table.name);
                }
            }
        }
    }

    #[test]
    fn the_ticket_says_what_a_cloth_gives() {
        let documents = papers_of(
            "cloth silk \"navy\" { give 2 % }
            cloth wool { give 1.5 % }
            cloth linen \"white\" { give 0 % }
            style tie from four-in-hand { shell silk; tipping wool; interlining linen }",
        );
        let notes: Vec<&str> = documents
            .iter()
            .flat_map(tables)
            .filter(|table| table.name == "cloth by role")
            .flat_map(|table| table.rows.iter().flatten())
            .filter_map(|cell| match cell {
                Cell::Named { note, .. } => Some(note.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(notes, ["navy, gives 2 %", "white", "gives 1.5 %"]);
    }

    #[test]
    fn what_a_shape_does_not_tell_gets_no_paper() {
        let titles = |text| -> Vec<String> {
            let documents = papers_of(text);
            documents
                .iter()
                .flat_map(|d| d.papers.iter().map(|p| p.title.clone()))
                .collect()
        };
        let square = "shape square { piece cloth { cloth shell; grain 90 deg; outline {
            edge top = line from (0 mm, 9 mm) to (9 mm, 9 mm)
            edge end = line from (9 mm, 9 mm) to (9 mm, 0 mm)
            edge low = line from (9 mm, 0 mm) to (0 mm, 9 mm) } } }";
        assert_eq!(titles(square), ["Cutting ticket"]);
        let tie = "style tie from four-in-hand";
        assert_eq!(
            titles(tie),
            ["Cutting ticket", "Bench sheet", "Measuring sheet"]
        );
    }

    #[test]
    fn the_caution_of_a_tool_is_told_in_full_once() {
        let documents = papers_of("style tie from four-in-hand");
        let blocks = documents.iter().flat_map(|d| &d.papers[1].blocks);
        let steps = blocks.filter_map(|block| match block {
            Block::Steps(steps) => Some(steps),
            _ => None,
        });
        let cautions: Vec<&Caution> = steps.flatten().filter_map(|s| s.caution.as_ref()).collect();
        // Iron, blade to trim the mitres, iron, iron.
        let full: Vec<bool> = cautions.iter().map(|c| !c.text.is_empty()).collect();
        assert_eq!(full, [true, true, false, false]);
        assert!(cautions[2].title.ends_with("see step 2"));
    }
}
