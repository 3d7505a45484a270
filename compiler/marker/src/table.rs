//! What the search knows of a job: every kind in every turn as a pose, and the no-fit polygons of
//! pairs of poses, each made when it is first asked for: a quick layout asks for few.
//!
//! In: a job. Out: poses and their no-fit polygons. Never: places on the cloth.

use std::sync::OnceLock;

use kurbo::{Point, Rect};

use crate::job::Job;
use crate::near::Near;
use crate::nofit::Convex;
use crate::outline::Outline;
use crate::phase::Tie;
use crate::slant::Slant;

/// A kind in one of its turns, or a flaw of the cloth.
#[derive(Clone, Debug)]
pub(crate) struct Pose {
    /// The kind of the job; a flaw counts as a kind past the last.
    pub(crate) kind: usize,
    /// The turn among those of its kind.
    pub(crate) turn: usize,
    /// The box round the turned outline.
    pub(crate) bounds: Rect,
    /// Where its origin may lie on the repeat.
    pub(crate) tie: Tie,
    /// The axes along which places for it are searched.
    pub(crate) slant: Slant,
}

/// Poses and no-fit polygons of a job.
#[derive(Debug)]
pub(crate) struct Table {
    pub(crate) poses: Vec<Pose>,
    /// The poses of each kind that fit the width.
    pub(crate) of_kind: Vec<Vec<usize>>,
    /// Of these, the first turn and its opposite.
    pub(crate) few_of_kind: Vec<Vec<usize>>,
    /// Net area of each kind.
    pub(crate) area: Vec<f64>,
    pub(crate) width: f64,
    /// The repeat along the cloth, if a piece is tied to it; else 0.
    pub(crate) step: f64,
    /// How near the pieces of a tie must lie, if it matters.
    pub(crate) near: Option<Near>,
    /// Poses of the flaws, each with its place.
    pub(crate) flaws: Vec<(usize, Point)>,
    /// The outline of each pose.
    outlines: Vec<Outline>,
    /// The least distance of pieces, millimetres.
    gap: f64,
    /// For each pair of poses, once asked for, one for each pair of convex parts.
    nofits: Vec<OnceLock<Vec<Convex>>>,
}

impl Table {
    /// Makes the table of a sound job.
    pub(crate) fn new(job: &Job) -> Table {
        let mut table = Table {
            poses: Vec::new(),
            of_kind: Vec::new(),
            few_of_kind: Vec::new(),
            area: job.kinds.iter().map(|k| k.area).collect(),
            width: job.cloth.width,
            step: 0.0,
            near: None,
            flaws: Vec::new(),
            outlines: Vec::new(),
            gap: job.cloth.gap,
            nofits: Vec::new(),
        };
        for (kind, made) in job.kinds.iter().enumerate() {
            let mut fitting = Vec::new();
            // A sound job ties no piece to a repeat that is not there.
            let tie = Tie::of(made, &job.cloth).unwrap_or(Tie::FREE);
            if made.count > 0 {
                table.step = table.step.max(tie.x.step());
            }
            for (turn, &by) in made.turns.iter().enumerate() {
                let outline = made.outline.turned(by);
                let bounds = outline.bounds();
                let fits = bounds.height() <= job.cloth.width;
                if fits && tie.y.has(-bounds.y0, job.cloth.width - bounds.y1) {
                    fitting.push(table.poses.len());
                }
                table.poses.push(Pose {
                    kind,
                    turn,
                    bounds,
                    tie,
                    slant: Slant::of(&outline),
                });
                table.outlines.push(outline);
            }
            let first = fitting
                .first()
                .map(|&pose| made.turns[table.poses[pose].turn]);
            let along = |pose: &usize| {
                let turn = made.turns[table.poses[*pose].turn];
                first.is_some_and(|first| turn.is_parallel(first))
            };
            table
                .few_of_kind
                .push(fitting.iter().copied().filter(along).collect());
            table.of_kind.push(fitting);
        }
        for (number, flaw) in job.cloth.flaws.iter().enumerate() {
            table.add_flaw(job.kinds.len() + number, *flaw);
        }
        let pairs = table.poses.len() * table.poses.len();
        table.nofits.resize_with(pairs, OnceLock::new);
        table
    }

    fn add_flaw(&mut self, kind: usize, flaw: Rect) {
        let (w, h) = (flaw.width(), flaw.height());
        let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(Point::from);
        if let Ok(outline) = Outline::new(&corners) {
            self.flaws
                .push((self.poses.len(), Point::new(flaw.x0, flaw.y0)));
            self.poses.push(Pose {
                kind,
                turn: 0,
                bounds: outline.bounds(),
                tie: Tie::FREE,
                slant: Slant::Upright,
            });
            self.outlines.push(outline);
        }
    }

    /// Where the origin of pose `moved` must not lie, seen from the origin of pose `lying`: in none of
    /// these.
    pub(crate) fn nofit(&self, moved: usize, lying: usize) -> &[Convex] {
        self.nofits[moved * self.poses.len() + lying].get_or_init(|| self.made(moved, lying))
    }

    fn made(&self, moved: usize, lying: usize) -> Vec<Convex> {
        let kinds = self.of_kind.len();
        let flaws = [moved, lying].map(|pose| self.poses[pose].kind >= kinds);
        let gap = match flaws {
            // Flaws may lie on one another.
            [true, true] => return Vec::new(),
            [false, false] => self.gap,
            _ => 0.0,
        };
        nofit(&self.outlines[lying], &self.outlines[moved], gap)
    }

