//! The closed outline of named edges: making it from edges that meet, and its measures.
//!
//! Input: named curves. Output: a simple closed outline and numbers about it. Outlines from
//! edges that are too long or too short are made in `ring_corners`, parts of outlines in
//! `ring_parts`. Nothing here moves an edge by more than [`JOIN`](crate::tolerance::JOIN).

use std::sync::Arc;

use kurbo::{Affine, CubicBez, ParamCurve, ParamCurveArea, PathSeg, Point, Rect, Vec2};

use lyon_geom::CubicBezierSegment;

use crate::bernstein::{Roots, roots};
use crate::curve::{Curve, with_start};
use crate::error::{GeometryError, RingError};
use crate::segment;
use crate::segment::{bends, derivative, distance, norm};
use crate::simple::crossing;
use crate::tolerance::{FLATTENING, JOIN, SAME};

/// The most sides one segment is flattened to, however small the tolerance and large the segment.
const MOST_SIDES: f64 = 1e5;

/// Sine of an angle. A direction that is farther from square to the boundary than this (60°) is
/// not one to its nearest point on a smooth part.
const SQUARE: f64 = 0.5;

/// Points and weights of Gauss–Legendre quadrature on [0, 1], exact to degree nine
/// (Abramowitz and Stegun, table 25.4).
const GAUSS: [(f64, f64); 5] = [
    (0.046_910_077_030_668, 0.118_463_442_528_094_5),
    (0.230_765_344_947_158_5, 0.239_314_335_249_683_2),
    (0.5, 0.284_444_444_444_444_4),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_2),
    (0.953_089_922_969_332, 0.118_463_442_528_094_5),
];

/// One edge of an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Its name; pieces of one edge keep it, so a name may occur more than once.
    pub name: Arc<str>,
    /// Its curve, in the direction of the walk.
    pub curve: Curve,
}

/// A closed outline that does not cross or touch itself. Each edge starts exactly where the last
/// ends; the walk is clockwise (with `y` upwards), so the outside is on the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    edges: Vec<Edge>,
}

impl Ring {
    /// The outline of edges that meet within [`JOIN`] already, in order and direction of a walk.
    /// An anticlockwise walk is turned round; the first edge stays the first.
    ///
    /// Errors: `TooFewEdges`, `NoMeeting`, `CrossesItself`, `Edge`.
    pub fn from_edges(edges: Vec<Edge>) -> Result<Self, RingError> {
        let ring = Self::joined(edges)?;
        match crossing(ring.edges.iter().map(|edge| &edge.curve)) {
            Some((at, a, b)) => Err(RingError::CrossesItself { at, a, b }),
            None => Ok(ring.clockwise()),
        }
    }

    /// Like [`Ring::from_edges`] for a walk that is known to be clockwise and simple.
    pub(crate) fn joined(mut edges: Vec<Edge>) -> Result<Self, RingError> {
        let count = edges.len();
        if count < 2 {
            return Err(RingError::TooFewEdges { edges: count });
        }
        let ends: Vec<Point> = edges.iter().map(|edge| edge.curve.end()).collect();
        for (i, (edge, from)) in edges
            .iter_mut()
            .zip(ends.iter().cycle().skip(count - 1))
            .enumerate()
        {
            if distance(edge.curve.start(), *from) > JOIN {
                return Err(RingError::NoMeeting {
                    a: (i + count - 1) % count,
                    b: i,
                });
            }
            edge.curve =
                starting(&edge.curve, *from).map_err(|error| RingError::Edge { edge: i, error })?;
        }
        Ok(Self { edges })
    }

    /// The edges in the order of the walk.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The first edge of that name.
    pub fn edge(&self, name: &str) -> Option<&Edge> {
        self.edges.iter().find(|edge| &*edge.name == name)
    }

    /// Area, mm², positive; exact by Green's theorem.
    pub fn area(&self) -> f64 {
        self.turned_area().abs()
    }

    /// Length of the boundary, mm.
    pub fn perimeter(&self) -> f64 {
        self.edges.iter().map(|edge| edge.curve.length()).sum()
    }

    /// The smallest rectangle round the outline.
    pub fn bounds(&self) -> Rect {
        let all = self.edges.iter().map(|edge| edge.curve.bounds());
        all.reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
    }

    /// Whether `p` lies inside, or on the boundary within [`SAME`].
    pub fn contains(&self, p: Point) -> bool {
        self.winds_round(p) || self.nearest(p).1 <= SAME
    }

