//! Shortening a layout without changing who lies beside whom, by linear programs.
//!
//! In: a layout, clear or nearly so. Out: all its pieces moved at once so that the length is least,
//! each near pair kept apart by the straight line that parts it now. Repeated, since the moved
//! pairs may be parted better by other lines. A part of a long layout can be made short alone: what
//! lies behind it then goes with its end. Never: turns or swaps.

use kurbo::{Point, Vec2};

use crate::linear::{Row, least};
use crate::phase::Axis;
use crate::state::State;
use crate::tolerance::RESERVE;

/// How far a piece may move in one program, millimetres: further, and pairs that are not near now
/// could meet, so that there would be more rows than it is worth.
const STRIDE: f64 = 30.0;
/// A program that gains less than this is the last, millimetres.
const WORTH: f64 = 0.02;

/// The layout made as short as it goes, in at most `rounds` programs; `None` if it cannot be made
/// clear so or does not come out shorter than `limit`.
pub(crate) fn compacted<'t>(state: &State<'t>, limit: f64, rounds: usize) -> Option<State<'t>> {
    compacted_part(state, &vec![false; state.len()], limit, rounds)
}

/// [`compacted`] for a part of a layout: the frozen pieces marked `behind` lie behind the part and
/// go along the cloth with its end, all as one.
pub(crate) fn compacted_part<'t>(
    state: &State<'t>,
    behind: &[bool],
    limit: f64,
    rounds: usize,
) -> Option<State<'t>> {
    let mut best: Option<State<'t>> = None;
    let mut now = state.clone();
    for _ in 0..rounds {
        let before = now.length;
        now = Program::new(&now, behind).moved();
        let clear = now.is_clear();
        if clear && now.length < best.as_ref().map_or(limit, |b| b.length) {
            best = Some(now.clone());
        }
        // A layout that was not clear may first have to grow.
        if (clear && before - now.length < WORTH) || now.length > limit + 2.0 * STRIDE {
            break;
        }
    }
    best
}

/// One program: the unknowns are how far each free piece goes along and across, piece by piece
/// along the cloth, and last how much the length grows.
struct Program<'s, 't> {
    state: &'s State<'t>,
    behind: &'s [bool],
    /// The free pieces along the cloth.
    order: Vec<usize>,
    /// Where each piece is in that order.
    place: Vec<Option<usize>>,
    rows: Vec<Row>,
}

impl<'s, 't> Program<'s, 't> {
    fn new(state: &'s State<'t>, behind: &'s [bool]) -> Program<'s, 't> {
        let mut order: Vec<usize> = (0..state.len()).filter(|&i| !state.frozen[i]).collect();
        order.sort_by(|&a, &b| state.at[a].x.total_cmp(&state.at[b].x).then(a.cmp(&b)));
        let mut place = vec![None; state.len()];
        for (k, &i) in order.iter().enumerate() {
            place[i] = Some(k);
        }
        Program {
            state,
            behind,
            order,
            place,
            rows: Vec::new(),
        }
    }

    /// The number of the last unknown, by how much the length grows.
    fn end(&self) -> usize {
        2 * self.order.len()
    }

