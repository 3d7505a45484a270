//! Papers as PDF, to print: pages laid out in millimetres, words that can be selected.
//!
//! Input is a document of the core and the paper, output the bytes of a file. A heading stays with
//! what follows it, a row of a table stays whole, a table that goes on repeats its head. Nothing
//! shrinks to fit: pictures are drawn at the size the document gives them. The file holds no date
//! and no random number, so the same document gives the same bytes.

mod blocks;
mod draw;
mod file;
mod flow;
mod font;
mod table;
mod wrap;

use std::fmt;

use tiewright_core::paper::Document;

use super::paper_size::PaperSize;

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PdfError {
    /// The font of the program cannot be used.
    Font(String),
}

impl fmt::Display for PdfError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            PdfError::Font(why) => write!(f, "the font cannot be used: {why}"),
        }
    }
}

impl std::error::Error for PdfError {}

/// `document` on pages of `size`.
///
/// # Errors
/// [`PdfError::Font`] when the font of the program is damaged.
pub fn pdf(document: &Document, size: PaperSize) -> Result<Vec<u8>, PdfError> {
    let fonts = font::Fonts::load()?;
    let pages = flow::pages(document, size, &fonts);
    file::file(document, size, &pages, &fonts)
}