    /// Distance of `p` from the boundary, mm, positive inside. On which side `p` lies is told by
    /// the direction of the boundary at the nearest point if `p` lies square to it there, and by
    /// winding at a corner or a cusp.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let (nearest, d) = self.nearest(p);
        let square = nearest.and_then(|(seg, t)| {
            let along = derivative(seg, t);
            let left = along.cross(p - seg.eval(t));
            let is_square = t > 0.0 && t < 1.0 && left.abs() > SQUARE * norm(along) * d;
            is_square.then_some(left < 0.0)
        });
        let inside = square.unwrap_or_else(|| self.winds_round(p));
        if inside { d } else { -d }
    }

    /// How far `p` lies outside, mm; 0 inside. Quicker than [`Ring::signed_distance`] for points
    /// inside, whose distance is not looked for.
    pub fn outside_by(&self, p: Point) -> f64 {
        if self.winds_round(p) {
            0.0
        } else {
            self.nearest(p).1
        }
    }

    /// Centre of the area.
    pub fn centroid(&self) -> Point {
        let middle = self.bounds().center();
        let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
        for seg in self.segments() {
            for (t, weight) in GAUSS {
                let p = seg.eval(t) - middle;
                let d = derivative(seg, t);
                area += 0.5 * weight * p.cross(d);
                x += 0.5 * weight * p.x * p.x * d.y;
                y -= 0.5 * weight * p.y * p.y * d.x;
            }
        }
        middle + Vec2::new(x / area, y / area)
    }

    /// The image under a map, walked clockwise again if the map mirrors. A map that squeezes an
    /// edge to a point, or throws it out of range, leaves the outline as it was.
    pub fn transformed(&self, map: Affine) -> Self {
        let moved = |edge: &Edge| {
            let segments = edge.curve.segments().iter().map(|seg| map * *seg).collect();
            Some(Edge {
                name: edge.name.clone(),
                curve: Curve::from_segments(segments).ok()?,
            })
        };
        let edges: Option<Vec<Edge>> = self.edges.iter().map(moved).collect();
        let ring = edges.and_then(|edges| Self::joined(edges).ok());
        ring.map_or_else(|| self.clone(), Self::clockwise)
    }

    /// The outline as a polygon whose sides lie within `tol` mm of it, in the order of the walk
    /// from the start of the first edge; no point is repeated. A tolerance that is not positive
    /// counts as [`SAME`].
    pub fn flatten(&self, tol: f64) -> Vec<Point> {
        let mut points: Vec<Point> = Vec::new();
        for seg in self.segments() {
            flatten_segment(seg, tol, &mut |p| {
                if points.last().is_none_or(|last| distance(*last, p) > SAME) {
                    points.push(p);
                }
            });
        }
        while let [first, .., last] = points.as_slice() {
            if distance(*first, *last) > SAME {
                break;
            }
            points.pop();
        }
        points
    }

    /// All segments in the order of the walk.
    pub(crate) fn segments(&self) -> impl Iterator<Item = &PathSeg> {
        self.edges.iter().flat_map(|edge| edge.curve.segments())
    }

    /// The segment nearest to `p` with the parameter of its nearest point, and the distance, mm.
    /// The straight segments are looked at first: they are cheap and rule out most bends by their
    /// distance.
    fn nearest(&self, p: Point) -> (Option<(&PathSeg, f64)>, f64) {
        let is_straight = |seg: &&PathSeg| matches!(seg, PathSeg::Line(_));
        let straight = self.segments().filter(is_straight);
        let bent = self.segments().filter(|seg| !is_straight(seg));
        let mut best = (None, f64::INFINITY);
        for seg in straight.chain(bent) {
            if segment::box_distance(segment::control_box(seg), p) < best.1 {
                let (t, d) = segment::nearest(seg, p);
                if d < best.1 {
                    best = (Some((seg, t)), d);
                }
            }
        }
        best
    }

    /// Area, positive for an anticlockwise walk.
    fn turned_area(&self) -> f64 {
        self.segments().map(|seg| seg.signed_area()).sum()
    }

    /// The same outline walked clockwise.
    fn clockwise(self) -> Self {
        if self.turned_area() <= 0.0 {
            return self;
        }
        let mut edges: Vec<Edge> = self
            .edges
            .into_iter()
            .map(|edge| Edge {
                curve: edge.curve.reversed(),
                ..edge
            })
            .collect();
        edges.reverse();
        edges.rotate_right(1);
        Self { edges }
    }

    /// Whether the boundary winds round `p`. Every segment is cut into parts that only rise or
    /// only fall, each without its upper end, so that no level is counted twice.
    fn winds_round(&self, p: Point) -> bool {
        let mut winding = 0;
        for seg in self.segments() {
            let bounds = segment::control_box(seg);
            if p.y < bounds.y0 || p.y > bounds.y1 || p.x > bounds.x1 {
                continue;
            }
            winding += if p.x < bounds.x0 {
                // All of it is to the right: what rises and falls again cancels out.
                i32::from(p.y < seg.end().y) - i32::from(p.y < seg.start().y)
            } else {
                crossings_to_the_right(seg, p)
            };
        }
        winding != 0
    }
}

