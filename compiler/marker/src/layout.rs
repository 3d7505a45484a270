//! Where the pieces lie.
//!
//! Never: whether that is sound, which the proof says.

use kurbo::{Point, Vec2};

use crate::job::Job;

/// One piece on the cloth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// Which kind of the job.
    pub kind: usize,
    /// Which of the turns of the kind.
    pub turn: usize,
    /// How far the turned outline is moved from its own origin, millimetres.
    pub at: Vec2,
}

/// A marker: all pieces, and the length of cloth they take from x = 0.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// The pieces.
    pub placements: Vec<Placement>,
    /// The length of cloth, millimetres.
    pub length: f64,
}

impl Placement {
    /// The corners of the piece where it lies; `None` if the job has no such kind or turn.
    pub fn corners(&self, job: &Job) -> Option<Vec<Point>> {
        let kind = job.kinds.get(self.kind)?;
        let turn = kind.turns.get(self.turn)?;
        let corner = |p: &Point| turn.apply(*p) + self.at;
        Some(kind.outline.points().iter().map(corner).collect())
    }
}

impl Layout {
    /// Net area of the pieces over length × usable width, from 0 to 1.
    pub fn utilisation(&self, job: &Job) -> f64 {
        let cloth = self.length * job.cloth.width;
        if cloth > 0.0 { job.area() / cloth } else { 0.0 }
    }
}
