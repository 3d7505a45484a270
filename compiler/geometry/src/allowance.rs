//! Seam allowances round an outline.
//!
//! Input: an outline and one allowance for each of its edges. Output: the outline to cut, with
//! one edge for each edge of the input, of the same name: the edge moved outwards by its
//! allowance, together with the short straight lines by which its strip ends at a corner. Edges
//! without allowance keep their own curve.
//!
//! Corners follow from how the strip lies once the seam is sewn and pressed (common practice, no
//! source). With the interior angle θ:
//!
//! - Only one edge has an allowance: for θ ≥ 90° its strip ends where the other edge, run on
//!   straight past the corner, meets it. For θ < 90° that would leave a dog-ear; the strip ends
//!   along the mirror image, in the seam, of the other edge.
//! - Both have one: the mitre of the two. For θ < 90° each strip is trimmed besides to the mirror
//!   image, in its seam, of the other's cut line, so that nothing stands out when it is turned
//!   back.
//! - At an inward corner (θ > 180°) the two cut lines are trimmed at their crossing.
//! - Where the edges run on smoothly (θ = 180°) a strip ends square to the seam.
//!
//! Nothing here knows why an edge has an allowance.

use kurbo::{Point, Vec2};

use crate::curve::{Curve, turn_between};
use crate::error::RingError;
use crate::line::Line;
use crate::meet::{Meeting, Position, Reach, common, curve_parts, parts};
use crate::offset::offset;
use crate::ring::{Edge, Ring};
use crate::ring_corners::{coordinate, stretch};
use crate::segment::distance;
use crate::tolerance::{JOIN, SAME, SMOOTH};
use crate::track::Track;

/// An edge on its way from the outline to the cut.
struct Side {
    /// The curve to cut along before its ends are settled.
    curve: Curve,
    length: f64,
    allowance: f64,
    /// The lines of its strip before and after the curve, in the order of the walk.
    before: Vec<Point>,
    after: Vec<Point>,
    from: Position,
    to: Position,
}

/// A corner of the outline: the point and the directions of the walk before and after it.
struct Corner {
    at: Point,
    arriving: Vec2,
    leaving: Vec2,
}

/// Moves every edge outwards by its own allowance, mm; 0 leaves it in place.
///
/// Errors: `BadAllowance` if there is not one number of 0 or more for each edge; `EdgeSwallowed`
/// if nothing is left of a cut line between its corners; `NoMeeting` if cut lines do not meet;
/// `CrossesItself`; `Edge` where an edge bends more sharply than its allowance.
pub fn with_allowance(ring: &Ring, allowances: &[f64]) -> Result<Ring, RingError> {
    let edges = ring.edges();
    if allowances.len() != edges.len() {
        return Err(RingError::BadAllowance {
            edge: allowances.len().min(edges.len()),
        });
    }
    let mut sides = Vec::with_capacity(edges.len());
    for (edge, (named, allowance)) in edges.iter().zip(allowances).enumerate() {
        sides.push(Side::new(&named.curve, *allowance, edge)?);
    }
    for a in 0..sides.len() {
        let b = (a + 1) % sides.len();
        let (Some(first), Some(second)) = (edges.get(a), edges.get(b)) else {
            continue;
        };
        let corner = Corner {
            at: first.curve.end(),
            arriving: first.curve.end_tangent(),
            leaving: second.curve.start_tangent(),
        };
        settle(&mut sides, a, b, &corner).ok_or(RingError::NoMeeting { a, b })?;
    }
    let finished = edges.iter().zip(sides).enumerate();
    let cut: Result<Vec<Edge>, RingError> = finished
        .map(|(edge, (named, side))| {
            Ok(Edge {
                name: named.name.clone(),
                curve: side.finish(edge)?,
            })
        })
        .collect();
    Ring::from_edges(cut?)
}

impl Side {
    fn new(curve: &Curve, allowance: f64, edge: usize) -> Result<Self, RingError> {
        if allowance.is_nan() || allowance < 0.0 {
            return Err(RingError::BadAllowance { edge });
        }
        let curve = offset(curve, allowance).map_err(|error| RingError::Edge { edge, error })?;
        Ok(Self {
            length: curve.length(),
            allowance,
            before: Vec::new(),
            after: Vec::new(),
            from: Position::OnCurve(curve.start_place()),
            to: Position::OnCurve(curve.end_place()),
            curve,
        })
    }

    fn has_strip(&self) -> bool {
        self.allowance > SAME
    }

