//! What a pattern sheet bears beside the pieces: the title block, the list of what to cut, the key
//! to the line types and the test square.
//!
//! Each is a column of its own with its top left corner at the origin; the sheet moves it.

use std::collections::BTreeSet;

use tiewright_geometry::{Curve, Point, Vec2};

use super::piece::sample_ring;
use super::text::{fitted, text_width, wrapped};
use super::{CAPITAL, LEADING, NAME_CAPITAL, frame, label};
use crate::draft::{Draft, Measure, NotchKind, Unit};
use crate::format::{decimal, in_words, with_unit};
use crate::sheet::{Align, Group, Item, Mark};
use crate::source::Span;

/// Side of the test square, mm; its label says so.
pub const TEST_SQUARE: f64 = 50.0;
/// The widest a line of the title block or the cutting list may be, mm.
const WIDEST: f64 = 150.0;
/// Parameters shown, those that were set before the others: more would be a table, not a title.
const MOST_PARAMETERS: usize = 10;
/// Pieces listed.
const MOST_PIECES: usize = 14;
/// Lines of the doc text shown.
const MOST_DOC_LINES: usize = 3;
/// Length of a sample in the key, mm: two periods of the longest dash.
const SAMPLE: f64 = 32.0;
/// From a sample to its word, mm.
const SAMPLE_GAP: f64 = 4.0;

/// A column of words and lines below and to the right of the origin.
#[derive(Debug, Clone)]
pub(super) struct Column {
    /// What it is.
    pub name: &'static str,
    /// What is drawn.
    pub items: Vec<Item>,
    /// Width in use, mm.
    pub width: f64,
    /// Height in use, mm.
    pub height: f64,
}

impl Column {
    fn new(name: &'static str) -> Self {
        Column {
            name,
            items: Vec::new(),
            width: 0.0,
            height: 0.0,
        }
    }

    /// Adds a line of words below what is there.
    fn words(&mut self, text: &str, height: f64) {
        let text = fitted(text, height, WIDEST);
        self.width = self.width.max(text_width(&text, height));
        let baseline = Point::new(0.0, -self.height - height);
        self.items.push(label(text, baseline, Align::Start, height));
        self.height += height * LEADING;
    }

    /// The group, its top left corner moved to `corner`.
    pub fn into_group(self, corner: Point) -> Group {
        Group {
            name: self.name.into(),
            is_piece: false,
            facts: Vec::new(),
            offset: corner.to_vec2(),
            items: self.items,
        }
    }
}

/// Style, size, doc line, and parameters: what was set, then what the shape declares first.
pub(super) fn title(draft: &Draft) -> Column {
    let mut column = Column::new("title");
    column.words(&draft.style, NAME_CAPITAL);
    if let Some(size) = &draft.size {
        column.words(&format!("size {size}"), CAPITAL);
    }
    for line in wrapped(&draft.doc, CAPITAL, WIDEST)
        .iter()
        .take(MOST_DOC_LINES)
    {
        column.words(line, CAPITAL);
    }
    let is_set = |parameter: &&Measure| draft.set.contains(&parameter.name);
    let set = draft.parameters.iter().filter(is_set);
    let rest = draft.parameters.iter().filter(|one| !is_set(one));
    for parameter in set.chain(rest).take(MOST_PARAMETERS) {
        let value = in_words(parameter.value, parameter.unit);
        column.words(&format!("{}  {value}", parameter.name), CAPITAL);
    }
    if let Some(more @ 1..) = draft.parameters.len().checked_sub(MOST_PARAMETERS) {
        column.words(&format!("and {more} more"), CAPITAL);
    }
    column
}

/// How many of each piece, from which cloth.
pub(super) fn cutting_list(draft: &Draft) -> Column {
    let mut column = Column::new("cutting-list");
    column.words("Cut", NAME_CAPITAL);
    for piece in draft.pieces.iter().take(MOST_PIECES) {
        let area = with_unit(piece.area, Unit::SquareMillimetre);
        let line = format!(
            "{} x {}, {}, {area}",
            piece.quantity, piece.name, piece.cloth
        );
        column.words(&line, CAPITAL);
    }
    if let Some(more @ 1..) = draft.pieces.len().checked_sub(MOST_PIECES) {
        column.words(&format!("and {more} more"), CAPITAL);
    }
    column
}

