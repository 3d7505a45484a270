//! Outlines of edges drawn longer or shorter than they are.
//!
//! Input: named tracks in the order of a walk. Output: the outline in which each edge reaches
//! from its meeting with the edge before to its meeting with the edge after. An edge that falls
//! short runs on straight. The direction in which a track is drawn does not matter. Of all
//! choices of meetings the one is taken that trims and lengthens the curves least in all; it is
//! found edge by edge (R. Bellman, "Dynamic Programming", 1957), once for every choice at the
//! first corner.

use std::sync::Arc;

use crate::curve::Curve;
use crate::error::{GeometryError, RingError};
use crate::meet::{Meeting, Position, Reach, common, parts};
use crate::ring::{Edge, Ring};
use crate::tolerance::{RUN_ON, SAME};
use crate::track::Track;

/// Millimetres. What an edge costs of which nothing would be left: more than all the run-on of
/// any outline, so that such a choice is made only when there is no other.
const SWALLOWED: f64 = 1e9;

/// A possible corner with its coordinates along the two edges.
struct Corner {
    meeting: Meeting,
    on_a: f64,
    on_b: f64,
}

impl Ring {
    /// The outline of the given tracks; neighbours meet at their crossing. Of several crossings
    /// those are taken that trim and lengthen least, endless lines not counted.
    ///
    /// Errors: `TooFewEdges`, `NoMeeting`, `EdgeSwallowed`, `CrossesItself`, `Edge`; indices are
    /// those of the input.
    pub fn from_tracks(tracks: Vec<(Arc<str>, Track)>) -> Result<Self, RingError> {
        if tracks.len() < 2 {
            return Err(RingError::TooFewEdges {
                edges: tracks.len(),
            });
        }
        let lengths: Vec<f64> = tracks.iter().map(|(_, track)| length(track)).collect();
        let corners = corners(&tracks, &lengths)?;
        let chosen = choose(&corners, &lengths);
        let mut edges = Vec::with_capacity(tracks.len());
        for (edge, (name, track)) in tracks.into_iter().enumerate() {
            let before = chosen.iter().cycle().nth(edge + lengths.len() - 1);
            let (Some(from), Some(to)) = (before, chosen.get(edge)) else {
                continue;
            };
            let whole = lengths.get(edge).copied().unwrap_or(0.0);
            if cost(from.on_b, to.on_a, whole) >= SWALLOWED {
                return Err(RingError::EdgeSwallowed { edge });
            }
            let curve =
                between(&track, from, to).map_err(|error| RingError::Edge { edge, error })?;
            edges.push(Edge { name, curve });
        }
        Self::from_edges(edges)
    }
}

/// A coordinate along a curve run on straight: mm from its start.
pub fn coordinate(curve: &Curve, whole: f64, position: Position) -> f64 {
    match position {
        Position::Before(x) => -x,
        Position::OnCurve(place) => curve.length_to(place),
        Position::After(x) => whole + x,
        Position::OnLine(x) => x,
    }
}

/// The part of a curve run on straight between two positions, the first before the second.
pub fn stretch(curve: &Curve, from: Position, to: Position) -> Result<Curve, GeometryError> {
    let (first, before) = match from {
        Position::Before(x) => (curve.start_place(), x),
        Position::OnCurve(place) => (place, 0.0),
        Position::After(_) | Position::OnLine(_) => return Err(GeometryError::EmptyStretch),
    };
    let (last, after) = match to {
        Position::After(x) => (curve.end_place(), x),
        Position::OnCurve(place) => (place, 0.0),
        Position::Before(_) | Position::OnLine(_) => return Err(GeometryError::EmptyStretch),
    };
    Ok(curve.sub(first, last)?.extended(before, after))
}

/// Length of a track; that of an endless line is infinite.
fn length(track: &Track) -> f64 {
    match track {
        Track::Line(_) => f64::INFINITY,
        Track::Curve(curve) => curve.length(),
    }
}

