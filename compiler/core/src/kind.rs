//! Kinds: what sort of thing a value is, so that a length is never added to an angle.

use std::fmt;

/// The dimension of a quantity: powers of length and of angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Dim {
    /// Power of length; 1 is a length, 2 an area.
    pub length: i8,
    /// Power of angle.
    pub angle: i8,
}

impl Dim {
    /// A plain number.
    pub const PLAIN: Dim = Dim {
        length: 0,
        angle: 0,
    };
    /// A length.
    pub const LENGTH: Dim = Dim {
        length: 1,
        angle: 0,
    };
    /// An area.
    pub const AREA: Dim = Dim {
        length: 2,
        angle: 0,
    };
    /// An angle.
    pub const ANGLE: Dim = Dim {
        length: 0,
        angle: 1,
    };

    /// The dimension of a product, unless it is out of any use here (beyond the fourth power).
    pub fn times(self, other: Dim) -> Option<Dim> {
        Self::small(self.length + other.length, self.angle + other.angle)
    }

    /// The dimension of a quotient, with the same limit.
    pub fn over(self, other: Dim) -> Option<Dim> {
        Self::small(self.length - other.length, self.angle - other.angle)
    }

    /// The dimension of a square root.
    pub fn root(self) -> Option<Dim> {
        (self.length % 2 == 0 && self.angle % 2 == 0).then_some(Dim {
            length: self.length / 2,
            angle: self.angle / 2,
        })
    }

    fn small(length: i8, angle: i8) -> Option<Dim> {
        (length.abs() <= 4 && angle.abs() <= 4).then_some(Dim { length, angle })
    }
}

impl fmt::Display for Dim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.length, self.angle) {
            (0, 0) => f.write_str("a number"),
            (1, 0) => f.write_str("a length"),
            (2, 0) => f.write_str("an area"),
            (0, 1) => f.write_str("an angle"),
            (l, 0) => write!(f, "a length to the power {l}"),
            (0, a) => write!(f, "an angle to the power {a}"),
            (l, a) => write!(f, "length to the power {l} times angle to the power {a}"),
        }
    }
}

/// The kind of a value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A number with a dimension.
    Quantity(Dim),
    /// Yes or no.
    Truth,
    /// A place on the table, or a step from one place to another.
    Point,
    /// An endless straight line.
    Line,
    /// A line with two ends.
    Curve,
    /// A closed outline.
    Outline,
    /// A piece or pattern.
    Piece,
    /// Pieces sewn and folded.
    Assembly,
    /// A cloth.
    Cloth,
    /// Not known because of an error already reported; agrees with everything.
    Unknown,
}

impl Kind {
    /// A plain number.
    pub const NUMBER: Kind = Kind::Quantity(Dim::PLAIN);
    /// A length.
    pub const LENGTH: Kind = Kind::Quantity(Dim::LENGTH);
    /// An area.
    pub const AREA: Kind = Kind::Quantity(Dim::AREA);
    /// An angle.
    pub const ANGLE: Kind = Kind::Quantity(Dim::ANGLE);

    /// Whether a value of this kind can stand where `wanted` is asked for.
    pub fn fits(self, wanted: Kind) -> bool {
        self == wanted || self == Kind::Unknown || wanted == Kind::Unknown
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Kind::Quantity(dim) => dim.fmt(f),
            Kind::Truth => f.write_str("a yes or no"),
            Kind::Point => f.write_str("a point"),
            Kind::Line => f.write_str("an endless line"),
            Kind::Curve => f.write_str("a curve"),
            Kind::Outline => f.write_str("an outline"),
            Kind::Piece => f.write_str("a piece"),
            Kind::Assembly => f.write_str("an assembly"),
            Kind::Cloth => f.write_str("a cloth"),
            Kind::Unknown => f.write_str("something"),
        }
    }
}
