//! Values: what slots hold once they are worked out.

use std::borrow::Cow;
use std::sync::Arc;

use tiewright_geometry::{Affine, Curve, Line, Net, Point, Refold, Ring, Track};

use crate::cloth::Properties;
use crate::draft::{self, FoldedMark, Shown};
use crate::source::Span;

/// A value. Quantities are in millimetres and radians.
#[derive(Debug, Clone)]
pub enum Value {
    /// A number with or without a unit.
    Number(f64),
    /// Yes or no.
    Truth(bool),
    /// A place, or a step between places.
    Point(Point),
    /// An endless line.
    Line(Line),
    /// A curve.
    Curve(Arc<Drawn>),
    /// A closed outline.
    Outline(Arc<Ring>),
    /// A piece or pattern.
    Piece(Arc<PieceValue>),
    /// Pieces sewn and folded.
    Assembly(Arc<AssemblyValue>),
    /// A cloth.
    Cloth(Arc<ClothValue>),
}

/// A cloth, worked out.
#[derive(Debug, Clone)]
pub struct ClothValue {
    /// The role it is here.
    pub role: Arc<str>,
    /// Its name, if a style set one.
    pub name: Option<Arc<str>>,
    /// Its doc line.
    pub doc: Arc<str>,
    /// What is known of it.
    pub properties: Properties,
    /// What the role says where a cloth is silent.
    pub defaults: Properties,
    /// Where it is declared.
    pub span: Span,
}

/// A curve and, where it was drawn step by step, which segment each step drew.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// The curve.
    pub curve: Curve,
    /// Named steps: the segment drawn, or none for a step without length.
    pub parts: Vec<(Arc<str>, Option<usize>)>,
}

impl From<Curve> for Value {
    fn from(curve: Curve) -> Self {
        Value::Curve(Arc::new(Drawn {
            curve,
            parts: Vec::new(),
        }))
    }
}

/// A piece or pattern, worked out. Drawn and proven as it hangs; cut as it lies on the table.
#[derive(Debug, Clone)]
pub struct PieceValue {
    /// Whether its condition holds.
    pub exists: bool,
    /// The outline as drawn, as it hangs, before any allowance.
    pub drawn: Ring,
    /// How its cloth gives as it hangs.
    pub give: Net,
    /// The outline as cut with all but the joins' allowances.
    pub net: Ring,
    /// The outline as cut with all allowances.
    pub cut: Ring,
    /// Allowance by edge.
    pub allowances: Vec<EdgeAllowance>,
    /// What is drawn on it, as it hangs, not yet cut to the outline, with notches in place.
    pub marks: Vec<RawMark>,
    /// Names of edges and marks whose condition does not hold.
    pub left_out: Vec<Arc<str>>,
    /// The cloth role.
    pub cloth: Option<Arc<str>>,
    /// The warp's direction, radians from the x axis.
    pub grain: Option<f64>,
    /// How many to cut.
    pub quantity: u32,
}

impl PieceValue {
    /// The outline as drawn, as it lies on the table.
    pub fn flat(&self) -> Cow<'_, Ring> {
        self.moved(&self.drawn, self.give.relax())
    }

    /// The outline with all but the joins' allowances, as it hangs.
    pub fn hanging_net(&self) -> Cow<'_, Ring> {
        self.moved(&self.net, self.give.hang())
    }

    /// The outline with all allowances, as it hangs.
    pub fn hanging_cut(&self) -> Cow<'_, Ring> {
        self.moved(&self.cut, self.give.hang())
    }

    /// Cloth that does not give is the same either way, to the last bit.
    fn moved<'r>(&self, ring: &'r Ring, map: Affine) -> Cow<'r, Ring> {
        if self.give.is_slack() {
            Cow::Borrowed(ring)
        } else {
            Cow::Owned(ring.transformed(map))
        }
    }
}

/// The allowance on one edge.
#[derive(Debug, Clone)]
pub struct EdgeAllowance {
    /// The edge.
    pub edge: Arc<str>,
    /// How much, mm.
    pub amount: f64,
    /// Whether the edge is a join.
    pub join: bool,
    /// Where it is stated.
    pub span: Span,
}

/// A mark before it is cut to its piece.
#[derive(Debug, Clone)]
pub struct RawMark {
    /// What it is.
    pub what: RawKind,
    /// Its name.
    pub name: Option<Arc<str>>,
    /// Where it is declared.
    pub span: Span,
}

/// The marks of a piece.
#[derive(Debug, Clone)]
pub enum RawKind {
    /// A line to sew on.
    Sew(Track),
    /// A line to fold on.
    Fold(Track),
    /// A line to place something by.
    Place(Track),
    /// A hole.
    Drill(Point),
    /// A notch at a point of a drawn edge.
    Notch {
        /// Its form.
        kind: draft::NotchKind,
        /// The edge.
        edge: Arc<str>,
        /// The point on the drawn edge.
        at: Point,
        /// How deep.
        depth: f64,
        /// How wide.
        width: f64,
    },
    /// Words.
    Text {
        /// The words.
        text: Arc<str>,
        /// The middle.
        at: Point,
        /// Turned, radians.
        angle: f64,
    },
}

/// Pieces sewn and folded, worked out.
#[derive(Debug, Clone)]
pub struct AssemblyValue {
    /// Every sewn piece and where it comes to lie, flat.
    pub placed: Vec<Placed>,
    /// The seams.
    pub seams: Vec<Seam>,
    /// The folding.
    pub refold: Refold,
    /// Segments of all its creases.
    pub creases: u64,
    /// The finished outline, if it is stated.
    pub finish: Option<Arc<Ring>>,
    /// What pictures show, in the order it is laid.
    pub shown: Vec<Shown>,
    /// What is marked on the finished work.
    pub marks: Vec<FoldedMark>,
}

/// A piece of an assembly.
#[derive(Debug, Clone)]
pub struct Placed {
    /// The slot of the piece.
    pub slot: crate::program::SlotId,
    /// The piece.
    pub piece: Arc<PieceValue>,
    /// From its draft to its place.
    pub place: Affine,
}

/// Two edges sewn to each other.
#[derive(Debug, Clone, Copy)]
pub struct Seam {
    /// How much longer one edge is than the other, mm.
    pub difference: f64,
    /// The greatest distance between notches that must meet, mm.
    pub notches: f64,
}
