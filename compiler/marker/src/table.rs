//! What the search knows of a job: every kind in every turn as a pose, and the no-fit polygons of
//! all pairs of poses, made once.
//!
//! In: a job. Out: poses and their no-fit polygons. Never: places on the cloth.

use kurbo::{Point, Rect};

use crate::job::Job;
use crate::nofit::Convex;
use crate::outline::{Outline, bounds};

/// A kind in one of its turns, or a flaw of the cloth.
#[derive(Clone, Debug)]
pub(crate) struct Pose {
    /// The kind of the job; a flaw counts as a kind past the last.
    pub(crate) kind: usize,
    /// The turn among those of its kind.
    pub(crate) turn: usize,
    /// The box round the turned outline.
    pub(crate) bounds: Rect,
}

/// The no-fit polygons of a pair of poses.
#[derive(Clone, Debug)]
pub(crate) struct NoFit {
    /// One for every pair of convex parts.
    pub(crate) convex: Vec<Convex>,
    /// The box round all of them.
    pub(crate) bounds: Rect,
}

/// Poses and no-fit polygons of a job.
#[derive(Debug)]
pub(crate) struct Table {
    pub(crate) poses: Vec<Pose>,
    /// The poses of each kind that fit the width.
    pub(crate) of_kind: Vec<Vec<usize>>,
    /// Net area of each kind.
    pub(crate) area: Vec<f64>,
    pub(crate) width: f64,
    /// Poses of the flaws, each with its place.
    pub(crate) flaws: Vec<(usize, Point)>,
    nofits: Vec<NoFit>,
}

impl Table {
    /// Makes the table of a sound job.
    pub(crate) fn new(job: &Job) -> Table {
        let mut table = Table {
            poses: Vec::new(),
            of_kind: Vec::new(),
            area: job.kinds.iter().map(|k| k.area).collect(),
            width: job.cloth.width,
            flaws: Vec::new(),
            nofits: Vec::new(),
        };
        let mut outlines: Vec<Outline> = Vec::new();
        for (kind, made) in job.kinds.iter().enumerate() {
            let mut fitting = Vec::new();
            for (turn, &by) in made.turns.iter().enumerate() {
                let outline = made.outline.turned(by);
                let bounds = outline.bounds();
                if bounds.height() <= job.cloth.width {
                    fitting.push(table.poses.len());
                }
                table.poses.push(Pose { kind, turn, bounds });
                outlines.push(outline);
            }
            table.of_kind.push(fitting);
        }
        for (number, flaw) in job.cloth.flaws.iter().enumerate() {
            table.add_flaw(job.kinds.len() + number, *flaw, &mut outlines);
        }
        table.fill(&outlines, job);
        table
    }

    fn add_flaw(&mut self, kind: usize, flaw: Rect, outlines: &mut Vec<Outline>) {
        let (w, h) = (flaw.width(), flaw.height());
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(Point::from);
        if let Ok(outline) = Outline::new(&corners) {
            self.flaws
                .push((self.poses.len(), Point::new(flaw.x0, flaw.y0)));
            self.poses.push(Pose {
                kind,
                turn: 0,
                bounds: outline.bounds(),
            });
            outlines.push(outline);
        }
    }

    fn fill(&mut self, outlines: &[Outline], job: &Job) {
        let kinds = job.kinds.len();
        for (i, moved) in outlines.iter().enumerate() {
            for (j, lying) in outlines.iter().enumerate() {
                let flaw = self.poses[i].kind >= kinds || self.poses[j].kind >= kinds;
                let gap = if flaw { 0.0 } else { job.cloth.gap };
                self.nofits.push(nofit(lying, moved, gap));
            }
        }
    }

    /// Where the origin of pose `moved` must not lie, seen from the origin of pose `lying`.
    pub(crate) fn nofit(&self, moved: usize, lying: usize) -> &NoFit {
        &self.nofits[moved * self.poses.len() + lying]
    }

    /// Where the origin of a pose may lie on `length` of cloth; its sides may be reversed.
    pub(crate) fn range(&self, pose: usize, length: f64) -> Rect {
        let b = self.poses[pose].bounds;
        Rect {
            x0: -b.x0,
            y0: -b.y0,
            x1: length - b.x1,
            y1: self.width - b.y1,
        }
    }

    /// Sum of the depths of two poses in one another, `moved` at (`dx`, `dy`) from `lying`.
    pub(crate) fn depth(&self, moved: usize, lying: usize, dx: f64, dy: f64) -> f64 {
        let nofit = self.nofit(moved, lying);
        let b = &nofit.bounds;
        if dx <= b.x0 || dx >= b.x1 || dy <= b.y0 || dy >= b.y1 {
            return 0.0;
        }
        nofit
            .convex
            .iter()
            .map(|convex| convex.depth(dx, dy))
            .filter(|depth| *depth > crate::tolerance::CLEAR)
            .sum()
    }
}

fn nofit(lying: &Outline, moved: &Outline, gap: f64) -> NoFit {
    let convex: Vec<Convex> = lying
        .parts()
        .iter()
        .flat_map(|a| moved.parts().iter().map(|b| Convex::new(a, b, gap)))
        .collect();
    let corners: Vec<Point> = convex
        .iter()
        .flat_map(|c| c.corners().iter().copied())
        .collect();
    NoFit {
        bounds: bounds(&corners),
        convex,
    }
}
