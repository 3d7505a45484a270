//! Distances between curves and between outlines.
//!
//! Input: two curves or outlines. Output: extreme distances of the points of the one from the
//! other. They are looked for on sixteen places of every segment and at the places nearest to
//! the joints of the other, and refined between; a distance that has one rise or fall between
//! two such places comes out within [`GAP`](crate::tolerance::GAP). The distance of a straight
//! segment from a single other one needs no search: the greatest is at one of its ends (distance
//! from a convex set is a convex function), and so is the least, unless it is at an end of the
//! other or at a crossing, where it is looked for in any case. Distances are measured from the
//! first argument: swapping the two changes the greatest, not the least.

use kurbo::{ParamCurve, PathSeg, Point};

use crate::curve::Curve;
use crate::extreme::least;
use crate::meet::{Reach, common, curve_parts};
use crate::ring::Ring;

/// Least and greatest distance, mm, of the points of `a` from the curve `b`.
pub fn gap(a: &Curve, b: &Curve) -> (f64, f64) {
    let from_b = |p: Point| b.nearest(p).1;
    let (mut low, mut high) = (f64::INFINITY, 0.0_f64);
    let one_straight = matches!(b.segments(), [PathSeg::Line(_)]);
    for seg in a.segments() {
        if one_straight && matches!(seg, PathSeg::Line(_)) {
            for end in [seg.start(), seg.end()].map(from_b) {
                (low, high) = (low.min(end), high.max(end));
            }
            continue;
        }
        low = low.min(lowest(seg, from_b));
        high = high.max(-lowest(seg, |p| -from_b(p)));
    }
    for joint in joints(b) {
        low = low.min(a.nearest(joint).1);
    }
    let crossing = common(&curve_parts(a, Reach::Own), &curve_parts(b, Reach::Own));
    if crossing.points.is_empty() && crossing.stretches.is_empty() {
        (low, high)
    } else {
        (0.0, high)
    }
}

/// Least signed distance, mm, of the boundary of `inner` from that of `outer`: how far the one
/// lies inside the other, negative where it stands out.
pub fn clearance(inner: &Ring, outer: &Ring) -> f64 {
    let depth = |p: Point| outer.signed_distance(p);
    let along = inner.segments().map(|seg| lowest(seg, depth));
    // Corners of the outer outline that dig into the inner one between the places looked at.
    let corners = outer.segments().map(|seg| {
        let foot = inner.edges().iter().map(|edge| {
            let (place, d) = edge.curve.nearest(seg.start());
            (edge.curve.eval(place), d)
        });
        let nearest = foot.min_by(|x, y| x.1.total_cmp(&y.1));
        nearest.map_or(f64::INFINITY, |(p, _)| depth(p))
    });
    along.chain(corners).fold(f64::INFINITY, f64::min)
}

/// The least value of a function over the points of a segment.
fn lowest(seg: &PathSeg, f: impl Fn(Point) -> f64) -> f64 {
    least(|t| f(seg.eval(t))).1
}

/// All end points of the segments of a curve.
fn joints(curve: &Curve) -> impl Iterator<Item = Point> {
    curve
        .segments()
        .iter()
        .map(|seg| seg.start())
        .chain([curve.end()])
}
