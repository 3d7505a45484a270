//! From a draft to sheets: where every piece, label and mark lies on the paper.
//!
//! Input is a [`Draft`](crate::draft::Draft), output a [`Sheet`](crate::sheet::Sheet) in
//! millimetres. Pieces are moved, never turned or scaled on the pattern sheet; the folded and
//! the nested sheet are pictures and are scaled. Nothing here knows a drawing format, and no line of a piece is changed.

mod field;
pub(crate) mod folded;
mod furniture;
mod labels;
mod marks;
mod nested;
mod pack;
mod pattern;
mod piece;
mod tags;
mod text;

pub use field::{Block, Field};
pub use folded::folded_sheet;
pub use nested::{MOST_SIZES, nested_sheet};
pub use pattern::pattern_sheet;
pub use text::{fitted, text_width};

use tiewright_geometry::{Curve, Point};

use crate::sheet::{Align, Item, Mark, Words};
use crate::source::Span;

/// Between neighbours on a sheet, mm: room for shears and a pencil.
pub const SPACING: f64 = 15.0;
/// Round the sheet, mm: more than the unprintable edge of common printers.
pub const MARGIN: f64 = 15.0;
/// Height of a capital in ordinary words, mm: readable at arm's length.
pub const CAPITAL: f64 = 3.5;
/// Height of a capital in names, mm.
pub const NAME_CAPITAL: f64 = 6.0;
/// From one baseline to the next, in heights of a capital.
pub const LEADING: f64 = 1.75;

/// A line of the sheet's own words.
fn label(text: impl Into<std::sync::Arc<str>>, at: Point, align: Align, height: f64) -> Item {
    let words = Words {
        text: text.into(),
        at,
        align,
        height,
        angle: 0.0,
    };
    Item {
        mark: Mark::Label(words),
        span: Span::default(),
    }
}

/// A thin line of the sheet itself; nothing where the two points are one.
fn rule(from: Point, to: Point) -> Option<Item> {
    let curve = Curve::line(from, to).ok()?;
    Some(Item {
        mark: Mark::Rule(curve),
        span: Span::default(),
    })
}

/// An upright rectangle as one thin line; nothing where it has no width or height.
fn frame(min: Point, max: Point) -> Option<Item> {
    let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
    let ends = corners.iter().cycle().skip(1);
    let sides: Result<Vec<Curve>, _> = corners
        .iter()
        .zip(ends)
        .map(|(&from, &to)| Curve::line(from, to))
        .collect();
    let curve = Curve::chain(&sides.ok()?).ok()?;
    Some(Item {
        mark: Mark::Rule(curve),
        span: Span::default(),
    })
}