    /// The curve between its ends, with the lines before and after it.
    fn finish(self, edge: usize) -> Result<Curve, RingError> {
        let at = |position| coordinate(&self.curve, self.length, position);
        if at(self.to) - at(self.from) <= SAME {
            return Err(RingError::EdgeSwallowed { edge });
        }
        let failed = |error| RingError::Edge { edge, error };
        let own = stretch(&self.curve, self.from, self.to)
            .map_err(|_| RingError::EdgeSwallowed { edge })?;
        let mut segments = Vec::with_capacity(own.segments().len() + 4);
        let start = [own.start()];
        let end = [own.end()];
        segments.extend(straight(self.before.iter().chain(&start)));
        segments.extend_from_slice(own.segments());
        segments.extend(straight(end.iter().chain(&self.after)));
        Curve::from_segments(segments).map_err(failed)
    }
}

/// Straight segments from point to point.
fn straight<'a>(
    points: impl Iterator<Item = &'a Point> + Clone,
) -> impl Iterator<Item = kurbo::PathSeg> {
    let pairs = points.clone().zip(points.skip(1));
    pairs.map(|(p, q)| kurbo::PathSeg::Line(kurbo::Line::new(*p, *q)))
}

/// Settles how sides `a` and `b` meet at the corner between them; `None` if they do not.
fn settle(sides: &mut [Side], a: usize, b: usize, corner: &Corner) -> Option<()> {
    let (first, second) = (sides.get(a)?, sides.get(b)?);
    let (strip_a, strip_b) = (first.has_strip(), second.has_strip());
    // The turn to the right, 0 where the walk runs on smoothly; θ is 180° less this.
    let turn = -turn_between(corner.arriving, corner.leaving);
    let ends = match (strip_a, strip_b) {
        (false, false) => Ends::default(),
        _ if turn.abs() <= SMOOTH => smooth(first, second, corner),
        _ if turn < 0.0 => direct(first, second)?,
        (true, false) => {
            let (end, _) = last_meeting(first, &strip_end(corner, turn))?;
            Ends {
                end: Some(end),
                after: vec![corner.at],
                ..Ends::default()
            }
        }
        (false, true) => {
            let (start, _) = first_meeting(second, &strip_start(corner, turn))?;
            Ends {
                start: Some(start),
                before: vec![corner.at],
                ..Ends::default()
            }
        }
        (true, true) => outward(first, second, corner, turn)?,
    };
    if let Some(side) = sides.get_mut(a) {
        side.to = ends.end.unwrap_or(side.to);
        side.after = ends.after;
    }
    if let Some(side) = sides.get_mut(b) {
        side.from = ends.start.unwrap_or(side.from);
        side.before = ends.before;
    }
    Some(())
}

/// How two sides meet: where their curves end and start, and the strip lines between.
#[derive(Default)]
struct Ends {
    end: Option<Position>,
    after: Vec<Point>,
    before: Vec<Point>,
    start: Option<Position>,
}

/// The line along which the strip of the edge before the corner ends: the other edge run on
/// backwards, or its mirror image in the seam if that would leave a dog-ear.
fn strip_end(corner: &Corner, turn: f64) -> Line {
    let right_angle = std::f64::consts::FRAC_PI_2;
    let direction = if turn <= right_angle {
        -corner.leaving
    } else {
        mirrored(corner.leaving, corner.arriving)
    };
    Line {
        point: corner.at,
        direction,
    }
}

/// The same for the edge after the corner.
fn strip_start(corner: &Corner, turn: f64) -> Line {
    let right_angle = std::f64::consts::FRAC_PI_2;
    let direction = if turn <= right_angle {
        corner.arriving
    } else {
        mirrored(-corner.arriving, corner.leaving)
    };
    Line {
        point: corner.at,
        direction,
    }
}

/// A vector mirrored in the direction of a unit vector.
fn mirrored(v: Vec2, axis: Vec2) -> Vec2 {
    2.0 * v.dot(axis) * axis - v
}

/// Cut lines that run on into each other smoothly; different allowances leave a step, square to
/// the seam.
fn smooth(first: &Side, second: &Side, corner: &Corner) -> Ends {
    let (end, start) = (first.curve.end(), second.curve.start());
    if distance(end, start) <= JOIN {
        return Ends::default();
    }
    // The step belongs to the wider strip, or nothing but rounding is bridged.
    let mut ends = Ends::default();
    let reached = |p: Point| distance(p, corner.at) <= JOIN;
    if first.allowance > second.allowance {
        ends.after = vec![if reached(start) { corner.at } else { start }];
    } else {
        ends.before = vec![if reached(end) { corner.at } else { end }];
    }
    ends
}

