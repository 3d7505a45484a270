//! The measuring sheet: what to measure of the work, when, and room for what is found.

use tiewright_geometry::{Curve, Point, Rect};

use super::numbered::Board;
use super::picture::{Canvas, RADIUS, View};
use super::{Align, Block, Cell, Paper, Picture, Table, WIDEST, column, facts};
use crate::draft::{Draft, Inspection, MeasuringPoint};
use crate::format::{PAPER_ROUNDING, paper_inches, paper_mm};
use crate::layout::folded::clipped;

/// Columns to write readings in, one an article.
const READINGS: usize = 5;
/// Grey of the outline.
const GREY: f64 = 0.9;
/// How far an outline in a picture may stray, mm of the draft; finer than a printed line.
const PICTURE: f64 = 0.05;
/// How high the outline gets to be, mm.
const HIGHEST_OUTLINE: f64 = 80.0;
/// Room at both sides of an outline for numbers, mm.
const SIDE: f64 = 2.0 * RADIUS + 1.0;
/// A line shorter than this on paper is drawn larger where it can be, mm.
const SMALL: f64 = 10.0;
/// A line this many times as long as high runs along the outline.
const ALONG: f64 = 10.0;
/// An end is shown this many heights of the outline long, past the opening at a point of 90 degrees.
const END_LENGTH: f64 = 1.5;
/// An outline shorter than this many of its ends is shown whole only.
const LONG: f64 = 4.0;
/// Between the two ends, mm.
const GAP: f64 = 6.0;

/// The measuring sheet of `draft`; none when nothing is to be measured.
pub(super) fn sheet(draft: &Draft) -> Option<Paper> {
    if draft.inspections.is_empty() {
        return None;
    }
    let mut blocks = vec![
        facts(&["order", "cloth", "measured by", "date"]),
        Block::Paragraph(format!(
            "Lay the work flat and smooth, without pulling. Write what you read in millimetres, a column for \
             each article. {PAPER_ROUNDING}"
        )),
    ];
    for inspection in &draft.inspections {
        blocks.push(Block::Heading(heading(inspection)));
        blocks.extend(pictures(inspection));
        blocks.push(Block::Table(table(inspection)));
    }
    Some(Paper {
        title: "Measuring sheet".to_owned(),
        blocks,
    })
}

/// When it is measured, with a capital, and what it is called.
fn heading(inspection: &Inspection) -> String {
    let mut when = inspection.when.chars();
    match when.next() {
        Some(first) => {
            let first = first.to_uppercase();
            format!("{first}{} ({})", when.as_str(), inspection.name)
        }
        None => inspection.name.to_string(),
    }
}

/// What each point is and must be, and room for readings; then who read them and when.
fn table(inspection: &Inspection) -> Table {
    let mut columns = vec![
        column("no.", Align::Middle, 10.0),
        column("point of measure", Align::Start, 61.0),
        column("must be", Align::End, 25.0),
        column("± mm", Align::End, 14.0),
    ];
    columns.extend((1..=READINGS).map(|n| column(&n.to_string(), Align::Middle, 14.0)));
    let points = inspection.points.iter().enumerate();
    let mut rows = vec![open_row("article no.")];
    rows.extend(points.map(|(index, point)| row(index + 1, point)));
    rows.extend(["date", "initials"].map(open_row));
    Table {
        name: heading(inspection),
        columns,
        rows,
    }
}

fn row(number: usize, point: &MeasuringPoint) -> Vec<Cell> {
    let mut cells = vec![
        Cell::Words(number.to_string()),
        Cell::Named {
            name: point.name.to_string(),
            note: point.doc.to_string(),
        },
        Cell::Named {
            name: format!("{} mm", paper_mm(point.value)),
            note: paper_inches(point.value),
        },
        Cell::Words(paper_mm(point.tolerance)),
    ];
    cells.extend((0..READINGS).map(|_| Cell::Blank));
    cells
}

