//! Unfolding of cloth over a crease.
//!
//! Input: a line, curve or point of the folded cloth, and the crease it was folded over. Output:
//! where it lies when the cloth is flat. Every point of the cloth belongs to the point of the
//! crease whose normal passes through it, and is mirrored through that point. For the crease
//! `y = h(x)` and the line `y = −r` this is `F(x) = (x − h'(h + r), 2h + r)`.
//!
//! The map is its own inverse: the normal through a point is also the normal through its image,
//! so folding what was unfolded gives it back exactly. (It is not the envelope of the lines
//! mirrored in the tangents, from which it differs by a second-order amount in the curvature.)
//! Where the crease is straight the image is exact, elsewhere within [`FIT`](crate::tolerance::FIT).
//! Nothing here knows which side of the crease is cloth.

use kurbo::{Affine, ParamCurve, PathSeg, Point, Vec2};

use crate::curve::{Curve, Place};
use crate::error::GeometryError;
use crate::extreme::falls_below;
use crate::fit::{Smooth, fit};
use crate::line::Line;
use crate::meet::{Meeting, Reach, common, curve_parts, parts};
use crate::segment;
use crate::segment::{distance, left, norm};
use crate::tolerance::{FIT, JOIN, SAME};
use crate::track::Track;

/// Sine of the least angle between a crease's normal and the line it is to reach: below, the
/// image of a metre of cloth would be a kilometre long.
const SHALLOWEST: f64 = 1e-3;

/// The least stretch, no unit, of the cloth across a bend of the crease: below, neighbouring
/// normals cross before they reach the edge and the cloth would lie on itself.
const CROWDED: f64 = 1e-3;

/// Millimetres. Images on both sides of a smooth joint that are this near are joined.
const SNAP: f64 = 0.2 * FIT;

/// Millimetres. This near its ends a curve may go past a joint of the crease, over the part before
/// run on straight: lines unfolded across each other have their joints almost, not quite, beside each
/// other, and a stretch so short has no direction to speak of.
const BESIDE: f64 = 0.1;

/// Millimetres. No curve may be misplaced by more than this by it.
const NEGLIGIBLE: f64 = 0.02 * FIT;

/// The flat edge that comes to lie on `line` when folded over `crease`. It covers the crease's
/// own range, from the normal at its start to the normal at its end.
///
/// Errors: `CornerInCrease`; `NeverReached` where the crease stands square to the line;
/// `TooTight` where the crease bends so sharply that the edge would turn back on itself.
pub fn unfold_line(line: &Line, crease: &Curve) -> Result<Curve, GeometryError> {
    smooth(crease)?;
    let mut out: Vec<PathSeg> = Vec::new();
    for seg in crease.segments() {
        let image = Mirrored { line, seg };
        image.check()?;
        let from = out.len();
        match seg {
            PathSeg::Line(_) => out.push(PathSeg::Line(kurbo::Line::new(
                image.at(0.0).0,
                image.at(1.0).0,
            ))),
            _ => fit(&image, 0.0, 1.0, &mut out)
                .map_err(|_| GeometryError::TooTight { at: seg.eval(0.5) })?,
        }
        attach(&mut out, from, seg.start())?;
    }
    Curve::from_segments(out)
}

/// The flat curve that comes to lie on `curve` when folded over `crease`, run on straight at both
/// ends.
///
/// Errors: `CornerInCrease`; `TooTight` where the normals of the crease cross before they reach
/// the curve.
pub fn unfold_curve(curve: &Curve, crease: &Curve) -> Result<Curve, GeometryError> {
    smooth(crease)?;
    let mut out: Vec<PathSeg> = Vec::new();
    for (i, seg) in curve.segments().iter().enumerate() {
        let stops = stops(curve, i, crease);
        for pair in stops.windows(2) {
            let &[low, high] = pair else { continue };
            let from = out.len();
            over(seg, low, high, crease, &mut out)?;
            attach(&mut out, from, seg.eval(low))?;
        }
    }
    Curve::from_segments(out)
}

/// The flat point that comes to lie on `p` when folded over `crease`, run on straight at both
/// ends.
pub fn unfold_point(p: Point, crease: &Curve) -> Point {
    let foot = foot(p, crease).point;
    foot + (foot - p)
}

