//! No-fit polygons: where the origin of one piece must not lie, seen from another.
//!
//! In: two pieces as convex parts, and the gap. Out: for every pair of parts a convex polygon as
//! half planes; a piece whose origin is in one of them, seen from the origin of the other piece,
//! is too near. Never: places on the cloth. The polygon of two convex parts A (lying) and B (moved)
//! is the Minkowski sum of A and −B, widened by the gap: one half plane for every edge of either,
//! as far out as both reach that way.

use kurbo::{Point, Rect, Vec2};

use crate::outline::bounds;
use crate::slant::Slant;
use crate::tolerance::{PARALLEL, ROUND_STEP_COS};

/// Half planes dealt with at a time.
const LANES: usize = 4;

/// Four half planes `nx·x + ny·y < h`, laid out for arithmetic on all of them at once.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Planes {
    pub(crate) nx: [f64; LANES],
    pub(crate) ny: [f64; LANES],
    pub(crate) h: [f64; LANES],
    /// By how much half a side of a box along each axis widens it, for the axes of each [`Slant`].
    wide: [[[f64; LANES]; 2]; 2],
}

/// A plane that never binds.
const FREE: Planes = Planes {
    nx: [0.0; LANES],
    ny: [0.0; LANES],
    h: [f64::MAX; LANES],
    wide: [[[0.0; LANES]; 2]; 2],
};

/// The slants in the order they are kept in.
const SLANTS: [Slant; 2] = [Slant::Upright, Slant::Diagonal];

/// A convex polygon no origin may lie in.
#[derive(Clone, Debug)]
pub(crate) struct Convex {
    planes: Vec<Planes>,
    /// Unit normals outward, counter-clockwise, each with its distance from the origin.
    sides: Vec<(Vec2, f64)>,
    /// Corner `i` is between side `i` and the next.
    corners: Vec<Point>,
    /// The box round it along the axes of each [`Slant`].
    bounds: [Rect; 2],
}

/// How deep a box of places is in a convex polygon.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Depths {
    /// Nowhere in the box less deep than this; not above 0: the box is not all inside.
    pub(crate) least: f64,
    /// In the middle; negative outside.
    pub(crate) middle: f64,
    /// Nowhere deeper than this; not above 0: the box is all outside.
    pub(crate) most: f64,
}

impl Convex {
    /// The polygon for the convex `lying` and the convex `moved`, both counter-clockwise.
    pub(crate) fn new(lying: &[Point], moved: &[Point], gap: f64) -> Convex {
        let mut normals = edge_normals(lying);
        normals.extend(edge_normals(moved).iter().map(|n| -*n));
        sort_round(&mut normals);
        if gap > 0.0 {
            normals = with_round_corners(&normals);
        }
        let reach = |n: &Vec2| {
            let most = lying.iter().map(|p| n.dot(p.to_vec2()));
            let least = moved.iter().map(|p| n.dot(p.to_vec2()));
            most.fold(f64::NEG_INFINITY, f64::max) - least.fold(f64::INFINITY, f64::min) + gap
        };
        let sides: Vec<(Vec2, f64)> = normals.iter().map(|n| (*n, reach(n))).collect();
        let corners: Vec<Point> = (0..sides.len())
            .map(|i| crossing(sides[i], sides[(i + 1) % sides.len()]))
            .collect();
        Convex {
            planes: packed(&sides),
            bounds: SLANTS.map(|slant| {
                let round = |part: &[Point]| {
                    let all: Vec<Point> = part.iter().map(|p| slant.seen(*p)).collect();
                    bounds(&all)
                };
                difference(round(lying), round(moved)).inflate(gap, gap)
            }),
            sides,
            corners,
        }
    }

    /// The sides: unit normal outward and distance from the origin.
    pub(crate) fn sides(&self) -> &[(Vec2, f64)] {
        &self.sides
    }

    /// The corners, counter-clockwise; the edge of side `i` ends in corner `i`.
    pub(crate) fn corners(&self) -> &[Point] {
        &self.corners
    }

    /// The box round it along the axes of a slant.
    pub(crate) fn bounds(&self, slant: Slant) -> Rect {
        self.bounds[slant as usize]
    }

