//! Blocks of a paper as atoms: lines, rows and boxes that no end of a page parts.

use tiewright_core::paper::{Block, Caution, Document, Paper, Picture, Step};
use tiewright_geometry::{Point, Vec2};

use super::flow::{Atom, Ink, POINT};
use super::font::{Face, Fonts};
use super::table;
use super::wrap::wrapped;
use crate::export::paper_size::BODY_POINTS;

/// Size of running words, mm.
pub(super) const BODY: f64 = BODY_POINTS * POINT;
/// Size of a paper's title, mm.
const TITLE: f64 = 20.0 * POINT;
/// Size of what the paper is for, and of headings, mm.
const HEADING: f64 = 13.0 * POINT;
/// From one line to the next, ems.
const LEADING: f64 = 1.4;
/// From the top of a line to its baseline, ems: what the letters reach above it.
const ASCENT: f64 = 1.08;
/// Above a block, mm.
const GAP: f64 = 3.0;
/// Above a heading, mm.
const HEADING_GAP: f64 = 5.0;
/// Between a fact's name and the line to write on, mm.
const FACT_GAP: f64 = 2.0;
/// Height of a fact, at least, mm: room to write.
const FACT_HEIGHT: f64 = 7.5;
/// Where the words of a step start, mm: right of its number.
const STEP_INDENT: f64 = 9.0;
/// Between the frame of a caution and its words, mm.
const PADDING: f64 = 2.5;
/// Width of the bar at the left of a caution, mm: seen in grey and from afar.
const BAR: f64 = 2.0;
/// Width of a thin line, mm.
pub(super) const THIN: f64 = 0.2;
/// Width of the frame of a caution, mm.
const FRAME: f64 = 0.5;
/// Lines of a paragraph that stay together at its start and its end.
const TOGETHER: usize = 2;

/// What blocks are set with.
#[derive(Clone, Copy)]
pub(super) struct Setter<'f> {
    /// The faces.
    pub fonts: &'f Fonts,
    /// From margin to margin, mm.
    pub width: f64,
    /// From the top of a page's body to its end, mm.
    pub room: f64,
}

/// Lines of words, one below the other.
pub(super) struct Lines {
    /// The words of each line.
    pub lines: Vec<String>,
    face: Face,
    size: f64,
}

impl Lines {
    /// How high one line is, mm.
    pub fn leading(&self) -> f64 {
        self.size * LEADING
    }

    /// How high all lines are, mm.
    pub fn height(&self) -> f64 {
        self.lines.len() as f64 * self.leading()
    }

    /// Takes the first `count` lines away.
    pub fn take(&mut self, count: usize) -> Self {
        let rest = self.lines.split_off(count.min(self.lines.len()));
        Lines {
            lines: std::mem::replace(&mut self.lines, rest),
            ..*self
        }
    }

    /// The lines, the upper left corner of the first at `corner`.
    pub fn inks<'a>(&self, corner: Point) -> Vec<Ink<'a>> {
        let place = |(row, text): (usize, &String)| {
            let down = row as f64 * self.leading() + ASCENT * self.size;
            self.ink(text, corner - Vec2::new(0.0, down))
        };
        self.lines.iter().enumerate().map(place).collect()
    }

    fn ink<'a>(&self, text: &str, at: Point) -> Ink<'a> {
        Ink::Words {
            at,
            text: text.to_owned(),
            face: self.face,
            size: self.size,
        }
    }
}

impl Setter<'_> {
    /// `text` in lines no wider than `width`; none when there is nothing to say.
    pub fn lines(&self, text: &str, face: Face, size: f64, width: f64) -> Lines {
        let lines = if text.trim().is_empty() {
            Vec::new()
        } else {
            wrapped(self.fonts, text, face, size, width)
        };
        Lines { lines, face, size }
    }

    /// Width of a line, mm.
    pub fn width_of(&self, text: &str, face: Face, size: f64) -> f64 {
        self.fonts.width(text, face, size)
    }

    /// Whether a heading and words have room beside each other.
    fn fit_beside(&self, heading: &str, words: &str) -> bool {
        let heading = self.width_of(heading, Face::Bold, HEADING);
        heading + GAP + self.width_of(words, Face::Regular, BODY) <= self.width
    }

    /// An atom a line, `indent` from the left; the last keeps with what follows if `keep`.
    fn running<'a>(&self, lines: &Lines, indent: f64, gap: f64, keep: bool) -> Vec<Atom<'a>> {
        let count = lines.lines.len();
        let atom = |(row, text): (usize, &String)| Atom {
            height: lines.leading(),
            gap: if row == 0 { gap } else { 0.0 },
            keep: row + 1 < TOGETHER || (row + TOGETHER >= count && row + 1 < count),
            head: None,
            inks: vec![lines.ink(text, Point::new(indent, -ASCENT * lines.size))],
        };
        let mut atoms: Vec<Atom> = lines.lines.iter().enumerate().map(atom).collect();
        if let Some(last) = atoms.last_mut() {
            last.keep = keep;
        }
        atoms
    }
}

