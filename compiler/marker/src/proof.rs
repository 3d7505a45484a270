//! The proof of a layout: every piece is there, on the repeat it is tied to, inside the cloth, clear
//! of flaws, and clear of every other piece by the gap.
//!
//! In: a job and a layout. Out: nothing, or the first thing that is wrong. It works on the corners
//! of the outlines as they lie, with exact predicates (Shewchuk 1997), and shares nothing with the
//! search: no convex parts, no no-fit polygons.

use std::fmt;

use kurbo::{Point, Rect};

use crate::job::Job;
use crate::layout::{Layout, Placement};
use crate::outline::{bounds, meet, side};
use crate::tolerance::{PHASE, TOUCH};

/// What is wrong with a layout. Pieces are numbered as the layout has them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// The piece is of no kind or turn of the job, or lies at no finite place.
    Unknown(usize),
    /// The layout has too few or too many of this kind.
    Count(usize),
    /// The piece does not lie where the repeat of the cloth would have it.
    Phase(usize),
    /// The piece leaves the length or the usable width.
    Outside(usize),
    /// The piece lies on the flaw of this number.
    Flaw(usize, usize),
    /// Two pieces overlap, or lie nearer than the gap.
    Near(usize, usize),
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Fault::Unknown(i) => write!(f, "piece {} of the marker is unknown", i + 1),
            Fault::Count(kind) => write!(f, "the marker has a wrong count of kind {}", kind + 1),
            Fault::Phase(i) => write!(f, "piece {} is off the repeat of the cloth", i + 1),
            Fault::Outside(i) => write!(f, "piece {} of the marker leaves the cloth", i + 1),
            Fault::Flaw(i, flaw) => write!(f, "piece {} lies on flaw {}", i + 1, flaw + 1),
            Fault::Near(i, j) => write!(f, "pieces {} and {} are too near", i + 1, j + 1),
        }
    }
}

impl std::error::Error for Fault {}

/// Proves that `layout` is a marker for `job`.
///
/// Pieces may touch: what lies deeper in one another than [`TOUCH`] overlaps.
///
/// # Errors
/// The first fault, in the order of [`Fault`].
pub fn prove(job: &Job, layout: &Layout) -> Result<(), Fault> {
    let pieces = known(job, layout)?;
    for (kind, wanted) in job.kinds.iter().enumerate() {
        let laid = layout.placements.iter().filter(|p| p.kind == kind).count();
        if laid != wanted.count {
            return Err(Fault::Count(kind));
        }
    }
    if let Some(i) = layout.placements.iter().position(|p| !on_repeat(job, p)) {
        return Err(Fault::Phase(i));
    }
    let cloth = Rect::new(0.0, 0.0, layout.length, job.cloth.width).inflate(TOUCH, TOUCH);
    let boxes: Vec<Rect> = pieces.iter().map(|p| bounds(p)).collect();
    if let Some(i) = boxes.iter().position(|b| !cloth.contains_rect(*b)) {
        return Err(Fault::Outside(i));
    }
    for (i, piece) in pieces.iter().enumerate() {
        if let Some(flaw) = job.cloth.flaws.iter().position(|f| on_flaw(piece, *f)) {
            return Err(Fault::Flaw(i, flaw));
        }
    }
    for i in 0..pieces.len() {
        for j in i + 1..pieces.len() {
            let reach = boxes[i].inflate(job.cloth.gap, job.cloth.gap);
            if reach.overlaps(boxes[j]) && !clear(&pieces[i], &pieces[j], job.cloth.gap) {
                return Err(Fault::Near(i, j));
            }
        }
    }
    Ok(())
}

/// The corners of every piece where it lies.
fn known(job: &Job, layout: &Layout) -> Result<Vec<Vec<Point>>, Fault> {
    let corners = |(i, p): (usize, &Placement)| {
        p.corners(job)
            .filter(|c| c.iter().all(|p| p.is_finite()))
            .ok_or(Fault::Unknown(i))
    };
    layout.placements.iter().enumerate().map(corners).collect()
}