    /// The box outside which the origin of pose `moved` is clear of pose `lying`, seen from its
    /// origin, whatever their outlines.
    pub(crate) fn reach(&self, moved: usize, lying: usize) -> Rect {
        let (moved, lying) = (self.poses[moved].bounds, self.poses[lying].bounds);
        Rect {
            x0: lying.x0 - moved.x1 - self.gap,
            y0: lying.y0 - moved.y1 - self.gap,
            x1: lying.x1 - moved.x0 + self.gap,
            y1: lying.y1 - moved.y0 + self.gap,
        }
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

    /// The place nearest to `y` where the origin of a pose may lie across the cloth.
    pub(crate) fn level(&self, pose: usize, y: f64) -> f64 {
        let range = self.range(pose, 0.0);
        self.poses[pose].tie.y.nearest(y, range.y0, range.y1)
    }

    /// Sum of the depths of two poses in one another, `moved` at (`dx`, `dy`) from `lying`.
    pub(crate) fn depth(&self, moved: usize, lying: usize, dx: f64, dy: f64) -> f64 {
        let b = self.reach(moved, lying);
        if dx <= b.x0 || dx >= b.x1 || dy <= b.y0 || dy >= b.y1 {
            return 0.0;
        }
        self.nofit(moved, lying)
            .iter()
            .map(|convex| convex.depth(dx, dy))
            .filter(|depth| *depth > crate::tolerance::CLEAR)
            .sum()
    }
}

fn nofit(lying: &Outline, moved: &Outline, gap: f64) -> Vec<Convex> {
    let pairs = lying
        .parts()
        .iter()
        .flat_map(|a| moved.parts().iter().map(move |b| (a, b)));
    pairs.map(|(a, b)| Convex::new(a, b, gap)).collect()
}

#[cfg(test)]
mod tests {
    use kurbo::Vec2;
    use proptest::prelude::*;

    use super::*;
    use crate::job::{Cloth, Kind};
    use crate::proof::clear;
    use crate::turn::Turn;

    /// Star-shaped polygons, most of them not convex.
    fn star() -> impl Strategy<Value = Outline> {
        prop::collection::vec(20.0..100.0_f64, 3..9).prop_filter_map("no outline", |radii| {
            let step = 360.0 / radii.len() as f64;
            let corner = |(i, r): (usize, &f64)| {
                Turn::degrees(step * i as f64 + 7.0).apply(Point::new(*r, 0.0))
            };
            let corners: Vec<Point> = radii.iter().enumerate().map(corner).collect();
            Outline::new(&corners).ok()
        })
    }

    fn job(outlines: [Outline; 2], gap: f64) -> Job {
        let kind = |outline: Outline| Kind {
            area: outline.area(),
            outline,
            turns: vec![Turn::NONE, Turn::degrees(33.0)],
            count: 1,
            phase: None,
        };
        Job {
            kinds: outlines.map(kind).to_vec(),
            cloth: Cloth {
                width: 1000.0,
                gap,
                ..Cloth::default()
            },
            ..Job::default()
        }
    }

    proptest! {
        /// What the search takes as clear the proof does too, and without a gap the other way
        /// round; with one the search keeps corners further apart, by the cut of its rounds.
        #[test]
        fn search_and_proof_agree(
            one in star(),
            two in star(),
            x in -200.0..200.0_f64,
            y in -200.0..200.0_f64,
            gap in prop::sample::select(vec![0.0, 5.0]),
        ) {
            let job = job([one, two], gap);
            let table = Table::new(&job);
            let corners = |kind: usize, at: Vec2| -> Vec<Point> {
                let outline = job.kinds[kind].outline.turned(Turn::degrees(33.0));
                outline.points().iter().map(|p| *p + at).collect()
            };
            let (a, b) = (corners(0, Vec2::ZERO), corners(1, Vec2::new(x, y)));
            let depth = table.depth(3, 1, x, y);
            if depth == 0.0 {
                prop_assert!(clear(&a, &b, gap));
            } else if depth > gap * 0.09 + 1e-6 {
                prop_assert!(!clear(&a, &b, gap));
            }
        }

        /// A place on the edge of the no-fit polygon touches: clear, and a hair further in is not.
        #[test]
        fn the_edge_of_the_nofit_polygon_touches(one in star(), two in star(), pick in 0..64_usize) {
            let job = job([one, two], 0.0);
            let table = Table::new(&job);
            let nofit = table.nofit(2, 0);
            let convex = &nofit[pick % nofit.len()];
            let corners = convex.corners();
            let (p, q) = (corners[pick % corners.len()], corners[(pick + 1) % corners.len()]);
            let on = p.midpoint(q).to_vec2();
            let inward = Vec2::new(p.y - q.y, q.x - p.x).normalize();
            let lying = job.kinds[0].outline.points().to_vec();
            let moved = |at: Vec2| -> Vec<Point> {
                job.kinds[1].outline.points().iter().map(|c| *c + at).collect()
            };
            if table.depth(2, 0, on.x, on.y) == 0.0 && p.distance(q) > 1e-3 {
                prop_assert!(clear(&lying, &moved(on), 0.0));
                prop_assert!(!clear(&lying, &moved(on + inward * 1e-5), 0.0));
            }
        }
    }
}
