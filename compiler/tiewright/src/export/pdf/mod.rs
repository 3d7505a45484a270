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
use tiewright_core::sheet::Sheet;
use tiewright_geometry::Point;

use super::paper_size::PaperSize;

/// The longest side of a page, mm: 14 400 points (ISO 32000-1, annex C).
pub const MOST_SIDE: f64 = 14_400.0 * flow::POINT;

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
    file::file(&document.title, size.millimetres(), &pages, &fonts)
}

/// `sheet` as it is, on one page of its own size; a page is at most [`MOST_SIDE`] long and wide.
///
/// # Errors
/// [`PdfError::Font`] when the font of the program is damaged.
pub fn drawing(sheet: &Sheet) -> Result<Vec<u8>, PdfError> {
    let fonts = font::Fonts::load()?;
    let page = flow::Page {
        inks: vec![flow::Ink::Drawing {
            corner: Point::ZERO,
            sheet,
        }],
    };
    let size = (sheet.width, sheet.height);
    file::file(&sheet.title, size, &[page], &fonts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::paper_size;
    use crate::sample;
    use flow::Ink;
    use tiewright_core::paper::{Align, Block, Caution, Cell, Column, Paper, Step, Table, papers};
    use tiewright_geometry::Rect;

    const SIZES: [PaperSize; 2] = [PaperSize::A4, PaperSize::Letter];
    /// Half the width of a line along a margin, mm.
    const HALF_LINE: f64 = 0.25;

    /// A document that is too much in every way.
    fn crowded() -> Document {
        let long = "interlining-".repeat(30);
        let words = "a word and another ".repeat(400);
        let column = |heading: &str, share: f64| Column {
            heading: heading.to_owned(),
            align: Align::End,
            share,
        };
        let row = |n: usize| {
            let text = if n == 50 {
                words.clone()
            } else {
                n.to_string()
            };
            let note = if n == 3 { long.clone() } else { String::new() };
            vec![
                Cell::Words(text),
                Cell::Named {
                    name: format!("name {n}"),
                    note,
                },
                Cell::Blank,
            ]
        };
        let table = Table {
            name: "numbers".to_owned(),
            columns: vec![
                column("one", 40.0),
                column(&long, 30.0),
                column("three", 10.0),
            ],
            rows: (0..90).map(row).collect(),
        };
        let caution = Caution {
            title: long.clone(),
            text: words.chars().take(900).collect(),
        };
        let step = Step {
            title: long.clone(),
            text: words.clone(),
            caution: Some(caution),
        };
        let blocks = vec![
            Block::Facts(vec![long.clone(); 3]),
            Block::Heading(long.clone()),
            Block::Paragraph(words),
            Block::Steps(vec![step.clone(), step]),
            Block::Table(table),
        ];
        Document {
            title: long.clone().into(),
            doc: long.clone().into(),
            papers: vec![Paper {
                title: long,
                blocks,
            }],
        }
    }

    /// The room an ink takes up, mm.
    fn room(ink: &Ink, fonts: &font::Fonts) -> Rect {
        match ink {
            Ink::Words {
                at,
                text,
                face,
                size,
            } => {
                let heights = fonts.of(*face).heights;
                let width = fonts.width(text, *face, *size);
                Rect::new(
                    at.x,
                    at.y + heights.descent * size,
                    at.x + width,
                    at.y + heights.ascent * size,
                )
            }
            Ink::Line { from, to, .. } => Rect::from_points(*from, *to),
            Ink::Panel { low, high, .. } => Rect::from_points(*low, *high),
            Ink::Drawing { corner, sheet } => {
                Rect::from_origin_size(*corner, (sheet.width, sheet.height))
            }
        }
    }

    #[test]
    fn nothing_reaches_into_the_margins() {
        let fonts = font::Fonts::load().expect("fonts");
        for document in [crowded(), papers(&sample::draft())] {
            for size in SIZES {
                let (width, height) = size.millimetres();
                let inside =
                    Rect::new(0.0, 0.0, width, height).inset(HALF_LINE - paper_size::MARGIN);
                let pages = flow::pages(&document, size, &fonts);
                for ink in pages.iter().flat_map(|page| &page.inks) {
                    let room = room(ink, &fonts);
                    assert_eq!(inside.union(room), inside, "{ink:?}");
                }
            }
        }
    }

    #[test]
    fn words_under_a_heading_go_where_what_is_headed_goes() {
        let fonts = font::Fonts::load().expect("fonts");
        let column = Column {
            heading: "no.".to_owned(),
            align: Align::Start,
            share: 1.0,
        };
        // Wherever the page ends.
        for lines in 30..60 {
            let mut blocks = vec![Block::Paragraph("above".to_owned()); lines];
            blocks.extend([
                Block::Heading("Places".to_owned()),
                Block::Paragraph("Along the middle.".to_owned()),
                Block::Table(Table {
                    name: "places".to_owned(),
                    columns: vec![column.clone()],
                    rows: vec![vec![Cell::Words("first".to_owned())]],
                }),
            ]);
            let document = Document {
                title: "tie".into(),
                doc: "".into(),
                papers: vec![Paper {
                    title: "Bench".to_owned(),
                    blocks,
                }],
            };
            let pages = flow::pages(&document, PaperSize::A4, &fonts);
            let page_of = |wanted: &str| {
                pages.iter().position(|page| {
                    let mut inks = page.inks.iter();
                    inks.any(|ink| matches!(ink, Ink::Words { text, .. } if text == wanted))
                })
            };
            assert!(page_of("Places").is_some());
            assert_eq!(page_of("Places"), page_of("Along the middle."), "{lines}");
            assert_eq!(page_of("Places"), page_of("first"), "{lines}");
        }
    }

    #[test]
    fn nothing_is_lost_and_nothing_covered() {
        let fonts = font::Fonts::load().expect("fonts");
        let document = crowded();
        let pages = flow::pages(&document, PaperSize::A4, &fonts);
        assert!(pages.len() > 5);
        let mut text = String::new();
        for page in &pages {
            let mut lines: Vec<(Rect, &str)> = Vec::new();
            for ink in &page.inks {
                if let Ink::Words { text: words, .. } = ink {
                    // Letters of lines above each other may touch, their middles may not.
                    let room = room(ink, &fonts);
                    let core = room.inset((-0.1, -room.height() * 0.3));
                    let under = lines.iter().find(|(other, _)| other.overlaps(core));
                    assert_eq!(under.map(|(_, other)| (*other, words.as_str())), None);
                    lines.push((core, words));
                    text += words;
                    text.push(' ');
                }
            }
        }
        for n in 0..90 {
            assert!(text.contains(&format!("name {n} ")), "{n}");
        }
        // Paragraph, two steps and a cell of 800 times "word" and 30 lines of the cautions.
        assert!(text.matches("another").count() >= 4 * 400);
    }

    #[test]
    fn the_same_papers_give_the_same_bytes_without_a_date() {
        let document = papers(&sample::draft());
        let bytes = pdf(&document, PaperSize::A4).expect("a file");
        assert_eq!(bytes, pdf(&document, PaperSize::A4).expect("a file"));
        assert_ne!(bytes, pdf(&document, PaperSize::Letter).expect("a file"));
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.starts_with("%PDF-1."));
        assert!(text.contains("/PrintScaling/None") || text.contains("/PrintScaling /None"));
        assert!(!text.contains("Date"));
    }
}
