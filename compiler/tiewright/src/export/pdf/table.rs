//! Tables: columns by their shares, rows that stay whole, the head again on every page.

use std::rc::Rc;

use tiewright_core::paper::{Align, Cell, Table};
use tiewright_core::sheet::Sheet;
use tiewright_geometry::Point;

use super::blocks::{BODY, Lines, Setter, THIN};
use super::flow::{Atom, Ink};
use super::font::Face;

/// Between the side of a cell and what is in it, mm.
const PADDING: (f64, f64) = (1.5, 1.0);
/// Height of a row with room to write, at least, mm: a line of handwriting.
const WRITING: f64 = 8.5;
/// Grey behind the head.
const HEAD_GREY: f64 = 0.88;
/// A table no higher than this part of a page is not parted.
const WHOLE: f64 = 0.4;
/// Above a table, mm.
const GAP: f64 = 2.0;

/// A column: its left side and its width, mm.
#[derive(Clone, Copy)]
struct Span {
    left: f64,
    width: f64,
    align: Align,
}

/// A cell ready to be drawn.
enum Set<'a> {
    /// Lines, one part below the other.
    Lines(Vec<Lines>),
    /// A drawing.
    Drawing(&'a Sheet),
}

impl Set<'_> {
    fn height(&self) -> f64 {
        match self {
            Set::Lines(parts) => parts.iter().map(Lines::height).sum(),
            Set::Drawing(sheet) => sheet.height,
        }
    }

    /// Takes the lines that fit into `room` out of the cell.
    fn split(&mut self, room: f64) -> Self {
        let Set::Lines(parts) = self else {
            return std::mem::replace(self, Set::Lines(Vec::new()));
        };
        let mut used = 0.0;
        let mut taken = Vec::new();
        for part in parts {
            let leading = part.leading();
            let fitting = ((room - used) / leading).max(0.0) as usize;
            let count = fitting.min(part.lines.len());
            used += count as f64 * leading;
            taken.push(part.take(count));
            if !part.lines.is_empty() {
                break;
            }
        }
        Set::Lines(taken)
    }

    fn is_empty(&self) -> bool {
        match self {
            Set::Lines(parts) => parts.iter().all(|part| part.lines.is_empty()),
            Set::Drawing(_) => false,
        }
    }
}

/// The head and the rows of `table`.
pub(super) fn atoms<'a>(setter: &Setter, table: &'a Table) -> Vec<Atom<'a>> {
    let spans = spans(setter, table);
    let head = || head(setter, table, &spans);
    let again = Rc::new(head());
    let mut atoms = vec![head()];
    let room = setter.room - again.height - 2.0 * PADDING.1;
    for row in &table.rows {
        let writing = row.iter().any(|cell| matches!(cell, Cell::Blank));
        let least = if writing { WRITING } else { 0.0 };
        let mut cells: Vec<Set> = row
            .iter()
            .zip(&spans)
            .map(|(cell, span)| set(setter, cell, *span))
            .collect();
        // A row that no page can hold goes on in a row below.
        loop {
            let part: Vec<Set> = cells.iter_mut().map(|cell| cell.split(room)).collect();
            atoms.push(Atom {
                head: Some(again.clone()),
                ..drawn(setter, &part, &spans, least)
            });
            if part.iter().all(Set::is_empty) || cells.iter().all(Set::is_empty) {
                break;
            }
        }
    }
    // A single row at the end of a page or at the start of the next would be overlooked.
    let rows = atoms.len();
    for row in [1, rows.saturating_sub(2)] {
        if let Some(atom) = atoms.get_mut(row)
            && row + 1 < rows
        {
            atom.keep = true;
        }
    }
    let height: f64 = atoms.iter().map(|atom| atom.height).sum();
    if height <= setter.room * WHOLE {
        let last = atoms.len() - 1;
        for atom in &mut atoms[..last] {
            atom.keep = true;
        }
    }
    atoms
}

