//! Outlines of pieces as closed polygons, and the convex parts they are made of.
//!
//! In: points round a piece, in millimetres. Out: a simple polygon, counter-clockwise, and convex parts
//! that fill it exactly. Never: curves, cloth, places on it.

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
}