    /// The layout after the program.
    fn moved(mut self) -> State<'t> {
        let end = self.end();
        for k in 0..self.order.len() {
            self.keep_on_cloth(k);
        }
        for i in 0..self.state.len() {
            for j in 0..i {
                self.keep_apart(i, j);
            }
        }
        self.rows.push(Row::at_least(-STRIDE).with(end, 1.0));
        let mut cost = vec![0.0; end + 1];
        cost[end] = 1.0;
        let x = least(&cost, &self.rows);
        let mut next = self.state.clone();
        next.length += x[end];
        for i in 0..next.len() {
            if self.behind[i] {
                next.at[i].x += x[end];
            } else if let Some(k) = self.place[i] {
                let free = self.free(i);
                next.at[i] += Vec2::new(x[2 * k] * free.x, x[2 * k + 1] * free.y);
                // The program ends within its own error of the edges of the cloth.
                let range = next.range(next.pose[i]);
                if next.is_loop {
                    next.at[i] = next.inside(next.pose[i], next.at[i]);
                    continue;
                }
                if free.x > 0.0 {
                    next.at[i].x = next.at[i].x.max(range.x0);
                }
                if free.y > 0.0 {
                    next.at[i].y = next.at[i].y.min(range.y1).max(range.y0);
                }
            }
        }
        if !next.is_loop && !self.behind.contains(&true) {
            next.length = next.reach();
        }
        next
    }

    /// The `k`-th piece along the cloth goes no further than the stride, stays on the cloth, and
    /// ends before the length.
    fn keep_on_cloth(&mut self, k: usize) {
        let (state, i, end) = (self.state, self.order[k], self.end());
        let range = state.range(state.pose[i]);
        let Point { x, y } = state.at[i];
        let (along, across) = (2 * k, 2 * k + 1);
        let left = if state.is_loop {
            -STRIDE
        } else {
            (range.x0 - x).max(-STRIDE)
        };
        self.rows.extend([
            Row::at_least(left).with(along, 1.0),
            Row::at_least(-STRIDE).with(along, -1.0),
            Row::at_least((range.y0 - y).max(-STRIDE)).with(across, 1.0),
            Row::at_least((y - range.y1).max(-STRIDE)).with(across, -1.0),
        ]);
        let past = state.end(i) - state.length;
        if past > -2.0 * STRIDE && !state.is_loop {
            let row = Row::at_least(past).with(end, 1.0);
            let row = row.with(along, -self.free(i).x);
            self.rows.push(row);
        }
    }

    /// Pieces `i` and `j` stay apart, if they could meet.
    fn keep_apart(&mut self, i: usize, j: usize) {
        let state = self.state;
        let stays = |i: usize| state.frozen[i] && !self.behind[i];
        if (stays(i) && stays(j)) || (self.behind[i] && self.behind[j]) {
            return;
        }
        // Both may go the stride both along and across.
        let meeting = -2.0 * std::f64::consts::SQRT_2 * STRIDE;
        let (moved, lying) = (state.pose[i], state.pose[j]);
        let d = state.at[i] - state.at[j];
        let far = state.table.reach(moved, lying);
        let far = far.inflate(-meeting, -meeting);
        for lap in state.laps() {
            let d = d + Vec2::new(lap * state.length, 0.0);
            if !far.contains(d.to_point()) {
                continue;
            }
            for convex in state.table.nofit(moved, lying) {
                let (side, depth) = convex.nearest_side(d.x, d.y);
                if depth > meeting {
                    let normal = convex.sides()[side].0;
                    let row = self.with_move(Row::at_least(depth + RESERVE), i, normal);
                    let row = self.with_move(row, j, -normal);
                    // Once round, the other piece goes with the length.
                    let row = row.with(self.end(), lap * normal.x);
                    if !row.is_empty() {
                        self.rows.push(row);
                    }
                }
            }
        }
    }

    /// 1 for each measure of piece `i` that is free, 0 for one that is tied to the repeat and stays.
    fn free(&self, i: usize) -> Vec2 {
        let tie = self.state.table.poses[self.state.pose[i]].tie;
        let free = |axis: Axis| f64::from(u8::from(axis == Axis::Free));
        Vec2::new(free(tie.x), free(tie.y))
    }

    /// The row with how far piece `i` goes along `normal`.
    fn with_move(&self, row: Row, i: usize, normal: Vec2) -> Row {
        match self.place[i] {
            Some(k) => {
                let free = self.free(i);
                row.with(2 * k, normal.x * free.x)
                    .with(2 * k + 1, normal.y * free.y)
            }
            None if self.behind[i] => row.with(self.end(), normal.x),
            None => row,
        }
    }
}
