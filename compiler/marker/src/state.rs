//! Pieces on the cloth while they are searched for: they may overlap.
//!
//! In: a table and poses with places. Out: how deep every pair is in one another, kept up to date
//! as pieces move. Never: where to move a piece.

use kurbo::{Point, Rect, Vec2};

use crate::layout::{Layout, Placement};
use crate::place::Bar;
use crate::slant::Slant;
use crate::table::Table;

/// Pieces where they lie. Flaws are pieces that come last and never move.
#[derive(Clone)]
pub(crate) struct State<'t> {
    pub(crate) table: &'t Table,
    pub(crate) pose: Vec<usize>,
    pub(crate) at: Vec<Point>,
    /// Whether the piece stays where it is.
    pub(crate) frozen: Vec<bool>,
    /// The length of cloth.
    pub(crate) length: f64,
    /// Cloth left free of pieces that move: from the start, and before the end, millimetres.
    pub(crate) margin: (f64, f64),
    /// Whether the cloth is a loop: its end lies at its start.
    pub(crate) is_loop: bool,
}

impl<'t> State<'t> {
    /// Nothing on the cloth but its flaws.
    pub(crate) fn empty(table: &'t Table) -> State<'t> {
        State {
            table,
            pose: Vec::new(),
            at: Vec::new(),
            frozen: Vec::new(),
            length: 0.0,
            margin: (0.0, 0.0),
            is_loop: false,
        }
    }

    /// A layout as the search has it.
    pub(crate) fn of_layout(table: &'t Table, layout: &Layout) -> State<'t> {
        let mut state = State::empty(table);
        for (pose, at) in &table.flaws {
            state.push(*pose, *at, true);
        }
        for placement in &layout.placements {
            let pose = table
                .poses
                .iter()
                .position(|p| (p.kind, p.turn) == (placement.kind, placement.turn));
            if let Some(pose) = pose {
                state.push(pose, Point::ORIGIN + placement.at, false);
            }
        }
        state.length = layout.length;
        state
    }

    /// The layout, without the flaws.
    pub(crate) fn to_layout(&self) -> Layout {
        let placement = |i: usize| {
            let pose = &self.table.poses[self.pose[i]];
            Placement {
                kind: pose.kind,
                turn: pose.turn,
                at: self.at[i].to_vec2(),
            }
        };
        let free = (0..self.len()).filter(|&i| !self.frozen[i]);
        Layout {
            placements: free.map(placement).collect(),
            length: self.length,
        }
    }

    /// Adds a piece.
    pub(crate) fn push(&mut self, pose: usize, at: Point, frozen: bool) {
        self.pose.push(pose);
        self.at.push(at);
        self.frozen.push(frozen);
    }

    /// How many pieces there are.
    pub(crate) fn len(&self) -> usize {
        self.pose.len()
    }

    /// How deep two pieces are in one another, summed over their parts, millimetres.
    pub(crate) fn depth(&self, i: usize, j: usize) -> f64 {
        let d = self.at[i] - self.at[j];
        let (moved, lying) = (self.pose[i], self.pose[j]);
        self.laps()
            .map(|lap| self.table.depth(moved, lying, d.x + lap * self.length, d.y))
            .sum()
    }

    /// How many times round the cloth a piece may meet another: on a loop also once either way.
    pub(crate) fn laps(&self) -> impl Iterator<Item = f64> + use<> {
        let count = if self.is_loop { 3 } else { 1 };
        [0.0, 1.0, -1.0].into_iter().take(count)
    }

    /// The nearest place on the cloth and its repeat; on a loop the same place with its left end on the first lap.
    pub(crate) fn inside(&self, pose: usize, at: Point) -> Point {
        let range = self.range(pose);
        let tie = self.table.poses[pose].tie;
        let x = if self.is_loop {
            at.x - self.length * ((at.x - range.x0) / self.length).floor()
        } else {
            tie.x.nearest(at.x, range.x0, range.x1)
        };
        Point::new(x, tie.y.nearest(at.y, range.y0, range.y1))
    }

    /// Where the origin of a piece may lie if it has `pose`.
    pub(crate) fn range(&self, pose: usize) -> Rect {
        let bounds = self.table.poses[pose].bounds;
        let mut range = self.table.range(pose, self.length - self.margin.1);
        range.x0 = range.x0.max(self.margin.0 - bounds.x0);
        if self.is_loop {
            range.x1 = range.x0 + self.length;
        }
        range
    }

    /// The right end of piece `i`.
    pub(crate) fn end(&self, i: usize) -> f64 {
        self.at[i].x + self.table.poses[self.pose[i]].bounds.x1
    }

    /// The middle of piece `i` along the cloth.
    pub(crate) fn middle(&self, i: usize) -> f64 {
        self.at[i].x + self.table.poses[self.pose[i]].bounds.center().x
    }

    /// The right end of all pieces that may move.
    pub(crate) fn reach(&self) -> f64 {
        let ends = (0..self.len())
            .filter(|&i| !self.frozen[i])
            .map(|i| self.end(i));
        ends.fold(0.0, f64::max)
    }

    /// Moves every piece that may move to the nearest place on the cloth and on its repeat.
    pub(crate) fn bring_inside(&mut self) {
        for i in 0..self.len() {
            if !self.frozen[i] {
                self.at[i] = self.inside(self.pose[i], self.at[i]);
            }
        }
    }

    /// Whether no two pieces overlap and all lie on the cloth.
    pub(crate) fn is_clear(&self) -> bool {
        let on_cloth = |i: usize| {
            let (range, at) = (self.range(self.pose[i]), self.at[i]);
            self.frozen[i]
                || (at.x >= range.x0 - crate::tolerance::CLEAR
                    && at.x <= range.x1 + crate::tolerance::CLEAR
                    && at.y >= range.y0 - crate::tolerance::CLEAR
                    && at.y <= range.y1 + crate::tolerance::CLEAR)
        };
        (0..self.len()).all(on_cloth)
            && (0..self.len()).all(|i| (0..i).all(|j| self.depth(i, j) == 0.0))
    }

    /// Whether the pieces of every tie lie as near as they must.
    pub(crate) fn keeps_near(&self) -> bool {
        let near = self.table.near.as_ref();
        near.is_none_or(|near| near.keeps(self))
    }

    /// The no-fit polygons round piece `i` in `pose` that reach into `range`, weighted by
    /// `weight(j)`.
    pub(crate) fn bars(
        &self,
        i: usize,
        pose: usize,
        range: Rect,
        weight: impl Fn(usize) -> f64,
        bars: &mut Vec<Bar<'t>>,
    ) {
        bars.clear();
        for j in 0..self.len() {
            if j == i {
                continue;
            }
            let reach = self.table.reach(pose, self.pose[j]);
            for lap in self.laps() {
                let at = self.at[j] + Vec2::new(lap * self.length, 0.0);
                let reaches = |b: &Rect| {
                    at.x + b.x1 > range.x0
                        && at.x + b.x0 < range.x1
                        && at.y + b.y1 > range.y0
                        && at.y + b.y0 < range.y1
                };
                if !reaches(&reach) {
                    continue;
                }
                let weight = weight(j);
                for convex in self.table.nofit(pose, self.pose[j]) {
                    if reaches(&convex.bounds(Slant::Upright)) {
                        bars.push(Bar { convex, at, weight });
                    }
                }
            }
        }
    }
}