/// Whether a piece lies where the repeat of the cloth would have it.
fn on_repeat(job: &Job, placement: &Placement) -> bool {
    let kind = job.kinds.get(placement.kind);
    let Some(phase) = kind.and_then(|k| k.phase) else {
        return true;
    };
    let repeat = job.cloth.repeat;
    let whole = |at: f64, phase: Option<f64>, repeat: Option<f64>| match (phase, repeat) {
        (None, _) => true,
        (Some(phase), Some(repeat)) => {
            let times = (at - phase) / repeat;
            (times - times.round()).abs() * repeat <= PHASE
        }
        (Some(_), None) => false,
    };
    whole(placement.at.x, phase.x, repeat.warp) && whole(placement.at.y, phase.y, repeat.weft)
}

fn on_flaw(piece: &[Point], flaw: Rect) -> bool {
    let corners = [
        Point::new(flaw.x0, flaw.y0),
        Point::new(flaw.x1, flaw.y0),
        Point::new(flaw.x1, flaw.y1),
        Point::new(flaw.x0, flaw.y1),
    ];
    overlap(piece, &corners)
}

/// Whether two simple polygons are apart by `gap`, or, without a gap, do not overlap.
pub(crate) fn clear(one: &[Point], two: &[Point], gap: f64) -> bool {
    !overlap(one, two) && (gap <= TOUCH || distance(one, two) >= gap - TOUCH)
}

/// Whether two simple polygons lie deeper in one another than [`TOUCH`].
fn overlap(one: &[Point], two: &[Point]) -> bool {
    enters(one, two)
        || enters(two, one)
        || inner_point(one).is_some_and(|p| deep(p, two))
        || inner_point(two).is_some_and(|p| deep(p, one))
}

/// Whether an edge of `one` runs inside `two` deeper than [`TOUCH`].
///
/// Every edge is cut where it meets `two` and beside every corner of `two`. Between two cuts it is
/// all inside or all outside, and its depth is concave where `two` is convex, so that the depth in
/// the middle is at least half of the greatest.
fn enters(one: &[Point], two: &[Point]) -> bool {
    let reach = bounds(two);
    edges(one).any(|(a, b)| {
        let run = bounds(&[a, b]);
        run.x0 <= reach.x1
            && run.x1 >= reach.x0
            && run.y0 <= reach.y1
            && run.y1 >= reach.y0
            && probes(a, b, two).into_iter().any(|p| deep(p, two))
    })
}

/// Points of the edge from `a` to `b` of which one is deep in `two` if any point of the edge is.
fn probes(a: Point, b: Point, two: &[Point]) -> Vec<Point> {
    let along = b - a;
    let square = along.hypot2();
    let mut cuts = vec![0.0, 1.0];
    for (c, d) in edges(two) {
        cuts.push((c - a).dot(along) / square);
        if meet((a, b), (c, d)) {
            let slope = along.cross(d - c);
            if slope != 0.0 {
                cuts.push((c - a).cross(d - c) / slope);
            }
        }
    }
    cuts.retain(|t| (0.0..=1.0).contains(t));
    cuts.sort_by(f64::total_cmp);
    cuts.windows(2)
        .flat_map(|w| [0.25, 0.5, 0.75].map(|s| a + along * (w[0] + (w[1] - w[0]) * s)))
        .chain([a, b])
        .collect()
}

/// Whether the point is inside the polygon and further than [`TOUCH`] from its edges.
fn deep(point: Point, polygon: &[Point]) -> bool {
    inside(point, polygon) && edges(polygon).all(|e| to_segment(point, e) > TOUCH)
}

/// Whether the point is inside: edges that pass to its right, counted with exact signs.
fn inside(point: Point, polygon: &[Point]) -> bool {
    let mut winding = 0;
    for (a, b) in edges(polygon) {
        if a.y <= point.y && b.y > point.y && side(a, b, point) > 0.0 {
            winding += 1;
        } else if a.y > point.y && b.y <= point.y && side(a, b, point) < 0.0 {
            winding -= 1;
        }
    }
    winding != 0
}

