//! Outlines of pieces as closed polygons, and the convex parts they are made of.
//!
//! In: points round a piece, in millimetres; for a curved piece, points of its curves and how far
//! each chord may lie from the curve. Out: a simple polygon, counter-clockwise, never less than the
//! piece, and convex parts that fill it exactly. Never: curves, cloth, places on it.

use std::fmt;

use kurbo::{Point, Rect};
use robust::{Coord, orient2d};

use crate::parts::convex_parts;
use crate::tolerance::SAME_POINT;
use crate::turn::Turn;

/// Why points are no outline.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OutlineError {
    /// Fewer than three points apart from one another, or no area within them.
    Empty,
    /// A coordinate is no finite number.
    NotFinite,
    /// Edges cross or touch one another.
    Crosses,
}

impl fmt::Display for OutlineError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            OutlineError::Empty => "the outline has no area",
            OutlineError::NotFinite => "a coordinate of the outline is no finite number",
            OutlineError::Crosses => "the outline crosses or touches itself",
        })
    }
}

impl std::error::Error for OutlineError {}

/// A simple polygon, counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    points: Vec<Point>,
    parts: Vec<Vec<Point>>,
}

/// A point round a curved piece and what follows it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chord {
    /// Where the chord starts, millimetres; it ends where the next one starts.
    pub start: Point,
    /// How far the true edge may lie outside the chord, millimetres; 0 for a straight edge.
    pub sag: f64,
}

impl Outline {
    /// The outline through `points`, either way round.
    ///
    /// # Errors
    /// When the points bound no area, are no numbers, or their edges meet.
    pub fn new(points: &[Point]) -> Result<Outline, OutlineError> {
        if points.iter().any(|p| !p.is_finite()) {
            return Err(OutlineError::NotFinite);
        }
        let mut points = cleaned(points);
        if points.len() < 3 {
            return Err(OutlineError::Empty);
        }
        let area = signed_area(&points);
        if area.abs() <= SAME_POINT {
            return Err(OutlineError::Empty);
        }
        if area < 0.0 {
            points.reverse();
        }
        if !is_simple(&points) {
            return Err(OutlineError::Crosses);
        }
        let parts = convex_parts(&points).ok_or(OutlineError::Crosses)?;
        Ok(Outline { points, parts })
    }

    /// The outline round a curved piece given by counter-clockwise chords: every edge moved out by
    /// its sag, so that the outline is never less than the piece.
    ///
    /// # Errors
    /// As [`Outline::new`].
    pub fn around(chords: &[Chord]) -> Result<Outline, OutlineError> {
        let count = chords.len();
        let mut points = Vec::with_capacity(count);
        for here in 0..count {
            let before = chords[(here + count - 1) % count];
            let after = chords[(here + 1) % count];
            points.extend(moved_corner(before, chords[here], after.start));
        }
        Outline::new(&points)
    }

    /// The corners, counter-clockwise, in millimetres.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Convex polygons, counter-clockwise, that fill the outline without overlap.
    pub fn parts(&self) -> &[Vec<Point>] {
        &self.parts
    }

    /// The area in square millimetres.
    pub fn area(&self) -> f64 {
        signed_area(&self.points)
    }

    /// The least upright rectangle round it.
    pub fn bounds(&self) -> Rect {
        bounds(&self.points)
    }

    /// The same outline turned about the origin.
    pub fn turned(&self, turn: Turn) -> Outline {
        let all = |points: &Vec<Point>| points.iter().map(|p| turn.apply(*p)).collect();
        Outline {
            points: all(&self.points),
            parts: self.parts.iter().map(all).collect(),
        }
    }
}

/// The least upright rectangle round `points`.
pub(crate) fn bounds(points: &[Point]) -> Rect {
    let mut found = Rect::new(
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    );
    for p in points {
        found.x0 = found.x0.min(p.x);
        found.y0 = found.y0.min(p.y);
        found.x1 = found.x1.max(p.x);
        found.y1 = found.y1.max(p.y);
    }
    found
}

/// Twice-summed triangles, halved: positive when counter-clockwise.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&base) = points.first() else {
        return 0.0;
    };
    points
        .windows(2)
        .map(|w| (w[0] - base).cross(w[1] - base))
        .sum::<f64>()
        / 2.0
}

/// The exact sign of the turn from `a` to `b` to `c`: positive to the left.
pub(crate) fn side(a: Point, b: Point, c: Point) -> f64 {
    let coord = |p: Point| Coord { x: p.x, y: p.y };
    orient2d(coord(a), coord(b), coord(c))
}

