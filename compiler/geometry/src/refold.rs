//! Folding flat cloth again, to prove a pattern by.
//!
//! Input: creases in the order they are folded, and points, curves or polygons of the flat cloth.
//! Output: where they come to lie. The cloth to the left of a crease is turned over: each of its
//! points is mirrored in the point of the crease that is nearest to it. Shares nothing with the
//! unfolding: feet are found here by their own scan and iteration. Pictures of folded polygons
//! are made in `refold_polygon`.

use kurbo::{PathSeg, Point, Vec2};

use crate::curve::Curve;
use crate::line::Line;
use crate::refold_polygon::{Layer, fold_layers};
use crate::segment::{box_distance, control_box};
use crate::tolerance::SAME;

/// Passes over all creases before a point that still moves is left where it is.
pub const MOST_PASSES: usize = 8;

/// Places on each cubic segment of a crease at which the search for a foot starts.
const STARTS: usize = 12;

/// Parameter. A foot that moves by less is found: 1e-11 mm on a metre.
const SETTLED: f64 = 1e-14;

/// Parts of a segment that are sampled apart: enough that a bend both ways is not passed over.
const STEPS: u32 = 4;

/// The most halvings between two samples of a folded curve.
const DEEPEST: u32 = 14;

/// A crease; the cloth to its left is turned over.
#[derive(Debug, Clone)]
pub enum Crease {
    /// Straight, without ends.
    Line(Line),
    /// Curved, run on straight at both ends.
    Curve(Curve),
}

/// A folded point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Folded {
    /// Where it comes to lie.
    pub point: Point,
    /// How often it was turned over; the right side of the cloth is up again when even.
    pub turns: u32,
}

/// Creases in the order they are folded.
#[derive(Debug, Clone)]
pub struct Refold {
    creases: Vec<Crease>,
}

/// The point of a crease nearest to another, and on which side of it that one lies.
#[derive(Debug, Clone, Copy)]
pub struct Foot {
    /// The point of the crease.
    pub point: Point,
    /// Signed distance from the crease, mm, left positive.
    pub side: f64,
    /// Grows along the crease.
    pub along: f64,
}

impl Refold {
    /// Folding along the given creases, in order.
    pub fn new(creases: Vec<Crease>) -> Self {
        Self { creases }
    }

    /// Where a point of the flat cloth comes to lie. Each crease in turn mirrors it if it lies
    /// more than [`SAME`] to the left; this is repeated until nothing moves, eight times at most.
    pub fn point(&self, p: Point) -> Folded {
        let mut folded = Folded { point: p, turns: 0 };
        for _ in 0..MOST_PASSES {
            let before = folded.turns;
            for crease in &self.creases {
                let foot = crease.foot(folded.point);
                if foot.side > SAME {
                    folded.point = foot.point + (foot.point - folded.point);
                    folded.turns += 1;
                }
            }
            if folded.turns == before {
                break;
            }
        }
        folded
    }

    /// The folded image of a flat curve as points, the ends of its segments among them, joined
    /// by straight lines no farther than `tol` mm from it; a fold of the image itself is met
    /// within `tol` too. A tolerance that is not positive counts as [`SAME`].
    pub fn curve(&self, curve: &Curve, tol: f64) -> Vec<Point> {
        let tol = if tol > SAME { tol } else { SAME };
        let mut last = self.point(curve.start());
        let mut points = vec![last.point];
        for seg in curve.segments() {
            for i in 0..STEPS {
                let [low, high] = [i, i + 1].map(|k| f64::from(k) / f64::from(STEPS));
                let next = self.point(point_at(seg, high));
                self.sample(seg, (low, last), (high, next), tol, 0, &mut points);
                last = next;
            }
        }
        points
    }

    /// A stack of flat polygons, the lowest first, folded: its layers in the order they come to
    /// lie, the lowest first. Every crease splits what lies across it and turns the left part
    /// over, on top of the rest. Outlines are true within `tol` mm; a tolerance that is not
    /// positive counts as [`SAME`].
    pub fn layers(&self, stack: &[Vec<Point>], tol: f64) -> Vec<Layer> {
        fold_layers(&self.creases, stack, if tol > SAME { tol } else { SAME })
    }

    /// Appends the image of a part of a segment without its first point, halved until the image
    /// of the middle and the quarters lies on the chord and the turns agree.
    fn sample(
        &self,
        seg: &PathSeg,
        (low, a): (f64, Folded),
        (high, b): (f64, Folded),
        tol: f64,
        depth: u32,
        points: &mut Vec<Point>,
    ) {
        let at = |f: f64| self.point(point_at(seg, low + f * (high - low)));
        let middle = at(0.5);
        let flat = |f: Folded| off(f.point, a.point, b.point) <= 0.5 * tol && f.turns == a.turns;
        let done = a.turns == b.turns && flat(middle) && flat(at(0.25)) && flat(at(0.75));
        let small = dist(point_at(seg, low), point_at(seg, high)) <= 0.5 * tol;
        if depth >= DEEPEST || small || done {
            points.push(b.point);
            return;
        }
        let half = 0.5 * (low + high);
        self.sample(seg, (low, a), (half, middle), tol, depth + 1, points);
        self.sample(seg, (half, middle), (high, b), tol, depth + 1, points);
    }
}

