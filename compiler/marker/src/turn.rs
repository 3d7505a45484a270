//! How far a piece is turned on the cloth.
//!
//! Never mirrors.

use kurbo::Point;

use crate::tolerance::PARALLEL;

/// A turn about the origin, counter-clockwise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    cos: f64,
    sin: f64,
}

impl Turn {
    /// Not turned.
    pub const NONE: Turn = Turn { cos: 1.0, sin: 0.0 };
    /// A quarter: warp becomes weft.
    pub const QUARTER: Turn = Turn { cos: 0.0, sin: 1.0 };
    /// Half way round: head becomes tail.
    pub const HALF: Turn = Turn {
        cos: -1.0,
        sin: 0.0,
    };
    /// Three quarters.
    pub const THREE_QUARTERS: Turn = Turn {
        cos: 0.0,
        sin: -1.0,
    };

    /// A turn by `degrees`; exact for every multiple of 90.
    pub fn degrees(degrees: f64) -> Turn {
        let rest = degrees - 360.0 * libm::floor(degrees / 360.0);
        if rest == 0.0 {
            Turn::NONE
        } else if rest == 90.0 {
            Turn::QUARTER
        } else if rest == 180.0 {
            Turn::HALF
        } else if rest == 270.0 {
            Turn::THREE_QUARTERS
        } else {
            let angle = rest.to_radians();
            Turn {
                cos: libm::cos(angle),
                sin: libm::sin(angle),
            }
        }
    }

    /// The turn in degrees, from 0 to less than 360.
    pub fn to_degrees(self) -> f64 {
        let degrees = libm::atan2(self.sin, self.cos).to_degrees();
        if degrees < 0.0 {
            degrees + 360.0
        } else {
            degrees
        }
    }

    /// `point` turned.
    pub fn apply(self, point: Point) -> Point {
        Point::new(
            self.cos * point.x - self.sin * point.y,
            self.sin * point.x + self.cos * point.y,
        )
    }

    /// Whether the turns are the same or opposite.
    pub(crate) fn is_parallel(self, other: Turn) -> bool {
        (self.cos * other.sin - self.sin * other.cos).abs() <= PARALLEL
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quarters_are_exact() {
        let point = Point::new(3.0, 4.0);
        assert_eq!(Turn::degrees(90.0).apply(point), Point::new(-4.0, 3.0));
        assert_eq!(Turn::degrees(-180.0).apply(point), Point::new(-3.0, -4.0));
        assert_eq!(Turn::degrees(630.0), Turn::THREE_QUARTERS);
    }

    #[test]
    fn degrees_come_back() {
        for degrees in [0.0, 12.5, 45.0, 90.0, 179.0, 180.0, 271.0, 359.0] {
            assert!((Turn::degrees(degrees).to_degrees() - degrees).abs() < 1e-9);
        }
    }
}
