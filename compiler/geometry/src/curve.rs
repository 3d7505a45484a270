//! The open curve: straight and cubic segments in one piece, each starting where the last ends.
//!
//! Input: segments or points in millimetres. Output: curves, places on them, lengths, tangents.
//! Quadratic segments are raised to cubics and cubics that are straight become lines. A curve
//! knows nothing of other curves; crossings are in `meet`, parallels in `offset`.

use std::cmp::Ordering;

use kurbo::{Affine, CubicBez, ParamCurve, PathSeg, Point, Rect, Vec2};

use crate::error::GeometryError;
use crate::segment;
use crate::segment::{distance, finite, unit};
use crate::tolerance::{JOIN, SAME, SMOOTH};

/// An open, contiguous curve with at least one segment. Every segment is straight or cubic, is
/// longer than [`SAME`] and lies within [`FARTHEST`](crate::tolerance::FARTHEST).
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    segments: Vec<PathSeg>,
}

/// A place on a curve, ordered along it.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Place {
    /// Index of the segment.
    pub seg: usize,
    /// Parameter on the segment, 0 to 1.
    pub t: f64,
}

impl Curve {
    /// The straight curve from `a` to `b`.
    pub fn line(a: Point, b: Point) -> Result<Self, GeometryError> {
        Self::from_segments(vec![PathSeg::Line(kurbo::Line::new(a, b))])
    }

    /// One cubic Bézier segment.
    pub fn cubic(p0: Point, p1: Point, p2: Point, p3: Point) -> Result<Self, GeometryError> {
        Self::from_segments(vec![PathSeg::Cubic(CubicBez::new(p0, p1, p2, p3))])
    }

    /// A curve of the given segments, each starting within [`JOIN`] of where the last ends
    /// (it is moved there exactly). Segments no longer than [`SAME`] are left out.
    ///
    /// Errors: `OutOfRange`, `Gap`, `NoLength`.
    pub fn from_segments(given: Vec<PathSeg>) -> Result<Self, GeometryError> {
        let mut segments: Vec<PathSeg> = Vec::with_capacity(given.len());
        let mut end: Option<Point> = None;
        for seg in given {
            let mut seg = tidy(seg)?;
            if let Some(end) = end {
                if distance(end, seg.start()) > JOIN {
                    return Err(GeometryError::Gap {
                        end,
                        start: seg.start(),
                    });
                }
                seg = with_start(seg, end);
            }
            if extent(&seg) > SAME {
                end = Some(seg.end());
                segments.push(seg);
            }
        }
        if segments.is_empty() {
            Err(GeometryError::NoLength)
        } else {
            Ok(Self { segments })
        }
    }

    /// The curves one after the other; each must start within [`JOIN`] of where the last ends
    /// and is moved there exactly.
    pub fn chain(parts: &[Self]) -> Result<Self, GeometryError> {
        Self::from_segments(
            parts
                .iter()
                .flat_map(|c| c.segments.iter().copied())
                .collect(),
        )
    }

    /// The segments, straight or cubic.
    pub fn segments(&self) -> &[PathSeg] {
        &self.segments
    }

    /// The first point.
    pub fn start(&self) -> Point {
        self.segment(0).start()
    }

    /// The last point.
    pub fn end(&self) -> Point {
        self.segment(self.segments.len()).end()
    }

    /// Unit vector by which the curve leaves its start.
    pub fn start_tangent(&self) -> Vec2 {
        segment::tangent(&self.segment(0), 0.0)
    }

    /// Unit vector by which the curve arrives at its end.
    pub fn end_tangent(&self) -> Vec2 {
        segment::tangent(&self.segment(self.segments.len()), 1.0)
    }

    /// The place of the first point.
    pub fn start_place(&self) -> Place {
        Place { seg: 0, t: 0.0 }
    }

    /// The place of the last point.
    pub fn end_place(&self) -> Place {
        Place {
            seg: self.segments.len().saturating_sub(1),
            t: 1.0,
        }
    }

    /// The point at a place.
    pub fn eval(&self, place: Place) -> Point {
        let seg = self.segment(place.seg);
        // The ends exactly, so that neighbours share them to the bit.
        if place.t <= 0.0 {
            seg.start()
        } else if place.t >= 1.0 {
            seg.end()
        } else {
            seg.eval(place.t)
        }
    }

    /// Unit tangent at a place; robust where handles coincide with end points.
    pub fn tangent(&self, place: Place) -> Vec2 {
        segment::tangent(&self.segment(place.seg), place.t.clamp(0.0, 1.0))
    }

    /// Signed curvature, 1/mm, positive where the curve turns left.
    pub fn curvature(&self, place: Place) -> f64 {
        segment::curvature(&self.segment(place.seg), place.t.clamp(0.0, 1.0))
    }

