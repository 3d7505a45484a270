//! From blocks to pages: what keeps together, and where a page ends.

use std::rc::Rc;

use tiewright_core::format::INCH;
use tiewright_core::paper::Document;
use tiewright_core::sheet::Sheet;
use tiewright_geometry::{Point, Vec2};

use super::blocks;
use super::font::{Face, Fonts};
use crate::export::paper_size::{MARGIN, PaperSize};

/// Millimetres to a printer's point: 72 points are an inch.
pub(super) const POINT: f64 = INCH / 72.0;
/// From the lower margin up to where the body of a page may reach, mm: the footer's line.
const FOOTER: f64 = 8.0;
/// Size of the words in the footer, mm.
const FOOTER_SIZE: f64 = 9.0 * POINT;

/// Something on a page.
#[derive(Debug, Clone)]
pub(super) enum Ink<'a> {
    /// A line of words from the left end of its baseline.
    Words {
        /// Where it starts.
        at: Point,
        /// The words.
        text: String,
        /// Their face.
        face: Face,
        /// The em, mm.
        size: f64,
    },
    /// A straight line.
    Line {
        /// Where it starts.
        from: Point,
        /// Where it ends.
        to: Point,
        /// mm.
        width: f64,
    },
    /// A filled upright rectangle.
    Panel {
        /// Its lower left corner.
        low: Point,
        /// Its upper right corner.
        high: Point,
        /// Between 0 (black) and 1 (white).
        grey: f64,
    },
    /// A drawing.
    Drawing {
        /// Its lower left corner.
        corner: Point,
        /// What is drawn.
        sheet: &'a Sheet,
    },
}

impl Ink<'_> {
    /// The same, moved.
    fn moved(&self, by: Vec2) -> Self {
        let mut moved = self.clone();
        match &mut moved {
            Ink::Words { at, .. } => *at += by,
            Ink::Line { from, to, .. } => {
                *from += by;
                *to += by;
            }
            Ink::Panel { low, high, .. } => {
                *low += by;
                *high += by;
            }
            Ink::Drawing { corner, .. } => *corner += by,
        }
        moved
    }
}

/// What is never parted by the end of a page. Its upper left corner is the origin, `y` runs up.
#[derive(Debug, Default)]
pub(super) struct Atom<'a> {
    /// mm.
    pub height: f64,
    /// Blank above it, mm; none at the top of a page.
    pub gap: f64,
    /// Whether it stays on a page with what follows.
    pub keep: bool,
    /// What is drawn again above it when it opens a page: the head of its table.
    pub head: Option<Rc<Atom<'a>>>,
    /// What is drawn.
    pub inks: Vec<Ink<'a>>,
}

/// One page: all that is drawn, from its lower left corner.
#[derive(Debug)]
pub(super) struct Page<'a> {
    /// What is drawn.
    pub inks: Vec<Ink<'a>>,
}

/// The pages of `document`.
pub(super) fn pages<'a>(document: &'a Document, size: PaperSize, fonts: &Fonts) -> Vec<Page<'a>> {
    let (width, height) = size.millimetres();
    let room = height - 2.0 * MARGIN - FOOTER;
    let mut bodies: Vec<(&str, Vec<Placed>)> = Vec::new();
    for paper in &document.papers {
        let atoms = blocks::atoms(document, paper, width - 2.0 * MARGIN, room, fonts);
        let pages = broken(atoms, room);
        bodies.extend(pages.into_iter().map(|page| (paper.title.as_str(), page)));
    }
    let count = bodies.len();
    let footer =
        |paper: &str, number: usize| footer(&document.title, paper, number, count, width, fonts);
    bodies
        .into_iter()
        .enumerate()
        .map(|(index, (paper, body))| {
            let mut inks: Vec<Ink> = body
                .iter()
                .flat_map(|placed| {
                    let by = Vec2::new(MARGIN, height - MARGIN - placed.down);
                    placed.atom.inks.iter().map(move |ink| ink.moved(by))
                })
                .collect();
            inks.extend(footer(paper, index + 1));
            Page { inks }
        })
        .collect()
}

/// An atom on a page.
#[derive(Debug)]
struct Placed<'a> {
    atom: Rc<Atom<'a>>,
    /// From the upper margin down to its top, mm.
    down: f64,
}

/// `atoms` on pages with `room` from top to bottom. What is higher than a page gets one alone.
fn broken<'a>(atoms: Vec<Atom<'a>>, room: f64) -> Vec<Vec<Placed<'a>>> {
    let mut flow = Flow {
        pages: Vec::new(),
        page: Vec::new(),
        down: 0.0,
        room,
    };
    let mut chain: Vec<Atom> = Vec::new();
    for atom in atoms {
        let ends = !atom.keep;
        chain.push(atom);
        if ends {
            flow.chain(std::mem::take(&mut chain));
        }
    }
    flow.chain(chain);
    flow.turn();
    flow.pages
}

struct Flow<'a> {
    pages: Vec<Vec<Placed<'a>>>,
    page: Vec<Placed<'a>>,
    /// How far the page is filled, mm.
    down: f64,
    room: f64,
}