/// Sends the points of a segment flattened within `tol` mm to `sink`, ends included. The distance
/// of a chord from its arc is at most an eighth of the greatest second derivative times the step
/// squared (linear interpolation; Wang's bound for Bézier curves), so the tolerance is kept, not
/// just aimed at. A tolerance that is not above [`SAME`] counts as [`SAME`].
pub fn flatten_segment(seg: &PathSeg, tol: f64, sink: &mut dyn FnMut(Point)) {
    sink(seg.start());
    if !matches!(seg, PathSeg::Line(_)) {
        let c = seg.to_cubic();
        let [from, ctrl1, ctrl2, to] = [c.p0, c.p1, c.p2, c.p3].map(|p| lyon_geom::point(p.x, p.y));
        let cubic = CubicBezierSegment {
            from,
            ctrl1,
            ctrl2,
            to,
        };
        let mut is_first = true;
        cubic.for_each_flattened(asked(&c, tol), &mut |side| {
            if !std::mem::take(&mut is_first) {
                sink(Point::new(side.from.x, side.from.y));
            }
        });
    }
    sink(seg.end());
}

/// The tolerance to ask of the library so that `tol` is kept and the sides stay countable.
fn asked(c: &CubicBez, tol: f64) -> f64 {
    let (a, b) = bends(c);
    // The library makes √(¾ · bend / tolerance) sides.
    let coarsest = 0.75 * norm(a).max(norm(b)) / (MOST_SIDES * MOST_SIDES);
    let tol = if tol > SAME { tol } else { SAME };
    (tol * FLATTENING).max(coarsest)
}

/// The curve with its start moved to `p`, and its end left alone.
fn starting(curve: &Curve, p: Point) -> Result<Curve, GeometryError> {
    if curve.start() == p {
        return Ok(curve.clone());
    }
    let segments = curve.segments().iter().enumerate();
    Curve::from_segments(
        segments
            .map(|(i, seg)| if i == 0 { with_start(*seg, p) } else { *seg })
            .collect(),
    )
}

/// Upward less downward passages of the segment to the right of `p`.
fn crossings_to_the_right(seg: &PathSeg, p: Point) -> i32 {
    let turns = match seg {
        PathSeg::Cubic(c) => roots(&[c.p1.y - c.p0.y, c.p2.y - c.p1.y, c.p3.y - c.p2.y]),
        _ => Roots::default(),
    };
    let mut count = 0;
    let mut from = (0.0, seg.start());
    for t in turns.iter().chain([1.0]) {
        let to = (t, if t < 1.0 { seg.eval(t) } else { seg.end() });
        let (low, high) = if from.1.y < to.1.y {
            (from, to)
        } else {
            (to, from)
        };
        if low.1.y <= p.y && p.y < high.1.y && passage_x(seg, low, high, p.y) > p.x {
            count += if from.1.y < to.1.y { 1 } else { -1 };
        }
        from = to;
    }
    count
}

/// The x coordinate at which a part of a segment that only rises or falls passes the level `y`.
fn passage_x(seg: &PathSeg, low: (f64, Point), high: (f64, Point), y: f64) -> f64 {
    if let PathSeg::Line(_) = seg {
        let f = (y - low.1.y) / (high.1.y - low.1.y);
        return low.1.x + f * (high.1.x - low.1.x);
    }
    let (mut below, mut above) = (low.0, high.0);
    let mut t = 0.5 * (below + above);
    for _ in 0..60 {
        let p = seg.eval(t);
        if p.y <= y {
            below = t;
        } else {
            above = t;
        }
        let step = t - (p.y - y) / derivative(seg, t).y;
        let inside = step > below.min(above) && step < below.max(above);
        let next = if inside { step } else { 0.5 * (below + above) };
        if (next - t).abs() < 1e-15 {
            break;
        }
        t = next;
    }
    seg.eval(t).x
}
