//! Crossings of lines and curves.

use kurbo::Point;

use crate::curve::Place;
use crate::error::GeometryError;
use crate::track::Track;

/// Where a meeting lies on one of the two tracks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Position {
    /// Distance along an endless line from its own point, mm.
    OnLine(f64),
    /// A place on a curve.
    OnCurve(Place),
}

/// A point two tracks have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The point.
    pub point: Point,
    /// Where it lies on the first track.
    pub on_a: Position,
    /// Where it lies on the second track.
    pub on_b: Position,
}

/// All points two tracks have in common.
pub fn meet(a: &Track, b: &Track) -> Result<Vec<Meeting>, GeometryError> {
    let _ = (a, b);
    unimplemented!()
}
