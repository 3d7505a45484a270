//! What the pictures of papers are drawn with: a view that scales the draft's frame down, and a
//! canvas that knows how much room is in use.

use std::sync::Arc;

use tiewright_geometry::{Affine, Curve, Point, Rect, Ring, Vec2};

use crate::sheet::{Align, Group, Item, Mark, Sheet, Words};
use crate::source::Span;

/// Height of a capital in the words of a picture, mm: as in a text of 11 points.
pub(super) const CAPITAL: f64 = 2.8;
/// Round a picture, mm: half of its widest line.
const EDGE: f64 = 0.5;

/// A scale down and a move: from the draft frame to a picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// Picture millimetres to a millimetre of the draft.
    pub scale: f64,
    /// Whether it is looked at from below, turned over its long axis.
    pub turned: bool,
    /// Added after scaling.
    pub origin: Vec2,
}

impl View {
    /// As it lies, `scale` times as large.
    pub fn of(scale: f64) -> Self {
        View {
            scale,
            turned: false,
            origin: Vec2::ZERO,
        }
    }

    fn affine(self) -> Affine {
        let across = if self.turned { -self.scale } else { self.scale };
        Affine::new([self.scale, 0.0, 0.0, across, self.origin.x, self.origin.y])
    }

    /// Where `p` is drawn.
    pub fn point(self, p: Point) -> Point {
        self.affine() * p
    }

    /// How `curve` is drawn.
    pub fn curve(self, curve: &Curve) -> Curve {
        curve.transformed(self.affine())
    }

    /// How `ring` is drawn, seen from above.
    pub fn ring(self, ring: &Ring) -> Ring {
        ring.transformed(self.affine())
    }
}

/// A drawing in the making; it grows with what is put on it.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    items: Vec<Item>,
    bounds: Option<Rect>,
}

impl Canvas {
    /// Draws `mark`, which needs the room `bounds`.
    pub fn put(&mut self, mark: Mark, bounds: Rect) {
        self.bounds = Some(self.bounds.map_or(bounds, |b| b.union(bounds)));
        self.items.push(Item {
            mark,
            span: Span::default(),
        });
    }

    /// The drawing as large as what is on it, in one group called `name`, which must be unique in
    /// the document.
    pub fn into_sheet(self, name: &str, title: &str) -> Sheet {
        let bounds = self.bounds.unwrap_or(Rect::ZERO).inflate(EDGE, EDGE);
        let group = Group {
            name: Arc::from(name),
            is_piece: false,
            facts: Vec::new(),
            offset: -bounds.origin().to_vec2(),
            items: self.items,
        };
        Sheet {
            title: title.into(),
            facts: Vec::new(),
            width: bounds.width(),
            height: bounds.height(),
            groups: vec![group],
        }
    }
}
