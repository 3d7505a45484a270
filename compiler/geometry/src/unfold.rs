//! Unfolding of cloth over a crease.

use kurbo::Point;

use crate::curve::Curve;
use crate::error::GeometryError;
use crate::line::Line;

/// Least and greatest strain of an edge, and where on the crease they arise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ease {
    /// The least strain, 1 = 100 %.
    pub least: f64,
    /// Its place on the crease.
    pub least_at: Point,
    /// The greatest strain.
    pub greatest: f64,
    /// Its place on the crease.
    pub greatest_at: Point,
}

/// The flat edge that lies on `line` when folded over `crease`.
pub fn unfold_line(line: &Line, crease: &Curve) -> Result<Curve, GeometryError> {
    let _ = (line, crease);
    unimplemented!()
}

/// The flat curve that lies on `curve` when folded over `crease`.
pub fn unfold_curve(curve: &Curve, crease: &Curve) -> Result<Curve, GeometryError> {
    let _ = (curve, crease);
    unimplemented!()
}

/// The flat point that lies on `p` when folded over `crease`, run on straight at both ends.
pub fn unfold_point(p: Point, crease: &Curve) -> Point {
    let _ = (p, crease);
    unimplemented!()
}

/// Least and greatest strain of the edge folded onto `line`, over the crease.
pub fn ease(line: &Line, crease: &Curve) -> Ease {
    let _ = (line, crease);
    unimplemented!()
}