impl<'a> Flow<'a> {
    /// Puts what keeps together on this page or the next.
    fn chain(&mut self, chain: Vec<Atom<'a>>) {
        let height: f64 = chain.iter().map(|atom| atom.gap + atom.height).sum();
        if self.down + height > self.room {
            self.turn();
        }
        for atom in chain {
            self.put(atom);
        }
    }

    fn put(&mut self, atom: Atom<'a>) {
        // Only a chain higher than a page comes to its end in the middle.
        if self.down + atom.gap + atom.height > self.room {
            self.turn();
        }
        if self.page.is_empty() {
            if let Some(head) = &atom.head {
                self.place(head.clone(), 0.0);
            }
            self.place(Rc::new(atom), 0.0);
        } else {
            let gap = atom.gap;
            self.place(Rc::new(atom), gap);
        }
    }

    fn place(&mut self, atom: Rc<Atom<'a>>, gap: f64) {
        let down = self.down + gap;
        self.down = down + atom.height;
        self.page.push(Placed { atom, down });
    }

    /// Begins a page, if there is something on this one.
    fn turn(&mut self) {
        if !self.page.is_empty() {
            self.pages.push(std::mem::take(&mut self.page));
        }
        self.down = 0.0;
    }
}

/// Whose page this is and which of how many.
fn footer<'a>(
    title: &str,
    paper: &str,
    number: usize,
    count: usize,
    width: f64,
    fonts: &Fonts,
) -> Vec<Ink<'a>> {
    let page = format!("page {number} of {count}");
    let wide = |text: &str| fonts.width(text, Face::Regular, FOOTER_SIZE);
    let right = width - MARGIN - wide(&page);
    let room = right - MARGIN - FOOTER_SIZE;
    // What is cut off here stands in full on the first page of the paper.
    let whose = fitted(&format!("{title}: {paper}"), room, wide);
    let words = |x: f64, text: String| Ink::Words {
        at: Point::new(
            x,
            MARGIN - fonts.of(Face::Regular).heights.descent * FOOTER_SIZE,
        ),
        text,
        face: Face::Regular,
        size: FOOTER_SIZE,
    };
    vec![words(MARGIN, whose), words(right, page)]
}

/// `text`, cut short with three dots if it is wider than `room`.
fn fitted(text: &str, room: f64, wide: impl Fn(&str) -> f64) -> String {
    let clean: String = text
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if wide(&clean) <= room {
        return clean;
    }
    let mut used = wide("...");
    let kept: String = clean
        .chars()
        .take_while(|c| {
            used += wide(c.encode_utf8(&mut [0; 4]));
            used <= room
        })
        .collect();
    kept + "..."
}

#[cfg(test)]
mod tests {
    use super::*;

    fn atom<'a>(height: f64, keep: bool) -> Atom<'a> {
        Atom {
            height,
            gap: 1.0,
            keep,
            ..Atom::default()
        }
    }

    fn downs(atoms: Vec<Atom>, room: f64) -> Vec<Vec<f64>> {
        broken(atoms, room)
            .iter()
            .map(|page| page.iter().map(|placed| placed.down).collect())
            .collect()
    }

    #[test]
    fn long_words_are_cut_to_the_room() {
        let wide = |text: &str| text.chars().count() as f64;
        assert_eq!(fitted("a tie\n", 6.0, wide), "a tie ");
        assert_eq!(fitted("a longer tie", 9.0, wide), "a long...");
        assert_eq!(fitted("a tie", 2.0, wide), "...");
    }

    #[test]
    fn a_heading_goes_where_what_follows_it_goes() {
        let atoms = vec![atom(10.0, false), atom(3.0, true), atom(10.0, false)];
        assert_eq!(downs(atoms, 20.0), [vec![0.0], vec![0.0, 4.0]]);
        let atoms = vec![atom(10.0, false), atom(3.0, true), atom(10.0, false)];
        assert_eq!(downs(atoms, 25.0), [vec![0.0, 11.0, 15.0]]);
    }

    #[test]
    fn what_keeps_together_and_fills_more_than_a_page_is_parted_all_the_same() {
        let atoms = vec![atom(8.0, true), atom(8.0, true), atom(8.0, false)];
        assert_eq!(downs(atoms, 18.0), [vec![0.0, 9.0], vec![0.0]]);
        assert_eq!(downs(vec![atom(30.0, true)], 18.0), [vec![0.0]]);
    }

    #[test]
    fn the_head_of_a_table_opens_every_page_of_it() {
        let head = Rc::new(atom(2.0, true));
        let row = || Atom {
            head: Some(head.clone()),
            ..atom(6.0, false)
        };
        let atoms = vec![atom(2.0, true), row(), row(), row()];
        let pages = broken(atoms, 16.0);
        let heights: Vec<Vec<f64>> = pages
            .iter()
            .map(|page| page.iter().map(|placed| placed.atom.height).collect())
            .collect();
        assert_eq!(heights, [vec![2.0, 6.0, 6.0], vec![2.0, 6.0]]);
    }
}
