//! Parts of an outline: one side of a cut, what lies inside, a chord.
//!
//! Input: an outline and a line or curve. Output: outlines and curves whose pieces are pieces of
//! the input. The input is never changed.

use std::sync::Arc;

use kurbo::{Point, Vec2};

use crate::curve::{Curve, Place};
use crate::error::RingError;
use crate::line::Line;
use crate::meet::{Reach, common, curve_parts, parts};
use crate::ring::{Edge, Ring};
use crate::segment::{distance, unit};
use crate::tolerance::{JOIN, SAME, SCRAP};
use crate::track::Track;

/// A place on the boundary.
#[derive(Debug, Clone, Copy)]
struct Station {
    edge: usize,
    place: Place,
    point: Point,
}

/// The boundary between two stations: on which side of the line it lies, and its pieces.
struct Run {
    side: f64,
    pieces: Vec<Edge>,
}

impl Ring {
    /// The part on the side of `keep`, closed by a straight edge along `line` that is called
    /// `name`. Pieces of edges keep their names.
    ///
    /// Errors: `NotDivided` if the line leaves nothing on one side or `keep` lies on it;
    /// `ManyParts` if more than one part lies on the side of `keep`.
    pub fn cut_along(&self, line: &Line, keep: Point, name: Arc<str>) -> Result<Self, RingError> {
        let stations = self.stations(line);
        let wanted = line.side(keep);
        let mut runs = if stations.len() < 2 {
            Vec::new()
        } else {
            self.runs(&stations, line)
        };
        let kept: Vec<bool> = runs.iter().map(|run| run.side * wanted > 0.0).collect();
        let cut_off = runs.iter().any(|run| run.side * wanted < 0.0);
        // A part begins wherever a kept run follows one that is not kept.
        let begins: Vec<usize> = (0..kept.len())
            .filter(|i| {
                kept.get(*i) == Some(&true)
                    && kept.get((i + kept.len() - 1) % kept.len()) == Some(&false)
            })
            .collect();
        let start = match begins.as_slice() {
            [start] if cut_off && wanted.abs() > SAME => *start,
            [] | [_] => return Err(RingError::NotDivided),
            many => return Err(RingError::ManyParts { parts: many.len() }),
        };
        runs.rotate_left(start);
        let part = runs.into_iter().take_while(|run| run.side * wanted > 0.0);
        let mut edges: Vec<Edge> = part.flat_map(|run| run.pieces).collect();
        if let (Some(first), Some(last)) = (edges.first(), edges.last()) {
            let closing = Curve::line(last.curve.end(), first.curve.start())
                .map_err(|_| RingError::NotDivided)?;
            edges.push(Edge {
                name,
                curve: closing,
            });
        }
        Self::joined(edges)
    }