    /// How far the place is inside: the length of the least move that leaves. Outside it is
    /// negative, and no further from 0 than the distance.
    pub(crate) fn depth(&self, x: f64, y: f64) -> f64 {
        let mut least = [f64::MAX; LANES];
        for p in &self.planes {
            for (k, least) in least.iter_mut().enumerate() {
                let v = p.h[k] - p.nx[k] * x - p.ny[k] * y;
                *least = if v < *least { v } else { *least };
            }
        }
        lowest(least)
    }

    /// [`Convex::depth`] over a box round a place; its half sides lie along the axes of a slant.
    pub(crate) fn depths(&self, x: f64, y: f64, (rx, ry): (f64, f64), slant: Slant) -> Depths {
        let mut middle = [f64::MAX; LANES];
        let mut least = [f64::MAX; LANES];
        let mut most = [f64::MAX; LANES];
        for p in &self.planes {
            let [wx, wy] = &p.wide[slant as usize];
            for k in 0..LANES {
                let v = p.h[k] - p.nx[k] * x - p.ny[k] * y;
                let r = wx[k] * rx + wy[k] * ry;
                let (low, high) = (v - r, v + r);
                middle[k] = if v < middle[k] { v } else { middle[k] };
                least[k] = if low < least[k] { low } else { least[k] };
                most[k] = if high < most[k] { high } else { most[k] };
            }
        }
        Depths {
            least: lowest(least),
            middle: lowest(middle),
            most: lowest(most),
        }
    }

    /// The side a place is least deep behind, or furthest outside of, and that depth.
    pub(crate) fn nearest_side(&self, x: f64, y: f64) -> (usize, f64) {
        let depth = |(n, h): &(Vec2, f64)| h - n.x * x - n.y * y;
        self.sides
            .iter()
            .map(depth)
            .enumerate()
            .fold(
                (0, f64::MAX),
                |best, (i, d)| {
                    if d < best.1 { (i, d) } else { best }
                },
            )
    }

    /// The places on the level line `y` deeper inside than `clear`, from x to x, if any.
    pub(crate) fn run(&self, y: f64, clear: f64) -> Option<(f64, f64)> {
        let (mut from, mut to) = (f64::NEG_INFINITY, f64::INFINITY);
        for (n, h) in &self.sides {
            let room = h - clear - n.y * y;
            if n.x.abs() <= PARALLEL {
                if room <= 0.0 {
                    return None;
                }
            } else if n.x > 0.0 {
                to = to.min(room / n.x);
            } else {
                from = from.max(room / n.x);
            }
        }
        (from < to).then_some((from, to))
    }
}

/// The places of the origin of one box where it meets another.
fn difference(lying: Rect, moved: Rect) -> Rect {
    Rect::new(
        lying.x0 - moved.x1,
        lying.y0 - moved.y1,
        lying.x1 - moved.x0,
        lying.y1 - moved.y0,
    )
}

fn lowest(lanes: [f64; LANES]) -> f64 {
    let less = |a: f64, b: f64| if a < b { a } else { b };
    less(less(lanes[0], lanes[1]), less(lanes[2], lanes[3]))
}

fn packed(sides: &[(Vec2, f64)]) -> Vec<Planes> {
    sides
        .chunks(LANES)
        .map(|four| {
            let mut planes = FREE;
            for (k, (n, h)) in four.iter().enumerate() {
                planes.nx[k] = n.x;
                planes.ny[k] = n.y;
                planes.h[k] = *h;
                for slant in SLANTS {
                    let along = slant.seen(n.to_point());
                    planes.wide[slant as usize][0][k] = along.x.abs();
                    planes.wide[slant as usize][1][k] = along.y.abs();
                }
            }
            planes
        })
        .collect()
}

fn edge_normals(part: &[Point]) -> Vec<Vec2> {
    let next = part.iter().cycle().skip(1);
    part.iter()
        .zip(next)
        .map(|(a, b)| *b - *a)
        .filter(|d| d.hypot2() > 0.0)
        .map(|d| Vec2::new(d.y, -d.x) / d.hypot())
        .collect()
}

/// Sorts unit vectors counter-clockwise and drops those that point the way of another.
fn sort_round(normals: &mut Vec<Vec2>) {
    let lower = |v: &Vec2| v.y < 0.0 || (v.y == 0.0 && v.x < 0.0);
    normals.sort_by(|a, b| {
        lower(a)
            .cmp(&lower(b))
            .then_with(|| 0.0_f64.total_cmp(&a.cross(*b)))
    });
    let same = |a: &Vec2, b: &Vec2| a.cross(*b).abs() <= PARALLEL && a.dot(*b) > 0.0;
    normals.dedup_by(|b, a| same(a, b));
    while normals.len() > 1 && same(&normals[0], &normals[normals.len() - 1]) {
        normals.pop();
    }
}

