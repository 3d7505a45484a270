//! One segment of a curve: derivatives, ends, extent, length, the point nearest to another.
//!
//! Input and output are `kurbo` segments, straight or cubic. Everything here is plain arithmetic
//! and square roots, so that it gives the same bits everywhere; nothing here allocates or fails.

use kurbo::{CubicBez, Line, ParamCurve, ParamCurveArclen, PathSeg, Point, Rect, Vec2};

use crate::bernstein::{Roots, roots};
use crate::tolerance::{ARC, FARTHEST, NO_DIRECTION, SAME};

/// Whether both coordinates are numbers within [`FARTHEST`].
pub fn finite(p: Point) -> bool {
    p.x.abs() <= FARTHEST && p.y.abs() <= FARTHEST
}

/// Length of a vector. A plain square root: `kurbo`'s own goes through the platform's `hypot`
/// when another crate turns on its `std` feature.
pub fn norm(v: Vec2) -> f64 {
    v.dot(v).sqrt()
}

/// Distance of two points, mm.
pub fn distance(a: Point, b: Point) -> f64 {
    norm(b - a)
}

/// The unit vector along `v`; `None` if `v` is shorter than [`NO_DIRECTION`].
pub fn unit(v: Vec2) -> Option<Vec2> {
    let length = norm(v);
    (length > NO_DIRECTION).then(|| v / length)
}

/// A quarter turn to the left.
pub fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// First derivative by the segment's parameter.
pub fn derivative(seg: &PathSeg, t: f64) -> Vec2 {
    match seg {
        PathSeg::Line(l) => l.p1 - l.p0,
        PathSeg::Quad(_) => derivative(&PathSeg::Cubic(seg.to_cubic()), t),
        PathSeg::Cubic(c) => {
            let u = 1.0 - t;
            3.0 * (u * u * (c.p1 - c.p0) + 2.0 * u * t * (c.p2 - c.p1) + t * t * (c.p3 - c.p2))
        }
    }
}

/// Second derivative by the segment's parameter.
pub fn second_derivative(seg: &PathSeg, t: f64) -> Vec2 {
    match seg {
        PathSeg::Line(_) => Vec2::ZERO,
        PathSeg::Quad(_) => second_derivative(&PathSeg::Cubic(seg.to_cubic()), t),
        PathSeg::Cubic(c) => {
            let (a, b) = bends(c);
            6.0 * ((1.0 - t) * a + t * b)
        }
    }
}

/// The two second differences of a cubic's control points.
pub fn bends(c: &CubicBez) -> (Vec2, Vec2) {
    ((c.p2 - c.p1) - (c.p1 - c.p0), (c.p3 - c.p2) - (c.p2 - c.p1))
}

/// Unit tangent. Where the derivative vanishes (handles on an end point, a cusp) the direction
/// the segment leaves or arrives by.
pub fn tangent(seg: &PathSeg, t: f64) -> Vec2 {
    let flat = Vec2::new(1.0, 0.0);
    if let Some(found) = unit(derivative(seg, t)) {
        return found;
    }
    let c = seg.to_cubic();
    let candidates = if t < 0.5 {
        [c.p1 - c.p0, c.p2 - c.p0, c.p3 - c.p0]
    } else {
        [c.p3 - c.p2, c.p3 - c.p1, c.p3 - c.p0]
    };
    if t <= 0.0 || t >= 1.0 {
        return candidates.into_iter().find_map(unit).unwrap_or(flat);
    }
    unit(second_derivative(seg, t)).unwrap_or(flat)
}

/// Signed curvature, 1/mm, positive where the segment turns left. Where the derivative vanishes
/// the curvature has no value; that of a place a little further inside is given.
pub fn curvature(seg: &PathSeg, t: f64) -> f64 {
    let PathSeg::Cubic(_) = seg else { return 0.0 };
    let inside = if t < 0.5 { t + 1e-4 } else { t - 1e-4 };
    bend_at(seg, t)
        .or_else(|| bend_at(seg, inside))
        .unwrap_or(0.0)
}

/// Length, mm, within [`ARC`].
pub fn length(seg: &PathSeg) -> f64 {
    match seg {
        PathSeg::Line(l) => distance(l.p0, l.p1),
        other => other.arclen(ARC),
    }
}

/// Length of the part before parameter `t`, mm.
pub fn length_to(seg: &PathSeg, t: f64) -> f64 {
    if t <= 0.0 {
        return 0.0;
    }
    length(&seg.subsegment(0.0..t.min(1.0)))
}