    /// The parts of an open curve inside the outline, in order along the curve; what lies on the
    /// boundary counts as inside. Parts shorter than [`SCRAP`] are dropped.
    pub fn clip(&self, curve: &Curve) -> Vec<Curve> {
        let own = curve_parts(curve, Reach::Own);
        let mut places = vec![curve.start_place(), curve.end_place()];
        for edge in self.edges() {
            let found = common(&own, &curve_parts(&edge.curve, Reach::Own));
            let ends = found.stretches.iter().flat_map(|(from, to)| [from, to]);
            places.extend(
                found
                    .points
                    .iter()
                    .chain(ends)
                    .filter_map(|m| m.on_a.place()),
            );
        }
        places.sort_by(|a, b| {
            (a.seg, a.t)
                .partial_cmp(&(b.seg, b.t))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let mut inside: Vec<(Place, Place)> = Vec::new();
        for pair in places.windows(2) {
            let &[from, to] = pair else { continue };
            let Ok(part) = curve.sub(from, to) else {
                continue;
            };
            let middle = part
                .place_at_length(0.5 * part.length())
                .map(|place| part.eval(place));
            if !middle.is_some_and(|p| self.contains(p)) {
                continue;
            }
            match inside.last_mut() {
                Some(last) if distance(curve.eval(last.1), part.start()) <= JOIN => last.1 = to,
                _ => inside.push((from, to)),
            }
        }
        let parts = inside
            .into_iter()
            .filter_map(|(from, to)| curve.sub(from, to).ok());
        parts.filter(|part| part.length() >= SCRAP).collect()
    }

    /// The stretch, inside the outline, of the line through `p` that contains `p`, from behind
    /// to ahead in the given direction; `None` if `p` lies outside or there is no direction.
    pub fn chord(&self, p: Point, direction: Vec2) -> Option<(Point, Point)> {
        let line = Line {
            point: p,
            direction: unit(direction)?,
        };
        let mut along: Vec<f64> = self
            .stations(&line)
            .iter()
            .map(|station| line.along(station.point))
            .collect();
        along.sort_by(f64::total_cmp);
        // Stretches between neighbouring crossings, those inside joined where they touch.
        let mut found: Option<(f64, f64)> = None;
        for pair in along.windows(2) {
            let &[low, high] = pair else { continue };
            if high - low <= JOIN || !self.contains(line.at(0.5 * (low + high))) {
                continue;
            }
            found = match found {
                Some((start, end)) if low - end <= JOIN => Some((start, high)),
                Some((start, end)) if end >= -SAME => Some((start, end)),
                _ => Some((low, high)),
            };
        }
        let (low, high) = found.filter(|(low, high)| *low <= SAME && *high >= -SAME)?;
        Some((line.at(low), line.at(high)))
    }

    /// Where the boundary meets a line, in the order of the walk, each point once.
    fn stations(&self, line: &Line) -> Vec<Station> {
        let across = parts(&Track::Line(*line), Reach::Own);
        let mut all: Vec<Station> = Vec::new();
        for (edge, named) in self.edges().iter().enumerate() {
            let found = common(&curve_parts(&named.curve, Reach::Own), &across);
            let ends = found.stretches.iter().flat_map(|(from, to)| [from, to]);
            let meetings = found.points.iter().chain(ends);
            let mut here: Vec<Station> = meetings
                .filter_map(|m| {
                    Some(Station {
                        edge,
                        place: m.on_a.place()?,
                        point: m.point,
                    })
                })
                .collect();
            here.sort_by(|a, b| {
                (a.place.seg, a.place.t)
                    .partial_cmp(&(b.place.seg, b.place.t))
                    .unwrap_or(std::cmp::Ordering::Equal)
            });
            all.extend(here);
        }
        all.dedup_by(|b, a| distance(a.point, b.point) <= JOIN);
        if let [first, .., last] = all.as_slice()
            && distance(first.point, last.point) <= JOIN
        {
            all.pop();
        }
        all
    }

    /// The boundary from each station to the next.
    fn runs(&self, stations: &[Station], line: &Line) -> Vec<Run> {
        let next = stations.iter().cycle().skip(1);
        stations
            .iter()
            .zip(next)
            .map(|(from, to)| self.run(from, to, line))
            .collect()
    }

    fn run(&self, from: &Station, to: &Station, line: &Line) -> Run {
        let count = self.edges().len();
        let wraps =
            (to.edge, to.place.seg, to.place.t) <= (from.edge, from.place.seg, from.place.t);
        let last = if wraps { to.edge + count } else { to.edge };
        let mut run = Run {
            side: 0.0,
            pieces: Vec::new(),
        };
        for (i, edge) in self
            .edges()
            .iter()
            .cycle()
            .enumerate()
            .take(last + 1)
            .skip(from.edge)
        {
            let low = if i == from.edge {
                from.place
            } else {
                edge.curve.start_place()
            };
            let high = if i == last {
                to.place
            } else {
                edge.curve.end_place()
            };
            let Ok(curve) = edge.curve.sub(low, high) else {
                continue;
            };
            for f in [0.25, 0.5, 0.75] {
                let at = curve
                    .place_at_length(f * curve.length())
                    .unwrap_or(curve.start_place());
                let side = line.side(curve.eval(at));
                if side.abs() > run.side.abs() && side.abs() > JOIN {
                    run.side = side;
                }
            }
            run.pieces.push(Edge {
                name: edge.name.clone(),
                curve,
            });
        }
        run
    }
}