/// For each edge the possible corners with the edge after it.
fn corners(tracks: &[(Arc<str>, Track)], lengths: &[f64]) -> Result<Vec<Vec<Corner>>, RingError> {
    let all: Vec<_> = tracks
        .iter()
        .map(|(_, track)| parts(track, Reach::RunOn))
        .collect();
    let next = |i: usize| (i + 1) % tracks.len();
    let mut found = Vec::with_capacity(tracks.len());
    for (a, ((_, track), parts_a)) in tracks.iter().zip(&all).enumerate() {
        let b = next(a);
        let (Some(parts_b), Some((_, after))) = (all.get(b), tracks.get(b)) else {
            continue;
        };
        let together = common(parts_a, parts_b);
        let ends = together
            .stretches
            .into_iter()
            .flat_map(|(from, to)| [from, to]);
        let at = |track: &Track, i: usize, position: Position| match track {
            Track::Line(_) => coordinate_on_line(position),
            Track::Curve(curve) => {
                coordinate(curve, lengths.get(i).copied().unwrap_or(0.0), position)
            }
        };
        let corner = |meeting: Meeting| {
            let (on_a, on_b) = (at(track, a, meeting.on_a), at(after, b, meeting.on_b));
            (on_a.abs() < RUN_ON && on_b.abs() < RUN_ON).then_some(Corner {
                meeting,
                on_a,
                on_b,
            })
        };
        let here: Vec<Corner> = together
            .points
            .into_iter()
            .chain(ends)
            .filter_map(corner)
            .collect();
        if here.is_empty() {
            return Err(RingError::NoMeeting { a, b });
        }
        found.push(here);
    }
    Ok(found)
}

fn coordinate_on_line(position: Position) -> f64 {
    position.along().unwrap_or(0.0)
}

/// What it costs an edge to reach from one coordinate to another, mm trimmed and run on.
fn cost(from: f64, to: f64, whole: f64) -> f64 {
    let (low, high) = (from.min(to), from.max(to));
    let kept = high.min(whole) - low.max(if whole.is_finite() { 0.0 } else { low });
    if kept.is_nan() || kept <= SAME {
        SWALLOWED
    } else if whole.is_finite() {
        (whole - kept) + (high - low - kept)
    } else {
        0.0
    }
}

/// The corner after each edge, chosen for the least cost in all.
fn choose<'a>(corners: &'a [Vec<Corner>], lengths: &[f64]) -> Vec<&'a Corner> {
    let mut best: (f64, Vec<&Corner>) = (f64::INFINITY, Vec::new());
    for first in corners.first().into_iter().flatten() {
        // Ways to reach each corner after the current edge: cost and the corners so far.
        let mut ways = vec![(0.0, vec![first])];
        for (here, whole) in corners.iter().zip(lengths).skip(1) {
            ways = here
                .iter()
                .filter_map(|corner| cheapest(&ways, corner, *whole))
                .collect();
        }
        let whole = lengths.first().copied().unwrap_or(0.0);
        if let Some(closed) = cheapest(&ways, first, whole)
            && closed.0 < best.0
        {
            best = closed;
        }
    }
    // The way that closes ends with the corner it began with.
    best.1.pop();
    best.1
}

/// The cheapest of the ways, continued along an edge of length `whole` to `corner`.
fn cheapest<'a>(
    ways: &[(f64, Vec<&'a Corner>)],
    corner: &'a Corner,
    whole: f64,
) -> Option<(f64, Vec<&'a Corner>)> {
    let price = |(so_far, way): &(f64, Vec<&Corner>)| {
        let from = way.last().map_or(0.0, |last| last.on_b);
        so_far + cost(from, corner.on_a, whole)
    };
    let (way, price) = ways
        .iter()
        .map(|way| (way, price(way)))
        .min_by(|x, y| x.1.total_cmp(&y.1))?;
    let mut path = way.1.clone();
    path.push(corner);
    Some((price, path))
}

/// The edge from one corner to the next.
fn between(track: &Track, from: &Corner, to: &Corner) -> Result<Curve, GeometryError> {
    match track {
        Track::Line(_) => Curve::line(from.meeting.point, to.meeting.point),
        Track::Curve(curve) if from.on_b < to.on_a => {
            stretch(curve, from.meeting.on_b, to.meeting.on_a)
        }
        Track::Curve(curve) => Ok(stretch(curve, to.meeting.on_a, from.meeting.on_b)?.reversed()),
    }
}
