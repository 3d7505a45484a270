//! Distances between curves and outlines.

use crate::curve::Curve;
use crate::ring::Ring;

/// Least and greatest distance, mm, of the points of `a` from `b`.
pub fn gap(a: &Curve, b: &Curve) -> (f64, f64) {
    let _ = (a, b);
    unimplemented!()
}

/// Least signed distance, mm, of the boundary of `inner` from that of `outer`; negative where it
/// lies outside.
pub fn clearance(inner: &Ring, outer: &Ring) -> f64 {
    let _ = (inner, outer);
    unimplemented!()
}
