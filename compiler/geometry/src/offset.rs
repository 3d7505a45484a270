//! The parallel of a curve.

use crate::curve::Curve;
use crate::error::GeometryError;

/// The parallel curve at `distance` mm to the left.
pub fn offset(curve: &Curve, distance: f64) -> Result<Curve, GeometryError> {
    let _ = (curve, distance);
    unimplemented!()
}