/// The image of a line over one segment of the crease.
struct Mirrored<'a> {
    line: &'a Line,
    seg: &'a PathSeg,
}

impl Mirrored<'_> {
    /// How far along the normal the line lies, and the cosine between the two directions.
    fn reach(&self, t: f64) -> (f64, f64) {
        let cosine = segment::tangent(self.seg, t).dot(self.line.direction);
        (-self.line.side(self.seg.eval(t)) / cosine, cosine)
    }

    /// Whether every normal reaches the line before it meets its neighbours.
    fn check(&self) -> Result<(), GeometryError> {
        if let Some(t) = falls_below(SHALLOWEST, |t| self.reach(t).1.abs()) {
            return Err(GeometryError::NeverReached {
                at: self.seg.eval(t),
            });
        }
        let rest = |t: f64| 1.0 - (segment::curvature(self.seg, t) * self.reach(t).0).abs();
        match falls_below(CROWDED, rest) {
            Some(t) => Err(GeometryError::TooTight {
                at: self.seg.eval(t),
            }),
            None => Ok(()),
        }
    }
}

impl Smooth for Mirrored<'_> {
    fn at(&self, t: f64) -> (Point, Vec2) {
        let (d, cosine) = self.reach(t);
        let tangent = segment::tangent(self.seg, t);
        let normal = left(tangent);
        let speed = norm(segment::derivative(self.seg, t));
        let bend = segment::curvature(self.seg, t);
        // d = −f/g with f the distance from the line and g the cosine; n' = −κ·speed·T.
        let sine = self.line.direction.cross(tangent);
        let (f, f_rate, g_rate) = (-d * cosine, speed * sine, -bend * speed * sine);
        let d_rate = (f * g_rate - f_rate * cosine) / (cosine * cosine);
        (
            self.seg.eval(t) - d * normal,
            speed * (1.0 + bend * d) * tangent - d_rate * normal,
        )
    }
}

/// The image of a part of a curve over one cubic segment of the crease.
struct Carried<'a> {
    seg: &'a PathSeg,
    crease: &'a PathSeg,
}

impl Smooth for Carried<'_> {
    fn at(&self, t: f64) -> (Point, Vec2) {
        let p = self.seg.eval(t);
        let rate = segment::derivative(self.seg, t);
        let (s, _) = segment::nearest(self.crease, p);
        let tangent = segment::tangent(self.crease, s);
        let normal = left(tangent);
        // Nothing but rounding, unless the foot is past the end of the part.
        let past = (p - self.crease.eval(s)).dot(tangent) * tangent;
        let foot = self.crease.eval(s) + past;
        let bent = segment::curvature(self.crease, s) * (p - foot).dot(normal);
        // The foot moves by T·(A'·T)/(1 − κd).
        let along = rate.dot(tangent) * (1.0 + bent) / (1.0 - bent);
        (
            foot + (foot - p),
            along * tangent - rate.dot(normal) * normal,
        )
    }
}

/// The foot of a point on a crease run on straight: where, and which part of the crease it is on.
pub(crate) struct Foot {
    pub point: Point,
    pub tangent: Vec2,
    pub place: Place,
    pub run_on: bool,
}

/// The foot of a point on a crease run on straight.
pub(crate) fn foot(p: Point, crease: &Curve) -> Foot {
    let (place, mut least) = crease.nearest(p);
    let mut found = Foot {
        point: crease.eval(place),
        tangent: crease.tangent(place),
        place,
        run_on: false,
    };
    let ends = [
        (crease.start_place(), -crease.start_tangent()),
        (crease.end_place(), crease.end_tangent()),
    ];
    for (place, outwards) in ends {
        let end = crease.eval(place);
        let along = (p - end).dot(outwards);
        let point = end + along * outwards;
        if along > 0.0 && distance(point, p) < least {
            least = distance(point, p);
            found = Foot {
                point,
                tangent: crease.tangent(place),
                place,
                run_on: true,
            };
        }
    }
    found
}

