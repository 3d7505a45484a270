//! Whether an outline crosses or touches itself.
//!
//! Input: the edges of a closed outline, each starting where the last ends. Output: the first
//! crossing found, by the indices of the edges. Only pairs of segments whose rectangles come
//! near each other are looked at, found by a sweep along x.

use kurbo::{CubicBez, ParamCurve, PathSeg, Point, Rect};

use crate::crossing::{Contacts, Part, contacts};
use crate::curve::Curve;
use crate::segment::{control_box, distance, near};
use crate::tolerance::{JOIN, SAME};

/// One segment of the outline.
struct Side {
    edge: usize,
    index: usize,
    seg: PathSeg,
    part: Part,
    bounds: Rect,
}

/// A crossing or touching place with the edges that meet there, the smaller index first; `None`
/// if the outline is simple. Neighbours may meet where one ends and the other starts.
pub fn crossing<'a>(curves: impl Iterator<Item = &'a Curve>) -> Option<(Point, usize, usize)> {
    let mut sides = sides(curves);
    let count = sides.len();
    if let Some(found) = sides
        .iter()
        .find_map(|side| Some((own_crossing(&side.seg)?, side.edge, side.edge)))
    {
        return Some(found);
    }
    sides.sort_by(|a, b| a.bounds.x0.total_cmp(&b.bounds.x0));
    let mut found = Contacts::default();
    for (i, a) in sides.iter().enumerate() {
        let close = sides
            .iter()
            .skip(i + 1)
            .take_while(|b| b.bounds.x0 <= a.bounds.x1 + SAME);
        for b in close.filter(|b| near(a.bounds, b.bounds, SAME)) {
            contacts(&a.part, &b.part, &mut found);
            let joints = joints(a, b, count);
            let allowed = |p: Point| {
                joints
                    .iter()
                    .flatten()
                    .any(|joint| distance(p, *joint) <= JOIN)
            };
            let points = found
                .points
                .drain(..)
                .map(|c| c.point)
                .filter(|p| !allowed(*p));
            let stretches = found
                .stretches
                .drain(..)
                .map(|(from, to)| from.point.midpoint(to.point));
            if let Some(at) = points.chain(stretches).next() {
                return Some((at, a.edge.min(b.edge), a.edge.max(b.edge)));
            }
        }
    }
    None
}

fn sides<'a>(curves: impl Iterator<Item = &'a Curve>) -> Vec<Side> {
    let all = curves
        .enumerate()
        .flat_map(|(edge, curve)| curve.segments().iter().map(move |seg| (edge, *seg)));
    let side = |(index, (edge, seg)): (usize, (usize, PathSeg))| {
        Some(Side {
            edge,
            index,
            seg,
            part: Part::of(&seg)?,
            bounds: control_box(&seg),
        })
    };
    all.enumerate().filter_map(side).collect()
}

/// The points where two segments follow each other along the outline.
fn joints(a: &Side, b: &Side, count: usize) -> [Option<Point>; 2] {
    let follows = |x: &Side, y: &Side| ((x.index + 1) % count == y.index).then(|| x.seg.end());
    [follows(a, b), follows(b, a)]
}

/// Where a cubic crosses itself. With `C(t) = a t³ + b t² + c t + d`, two parameters of the same
/// point have the sum `p` and the product `q` with `a (p² − q) + b p + c = 0`.
fn own_crossing(seg: &PathSeg) -> Option<Point> {
    let PathSeg::Cubic(cubic) = seg else {
        return None;
    };
    let CubicBez { p0, p1, p2, p3 } = *cubic;
    let c = 3.0 * (p1 - p0);
    let b = 3.0 * ((p2 - p1) - (p1 - p0));
    let a = (p3 - p0) - 3.0 * (p2 - p1);
    let sum = -a.cross(c) / a.cross(b);
    let product = sum * sum + (sum * a.dot(b) + a.dot(c)) / a.dot(a);
    let spread = sum * sum - 4.0 * product;
    let (s, t) = (0.5 * (sum - spread.sqrt()), 0.5 * (sum + spread.sqrt()));
    // Without a double point the spread is negative, and its root no number.
    (spread > 0.0 && s >= 0.0 && t <= 1.0).then(|| cubic.eval(s))
}
