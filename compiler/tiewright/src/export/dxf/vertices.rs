//! Curves as vertices: points on the curve so close that the straight lines between them stay
//! within a tolerance of it, each known as a turn or as a point of a smooth curve.

use tiewright_geometry::tolerance::SMOOTH;
use tiewright_geometry::{Curve, Point, Ring, Vec2, flatten_segment};

/// A vertex of a flattened curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    /// On the curve.
    pub at: Point,
    /// Whether the outline turns here; an open curve's ends count as turns.
    pub turn: bool,
}

/// The vertices of an open curve, both ends included, within `tolerance` mm.
pub(super) fn open_vertices(curve: &Curve, tolerance: f64) -> Vec<Place> {
    let mut vertices = vec![Place {
        at: curve.start(),
        turn: true,
    }];
    push_vertices(&mut vertices, curve, tolerance);
    if let Some(last) = vertices.last_mut() {
        last.turn = true;
    }
    vertices
}

/// The vertices of a closed outline within `tolerance` mm, none repeated at the end.
pub(super) fn ring_vertices(ring: &Ring, tolerance: f64) -> Vec<Place> {
    let mut vertices = Vec::with_capacity(64);
    let edges = ring.edges();
    for (edge, next) in edges.iter().zip(edges.iter().cycle().skip(1)) {
        push_vertices(&mut vertices, &edge.curve, tolerance);
        if let Some(last) = vertices.last_mut() {
            last.turn = turns(edge.curve.end_tangent(), next.curve.start_tangent());
        }
    }
    // The walk above starts after the first corner; start at it.
    let first = usize::from(!vertices.is_empty());
    vertices.rotate_right(first);
    vertices
}

/// Every vertex after the curve's start.
fn push_vertices(vertices: &mut Vec<Place>, curve: &Curve, tolerance: f64) {
    let corners = curve.corners();
    let is_corner = |seg: usize| {
        corners
            .iter()
            .any(|c| (c.seg == seg && c.t >= 1.0) || (c.seg == seg + 1 && c.t <= 0.0))
    };
    for (seg, segment) in curve.segments().iter().enumerate() {
        let mut is_start = true;
        flatten_segment(segment, tolerance, &mut |at| {
            if !std::mem::take(&mut is_start) {
                vertices.push(Place { at, turn: false });
            }
        });
        if let Some(last) = vertices.last_mut() {
            last.turn = is_corner(seg);
        }
    }
}

/// Whether the direction changes by more than [`SMOOTH`].
fn turns(a: Vec2, b: Vec2) -> bool {
    libm::atan2(a.cross(b), a.dot(b)).abs() > SMOOTH
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiewright_geometry::Place as On;

    fn taper() -> Curve {
        Curve::cubic(
            Point::new(0.0, 0.0),
            Point::new(40.0, 90.0),
            Point::new(160.0, -70.0),
            Point::new(200.0, 30.0),
        )
        .expect("a curve")
    }

    #[test]
    fn chords_keep_the_tolerance_and_not_much_more() {
        let curve = taper();
        for tolerance in [1.0, 0.1, 0.05, 0.01, 0.001] {
            let vertices = open_vertices(&curve, tolerance);
            let chords: Vec<Curve> = vertices
                .windows(2)
                .map(|w| Curve::line(w[0].at, w[1].at).expect("a chord"))
                .collect();
            let off = |k: u32| {
                let place = On {
                    seg: 0,
                    t: f64::from(k) / 5000.0,
                };
                let p = curve.eval(place);
                chords
                    .iter()
                    .map(|c| c.nearest(p).1)
                    .fold(f64::INFINITY, f64::min)
            };
            let worst = (0..=5000).map(off).fold(0.0, f64::max);
            assert!(worst <= tolerance, "{worst} at {tolerance}");
            assert!(worst >= tolerance / 4.0, "{worst} at {tolerance}: wasteful");
        }
    }

    #[test]
    fn only_corners_and_ends_are_turns() {
        let curve = Curve::chain(&[
            taper(),
            Curve::line(Point::new(200.0, 30.0), Point::new(300.0, 30.0)).expect("a line"),
        ])
        .expect("a chain");
        let vertices = open_vertices(&curve, 0.05);
        let turns: Vec<Point> = vertices.iter().filter(|v| v.turn).map(|v| v.at).collect();
        let expected = [
            Point::ZERO,
            Point::new(200.0, 30.0),
            Point::new(300.0, 30.0),
        ];
        assert_eq!(turns, expected);
        assert!(vertices.iter().all(|v| curve.nearest(v.at).1 < 1e-9));
    }

    /// The bound as it is written in books (Wang): √(¾ · greatest second difference / tolerance).
    #[test]
    fn no_more_vertices_than_the_bound_asks_for() {
        let greatest = f64::hypot(40.0 - 2.0 * 160.0 + 200.0, 90.0 + 2.0 * 70.0 + 30.0)
            .max(f64::hypot(0.0 - 2.0 * 40.0 + 160.0, -2.0 * 90.0 - 70.0));
        for tolerance in [0.5, 0.05, 0.005] {
            let sides = (0.75 * greatest / tolerance).sqrt().ceil();
            assert_eq!(open_vertices(&taper(), tolerance).len(), sides as usize + 1);
        }
    }

    #[test]
    fn a_senseless_tolerance_is_bounded() {
        let finest = open_vertices(&taper(), tiewright_geometry::tolerance::SAME).len();
        for tolerance in [0.0, -1.0, f64::NAN] {
            assert_eq!(open_vertices(&taper(), tolerance).len(), finest);
        }
        assert_eq!(open_vertices(&taper(), f64::INFINITY).len(), 2);
    }
}
