//! The axes along which places for a piece are searched: those of the cloth, or for long pieces cut on
//! the bias the diagonals, along which they lie, so that boxes of places follow their edges.
//!
//! In: an outline, or a place on the cloth. Out: its axes, or the same place in them. Never: what is
//! searched.

use kurbo::{Point, Rect};

use crate::outline::Outline;
use crate::turn::Turn;

/// A choice of axes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slant {
    /// Along the cloth and across it.
    Upright,
    /// The diagonals.
    Diagonal,
}

/// The diagonals are taken if the box along them round an outline has no more than this share of the
/// area of the upright box.
const SLENDER: f64 = 0.7;

/// Sine and cosine of 45°.
const DIAGONAL: f64 = std::f64::consts::FRAC_1_SQRT_2;

impl Slant {
    /// The axes that suit a piece.
    pub(crate) fn of(outline: &Outline) -> Slant {
        let slanted = outline.turned(Turn::degrees(45.0)).bounds().area();
        if slanted <= SLENDER * outline.bounds().area() {
            Slant::Diagonal
        } else {
            Slant::Upright
        }
    }

    /// A place on the cloth in these axes.
    pub(crate) fn seen(self, p: Point) -> Point {
        match self {
            Slant::Upright => p,
            Slant::Diagonal => Point::new((p.x - p.y) * DIAGONAL, (p.x + p.y) * DIAGONAL),
        }
    }

    /// A place in these axes on the cloth.
    pub(crate) fn on_cloth(self, p: Point) -> Point {
        match self {
            Slant::Upright => p,
            Slant::Diagonal => Point::new((p.x + p.y) * DIAGONAL, (p.y - p.x) * DIAGONAL),
        }
    }

    /// The box in these axes round a box of the cloth.
    pub(crate) fn round(self, rect: Rect) -> Rect {
        match self {
            Slant::Upright => rect,
            Slant::Diagonal => {
                let r = (rect.width() + rect.height()) / 2.0 * DIAGONAL;
                Rect::from_center_size(self.seen(rect.center()), (2.0 * r, 2.0 * r))
            }
        }
    }

    /// Whether a box in these axes, round a place on the cloth, has no place of `range`. Asked only of
    /// parts of [`Slant::round`].
    pub(crate) fn misses(self, range: Rect, middle: Point, (rx, ry): (f64, f64)) -> bool {
        let reach = match self {
            // Such parts are parts of the range.
            Slant::Upright => return false,
            Slant::Diagonal => (rx + ry) * DIAGONAL,
        };
        !range.inflate(reach, reach).contains(middle)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_come_back_and_boxes_hold_their_corners() {
        let rect = Rect::new(-3.0, 2.0, 40.0, 9.0);
        for slant in [Slant::Upright, Slant::Diagonal] {
            let round = slant.round(rect).inflate(1e-9, 1e-9);
            for (x, y) in [
                (rect.x0, rect.y0),
                (rect.x1, rect.y0),
                (rect.x0, rect.y1),
                (7.0, 5.0),
            ] {
                let place = slant.seen(Point::new(x, y));
                assert!(round.contains(place));
                assert!(slant.on_cloth(place).distance(Point::new(x, y)) < 1e-12);
            }
        }
    }

    #[test]
    fn a_strip_on_the_bias_lies_along_the_diagonal() {
        let outline = |xy: [(f64, f64); 4]| Outline::new(&xy.map(Point::from)).expect("an outline");
        let strip = outline([(0., 0.), (10., 0.), (60., 50.), (50., 50.)]);
        assert_eq!(Slant::of(&strip), Slant::Diagonal);
        let square = outline([(0., 0.), (10., 0.), (10., 10.), (0., 10.)]);
        assert_eq!(Slant::of(&square), Slant::Upright);
    }
}