/// The parameter at `target` mm from the start, clamped to the segment.
pub fn parameter_at(seg: &PathSeg, target: f64) -> f64 {
    let whole = length(seg);
    if target <= 0.0 || whole <= 0.0 {
        return 0.0;
    }
    if target >= whole {
        return 1.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    let mut t = target / whole;
    if let PathSeg::Line(_) = seg {
        return t;
    }
    // Newton's step with bisection as the fallback; the length grows with t, so the bracket holds.
    for _ in 0..60 {
        let miss = length_to(seg, t) - target;
        if miss.abs() < 0.01 * ARC {
            break;
        }
        if miss > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let step = t - miss / norm(derivative(seg, t));
        t = if step > low && step < high {
            step
        } else {
            0.5 * (low + high)
        };
    }
    t
}

/// The smallest rectangle round the segment.
pub fn bounds(seg: &PathSeg) -> Rect {
    let (a, b) = (seg.start(), seg.end());
    let mut found = Rect::from_points(a, b);
    if let PathSeg::Cubic(c) = seg {
        let v = [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2];
        for t in roots(&v.map(|v| v.x))
            .iter()
            .chain(roots(&v.map(|v| v.y)).iter())
        {
            found = found.union_pt(c.eval(t));
        }
    }
    found
}

/// The rectangle round the control points: cheap, and never smaller than [`bounds`].
pub fn control_box(seg: &PathSeg) -> Rect {
    match seg {
        PathSeg::Cubic(c) => Rect::from_points(c.p0, c.p3).union_pt(c.p1).union_pt(c.p2),
        other => Rect::from_points(other.start(), other.end()),
    }
}

/// Whether two rectangles come within `slack` mm of each other.
pub fn near(a: Rect, b: Rect, slack: f64) -> bool {
    a.x0 <= b.x1 + slack && b.x0 <= a.x1 + slack && a.y0 <= b.y1 + slack && b.y0 <= a.y1 + slack
}

/// Distance from a point to a rectangle, mm; 0 inside.
pub fn box_distance(r: Rect, p: Point) -> f64 {
    let dx = (r.x0 - p.x).max(p.x - r.x1).max(0.0);
    let dy = (r.y0 - p.y).max(p.y - r.y1).max(0.0);
    (dx * dx + dy * dy).sqrt()
}

/// The parameter of the point nearest to `p`, and its distance, mm. Of equally near points the
/// first. Exact: every stationary point of the distance (a polynomial of degree five for a
/// cubic) is looked at.
pub fn nearest(seg: &PathSeg, p: Point) -> (f64, f64) {
    match seg {
        PathSeg::Line(l) => nearest_on_line(l, p),
        other => nearest_on_cubic(&other.to_cubic(), p),
    }
}

/// The parameters at which the segment has the x coordinate `x`, ends included when they lie
/// within [`SAME`]; both ends if all of it does.
pub fn at_x(seg: &PathSeg, x: f64) -> Roots {
    let (first, last) = (seg.start().x - x, seg.end().x - x);
    let inner = match seg {
        PathSeg::Line(_) if first * last < 0.0 => Roots::one(first / (first - last)),
        PathSeg::Cubic(c) if [c.p1, c.p2].iter().any(|p| (p.x - x).abs() > SAME) => {
            roots(&[first, c.p1.x - x, c.p2.x - x, last])
        }
        _ => Roots::default(),
    };
    let mut found = Roots::default();
    if first.abs() <= SAME {
        found.push(0.0);
    }
    inner.iter().for_each(|t| found.push(t));
    if last.abs() <= SAME {
        found.push(1.0);
    }
    found
}

fn nearest_on_line(l: &Line, p: Point) -> (f64, f64) {
    let v = l.p1 - l.p0;
    let t = (p - l.p0).dot(v) / v.dot(v);
    if t >= 1.0 {
        (1.0, distance(l.p1, p))
    } else if t > 0.0 {
        (t, distance(l.p0 + t * v, p))
    } else {
        // Also a line without length, for which `t` is no number.
        (0.0, distance(l.p0, p))
    }
}

fn nearest_on_cubic(c: &CubicBez, p: Point) -> (f64, f64) {
    let mut best = (0.0, distance(c.p0, p));
    let mut offer = |t: f64, q: Point| {
        let d = distance(q, p);
        if d < best.1 {
            best = (t, d);
        }
    };
    for t in stationary(c, p).iter() {
        offer(t, c.eval(t));
    }
    offer(1.0, c.p3);
    best
}

/// Parameters where the distance of a cubic to `p` is stationary.
fn stationary(c: &CubicBez, p: Point) -> Roots {
    let q = [c.p0 - p, c.p1 - p, c.p2 - p, c.p3 - p];
    let d = [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2];
    // Product of a cubic and a quadratic in Bernstein form: binomials 1 3 3 1 and 1 2 1 over
    // 1 5 10 10 5 1.
    let b = |i: usize, j: usize| q[i].dot(d[j]);
    roots(&[
        b(0, 0),
        (2.0 * b(0, 1) + 3.0 * b(1, 0)) / 5.0,
        (b(0, 2) + 6.0 * b(1, 1) + 3.0 * b(2, 0)) / 10.0,
        (3.0 * b(1, 2) + 6.0 * b(2, 1) + b(3, 0)) / 10.0,
        (3.0 * b(2, 2) + 2.0 * b(3, 1)) / 5.0,
        b(3, 2),
    ])
}

/// Curvature where the derivative does not vanish.
fn bend_at(seg: &PathSeg, t: f64) -> Option<f64> {
    let d = derivative(seg, t);
    let speed = norm(d);
    (speed > NO_DIRECTION).then(|| d.cross(second_derivative(seg, t)) / (speed * speed * speed))
}