/// A point well inside the polygon: the middle of the widest run of a level line through it.
fn inner_point(polygon: &[Point]) -> Option<Point> {
    let reach = bounds(polygon);
    let level = |share: f64| {
        let y = reach.y0 + reach.height() * share;
        let mut at: Vec<f64> = edges(polygon)
            .filter(|(a, b)| (a.y <= y) != (b.y <= y))
            .map(|(a, b)| a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)))
            .collect();
        at.sort_by(f64::total_cmp);
        at.chunks_exact(2)
            .map(|run| (run[1] - run[0], Point::new((run[0] + run[1]) / 2.0, y)))
            .max_by(|a, b| a.0.total_cmp(&b.0))
    };
    // Shares that no round number of a pattern falls on.
    [0.4871, 0.3137, 0.7193]
        .into_iter()
        .filter_map(level)
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, point)| point)
}

/// The least distance between the edges of two polygons that do not overlap, millimetres.
fn distance(one: &[Point], two: &[Point]) -> f64 {
    let corner_to_edge = |from: &[Point], to: &[Point]| {
        from.iter()
            .flat_map(|p| edges(to).map(|e| to_segment(*p, e)))
            .fold(f64::INFINITY, f64::min)
    };
    corner_to_edge(one, two).min(corner_to_edge(two, one))
}

fn to_segment(point: Point, (a, b): (Point, Point)) -> f64 {
    let along = b - a;
    let square = along.hypot2();
    let share = if square > 0.0 {
        ((point - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    point.distance(a + along * share)
}

fn edges(polygon: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    let next = polygon.iter().cycle().skip(1);
    polygon.iter().copied().zip(next.copied())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, size: f64) -> Vec<Point> {
        [(x, y), (x + size, y), (x + size, y + size), (x, y + size)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    }

    #[test]
    fn touching_is_clear_and_a_hair_deeper_is_not() {
        let one = square(0.0, 0.0, 10.0);
        assert!(clear(&one, &square(10.0, 3.0, 10.0), 0.0));
        assert!(clear(&one, &square(10.0, 10.0, 10.0), 0.0));
        assert!(!clear(&one, &square(10.0 - 1e-6, 3.0, 10.0), 0.0));
        assert!(!clear(&one, &square(10.0 - 1e-6, 0.0, 10.0), 0.0));
    }

    #[test]
    fn the_same_piece_twice_in_one_place_overlaps() {
        let one = square(0.0, 0.0, 10.0);
        assert!(!clear(&one, &one, 0.0));
        assert!(!clear(&one, &square(2.0, 2.0, 3.0), 0.0));
        assert!(!clear(&square(0.0, 2.0, 3.0), &one, 0.0));
    }

    #[test]
    fn the_gap_is_kept() {
        let one = square(0.0, 0.0, 10.0);
        assert!(clear(&one, &square(14.0, 0.0, 10.0), 4.0));
        assert!(!clear(&one, &square(13.999, 0.0, 10.0), 4.0));
        assert!(clear(&one, &square(13.0, 14.0, 10.0), 5.0));
        assert!(!clear(&one, &square(13.0, 13.99, 10.0), 5.0));
    }

    #[test]
    fn a_piece_in_the_notch_of_another_is_clear() {
        let notched: Vec<Point> = [
            (0., 0.),
            (30., 0.),
            (30., 20.),
            (20., 20.),
            (20., 10.),
            (10., 10.),
            (10., 20.),
            (0., 20.),
        ]
        .map(|(x, y)| Point::new(x, y))
        .to_vec();
        assert!(clear(&notched, &square(10.0, 10.0, 10.0), 0.0));
        assert!(!clear(&notched, &square(10.0, 9.999, 10.0), 0.0));
        assert!(!clear(&notched, &square(9.999, 12.0, 10.0), 0.0));
    }
}
