//! What can go wrong, as data. Rendering for people beyond the plain sentence is the caller's.

use std::fmt;

use kurbo::Point;

/// Why an operation on lines and curves has no result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum GeometryError {
    /// A coordinate or a number is not finite, or farther from the origin than
    /// [`FARTHEST`](crate::tolerance::FARTHEST).
    OutOfRange,
    /// A curve needs at least one segment longer than [`SAME`](crate::tolerance::SAME).
    NoLength,
    /// Two parts that should follow each other leave a gap.
    Gap {
        /// Where the first part ends.
        end: Point,
        /// Where the next part starts.
        start: Point,
    },
    /// A stretch ends where it starts, or before.
    EmptyStretch,
    /// Two tracks run along each other for a stretch.
    Overlap {
        /// Where the stretch starts.
        from: Point,
        /// Where it ends.
        to: Point,
    },
    /// A curve bends more sharply than the distance it is moved by.
    TooTight {
        /// The place on the curve.
        at: Point,
    },
    /// A crease for unfolding has a corner.
    CornerInCrease {
        /// The corner.
        at: Point,
    },
    /// The crease stands so steeply to the line that its normal does not reach it.
    NeverReached {
        /// The place on the crease.
        at: Point,
    },
}

impl fmt::Display for GeometryError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::OutOfRange => write!(f, "a coordinate is not a number or too far away"),
            Self::NoLength => write!(f, "the curve has no length"),
            Self::Gap { end, start } => {
                write!(
                    f,
                    "the parts do not meet: one ends at {}, the next starts at {}",
                    at(*end),
                    at(*start)
                )
            }
            Self::EmptyStretch => write!(f, "the stretch ends before it starts"),
            Self::Overlap { from, to } => {
                write!(
                    f,
                    "the two run along each other from {} to {}",
                    at(*from),
                    at(*to)
                )
            }
            Self::TooTight { at: place } => {
                write!(f, "the curve bends too sharply at {}", at(*place))
            }
            Self::CornerInCrease { at: place } => {
                write!(f, "the crease has a corner at {}", at(*place))
            }
            Self::NeverReached { at: place } => {
                write!(
                    f,
                    "the crease is too steep at {}: cloth folded there never reaches the line",
                    at(*place)
                )
            }
        }
    }
}

impl std::error::Error for GeometryError {}

/// Why an outline cannot be made. Edges are named by their index in the input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RingError {
    /// An outline needs at least two edges.
    TooFewEdges {
        /// How many there were.
        edges: usize,
    },
    /// Two neighbours have no crossing, even when both run on straight.
    NoMeeting {
        /// The first edge.
        a: usize,
        /// The edge after it.
        b: usize,
    },
    /// Nothing is left of an edge between its neighbours.
    EdgeSwallowed {
        /// The edge.
        edge: usize,
    },
    /// Two edges cross (or one crosses itself, when `a == b`).
    CrossesItself {
        /// Where.
        at: Point,
        /// The one edge.
        a: usize,
        /// The other edge.
        b: usize,
    },
    /// The line does not divide the outline.
    NotDivided,
    /// The line would leave more than one part.
    ManyParts {
        /// How many.
        parts: usize,
    },
    /// There is not one allowance for each edge, or one of them is negative.
    BadAllowance {
        /// The edge, or the number of edges when the counts differ.
        edge: usize,
    },
    /// An edge cannot be made.
    Edge {
        /// The edge.
        edge: usize,
        /// Why.
        error: GeometryError,
    },
}

impl fmt::Display for RingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFewEdges { edges } => {
                write!(f, "an outline needs two edges or more, not {edges}")
            }
            Self::NoMeeting { a, b } => write!(f, "edges {a} and {b} never meet"),
            Self::EdgeSwallowed { edge } => write!(f, "nothing is left of edge {edge}"),
            Self::CrossesItself { at: place, a, b } if a == b => {
                write!(f, "edge {a} crosses itself at {}", at(*place))
            }
            Self::CrossesItself { at: place, a, b } => {
                write!(f, "edges {a} and {b} cross at {}", at(*place))
            }
            Self::NotDivided => write!(f, "the line does not divide the outline"),
            Self::ManyParts { parts } => write!(f, "the line leaves {parts} parts"),
            Self::BadAllowance { edge } => {
                write!(
                    f,
                    "the allowance of edge {edge} is missing, negative or not a number"
                )
            }
            Self::Edge { edge, error } => write!(f, "edge {edge}: {error}"),
        }
    }
}

impl std::error::Error for RingError {}

/// A point as it appears in a sentence.
fn at(p: Point) -> String {
    format!("({:.2}, {:.2})", p.x, p.y)
}