/// The atoms of `paper`, `width` wide; none is higher than `room`.
pub(super) fn atoms<'a>(
    document: &Document,
    paper: &'a Paper,
    width: f64,
    room: f64,
    fonts: &Fonts,
) -> Vec<Atom<'a>> {
    let setter = Setter { fonts, width, room };
    let mut atoms = opening(&setter, document, paper);
    let mut is_headed = false;
    for block in &paper.blocks {
        match block {
            Block::Heading(text) => {
                let lines = setter.lines(text, Face::Bold, HEADING, width);
                atoms.extend(setter.running(&lines, 0.0, HEADING_GAP, true));
            }
            Block::Paragraph(text) => {
                let lines = setter.lines(text, Face::Regular, BODY, width);
                // Words between a heading and what it heads go where that goes.
                atoms.extend(setter.running(&lines, 0.0, GAP, is_headed));
            }
            Block::Facts(facts) => atoms.extend(facts_of(&setter, facts)),
            Block::Steps(steps) => {
                let numbered = steps.iter().enumerate();
                atoms.extend(numbered.flat_map(|(index, s)| step(&setter, index + 1, s)));
            }
            Block::Table(table) => atoms.extend(table::atoms(&setter, table)),
            Block::Picture(picture) => atoms.extend(picture_of(&setter, picture)),
            Block::Caution(caution) => atoms.push(boxed(&setter, caution, 0.0)),
        }
        is_headed = matches!(block, Block::Heading(_));
    }
    atoms
}

/// The paper's title, and whose it is.
fn opening<'a>(setter: &Setter, document: &Document, paper: &Paper) -> Vec<Atom<'a>> {
    let title = setter.lines(&paper.title, Face::Bold, TITLE, setter.width);
    let whose = setter.lines(&document.title, Face::Bold, HEADING, setter.width);
    let doc = setter.lines(&document.doc, Face::Regular, BODY, setter.width);
    let mut atoms = setter.running(&title, 0.0, 0.0, true);
    match (whose.lines.as_slice(), doc.lines.as_slice()) {
        ([whose_line], [doc_line]) if setter.fit_beside(whose_line, doc_line) => {
            let mut line = setter.running(&whose, 0.0, 0.0, true);
            let wide = setter.width_of(whose_line, Face::Bold, HEADING);
            if let Some(atom) = line.first_mut() {
                let at = Point::new(wide + GAP, -ASCENT * HEADING);
                atom.inks.push(doc.ink(doc_line, at));
            }
            atoms.extend(line);
        }
        _ => {
            atoms.extend(setter.running(&whose, 0.0, 0.0, true));
            atoms.extend(setter.running(&doc, 0.0, 0.0, true));
        }
    }
    atoms.push(Atom {
        gap: GAP / 2.0,
        height: FRAME,
        keep: true,
        inks: vec![Ink::Line {
            from: Point::new(0.0, -FRAME / 2.0),
            to: Point::new(setter.width, -FRAME / 2.0),
            width: FRAME,
        }],
        head: None,
    });
    atoms
}

/// Two facts a line, each with a line to write on.
fn facts_of<'a>(setter: &Setter, facts: &[String]) -> Vec<Atom<'a>> {
    let half = (setter.width - GAP) / 2.0;
    let row = |(index, pair): (usize, &[String])| {
        let mut atom = Atom {
            gap: if index == 0 { GAP / 2.0 } else { 0.0 },
            height: FACT_HEIGHT,
            ..Atom::default()
        };
        for (side, name) in pair.iter().enumerate() {
            let left = side as f64 * (half + GAP);
            let (inks, height) = fact_of(setter, name, left, half);
            atom.inks.extend(inks);
            atom.height = atom.height.max(height);
        }
        atom
    };
    facts.chunks(2).enumerate().map(row).collect()
}