/// Where the corner at `here` goes when the edges before and after it move out by their sags.
fn moved_corner(before: Chord, here: Chord, next: Point) -> Vec<Point> {
    let (into, out) = (here.start - before.start, next - here.start);
    if into.hypot() <= SAME_POINT || out.hypot() <= SAME_POINT {
        return Vec::new();
    }
    let (into, out) = (into / into.hypot(), out / out.hypot());
    let outward = |d: kurbo::Vec2| kurbo::Vec2::new(d.y, -d.x);
    let a = here.start + outward(into) * before.sag;
    let b = here.start + outward(out) * here.sag;
    let turn = into.cross(out);
    // Nearly straight on, or nearly back: both moved ends, joined.
    const STRAIGHT: f64 = 1e-6;
    if turn.abs() < STRAIGHT || into.dot(out) < -0.5 {
        return vec![a, b];
    }
    vec![a + into * ((b - a).cross(out) / turn)]
}

/// The points without repeats and without corners that do not turn.
fn cleaned(points: &[Point]) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for &p in points {
        if kept.last().is_none_or(|q| q.distance(p) > SAME_POINT) {
            kept.push(p);
        }
    }
    while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= SAME_POINT {
        kept.pop();
    }
    let mut at = 0;
    while kept.len() >= 3 && at < kept.len() {
        let count = kept.len();
        let (a, b, c) = (
            kept[(at + count - 1) % count],
            kept[at],
            kept[(at + 1) % count],
        );
        if side(a, b, c) == 0.0 {
            kept.remove(at);
            at = at.saturating_sub(1);
        } else {
            at += 1;
        }
    }
    kept
}

/// Whether no two edges have a point in common but the corner between neighbours.
fn is_simple(points: &[Point]) -> bool {
    let count = points.len();
    let edge = |i: usize| (points[i], points[(i + 1) % count]);
    (0..count).all(|i| {
        (i + 2..count)
            .filter(|j| (j + 1) % count != i)
            .all(|j| !meet(edge(i), edge(j)))
    })
}

/// Whether two closed segments have a point in common; exact.
pub(crate) fn meet(one: (Point, Point), two: (Point, Point)) -> bool {
    let (a, b) = (side(one.0, one.1, two.0), side(one.0, one.1, two.1));
    let (c, d) = (side(two.0, two.1, one.0), side(two.0, two.1, one.1));
    if a == 0.0 && b == 0.0 {
        let within = |p: Point, s: (Point, Point)| {
            p.x >= s.0.x.min(s.1.x)
                && p.x <= s.0.x.max(s.1.x)
                && p.y >= s.0.y.min(s.1.y)
                && p.y <= s.0.y.max(s.1.y)
        };
        return within(two.0, one) || within(two.1, one) || within(one.0, two);
    }
    let opposed = |p: f64, q: f64| !((p > 0.0 && q > 0.0) || (p < 0.0 && q < 0.0));
    opposed(a, b) && opposed(c, d)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(xy: &[(f64, f64)]) -> Vec<Point> {
        xy.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn a_square_is_its_own_part_whichever_way_round() {
        let square = points(&[(0., 0.), (0., 10.), (10., 10.), (10., 0.)]);
        let outline = Outline::new(&square).expect("a square");
        assert_eq!(outline.area(), 100.0);
        assert_eq!(outline.parts().len(), 1);
        assert_eq!(outline.bounds(), Rect::new(0., 0., 10., 10.));
    }

    #[test]
    fn bad_outlines_are_told_apart() {
        let bow = points(&[(0., 0.), (10., 10.), (10., 0.), (0., 10.)]);
        let leaning = points(&[(0., 0.), (10., 10.), (12., 0.), (0., 8.)]);
        assert_eq!(Outline::new(&bow), Err(OutlineError::Empty));
        assert_eq!(Outline::new(&leaning), Err(OutlineError::Crosses));
        let line = points(&[(0., 0.), (10., 0.), (20., 0.)]);
        assert_eq!(Outline::new(&line), Err(OutlineError::Empty));
        let wrong = points(&[(0., 0.), (f64::NAN, 0.), (20., 5.)]);
        assert_eq!(Outline::new(&wrong), Err(OutlineError::NotFinite));
    }

    #[test]
    fn chords_of_a_circle_moved_out_hold_the_circle() {
        let (radius, count) = (100.0, 24);
        let sag = radius * (1.0 - libm::cos(std::f64::consts::PI / count as f64));
        let chords: Vec<Chord> = (0..count)
            .map(|i| Chord {
                start: Turn::degrees(360.0 * i as f64 / count as f64)
                    .apply(Point::new(radius, 0.0)),
                sag,
            })
            .collect();
        let outline = Outline::around(&chords).expect("a circle");
        let corners = outline.points();
        for i in 0..corners.len() {
            let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
            let distance = (b - a).cross(Point::ORIGIN - a) / a.distance(b);
            assert!(distance > radius - 1e-9, "{distance}");
        }
    }
}