/// A square to check the scale of a print by.
pub(super) fn test_square() -> Column {
    let mut column = Column::new("test-square");
    let side = TEST_SQUARE;
    column
        .items
        .extend(frame(Point::new(0.0, -side), Point::new(side, 0.0)));
    let side_text = decimal(side, 0);
    let lines = [
        "check:".to_owned(),
        "this square is".to_owned(),
        format!("{side_text} mm"),
    ];
    for (row, text) in lines.into_iter().enumerate() {
        let down = side / 2.0 + (row as f64 - 0.7) * CAPITAL * LEADING;
        column.items.push(label(
            text,
            Point::new(side / 2.0, -down),
            Align::Middle,
            CAPITAL,
        ));
    }
    column.width = side;
    column.height = side;
    column
}

/// The line types and marks that occur in `pieces`, each with its word.
pub(super) fn key(pieces: &[Group]) -> Column {
    let mut column = Column::new("key");
    column.words("Key", NAME_CAPITAL);
    let present: BTreeSet<Kind> = pieces
        .iter()
        .flat_map(|g| &g.items)
        .filter_map(|i| Kind::of(&i.mark))
        .collect();
    for kind in present {
        let middle = -column.height - CAPITAL / 2.0;
        let Some(mark) = kind.sample(middle) else {
            continue;
        };
        column.items.push(Item {
            mark,
            span: Span::default(),
        });
        let at = Point::new(SAMPLE + SAMPLE_GAP, middle - CAPITAL / 2.0);
        column
            .items
            .push(label(kind.word(), at, Align::Start, CAPITAL));
        let width = SAMPLE + SAMPLE_GAP + text_width(kind.word(), CAPITAL);
        column.width = column.width.max(width);
        column.height += CAPITAL * LEADING;
    }
    column
}

/// What the key explains, in its order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Kind {
    Cut,
    Net,
    Sew,
    Fold,
    Place,
    Grain,
    Slit,
    V,
    T,
    Drill,
}

impl Kind {
    fn of(mark: &Mark) -> Option<Kind> {
        Some(match mark {
            Mark::Cut(_) => Kind::Cut,
            Mark::Net(_) => Kind::Net,
            Mark::Sew(_) => Kind::Sew,
            Mark::Fold(_) => Kind::Fold,
            Mark::Place(_) => Kind::Place,
            Mark::Grain { .. } => Kind::Grain,
            Mark::Notch {
                kind: NotchKind::Slit,
                ..
            } => Kind::Slit,
            Mark::Notch {
                kind: NotchKind::V, ..
            } => Kind::V,
            Mark::Notch {
                kind: NotchKind::T, ..
            } => Kind::T,
            Mark::Drill(_) => Kind::Drill,
            Mark::Rule(_) | Mark::Stroke(..) | Mark::Fill(..) | Mark::Text(_) | Mark::Label(_) => {
                return None;
            }
        })
    }

    fn word(self) -> &'static str {
        match self {
            Kind::Cut => "cut",
            Kind::Net => "seam at a join",
            Kind::Sew => "sew",
            Kind::Fold => "fold",
            Kind::Place => "place",
            Kind::Grain => "warp (straight grain)",
            Kind::Slit => "notch: slit",
            Kind::V => "notch: V",
            Kind::T => "notch: T",
            Kind::Drill => "drill hole",
        }
    }

    /// The mark itself, `SAMPLE` long about height `y`.
    fn sample(self, y: f64) -> Option<Mark> {
        let (from, to) = (Point::new(0.0, y), Point::new(SAMPLE, y));
        let curve = || Curve::line(from, to).ok();
        let notch = |kind, width| Mark::Notch {
            kind,
            at: Point::new(SAMPLE / 2.0, y - CAPITAL / 2.0),
            inward: Vec2::new(0.0, 1.0),
            depth: CAPITAL,
            width,
        };
        Some(match self {
            Kind::Cut => {
                let (low, high) = (y - CAPITAL / 2.0, y + CAPITAL / 2.0);
                let corners = [(0.0, low), (0.0, high), (SAMPLE, high), (SAMPLE, low)];
                Mark::Cut(sample_ring(&corners.map(Point::from))?)
            }
            Kind::Net => Mark::Net(curve()?),
            Kind::Sew => Mark::Sew(curve()?),
            Kind::Fold => Mark::Fold(curve()?),
            Kind::Place => Mark::Place(curve()?),
            Kind::Grain => Mark::Grain { from, to },
            Kind::Slit => notch(NotchKind::Slit, 0.0),
            Kind::V => notch(NotchKind::V, CAPITAL),
            Kind::T => notch(NotchKind::T, CAPITAL),
            Kind::Drill => Mark::Drill(Point::new(SAMPLE / 2.0, y)),
        })
    }
}