/// Both curves, run on straight where they fall short, up to their meeting.
fn direct(first: &Side, second: &Side) -> Option<Ends> {
    let found = common(
        &curve_parts(&first.curve, Reach::RunOn),
        &curve_parts(&second.curve, Reach::RunOn),
    );
    let ends = found.stretches.iter().flat_map(|(from, to)| [from, to]);
    let cost = |m: &Meeting| {
        let ahead = coordinate(&first.curve, first.length, m.on_a) - first.length;
        ahead.abs() + coordinate(&second.curve, second.length, m.on_b).abs()
    };
    let best = found
        .points
        .iter()
        .chain(ends)
        .min_by(|x, y| cost(x).total_cmp(&cost(y)))?;
    Some(Ends {
        end: Some(best.on_a),
        start: Some(best.on_b),
        ..Ends::default()
    })
}

/// Two strips at an outward corner: the mitre, trimmed at a sharp corner to the mirror images of
/// the cut lines.
fn outward(first: &Side, second: &Side, corner: &Corner, turn: f64) -> Option<Ends> {
    if turn <= std::f64::consts::FRAC_PI_2 {
        return direct(first, second);
    }
    let mut inner = trimmed_mitre(first.allowance, second.allowance, corner)?;
    let (Some(&[a, b]), Some(&[y, z])) = (inner.first_chunk(), inner.last_chunk()) else {
        return direct(first, second);
    };
    // The cut lines may be curved: they end where they truly meet the trims.
    let (end, p) = last_meeting(first, &Line::through(a, b)?)?;
    let (start, q) = first_meeting(second, &Line::through(y, z)?)?;
    if let Some(head) = inner.first_mut() {
        *head = p;
    }
    if let Some(tail) = inner.last_mut() {
        *tail = q;
    }
    let half = inner.len() / 2;
    let after = inner.iter().take(half + 1).skip(1).copied().collect();
    let before = inner
        .iter()
        .take(inner.len() - 1)
        .skip(half)
        .copied()
        .collect();
    Some(Ends {
        end: Some(end),
        after,
        before,
        start: Some(start),
    })
}

/// The corners of the cut round a sharp corner, taken as straight: from where the first cut line
/// ends to where the second starts.
fn trimmed_mitre(a: f64, b: f64, corner: &Corner) -> Option<Vec<Point>> {
    let seam_a = Line {
        point: corner.at,
        direction: corner.arriving,
    };
    let seam_b = Line {
        point: corner.at,
        direction: corner.leaving,
    };
    let (cut_a, cut_b) = (seam_a.offset(a), seam_b.offset(b));
    let tip = cut_a.meet(&cut_b)?;
    // Farther from the corner than any trim reaches.
    let far = 4.0 * (a + b + distance(tip, corner.at));
    let mut chain = vec![tip - far * corner.arriving, tip, tip + far * corner.leaving];
    // The image of a cut line, directed so that the cloth that stays is on its right.
    for (cut, seam) in [(cut_b, seam_a), (cut_a, seam_b)] {
        chain = kept_right(&chain, &cut.transformed(seam.mirror()).reversed());
    }
    let last = chain.len().checked_sub(1)?;
    Some(chain.into_iter().take(last).skip(1).collect())
}

/// The part of a chain of points on the right of a line or on it.
fn kept_right(chain: &[Point], line: &Line) -> Vec<Point> {
    let mut kept = Vec::with_capacity(chain.len() + 1);
    let mut last: Option<(Point, f64)> = None;
    for &p in chain {
        let side = line.side(p);
        if let Some((q, before)) = last
            && (before > SAME) != (side > SAME)
        {
            kept.push(q.lerp(p, before / (before - side)));
        }
        if side <= SAME {
            kept.push(p);
        }
        last = Some((p, side));
    }
    kept
}

/// Where a side's curve, run on straight, meets a line: the meeting nearest to its end.
fn last_meeting(side: &Side, line: &Line) -> Option<(Position, Point)> {
    nearest_meeting(side, line, side.length)
}

/// The same nearest to its start.
fn first_meeting(side: &Side, line: &Line) -> Option<(Position, Point)> {
    nearest_meeting(side, line, 0.0)
}

fn nearest_meeting(side: &Side, line: &Line, at: f64) -> Option<(Position, Point)> {
    let found = common(
        &curve_parts(&side.curve, Reach::RunOn),
        &parts(&Track::Line(*line), Reach::Own),
    );
    let off = |m: &&Meeting| (coordinate(&side.curve, side.length, m.on_a) - at).abs();
    let best = found
        .points
        .iter()
        .min_by(|x, y| off(x).total_cmp(&off(y)))?;
    Some((best.on_a, best.point))
}
