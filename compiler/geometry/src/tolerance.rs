//! The tolerances of the crate, each with its unit and its reason. Nothing here computes.

/// Millimetres. How far a fitted curve (unfolded, offset) may lie from the true one: a tenth of
/// a thread of fine cloth, far below what a knife can follow.
pub const FIT: f64 = 0.005;

/// Millimetres. Two points nearer than this are one: a thousand times coarser than rounding at
/// the size of a marker, a thousand times finer than [`FIT`].
pub const SAME: f64 = 1e-6;

/// Millimetres. Ends of curves that were computed on different ways and are this near are
/// joined.
pub const JOIN: f64 = 10.0 * SAME;

/// Millimetres. Accuracy of the length of one segment, so that sums over an outline stay below
/// [`SAME`].
pub const ARC: f64 = 1e-7;

/// Radians. A turn smaller than this is smooth, a larger one is a corner: at the edge of a
/// 3 mm seam the two differ by 3 µm, less than [`FIT`].
pub const SMOOTH: f64 = 1e-3;

/// Millimetres. A vector shorter than this has no direction that could be told from rounding, a
/// few metres from the origin.
pub const NO_DIRECTION: f64 = 1e-9;

/// Sine of an angle. Directions nearer than this to parallel have no meeting point that could
/// be told from rounding.
pub const PARALLEL: f64 = 1e-12;

/// Millimetres. No coordinate may lie farther from the origin: ten kilometres of cloth, where
/// coordinates are still told apart to 2e-9 mm.
pub const FARTHEST: f64 = 1e7;

/// Millimetres. An edge that runs on straight to meet its neighbour goes no farther than this:
/// a hundred metres, longer than any table.
pub const RUN_ON: f64 = 1e5;

/// Millimetres. Parts of a clipped line shorter than this are dropped: no pen can draw them.
pub const SCRAP: f64 = 0.01;

/// Millimetres. Accuracy of the extremes of a distance between two boundaries.
pub const GAP: f64 = 1e-4;

/// Millimetres. What a Newton iteration on a crossing must reach.
pub const CROSSING: f64 = 1e-9;

/// Millimetres. Parts of two curves this small that still come within [`SAME`] of each other
/// without crossing clearly are touching: in such a part a curve of 1 mm radius departs from its
/// tangent by less than [`SAME`].
pub const TOUCH: f64 = 1e-3;

/// A ratio, not a length. The library that flattens compares its bound on the distance in single
/// precision, which rounds by up to 6e-8; it is asked for this much less, so that what comes out
/// is within the tolerance and not a hair outside.
pub const FLATTENING: f64 = 1.0 - 1e-6;
