//! The parallel of a curve.
//!
//! Input: a curve and a distance. Output: the curve at that distance to the left (to the right
//! if negative), exact for straight segments and within [`FIT`] for cubic ones. Loops that a
//! parallel makes when it closes in on itself from afar are not taken out; a bend too sharp for
//! the distance is an error.

use kurbo::{ParamCurve, PathSeg, Point, Vec2};

use crate::curve::{Curve, turn_between, with_start};
use crate::error::GeometryError;
use crate::extreme::falls_below;
use crate::fit::{Smooth, fit};
use crate::line::Line;
use crate::meet::{Reach, common, curve_parts};
use crate::segment;
use crate::segment::{distance as apart, left};
use crate::tolerance::{FIT, RUN_ON, SAME};

/// Share of the speed that a bend must leave to the inner parallel, no unit. Where less is left
/// the parallel is within a thousandth of its radius of a cusp, and no cloth turns that bend.
const SHARPEST: f64 = 1e-3;

/// Millimetres. Parallels of neighbours whose ends are this near are joined by moving one of
/// them; farther apart, the curve has a corner there.
const SNAP: f64 = 0.2 * FIT;

/// The parallel curve at `distance` mm to the left; negative: to the right. Corners are mitred:
/// on the outside the parts run on straight until they meet, on the inside they are trimmed at
/// their crossing.
///
/// Errors: `OutOfRange` for a distance that is not a number or too large; `TooTight` where a
/// bend or corner is too sharp for the distance.
pub fn offset(curve: &Curve, distance: f64) -> Result<Curve, GeometryError> {
    if distance.is_nan() || distance.abs() > RUN_ON {
        return Err(GeometryError::OutOfRange);
    }
    if distance.abs() <= SAME {
        return Ok(curve.clone());
    }
    let mut done: Option<Curve> = None;
    let mut last: Option<&PathSeg> = None;
    for seg in curve.segments() {
        let next = one(seg, distance)?;
        done = Some(match (done, last) {
            (Some(done), Some(last)) => join(done, next, last, seg)?,
            _ => next,
        });
        last = Some(seg);
    }
    done.ok_or(GeometryError::NoLength)
}

/// A cubic segment moved sideways.
struct Parallel<'a> {
    seg: &'a PathSeg,
    distance: f64,
}

impl Smooth for Parallel<'_> {
    fn at(&self, t: f64) -> (Point, Vec2) {
        let tangent = segment::tangent(self.seg, t);
        let rest = 1.0 - segment::curvature(self.seg, t) * self.distance;
        let point = self.seg.eval(t) + self.distance * left(tangent);
        (point, segment::derivative(self.seg, t) * rest)
    }
}

/// The parallel of one segment.
fn one(seg: &PathSeg, distance: f64) -> Result<Curve, GeometryError> {
    if let PathSeg::Line(l) = seg {
        let aside = distance * left(segment::tangent(seg, 0.0));
        return Curve::line(l.p0 + aside, l.p1 + aside);
    }
    if let Some(t) = falls_below(SHARPEST, |t| 1.0 - segment::curvature(seg, t) * distance) {
        return Err(GeometryError::TooTight { at: seg.eval(t) });
    }
    let mut out = Vec::new();
    fit(&Parallel { seg, distance }, 0.0, 1.0, &mut out)
        .map_err(|at| GeometryError::TooTight { at })?;
    Curve::from_segments(out)
}

/// Joins the parallels of two neighbouring segments.
fn join(
    done: Curve,
    next: Curve,
    before: &PathSeg,
    after: &PathSeg,
) -> Result<Curve, GeometryError> {
    let gap = apart(done.end(), next.start());
    if gap <= SNAP {
        return snapped(&done, &next);
    }
    let corner = before.end();
    let (a, b) = (segment::tangent(before, 1.0), segment::tangent(after, 0.0));
    // The parallels part where the curve turns away from them.
    let opens = (next.start() - done.end()).dot(a + b) > 0.0;
    let joined = if opens {
        mitred(&done, &next, a, b)
    } else {
        trimmed(&done, &next)
    };
    joined
        .filter(|_| turn_between(a, b).abs() < std::f64::consts::PI)
        .ok_or(GeometryError::TooTight { at: corner })
}

/// Both parts with the start of the second moved to the end of the first.
fn snapped(done: &Curve, next: &Curve) -> Result<Curve, GeometryError> {
    let mut segments = done.segments().to_vec();
    let moved = next.segments().iter().enumerate();
    segments.extend(moved.map(|(i, seg)| {
        if i == 0 {
            with_start(*seg, done.end())
        } else {
            *seg
        }
    }));
    Curve::from_segments(segments)
}

/// Both parts run on straight until they meet.
fn mitred(done: &Curve, next: &Curve, a: Vec2, b: Vec2) -> Option<Curve> {
    let first = Line {
        point: done.end(),
        direction: a,
    };
    let second = Line {
        point: next.start(),
        direction: b,
    };
    let tip = first.meet(&second)?;
    let (ahead, behind) = (first.along(tip), -second.along(tip));
    if !(ahead >= 0.0 && behind >= 0.0 && ahead <= RUN_ON && behind <= RUN_ON) {
        return None;
    }
    snapped(&done.extended(0.0, ahead), &next.extended(behind, 0.0)).ok()
}

/// Both parts cut off at the crossing that costs least.
fn trimmed(done: &Curve, next: &Curve) -> Option<Curve> {
    let found = common(
        &curve_parts(done, Reach::Own),
        &curve_parts(next, Reach::Own),
    );
    let whole = done.length();
    let cuts = found
        .points
        .iter()
        .filter_map(|m| Some((m.on_a.place()?, m.on_b.place()?)));
    let cost = |(p, q): &(_, _)| whole - done.length_to(*p) + next.length_to(*q);
    let (p, q) = cuts.min_by(|x, y| cost(x).total_cmp(&cost(y)))?;
    let kept = done.sub(done.start_place(), p).ok()?;
    let rest = next.sub(q, next.end_place()).ok()?;
    snapped(&kept, &rest).ok()
}