fn spans(setter: &Setter, table: &Table) -> Vec<Span> {
    let whole: f64 = table.columns.iter().map(|column| column.share).sum();
    let mut left = 0.0;
    let span = |column: &tiewright_core::paper::Column| {
        let width = column.share / whole * setter.width;
        left += width;
        Span {
            left: left - width,
            width,
            align: column.align,
        }
    };
    table.columns.iter().map(span).collect()
}

fn head<'a>(setter: &Setter, table: &Table, spans: &[Span]) -> Atom<'a> {
    let heading = |(column, span): (&tiewright_core::paper::Column, &Span)| {
        let width = span.width - 2.0 * PADDING.0;
        Set::Lines(vec![setter.lines(&column.heading, Face::Bold, BODY, width)])
    };
    let cells: Vec<Set> = table.columns.iter().zip(spans).map(heading).collect();
    let mut atom = drawn(setter, &cells, spans, 0.0);
    let panel = Ink::Panel {
        low: Point::new(0.0, -atom.height),
        high: Point::new(setter.width, 0.0),
        grey: HEAD_GREY,
    };
    atom.inks.insert(0, panel);
    atom.gap = GAP;
    atom.keep = true;
    atom
}

fn set<'a>(setter: &Setter, cell: &'a Cell, span: Span) -> Set<'a> {
    let width = span.width - 2.0 * PADDING.0;
    let lines = |text: &str, face| setter.lines(text, face, BODY, width);
    match cell {
        Cell::Blank => Set::Lines(Vec::new()),
        Cell::Words(text) => Set::Lines(vec![lines(text, Face::Regular)]),
        Cell::Named { name, note } => {
            Set::Lines(vec![lines(name, Face::Bold), lines(note, Face::Regular)])
        }
        Cell::Picture(sheet) => Set::Drawing(sheet),
    }
}

/// A row with its frame, at least `least` high.
fn drawn<'a>(setter: &Setter, cells: &[Set<'a>], spans: &[Span], least: f64) -> Atom<'a> {
    let highest = cells.iter().map(Set::height).fold(0.0, f64::max);
    let height = (highest + 2.0 * PADDING.1).max(least);
    let mut inks = Vec::new();
    for (cell, span) in cells.iter().zip(spans) {
        inks.extend(cell_inks(setter, cell, *span, height));
    }
    inks.extend(grid(setter, spans, height));
    Atom {
        height,
        inks,
        ..Atom::default()
    }
}

/// The lines round the cells of a row. Rows that meet share theirs.
fn grid<'a>(setter: &Setter, spans: &[Span], height: f64) -> Vec<Ink<'a>> {
    let line = |x0: f64, y0: f64, x1: f64, y1: f64| Ink::Line {
        from: Point::new(x0, y0),
        to: Point::new(x1, y1),
        width: THIN,
    };
    let sides = spans.iter().map(|span| span.left).chain([setter.width]);
    let mut lines: Vec<Ink> = sides.map(|x| line(x, -height, x, 0.0)).collect();
    lines.push(line(0.0, 0.0, setter.width, 0.0));
    lines.push(line(0.0, -height, setter.width, -height));
    lines
}

fn cell_inks<'a>(setter: &Setter, cell: &Set<'a>, span: Span, height: f64) -> Vec<Ink<'a>> {
    let left = span.left + PADDING.0;
    let room = span.width - 2.0 * PADDING.0;
    let shift = |free: f64| match span.align {
        Align::Start => 0.0,
        Align::Middle => free / 2.0,
        Align::End => free,
    };
    let parts = match cell {
        Set::Lines(parts) => parts,
        Set::Drawing(sheet) => {
            let across = left + shift(room - sheet.width);
            let down = -(height + sheet.height) / 2.0;
            return vec![Ink::Drawing {
                corner: Point::new(across, down),
                sheet,
            }];
        }
    };
    let mut inks = Vec::new();
    let mut down = PADDING.1;
    for part in parts {
        for mut ink in part.inks(Point::new(left, -down)) {
            if let Ink::Words {
                at,
                text,
                face,
                size,
            } = &mut ink
            {
                at.x += shift(room - setter.width_of(text, *face, *size));
            }
            inks.push(ink);
        }
        down += part.height();
    }
    inks
}
