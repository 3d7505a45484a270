//! Crossings of lines and curves.
//!
//! Input: two tracks. Output: the points they have in common, or the stretch along which they
//! run together. Points that lie within [`SAME`](crate::tolerance::SAME) of both tracks count, so
//! shared and touching ends do; each comes once. No track is run on here, except that
//! [`Reach`] can be asked for the straight continuation of a curve's ends.

use kurbo::{PathSeg, Point};

use crate::crossing::{Contact, Contacts, Part, Straight, contacts};
use crate::curve::{Curve, Place};
use crate::error::GeometryError;
use crate::segment::distance;
use crate::tolerance::JOIN;
use crate::track::Track;

/// Where a meeting lies on one of the two tracks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Position {
    /// Distance along an endless line from its own point, mm.
    OnLine(f64),
    /// A place on a curve.
    OnCurve(Place),
    /// This many mm before the start of a curve that runs on straight; never from [`meet`].
    Before(f64),
    /// This many mm past the end of a curve that runs on straight; never from [`meet`].
    After(f64),
}

/// A point two tracks have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meeting {
    /// The point; within [`SAME`](crate::tolerance::SAME) of both tracks, and where they cross
    /// at a clear angle within 1e-9 mm.
    pub point: Point,
    /// Where it lies on the first track.
    pub on_a: Position,
    /// Where it lies on the second track.
    pub on_b: Position,
}

/// What two tracks have in common: points, and stretches by their two ends.
#[derive(Debug, Default)]
pub struct Common {
    pub points: Vec<Meeting>,
    pub stretches: Vec<(Meeting, Meeting)>,
}

/// All points two tracks have in common, in order along the first.
///
/// Errors: `Overlap` if they run along each other for more than [`JOIN`].
pub fn meet(a: &Track, b: &Track) -> Result<Vec<Meeting>, GeometryError> {
    let mut common = common(&parts(a, Reach::Own), &parts(b, Reach::Own));
    if let Some((from, to)) = common.stretches.first() {
        return Err(GeometryError::Overlap {
            from: from.point,
            to: to.point,
        });
    }
    common
        .points
        .sort_by(|x, y| order(x.on_a).total_cmp(&order(y.on_a)));
    Ok(common.points)
}

/// How far a curve is taken to reach.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// From its start to its end.
    Own,
    /// Straight on, without end, at both ends.
    RunOn,
}

/// The parts of a track with what they are parts of.
pub fn parts(track: &Track, reach: Reach) -> Vec<(Part, Source)> {
    match track {
        Track::Line(line) => {
            let (low, high) = (f64::NEG_INFINITY, f64::INFINITY);
            let part = Straight {
                origin: line.point,
                direction: line.direction,
                low,
                high,
            };
            vec![(Part::Straight(part), Source::Line)]
        }
        Track::Curve(curve) => curve_parts(curve, reach),
    }
}

/// The parts of a curve with what they are parts of.
pub fn curve_parts(curve: &Curve, reach: Reach) -> Vec<(Part, Source)> {
    let mut found = Vec::with_capacity(curve.segments().len() + 2);
    let run_on = reach == Reach::RunOn;
    if run_on {
        let part = Straight {
            origin: curve.start(),
            direction: curve.start_tangent(),
            low: f64::NEG_INFINITY,
            high: 0.0,
        };
        found.push((Part::Straight(part), Source::Before));
    }
    for (i, seg) in curve.segments().iter().enumerate() {
        found.extend(Part::of(seg).map(|part| (part, Source::of(i, seg))));
    }
    if run_on {
        let part = Straight {
            origin: curve.end(),
            direction: curve.end_tangent(),
            low: 0.0,
            high: f64::INFINITY,
        };
        found.push((Part::Straight(part), Source::After));
    }
    found
}

/// Everything two lists of parts have in common, repetitions removed.
pub fn common(a: &[(Part, Source)], b: &[(Part, Source)]) -> Common {
    let mut found = Common::default();
    let mut pair = Contacts::default();
    for (part_a, source_a) in a {
        for (part_b, source_b) in b {
            contacts(part_a, part_b, &mut pair);
            let meeting = |c: &Contact| Meeting {
                point: c.point,
                on_a: source_a.position(c.s),
                on_b: source_b.position(c.t),
            };
            for contact in pair.points.drain(..) {
                add(&mut found.points, meeting(&contact));
            }
            found.stretches.extend(
                pair.stretches
                    .drain(..)
                    .map(|(from, to)| (meeting(&from), meeting(&to))),
            );
        }
    }
    found
}

/// What a part was taken from.
#[derive(Debug, Clone, Copy)]
pub enum Source {
    Line,
    Before,
    /// A straight segment: index and length.
    Straight(usize, f64),
    /// A cubic segment: index.
    Cubic(usize),
    After,
}

impl Source {
    fn of(index: usize, seg: &PathSeg) -> Self {
        match seg {
            PathSeg::Line(l) => Self::Straight(index, distance(l.p0, l.p1)),
            _ => Self::Cubic(index),
        }
    }

    fn position(self, s: f64) -> Position {
        match self {
            Self::Line => Position::OnLine(s),
            Self::Before => Position::Before(-s),
            Self::Straight(seg, length) => Position::OnCurve(Place {
                seg,
                t: (s / length).clamp(0.0, 1.0),
            }),
            Self::Cubic(seg) => Position::OnCurve(Place { seg, t: s }),
            Self::After => Position::After(s),
        }
    }
}

impl Position {
    /// The place on a curve; `None` off it.
    pub fn place(self) -> Option<Place> {
        match self {
            Self::OnCurve(place) => Some(place),
            _ => None,
        }
    }

    /// The distance along an endless line, mm; `None` on a curve.
    pub fn along(self) -> Option<f64> {
        match self {
            Self::OnLine(x) => Some(x),
            _ => None,
        }
    }
}

/// Adds a meeting unless it is there already: the same point at neighbouring positions. A curve
/// that passes the same point twice keeps both.
fn add(found: &mut Vec<Meeting>, new: Meeting) {
    let same = |old: &Meeting| {
        distance(old.point, new.point) <= JOIN
            && neighbours(old.on_a, new.on_a)
            && neighbours(old.on_b, new.on_b)
    };
    if !found.iter().any(same) {
        found.push(new);
    }
}

/// Whether two positions of the same point follow each other on the track: half a segment apart
/// at most, for a joint belongs to two segments.
fn neighbours(a: Position, b: Position) -> bool {
    match (a, b) {
        (Position::OnCurve(p), Position::OnCurve(q)) => {
            (p.seg as f64 + p.t - q.seg as f64 - q.t).abs() < 0.25
        }
        _ => true,
    }
}

/// A number that grows along the track.
fn order(position: Position) -> f64 {
    match position {
        Position::OnLine(x) => x,
        Position::OnCurve(place) => place.seg as f64 + place.t,
        Position::Before(_) => -1.0,
        Position::After(_) => f64::INFINITY,
    }
}