/// Parameters of segment `i` of the curve between which its foot stays on one part of the crease.
fn stops(curve: &Curve, i: usize, crease: &Curve) -> Vec<f64> {
    let mut found = vec![0.0];
    let Some(Ok(one)) = curve
        .segments()
        .get(i)
        .map(|seg| Curve::from_segments(vec![*seg]))
    else {
        return found;
    };
    let joints = (0..crease.segments().len())
        .map(|seg| Place { seg, t: 0.0 })
        .chain([crease.end_place()]);
    for joint in joints {
        let point = crease.eval(joint);
        let normal = Track::Line(Line {
            point,
            direction: left(crease.tangent(joint)),
        });
        let crossings = common(&curve_parts(&one, Reach::Own), &parts(&normal, Reach::Own));
        let bend = bend_at(crease, joint);
        let needed = |m: &&Meeting| {
            let ends = [one.start(), one.end()].map(|end| distance(end, m.point));
            let past = ends.into_iter().fold(f64::INFINITY, f64::min);
            let apart = past > BESIDE || bend * past * past > NEGLIGIBLE;
            apart && distance(foot(m.point, crease).point, point) <= JOIN
        };
        let own = crossings.points.iter().filter(needed);
        found.extend(own.filter_map(|m| m.on_a.place()).map(|place| place.t));
    }
    found.push(1.0);
    found.sort_by(f64::total_cmp);
    found.dedup_by(|b, a| {
        distance(
            one.eval(Place { seg: 0, t: *a }),
            one.eval(Place { seg: 0, t: *b }),
        ) <= SAME
    });
    if let Some(last) = found.last_mut() {
        *last = 1.0;
    }
    found
}

/// The greater curvature of the two parts of a crease that a joint lies between.
fn bend_at(crease: &Curve, joint: Place) -> f64 {
    let at = |seg: Option<usize>, t| {
        crease
            .segments()
            .get(seg?)
            .map(|s| segment::curvature(s, t))
    };
    let before = if joint.t > 0.0 {
        Some(joint.seg)
    } else {
        joint.seg.checked_sub(1)
    };
    let after = (joint.t < 1.0).then_some(joint.seg);
    let bends = [at(before, 1.0), at(after, 0.0)];
    bends
        .into_iter()
        .flatten()
        .map(f64::abs)
        .fold(0.0, f64::max)
}

/// Appends the image of a part of a segment whose foot stays on one part of the crease.
fn over(
    seg: &PathSeg,
    low: f64,
    high: f64,
    crease: &Curve,
    out: &mut Vec<PathSeg>,
) -> Result<(), GeometryError> {
    let foot = foot(seg.eval(0.5 * (low + high)), crease);
    let bed = crease.segments().get(foot.place.seg);
    let Some(bed) = bed.filter(|bed| matches!(bed, PathSeg::Cubic(_)) && !foot.run_on) else {
        let mirror: Affine = Line {
            point: foot.point,
            direction: foot.tangent,
        }
        .mirror();
        out.push(mirror * seg.subsegment(low..high));
        return Ok(());
    };
    let image = Carried { seg, crease: bed };
    let rest = |f: f64| {
        let p = seg.eval(low + f * (high - low));
        let (s, _) = segment::nearest(bed, p);
        let aside = (p - bed.eval(s)).dot(left(segment::tangent(bed, s)));
        1.0 - (segment::curvature(bed, s) * aside).abs()
    };
    if let Some(f) = falls_below(CROWDED, rest) {
        return Err(GeometryError::TooTight {
            at: seg.eval(low + f * (high - low)),
        });
    }
    fit(&image, low, high, out).map_err(|at| GeometryError::TooTight { at })
}

/// Moves the start of the segments from index `from` on to the end of those before.
fn attach(out: &mut [PathSeg], from: usize, at: Point) -> Result<(), GeometryError> {
    let Some(end) = from
        .checked_sub(1)
        .and_then(|i| out.get(i))
        .map(|seg| seg.end())
    else {
        return Ok(());
    };
    if let Some(first) = out.get_mut(from) {
        if distance(first.start(), end) > SNAP {
            return Err(GeometryError::CornerInCrease { at });
        }
        *first = crate::curve::with_start(*first, end);
    }
    Ok(())
}

/// A crease must not have corners.
fn smooth(crease: &Curve) -> Result<(), GeometryError> {
    match crease.corners().first() {
        Some(corner) => Err(GeometryError::CornerInCrease {
            at: crease.eval(*corner),
        }),
        None => Ok(()),
    }
}
