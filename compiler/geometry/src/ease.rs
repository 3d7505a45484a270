//! How much an edge must stretch when cloth is folded over curved creases.
//!
//! Input: an edge as it lies on the folded work, and the creases it is unfolded across. Output: the
//! least and the greatest strain along it, and where on the first crease they arise. Straight creases
//! fold without strain. Nothing here judges what a cloth can take.

use kurbo::{ParamCurve, PathSeg, Point, Vec2};

use crate::curve::Curve;
use crate::extreme::least;
use crate::line::Line;
use crate::segment;
use crate::segment::{left, norm};
use crate::track::Track;
use crate::unfold::foot;

/// Least and greatest strain of an edge, and where on the first crease they arise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ease {
    /// The least strain; 0.01 is one per cent, negative: the edge must shrink.
    pub least: f64,
    /// Its place on the crease.
    pub least_at: Point,
    /// The greatest strain, positive: the edge must stretch.
    pub greatest: f64,
    /// Its place on the crease.
    pub greatest_at: Point,
}

/// Least and greatest strain of the edge that is folded onto `edge`, unfolded across one crease
/// after another. An endless line is looked at where the first crease's own squares reach it.
///
/// A line over one crease: to first order `2·h''·(h + r)` for the crease `y = h(x)` and the line
/// `y = −r`; in any position this is `2·κ·D / cos³φ` with the curvature `κ`, the distance `D` from
/// the line and the angle `φ` to it. Otherwise: the length folded over the length flat, less one.
/// Every crease takes a step along the edge from `(along, across)` its tangent to
/// `(along·(1 + κδ)/(1 − κδ), −across)`, where `δ` is how far the edge lies to its left. The
/// extremes are found by scan and refinement to about nine digits.
pub fn ease(edge: &Track, creases: &[Curve]) -> Ease {
    let mut found = Found(Ease {
        least: f64::INFINITY,
        least_at: Point::ZERO,
        greatest: f64::NEG_INFINITY,
        greatest_at: Point::ZERO,
    });
    match (edge, creases) {
        (Track::Line(line), [crease]) => found.first_order(line, crease),
        (Track::Line(line), [first, ..]) => {
            for seg in first.segments() {
                let along = |t| Some((on_line(line, seg, t)?, line.direction));
                found.scan(|t| Some((strain(along(t)?, creases), seg.eval(t))));
            }
        }
        (Track::Curve(curve), [first, ..]) => {
            for seg in curve.segments() {
                found.scan(|t| {
                    let at = seg.eval(t);
                    let value = strain((at, segment::tangent(seg, t)), creases);
                    Some((value, foot(at, first).point))
                });
            }
        }
        // Cloth that is not folded has no strain.
        (_, []) => {}
    }
    if found.0.least > found.0.greatest {
        (found.0.least, found.0.greatest) = (0.0, 0.0);
    }
    found.0
}

/// The extremes so far.
struct Found(Ease);

impl Found {
    fn offer(&mut self, value: f64, at: Point) {
        let found = &mut self.0;
        if value < found.least {
            (found.least, found.least_at) = (value, at);
        }
        if value > found.greatest {
            (found.greatest, found.greatest_at) = (value, at);
        }
    }

    /// Looks for the extremes of a strain along one segment.
    fn scan(&mut self, strain: impl Fn(f64) -> Option<(f64, Point)>) {
        let value = |t| strain(t).map_or(0.0, |(value, _)| value);
        for t in [least(value).0, least(|t| -value(t)).0] {
            if let Some((value, at)) = strain(t) {
                self.offer(value, at);
            }
        }
    }

    fn first_order(&mut self, line: &Line, crease: &Curve) {
        for seg in crease.segments() {
            self.scan(|t| {
                let at = seg.eval(t);
                if let PathSeg::Line(_) = seg {
                    return Some((0.0, at));
                }
                let cosine = segment::tangent(seg, t).dot(line.direction);
                let bent = 2.0 * segment::curvature(seg, t) * line.side(at);
                let value = bent / (cosine * cosine * cosine);
                Some((if value.is_finite() { value } else { 0.0 }, at))
            });
        }
    }
}

/// Where the square from a place of a crease meets the line; `None` if they are parallel.
fn on_line(line: &Line, seg: &PathSeg, t: f64) -> Option<Point> {
    let (at, tangent) = (seg.eval(t), segment::tangent(seg, t));
    let away = -line.side(at) / tangent.dot(line.direction);
    away.is_finite().then(|| at + away * left(tangent))
}

/// The strain of an edge at a point of it, given with its direction, over the creases.
fn strain((point, direction): (Point, Vec2), creases: &[Curve]) -> f64 {
    let (mut at, mut step) = (point, direction);
    for crease in creases {
        let foot = foot(at, crease);
        let normal = left(foot.tangent);
        let bend = if foot.run_on {
            0.0
        } else {
            let seg = crease.segments().get(foot.place.seg);
            seg.map_or(0.0, |seg| segment::curvature(seg, foot.place.t))
        };
        let bent = bend * (at - foot.point).dot(normal);
        let along = step.dot(foot.tangent) * (1.0 + bent) / (1.0 - bent);
        step = along * foot.tangent - step.dot(normal) * normal;
        at = foot.point + (foot.point - at);
    }
    let value = norm(direction) / norm(step) - 1.0;
    if value.is_finite() { value } else { 0.0 }
}