    /// Length, mm, within [`ARC`](crate::tolerance::ARC) a segment.
    pub fn length(&self) -> f64 {
        self.segments.iter().map(segment::length).sum()
    }

    /// Length from the start to a place, mm.
    pub fn length_to(&self, place: Place) -> f64 {
        let before: f64 = self
            .segments
            .iter()
            .take(place.seg)
            .map(segment::length)
            .sum();
        before
            + self
                .segments
                .get(place.seg)
                .map_or(0.0, |seg| segment::length_to(seg, place.t))
    }

    /// The place `length` mm from the start; `None` if that is before the start or past the end
    /// by more than [`SAME`].
    pub fn place_at_length(&self, length: f64) -> Option<Place> {
        if length.is_nan() || length < -SAME {
            return None;
        }
        let mut left = length;
        for (seg, segment) in self.segments.iter().enumerate() {
            let here = segment::length(segment);
            if left < here {
                return Some(Place {
                    seg,
                    t: segment::parameter_at(segment, left),
                });
            }
            left -= here;
        }
        (left <= SAME).then(|| self.end_place())
    }

    /// The part between two places.
    ///
    /// Errors: `EmptyStretch` unless `from` comes before `to`, `NoLength` if they are nearer
    /// than [`SAME`].
    pub fn sub(&self, from: Place, to: Place) -> Result<Self, GeometryError> {
        if from.partial_cmp(&to) != Some(Ordering::Less) {
            return Err(GeometryError::EmptyStretch);
        }
        let mut kept = Vec::with_capacity(to.seg.saturating_sub(from.seg) + 1);
        for (i, seg) in self
            .segments
            .iter()
            .enumerate()
            .take(to.seg.saturating_add(1))
            .skip(from.seg)
        {
            let low = if i == from.seg {
                from.t.clamp(0.0, 1.0)
            } else {
                0.0
            };
            let high = if i == to.seg {
                to.t.clamp(0.0, 1.0)
            } else {
                1.0
            };
            if low <= 0.0 && high >= 1.0 {
                kept.push(*seg);
            } else if low < high {
                kept.push(seg.subsegment(low..high));
            }
        }
        Self::from_segments(kept)
    }

    /// The same curve walked the other way.
    pub fn reversed(&self) -> Self {
        Self {
            segments: self.segments.iter().rev().map(PathSeg::reverse).collect(),
        }
    }

    /// The image under a map. A map that squeezes the curve to a point, or throws it out of
    /// range, leaves it as it was.
    pub fn transformed(&self, map: Affine) -> Self {
        let moved = self.segments.iter().map(|seg| map * *seg).collect();
        Self::from_segments(moved).unwrap_or_else(|_| self.clone())
    }

    /// The nearest place to `p` and its distance, mm; of equally near places the first.
    pub fn nearest(&self, p: Point) -> (Place, f64) {
        let mut best = (self.start_place(), f64::INFINITY);
        for (seg, segment) in self.segments.iter().enumerate() {
            if segment::box_distance(segment::control_box(segment), p) < best.1 {
                let (t, d) = segment::nearest(segment, p);
                if d < best.1 {
                    best = (Place { seg, t }, d);
                }
            }
        }
        best
    }

    /// Where the curve crosses or touches the vertical line at `x`, in order along the curve,
    /// ends included; the two ends of a stretch that lies on it.
    pub fn places_at_x(&self, x: f64) -> Vec<Place> {
        let mut found: Vec<Place> = Vec::new();
        for (seg, segment) in self.segments.iter().enumerate() {
            for t in segment::at_x(segment, x).iter() {
                let place = Place { seg, t };
                let p = self.eval(place);
                let repeated = found
                    .last()
                    .is_some_and(|last| distance(self.eval(*last), p) <= JOIN);
                if !repeated {
                    found.push(place);
                }
            }
        }
        found
    }

    /// The smallest rectangle round the curve.
    pub fn bounds(&self) -> Rect {
        self.segments
            .iter()
            .skip(1)
            .fold(segment::bounds(&self.segment(0)), |r, s| {
                r.union(segment::bounds(s))
            })
    }

    /// The joints inside the curve where it turns by more than [`SMOOTH`].
    pub fn corners(&self) -> Vec<Place> {
        let turns = |(i, pair): (usize, &[PathSeg])| {
            let [a, b] = pair else { return None };
            let turn = turn_between(segment::tangent(a, 1.0), segment::tangent(b, 0.0));
            (turn.abs() > SMOOTH).then_some(Place { seg: i, t: 1.0 })
        };
        self.segments
            .windows(2)
            .enumerate()
            .filter_map(turns)
            .collect()
    }