impl Crease {
    /// The foot of a point on the crease.
    pub fn foot(&self, p: Point) -> Foot {
        match self {
            Self::Line(line) => {
                let along = (p - line.point).dot(line.direction);
                let point = line.point + along * line.direction;
                Foot {
                    point,
                    side: line.direction.cross(p - line.point),
                    along,
                }
            }
            Self::Curve(curve) => foot_on_curve(curve, p),
        }
    }
}

/// The foot on a curve run on straight: the nearest of the feet on its parts.
fn foot_on_curve(curve: &Curve, p: Point) -> Foot {
    let (start, first) = (curve.start(), curve.start_tangent());
    let (end, last) = (curve.end(), curve.end_tangent());
    let count = curve.segments().len() as f64;
    let mut best = on_ray(start, first, (p - start).dot(first).min(0.0), p, 0.0);
    let after = on_ray(end, last, (p - end).dot(last).max(0.0), p, count);
    if dist(after.point, p) < dist(best.point, p) {
        best = after;
    }
    for (i, seg) in curve.segments().iter().enumerate() {
        if box_distance(control_box(seg), p) >= dist(best.point, p) {
            continue;
        }
        let t = foot_on_segment(seg, p);
        let point = point_at(seg, t);
        if dist(point, p) < dist(best.point, p) {
            let direction = slope_at(seg, t);
            let side = direction.cross(p - point).signum() * dist(point, p);
            best = Foot {
                point,
                side,
                along: i as f64 + t,
            };
        }
    }
    best
}

/// The foot at a distance along a ray from `origin`; `offset` is the coordinate of the origin.
fn on_ray(origin: Point, direction: Vec2, distance: f64, p: Point, offset: f64) -> Foot {
    let point = origin + distance * direction;
    let side = direction.cross(p - point).signum() * dist(point, p);
    Foot {
        point,
        side,
        along: offset + distance,
    }
}

/// The parameter of the nearest point of a segment.
fn foot_on_segment(seg: &PathSeg, p: Point) -> f64 {
    if let PathSeg::Line(l) = seg {
        let v = l.p1 - l.p0;
        return ((p - l.p0).dot(v) / v.dot(v)).clamp(0.0, 1.0);
    }
    let at = |i: usize| i as f64 / STARTS as f64;
    let far = |t: f64| dist(point_at(seg, t), p);
    let start = (0..=STARTS)
        .map(at)
        .min_by(|a, b| far(*a).total_cmp(&far(*b)))
        .unwrap_or(0.0);
    let (mut low, mut high) = ((start - at(1)).max(0.0), (start + at(1)).min(1.0));
    let mut t = start;
    // The sign of (C − p)·C' says on which side of `t` the foot lies; Newton's step on it, and
    // half the bracket where that leaves it.
    for _ in 0..60 {
        let (between, slope) = (point_at(seg, t) - p, slope_at(seg, t));
        let pull = between.dot(slope);
        if pull > 0.0 {
            high = t;
        } else {
            low = t;
        }
        let step = t - pull / (slope.dot(slope) + between.dot(bend_at(seg, t)));
        let inside = step > low && step < high;
        let next = if inside { step } else { 0.5 * (low + high) };
        let moved = (next - t).abs();
        t = next;
        if moved < SETTLED {
            break;
        }
    }
    t
}

/// Distance of `p` from the straight line from `a` to `b`.
fn off(p: Point, a: Point, b: Point) -> f64 {
    let chord = b - a;
    let along = ((p - a).dot(chord) / chord.dot(chord)).clamp(0.0, 1.0);
    // A chord without length gives no number.
    let foot = if along.is_nan() { a } else { a + along * chord };
    dist(foot, p)
}

/// The point of a segment, by its polynomial.
fn point_at(seg: &PathSeg, t: f64) -> Point {
    match seg {
        PathSeg::Line(l) if t <= 0.0 => l.p0,
        PathSeg::Line(l) if t >= 1.0 => l.p1,
        PathSeg::Line(l) => l.p0 + t * (l.p1 - l.p0),
        other => {
            let c = other.to_cubic();
            let u = 1.0 - t;
            let weights = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
            let points = [c.p0, c.p1, c.p2, c.p3];
            let sum = points
                .iter()
                .zip(weights)
                .map(|(p, w)| w * p.to_vec2())
                .fold(Vec2::ZERO, |a, b| a + b);
            sum.to_point()
        }
    }
}

/// The derivative of a segment, by its polynomial.
fn slope_at(seg: &PathSeg, t: f64) -> Vec2 {
    // A line raised to a cubic has its handles on its ends and no direction there.
    if let PathSeg::Line(l) = seg {
        return l.p1 - l.p0;
    }
    let c = seg.to_cubic();
    let u = 1.0 - t;
    3.0 * (u * u * (c.p1 - c.p0) + 2.0 * u * t * (c.p2 - c.p1) + t * t * (c.p3 - c.p2))
}

/// The second derivative of a segment.
fn bend_at(seg: &PathSeg, t: f64) -> Vec2 {
    let c = seg.to_cubic();
    let first = (c.p2 - c.p1) - (c.p1 - c.p0);
    let last = (c.p3 - c.p2) - (c.p2 - c.p1);
    6.0 * ((1.0 - t) * first + t * last)
}

/// Distance of two points, mm.
fn dist(a: Point, b: Point) -> f64 {
    let v = b - a;
    v.dot(v).sqrt()
}