fn fact_of<'a>(setter: &Setter, name: &str, left: f64, width: f64) -> (Vec<Ink<'a>>, f64) {
    let name = setter.lines(name, Face::Regular, BODY, width / 2.0);
    let wide = |line: &String| setter.width_of(line, Face::Regular, BODY);
    let start = name.lines.iter().map(wide).fold(0.0, f64::max) + FACT_GAP;
    // The baseline of the first line of a name is as high as the line to write on.
    let top = FACT_HEIGHT - LEADING * BODY;
    let mut inks = name.inks(Point::new(left, -top));
    let down = -(top + ASCENT * BODY + THIN);
    inks.push(Ink::Line {
        from: Point::new(left + start, down),
        to: Point::new(left + width, down),
        width: THIN,
    });
    (inks, top + name.height())
}

/// Number and title, the words, then what to beware of.
fn step<'a>(setter: &Setter, number: usize, step: &Step) -> Vec<Atom<'a>> {
    let width = setter.width - STEP_INDENT;
    let title = setter.lines(&step.title, Face::Bold, BODY, width);
    let text = setter.lines(&step.text, Face::Regular, BODY, width);
    let mut atoms = setter.running(&title, STEP_INDENT, GAP, true);
    if let Some(first) = atoms.first_mut() {
        let number = format!("{number}.");
        let wide = setter.width_of(&number, Face::Bold, BODY);
        first.inks.push(Ink::Words {
            at: Point::new(STEP_INDENT - FACT_GAP - wide, -ASCENT * BODY),
            text: number,
            face: Face::Bold,
            size: BODY,
        });
    }
    let mut gap = 0.0;
    if let Some(caution) = &step.caution {
        gap = GAP / 2.0;
        atoms.push(Atom {
            keep: true,
            gap,
            ..boxed(setter, caution, STEP_INDENT)
        });
    }
    atoms.extend(setter.running(&text, STEP_INDENT, gap, false));
    if let Some(last) = atoms.last_mut() {
        last.keep = false;
    }
    atoms
}

/// A caution in a frame, with a black bar at its left.
fn boxed<'a>(setter: &Setter, caution: &Caution, indent: f64) -> Atom<'a> {
    let left = indent + BAR + PADDING;
    let width = setter.width - left - PADDING;
    let title = format!("Caution: {}", caution.title);
    let title = setter.lines(&title, Face::Bold, BODY, width);
    let text = setter.lines(&caution.text, Face::Regular, BODY, width);
    let height = title.height() + text.height() + 2.0 * PADDING;
    let mut inks = title.inks(Point::new(left, -PADDING));
    inks.extend(text.inks(Point::new(left, -PADDING - title.height())));
    let (low, high) = (Point::new(indent, -height), Point::new(setter.width, 0.0));
    inks.extend(frame(low, high, FRAME));
    inks.push(Ink::Panel {
        low,
        high: Point::new(indent + BAR, 0.0),
        grey: 0.0,
    });
    Atom {
        height,
        gap: GAP,
        inks,
        ..Atom::default()
    }
}

/// The four sides of an upright rectangle, drawn inside it.
fn frame<'a>(low: Point, high: Point, width: f64) -> [Ink<'a>; 4] {
    let half = width / 2.0;
    let line = |x0: f64, y0: f64, x1: f64, y1: f64| Ink::Line {
        from: Point::new(x0, y0),
        to: Point::new(x1, y1),
        width,
    };
    [
        line(low.x, low.y + half, high.x, low.y + half),
        line(low.x, high.y - half, high.x, high.y - half),
        line(low.x + half, low.y, low.x + half, high.y),
        line(high.x - half, low.y, high.x - half, high.y),
    ]
}

/// The caption above the drawing, which stay together.
fn picture_of<'a>(setter: &Setter, picture: &'a Picture) -> Vec<Atom<'a>> {
    let caption = setter.lines(&picture.caption, Face::Regular, BODY, setter.width);
    let mut atoms = setter.running(&caption, 0.0, GAP, true);
    for atom in &mut atoms {
        atom.keep = true;
    }
    let sheet = &picture.drawing;
    atoms.push(Atom {
        height: sheet.height,
        gap: GAP / 2.0,
        inks: vec![Ink::Drawing {
            corner: Point::new(0.0, -sheet.height),
            sheet,
        }],
        ..Atom::default()
    });
    atoms
}