/// Normals between those further apart than the round step, so that a corner widened by the gap
/// is cut about as the true round runs, and never inside of it.
fn with_round_corners(normals: &[Vec2]) -> Vec<Vec2> {
    let mut all = Vec::with_capacity(normals.len() * 2);
    for (i, &from) in normals.iter().enumerate() {
        let to = normals[(i + 1) % normals.len()];
        all.push(from);
        fill_turn(from, to, &mut all);
    }
    all
}

fn fill_turn(from: Vec2, to: Vec2, all: &mut Vec<Vec2>) {
    let sum = from + to;
    if from.dot(to) >= ROUND_STEP_COS - PARALLEL || sum.hypot() <= PARALLEL {
        return;
    }
    let middle = sum / sum.hypot();
    fill_turn(from, middle, all);
    all.push(middle);
    fill_turn(middle, to, all);
}

fn crossing((n, h): (Vec2, f64), (m, g): (Vec2, f64)) -> Point {
    let turn = n.cross(m);
    Point::new((h * m.y - g * n.y) / turn, (g * n.x - h * m.x) / turn)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(width: f64, height: f64) -> Vec<Point> {
        [(0., 0.), (width, 0.), (width, height), (0., height)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    }

    #[test]
    fn rectangles_give_the_rectangle_of_both() {
        let convex = Convex::new(&rectangle(30., 20.), &rectangle(10., 5.), 0.0);
        assert_eq!(
            convex.bounds(Slant::Upright),
            Rect::new(-10., -5., 30., 20.)
        );
        assert_eq!(convex.sides().len(), 4);
        assert_eq!(convex.depth(0.0, 0.0), 5.0);
        assert_eq!(convex.depth(33.0, 0.0), -3.0);
        assert_eq!(convex.run(0.0, 0.0), Some((-10., 30.)));
        assert_eq!(convex.run(20.0, 0.0), None);
    }

    #[test]
    fn a_gap_widens_and_rounds() {
        let convex = Convex::new(&rectangle(30., 20.), &rectangle(10., 5.), 4.0);
        assert_eq!(
            convex.bounds(Slant::Upright),
            Rect::new(-14., -9., 34., 24.)
        );
        assert_eq!(convex.sides().len(), 8);
        let corner = (4.0 + 1e-9) * std::f64::consts::FRAC_1_SQRT_2;
        assert!(convex.depth(30.0 + corner, 20.0 + corner) <= 0.0);
        let near = 3.99 * std::f64::consts::FRAC_1_SQRT_2;
        assert!(convex.depth(30.0 + near, 20.0 + near) > 0.0);
    }

    #[test]
    fn a_box_is_no_less_and_no_more_deep_than_its_places() {
        let triangle = [(0., 0.), (50., 10.), (20., 40.)].map(|(x, y)| Point::new(x, y));
        let convex = Convex::new(&triangle, &rectangle(10., 5.), 1.0);
        for step in 0..40 {
            let (x, y) = (f64::from(step) * 2.0 - 20.0, f64::from(step) - 10.0);
            for slant in SLANTS {
                let depths = convex.depths(x, y, (3.0, 2.0), slant);
                assert_eq!(depths.middle, convex.depth(x, y));
                for (dx, dy) in [(3., 2.), (-3., 2.), (3., -2.), (-3., -2.), (1., 0.5)] {
                    let by = slant.on_cloth(Point::new(dx, dy));
                    let depth = convex.depth(x + by.x, y + by.y);
                    assert!(depth >= depths.least - 1e-12 && depth <= depths.most + 1e-12);
                }
            }
        }
    }

    #[test]
    fn corners_lie_on_the_edge() {
        let triangle = [(0., 0.), (50., 10.), (20., 40.)].map(|(x, y)| Point::new(x, y));
        let convex = Convex::new(&triangle, &triangle, 2.0);
        for corner in convex.corners() {
            assert!(convex.depth(corner.x, corner.y).abs() < 1e-9);
        }
    }
}
