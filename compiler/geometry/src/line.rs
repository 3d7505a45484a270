//! The endless directed straight line. Pure arithmetic: nothing here fails but by returning
//! `None`.

use kurbo::{Affine, Point, Vec2};

use crate::segment::{finite, unit};
use crate::tolerance::{FARTHEST, PARALLEL};

/// An endless straight line with a direction; "left" is seen looking along it with `y` upwards.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// A point of the line, mm. Distances along the line count from here.
    pub point: Point,
    /// The unit vector along the line.
    pub direction: Vec2,
}

impl Line {
    /// The line from `a` through `b`; `None` if they are one point or not finite.
    pub fn through(a: Point, b: Point) -> Option<Self> {
        if !finite(a) || !finite(b) {
            return None;
        }
        unit(b - a).map(|direction| Self {
            point: a,
            direction,
        })
    }

    /// The line through `point` at `angle` radians, counter-clockwise from the x axis.
    pub fn at_angle(point: Point, angle: f64) -> Self {
        let direction = Vec2::new(libm::cos(angle), libm::sin(angle));
        Self { point, direction }
    }

    /// The unit vector to the left of the line.
    pub fn normal(&self) -> Vec2 {
        Vec2::new(-self.direction.y, self.direction.x)
    }

    /// The point at `distance` mm along the line from its own point.
    pub fn at(&self, distance: f64) -> Point {
        self.point + distance * self.direction
    }

    /// How far along the line the foot of `p` lies, mm.
    pub fn along(&self, p: Point) -> f64 {
        (p - self.point).dot(self.direction)
    }

    /// Signed distance of `p`, mm, positive on the left.
    pub fn side(&self, p: Point) -> f64 {
        self.direction.cross(p - self.point)
    }

    /// The point of the line nearest to `p`.
    pub fn foot(&self, p: Point) -> Point {
        self.at(self.along(p))
    }

    /// The reflection in the line.
    pub fn mirror(&self) -> Affine {
        let (c, s) = (self.direction.x, self.direction.y);
        let (cc, cs) = (c * c - s * s, 2.0 * c * s);
        let p = self.point;
        let moved = Vec2::new(p.x - (cc * p.x + cs * p.y), p.y - (cs * p.x - cc * p.y));
        Affine::new([cc, cs, cs, -cc, moved.x, moved.y])
    }

    /// The parallel line at `distance` mm to the left.
    pub fn offset(&self, distance: f64) -> Self {
        Self {
            point: self.point + distance * self.normal(),
            ..*self
        }
    }

    /// The same line walked the other way.
    pub fn reversed(&self) -> Self {
        Self {
            direction: -self.direction,
            ..*self
        }
    }

    /// Where two lines cross; `None` if they are parallel or cross farther away than
    /// [`FARTHEST`].
    pub fn meet(&self, other: &Self) -> Option<Point> {
        let sine = self.direction.cross(other.direction);
        if sine.abs() < PARALLEL {
            return None;
        }
        let distance = (other.point - self.point).cross(other.direction) / sine;
        let p = self.at(distance);
        (finite(p) && distance.abs() <= FARTHEST).then_some(p)
    }

    /// The image under a map that keeps its length apart from zero; a map that squeezes the line to a point leaves the
    /// direction as it was.
    pub fn transformed(&self, map: Affine) -> Self {
        let point = map * self.point;
        let ahead = map * (self.point + self.direction);
        Self {
            point,
            direction: unit(ahead - point).unwrap_or(self.direction),
        }
    }
}