fn open_row(what: &str) -> Vec<Cell> {
    let words = |text: &str| Cell::Words(text.to_owned());
    let mut cells = vec![words(""), words(what), words(""), words("")];
    cells.extend((0..READINGS).map(|_| Cell::Blank));
    cells
}

/// The outline with its points, and its ends larger where points are too small to see.
fn pictures(inspection: &Inspection) -> Vec<Block> {
    let bounds = inspection.outline.bounds();
    let scale = ((WIDEST - 2.0 * SIDE) / bounds.width()).min(HIGHEST_OUTLINE / bounds.height());
    let end = END_LENGTH * bounds.height();
    let is_long = bounds.width() > LONG * end;
    let left = (bounds.x0, bounds.x0 + end);
    let right = (bounds.x1 - end, bounds.x1);
    let points = || {
        let numbered = inspection.points.iter().enumerate();
        numbered.map(|(index, point)| (index + 1, &point.line))
    };
    let in_end = |line: &Curve, end: (f64, f64)| {
        is_long && line.length() * scale < SMALL && lies_in(line.bounds(), end)
    };
    let of = |end: (f64, f64)| points().filter(move |(_, line)| in_end(line, end));
    let small = |line: &Curve| in_end(line, left) || in_end(line, right);
    let whole = points().filter(|(_, line)| !small(line));

    let outline = inspection.outline.flatten(PICTURE);
    let drawn = |stretch: (f64, f64), scale: f64, lines: Vec<(usize, &Curve)>| {
        drawing(&clipped(&outline, stretch), scale, &lines)
    };
    let name = |part: &str| format!("measure-{}-{part}", inspection.name);
    let block = |canvas: Canvas, part: &str, caption: String| {
        Block::Picture(Picture {
            drawing: canvas.into_sheet(&name(part), &caption),
            caption,
        })
    };
    let all = drawn((bounds.x0, bounds.x1), scale, whole.collect());
    let mut blocks = vec![block(all, "whole", "Where to measure.".to_owned())];
    let (at_left, at_right): (Vec<_>, Vec<_>) = (of(left).collect(), of(right).collect());
    if !at_left.is_empty() || !at_right.is_empty() {
        let room = (WIDEST - GAP) / 2.0 - 2.0 * SIDE;
        let scale = (room / end).min(HIGHEST_OUTLINE / bounds.height());
        let (canvas, caption) = match (at_left.is_empty(), at_right.is_empty()) {
            (_, true) => (drawn(left, scale, at_left), "The left end, larger."),
            (true, false) => (drawn(right, scale, at_right), "The right end, larger."),
            (false, false) => {
                let mut both = drawn(left, scale, at_left);
                both.beside(drawn(right, scale, at_right), GAP);
                (both, "The left and the right end, larger.")
            }
        };
        blocks.push(block(canvas, "ends", caption.to_owned()));
    }
    blocks
}

fn lies_in(room: Rect, (from, to): (f64, f64)) -> bool {
    from - PICTURE <= room.x0 && room.x1 <= to + PICTURE
}

/// An outline with lines on it, `scale` times as large.
fn drawing(outline: &[Point], scale: f64, lines: &[(usize, &Curve)]) -> Canvas {
    let view = View {
        scale,
        turned: false,
    };
    let mut canvas = Canvas::default();
    canvas.fill(outline.iter().map(|p| view.point(*p)).collect(), GREY);
    let mut board = Board::over(canvas, (SIDE, SIDE));
    let lines = lines
        .iter()
        .map(|(number, line)| (*number, view.curve(line)));
    let (along, in_place): (Vec<_>, Vec<_>) = lines.partition(|(_, line)| runs_along(line));
    board.in_place(&in_place);
    for (number, line) in along {
        board.below(number, line.start(), line.end(), String::new());
    }
    board.finished()
}

/// Whether a line as drawn runs along the outline and is long enough to bear its number.
fn runs_along(line: &Curve) -> bool {
    let way = line.end() - line.start();
    way.x.abs() >= ALONG * way.y.abs() && way.x.abs() >= SMALL
}
