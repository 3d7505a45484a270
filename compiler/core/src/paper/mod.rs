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

use crate::draft::Draft;
use crate::format::{paper_inches, paper_mm};
use crate::sheet::Sheet;

/// The widest a picture gets, mm: the width of A4 paper less margins of 15 mm.
pub const WIDEST: f64 = 180.0;
/// The highest a picture gets, mm: well under the height of Letter paper less margins.
pub const HIGHEST: f64 = 200.0;

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
    /// Named facts, such as the style, and places to write others in.
    Facts(Vec<Fact>),
    /// Steps to be done in this order, counted from 1.
    Steps(Vec<Step>),
    /// A table.
    Table(Table),
    /// A drawing.
    Picture(Picture),
    /// What could hurt somebody.
    Caution(Caution),
}

/// A named fact.
#[derive(Debug, Clone)]
pub struct Fact {
    /// What it is.
    pub name: String,
    /// What it is found to be; `None` leaves room to write it in.
    pub value: Option<String>,
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

/// A fact to be written in.
fn open(name: &str) -> Fact {
    Fact {
        name: name.to_owned(),
        value: None,
    }
}

/// A cell with a length in millimetres, and in inches below.
fn lengths(value: f64) -> Cell {
    Cell::Words(format!("{} mm\n{}", paper_mm(value), paper_inches(value)))
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