    /// The curve run on straight along its end tangents by `before` and `after` mm; lengths
    /// that are not above [`SAME`] add nothing.
    pub fn extended(&self, before: f64, after: f64) -> Self {
        let mut segments = Vec::with_capacity(self.segments.len() + 2);
        if before > SAME {
            let start = self.start();
            segments.push(PathSeg::Line(kurbo::Line::new(
                start - before * self.start_tangent(),
                start,
            )));
        }
        segments.extend_from_slice(&self.segments);
        if after > SAME {
            let end = self.end();
            segments.push(PathSeg::Line(kurbo::Line::new(
                end,
                end + after * self.end_tangent(),
            )));
        }
        merge_straight_ends(&mut segments);
        Self::from_segments(segments).unwrap_or_else(|_| self.clone())
    }

    /// Whether all of the curve lies on the straight line between its ends, within [`SAME`].
    pub fn is_straight(&self) -> bool {
        let Some(direction) = unit(self.end() - self.start()) else {
            return false;
        };
        let start = self.start();
        let on_line = |p: Point| direction.cross(p - start).abs() <= SAME;
        self.segments.iter().all(|seg| match seg {
            PathSeg::Line(l) => on_line(l.p1) && (l.p1 - l.p0).dot(direction) > 0.0,
            _ => false,
        })
    }

    /// The segment with the given index; the last one for an index past the end.
    fn segment(&self, index: usize) -> PathSeg {
        let origin = PathSeg::Line(kurbo::Line::new(Point::ORIGIN, Point::ORIGIN));
        self.segments
            .get(index)
            .or(self.segments.last())
            .copied()
            .unwrap_or(origin)
    }
}

/// The turn from one unit vector to another, radians, left positive.
pub fn turn_between(a: Vec2, b: Vec2) -> f64 {
    libm::atan2(a.cross(b), a.dot(b))
}

/// The segment with its start moved to `p`; the first handle of a cubic moves along.
pub fn with_start(seg: PathSeg, p: Point) -> PathSeg {
    match seg {
        PathSeg::Line(l) => PathSeg::Line(kurbo::Line::new(p, l.p1)),
        other => {
            let c = other.to_cubic();
            PathSeg::Cubic(CubicBez::new(p, c.p1 + (p - c.p0), c.p2, c.p3))
        }
    }
}

/// Joins the first two and the last two segments when they are one straight line.
fn merge_straight_ends(segments: &mut Vec<PathSeg>) {
    for first in [segments.len().saturating_sub(2), 0] {
        let (Some(PathSeg::Line(a)), Some(PathSeg::Line(b))) = (
            segments.get(first).copied(),
            segments.get(first + 1).copied(),
        ) else {
            continue;
        };
        let (Some(whole), Some(part)) = (unit(b.p1 - a.p0), unit(b.p1 - b.p0)) else {
            continue;
        };
        if whole.cross(b.p0 - a.p0).abs() <= SAME && whole.dot(part) > 0.0 {
            segments.remove(first + 1);
            if let Some(slot) = segments.get_mut(first) {
                *slot = PathSeg::Line(kurbo::Line::new(a.p0, b.p1));
            }
        }
    }
}

/// A segment in the stored form: a line or a cubic that is not straight, in range.
fn tidy(seg: PathSeg) -> Result<PathSeg, GeometryError> {
    let c = match seg {
        PathSeg::Line(l) if finite(l.p0) && finite(l.p1) => return Ok(seg),
        PathSeg::Line(_) => return Err(GeometryError::OutOfRange),
        other => other.to_cubic(),
    };
    if ![c.p0, c.p1, c.p2, c.p3].into_iter().all(finite) {
        return Err(GeometryError::OutOfRange);
    }
    let chord = c.p3 - c.p0;
    let on_chord = |p: Point, u: Vec2| {
        let along = (p - c.p0).dot(u);
        u.cross(p - c.p0).abs() <= SAME && along >= 0.0 && along <= chord.dot(u)
    };
    let straight = unit(chord).is_some_and(|u| on_chord(c.p1, u) && on_chord(c.p2, u));
    Ok(if straight {
        PathSeg::Line(kurbo::Line::new(c.p0, c.p3))
    } else {
        PathSeg::Cubic(c)
    })
}

/// A measure of a segment's size that is zero only if all its control points coincide.
fn extent(seg: &PathSeg) -> f64 {
    match seg {
        PathSeg::Line(l) => distance(l.p0, l.p1),
        other => {
            let c = other.to_cubic();
            distance(c.p0, c.p1)
                .max(distance(c.p0, c.p2))
                .max(distance(c.p0, c.p3))
        }
    }
}
