//! The closed outline of named edges.

use std::sync::Arc;

use kurbo::{Affine, BezPath, Point, Rect, Vec2};

use crate::curve::Curve;
use crate::error::RingError;
use crate::line::Line;
use crate::track::Track;

/// One edge of an outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Its name; pieces of one edge keep it, so a name may occur more than once.
    pub name: Arc<str>,
    /// Its curve, in the direction of the walk.
    pub curve: Curve,
}

/// A closed outline that does not cross itself. Each edge starts exactly where the last ends;
/// the walk is clockwise (with `y` upwards), so the outside is on the left.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    edges: Vec<Edge>,
}

impl Ring {
    /// The outline of edges drawn longer or shorter than they are.
    pub fn from_tracks(tracks: Vec<(Arc<str>, Track)>) -> Result<Self, RingError> {
        let _ = tracks;
        unimplemented!()
    }

    /// The outline of edges that meet already.
    pub fn from_edges(edges: Vec<Edge>) -> Result<Self, RingError> {
        let _ = edges;
        unimplemented!()
    }

    /// The edges in the order of the walk.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The first edge of that name.
    pub fn edge(&self, name: &str) -> Option<&Edge> {
        self.edges.iter().find(|edge| &*edge.name == name)
    }

    /// Area, mm², positive.
    pub fn area(&self) -> f64 {
        unimplemented!()
    }

    /// Length of the boundary, mm.
    pub fn perimeter(&self) -> f64 {
        self.edges.iter().map(|edge| edge.curve.length()).sum()
    }

    /// The smallest rectangle round the outline.
    pub fn bounds(&self) -> Rect {
        unimplemented!()
    }

    /// Whether `p` lies inside or on the boundary.
    pub fn contains(&self, p: Point) -> bool {
        self.signed_distance(p) >= 0.0
    }

    /// Distance of `p` from the boundary, mm, positive inside.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let _ = p;
        unimplemented!()
    }

    /// Centre of the area.
    pub fn centroid(&self) -> Point {
        unimplemented!()
    }

    /// The image under a map.
    pub fn transformed(&self, map: Affine) -> Self {
        let _ = map;
        unimplemented!()
    }

    /// The outline as one closed path.
    pub fn path(&self) -> BezPath {
        unimplemented!()
    }

    /// The outline as a polygon whose sides lie within `tol` mm of it; no point repeated.
    pub fn flatten(&self, tol: f64) -> Vec<Point> {
        let _ = tol;
        unimplemented!()
    }

    /// The corners.
    pub fn turn_points(&self) -> Vec<Point> {
        unimplemented!()
    }

    /// The part on the side of `keep`, closed by a straight edge along `line`.
    pub fn cut_along(&self, line: &Line, keep: Point, name: Arc<str>) -> Result<Self, RingError> {
        let _ = (line, keep, name);
        unimplemented!()
    }

    /// The parts of an open curve inside the outline, in order.
    pub fn clip(&self, curve: &Curve) -> Vec<Curve> {
        let _ = curve;
        unimplemented!()
    }

    /// The stretch, inside the outline, of the line through `p` that contains `p`.
    pub fn chord(&self, p: Point, direction: Vec2) -> Option<(Point, Point)> {
        let _ = (p, direction);
        unimplemented!()
    }
}
