//! Plane geometry of cloth patterns, in millimetres and radians.
//!
//! Straight lines, open curves of straight and cubic Bézier segments, their crossings and
//! parallels, the unfolding of cloth over a crease, closed outlines of named edges with seam
//! allowances, distances, and an independent folding to prove a pattern by.
//!
//! The crate knows no language and no garment; it reads and writes nothing but values, and the
//! same input gives the same bits on every machine: only `+ - * /` and the square root, which
//! IEEE 754 rounds exactly, and `libm` for angles.

mod allowance;
mod bernstein;
mod crossing;
mod crossing_cubics;
mod curve;
mod distance;
mod ease;
mod error;
mod extreme;
mod fit;
mod line;
mod meet;
mod net;
mod offset;
mod refold;
mod refold_foot;
mod refold_polygon;
mod ring;
mod ring_corners;
mod ring_parts;
mod segment;
mod simple;
pub mod tolerance;
mod track;
mod unfold;

pub use allowance::with_allowance;
pub use curve::{Curve, Place};
pub use distance::{clearance, gap};
pub use ease::{Ease, ease};
pub use error::{GeometryError, RingError};
pub use kurbo::{Affine, PathSeg, Point, Rect, Vec2};
pub use line::Line;
pub use meet::{Meeting, Position, meet};
pub use net::Net;
pub use offset::offset;
pub use refold::{Crease, Folded, Refold};
pub use refold_polygon::Layer;
pub use ring::{Edge, Ring, flatten_segment};
pub use track::Track;
pub use unfold::{unfold_curve, unfold_line, unfold_point};
