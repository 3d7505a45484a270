//! Folding flat cloth again.

use kurbo::Point;

use crate::curve::Curve;
use crate::line::Line;

/// A crease; the cloth to its left is turned over.
#[derive(Debug, Clone)]
pub enum Crease {
    /// Straight.
    Line(Line),
    /// Curved, run on straight at both ends.
    Curve(Curve),
}

/// A folded point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Folded {
    /// Where it comes to lie.
    pub point: Point,
    /// How often it was turned over.
    pub turns: u32,
}

/// Creases in the order they are folded.
#[derive(Debug, Clone)]
pub struct Refold {
    creases: Vec<Crease>,
}

impl Refold {
    /// Folding along the given creases, in order.
    pub fn new(creases: Vec<Crease>) -> Self {
        Self { creases }
    }

    /// Where a point of the flat cloth comes to lie.
    pub fn point(&self, p: Point) -> Folded {
        let _ = (p, &self.creases);
        unimplemented!()
    }

    /// The folded image of a flat curve, as points no farther than `tol` mm from it when joined.
    pub fn curve(&self, curve: &Curve, tol: f64) -> Vec<Point> {
        let _ = (curve, tol);
        unimplemented!()
    }

    /// A flat polygon folded: layers with the number of turns, in the order they come to lie.
    pub fn polygons(&self, polygon: &[Point], tol: f64) -> Vec<(u32, Vec<Point>)> {
        let _ = (polygon, tol);
        unimplemented!()
    }
}
