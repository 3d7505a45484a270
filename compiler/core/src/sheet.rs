//! Sheets: flat lists of drawn items in millimetres. This is all that drawing formats see.
//!
//! A sheet has `x` to the right and `y` up, its lower left corner at the origin.

use std::sync::Arc;

use tiewright_geometry::{Curve, Point, Ring, Vec2};

use crate::draft::NotchKind;
use crate::source::Span;

/// A drawing of stated size.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// What the drawing shows.
    pub title: Arc<str>,
    /// Named facts about all of it, such as style and size, in order.
    pub facts: Vec<Fact>,
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// What is drawn, group by group.
    pub groups: Vec<Group>,
}

/// A named fact, such as `quantity` and `2`.
pub type Fact = (Arc<str>, String);

/// Items that belong together: one piece, or the sheet's own furniture.
#[derive(Debug, Clone)]
pub struct Group {
    /// The name, unique among the pieces, and unique among the furniture.
    pub name: Arc<str>,
    /// Whether this is a piece (and not furniture of the sheet).
    pub is_piece: bool,
    /// Named facts about the group, such as quantity and cloth, in order.
    pub facts: Vec<Fact>,
    /// Added to every coordinate of `items` to place the group on the sheet.
    pub offset: Vec2,
    /// The items, in the group's own coordinates (a piece: the draft frame).
    pub items: Vec<Item>,
}

/// One drawn thing.
#[derive(Debug, Clone)]
pub struct Item {
    /// What it is drawn as.
    pub mark: Mark,
    /// The declaration it comes from.
    pub span: Span,
}

/// What can be drawn.
#[derive(Debug, Clone)]
pub enum Mark {
    /// The outline to cut.
    Cut(Ring),
    /// A stretch of the outline without the allowance at joins, where it differs from the cut.
    Net(Curve),
    /// A line to sew on.
    Sew(Curve),
    /// A line to fold on.
    Fold(Curve),
    /// A line to place something by.
    Place(Curve),
    /// A thin line of the sheet itself: frames, test square, leaders.
    Rule(Curve),
    /// A line of the sheet itself drawn with a pen of its own.
    Stroke(Curve, Pen),
    /// A filled polygon of the sheet itself (folded pictures), corners in order, no point repeated
    /// at the end: grey between 0 (black) and 1 (white).
    Fill(Vec<Point>, f64),
    /// The grain arrow.
    Grain {
        /// Foot.
        from: Point,
        /// Head.
        to: Point,
    },
    /// A notch.
    Notch {
        /// Form.
        kind: NotchKind,
        /// On the outline.
        at: Point,
        /// Unit vector into the piece.
        inward: Vec2,
        /// Depth, mm.
        depth: f64,
        /// Width, mm.
        width: f64,
    },
    /// A drill hole.
    Drill(Point),
    /// Words that the draft puts there.
    Text(Words),
    /// Words that the sheet adds: names, quantities, the title block.
    Label(Words),
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pen {
    /// Width, mm.
    pub width: f64,
    /// Grey between 0 (black) and 1 (white).
    pub grey: f64,
    /// Dashes and the gaps between them in turn, mm; a full line if empty.
    pub dashes: &'static [f64],
}

/// One line of words.
#[derive(Debug, Clone)]
pub struct Words {
    /// The words, without line ends.
    pub text: Arc<str>,
    /// The start or the middle of the baseline, as `align` says.
    pub at: Point,
    /// What `at` is.
    pub align: Align,
    /// Height of a capital, mm.
    pub height: f64,
    /// Radians from the x axis, counter-clockwise.
    pub angle: f64,
}

/// Which place of a line of words is given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Align {
    /// Where its first letter starts.
    Start,
    /// Its middle.
    Middle,
}
