//! What an edge may be drawn as: an endless line or a curve with ends. Holds, never computes.

use crate::curve::Curve;
use crate::line::Line;

/// A straight line without ends, or an open curve.
#[derive(Debug, Clone)]
pub enum Track {
    /// Endless and straight.
    Line(Line),
    /// With two ends.
    Curve(Curve),
}

impl From<Line> for Track {
    fn from(line: Line) -> Self {
        Self::Line(line)
    }
}

impl From<Curve> for Track {
    fn from(curve: Curve) -> Self {
        Self::Curve(curve)
    }
}
