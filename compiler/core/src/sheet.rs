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
    /// Width, mm.
    pub width: f64,
    /// Height, mm.
    pub height: f64,
    /// What is drawn, group by group.
    pub groups: Vec<Group>,
}

/// Items that belong together: one piece, or the sheet's own furniture.
#[derive(Debug, Clone)]
pub struct Group {
    /// The name, unique in the sheet.
    pub name: Arc<str>,
    /// Whether this is a piece (and not furniture of the sheet).
    pub is_piece: bool,
    /// Named facts about the group, such as quantity and cloth, in order.
    pub facts: Vec<(Arc<str>, String)>,
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
    /// The outline without the allowance at joins; drawn only where it differs from the cut.
    Net(Ring),
    /// A line to sew on.
    Sew(Curve),
    /// A line to fold on.
    Fold(Curve),
    /// A line to place something by.
    Place(Curve),
    /// A thin line of the sheet itself: frames, test square, leaders.
    Rule(Curve),
    /// A filled shape of the sheet itself (folded pictures): grey between 0 (black) and 1 (white).
    Fill(Ring, f64),
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
    /// Words.
    Text {
        /// The words, one line.
        text: Arc<str>,
        /// The middle of the baseline.
        at: Point,
        /// Height of a capital, mm.
        height: f64,
        /// Radians from the x axis.
        angle: f64,
    },
}
