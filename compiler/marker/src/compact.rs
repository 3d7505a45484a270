//! Shortening a layout without changing who lies beside whom, by linear programs.
//!
//! In: a layout, clear or nearly so. Out: all its pieces moved at once so that the length is least,
//! each near pair kept apart by the straight line that parts it now. Repeated, since the moved
//! pairs may be parted better by other lines. Never: turns or swaps.

use kurbo::Point;

use crate::linear::{Row, least};
use crate::state::State;
use crate::tolerance::RESERVE;

/// How far a piece may move in one program, millimetres: further, and pairs that are not near now
/// could meet, so that there would be more rows than it is worth.
const STRIDE: f64 = 30.0;
/// A program that gains less than this is the last, millimetres.
const WORTH: f64 = 0.02;

/// The layout made as short as it goes, in at most `rounds` programs; `None` if it cannot be made
/// clear so or does not come out shorter than `state.length`.
pub(crate) fn compacted<'t>(state: &State<'t>, rounds: usize) -> Option<State<'t>> {
    let mut best: Option<State<'t>> = None;
    let mut now = state.clone();
    for _ in 0..rounds {
        let before = now.length;
        now = moved(&now);
        let clear = now.is_clear();
        let limit = best.as_ref().map_or(state.length, |b| b.length);
        if clear && now.length < limit {
            best = Some(now.clone());
        }
        // A layout that was not clear may first have to grow.
        if (clear && before - now.length < WORTH) || now.length > state.length * 1.05 {
            break;
        }
    }
    best
}

/// The pieces after one program.
fn moved<'t>(state: &State<'t>) -> State<'t> {
    let mut order: Vec<usize> = (0..state.len()).filter(|&i| !state.frozen[i]).collect();
    order.sort_by(|&a, &b| state.at[a].x.total_cmp(&state.at[b].x).then(a.cmp(&b)));
    let mut place = vec![usize::MAX; state.len()];
    for (k, &i) in order.iter().enumerate() {
        place[i] = k;
    }
    let end = 2 * order.len();
    let mut rows = Vec::new();
    for (k, &i) in order.iter().enumerate() {
        keep_on_cloth(state, i, k, end, &mut rows);
    }
    for i in 0..state.len() {
        for j in 0..i {
            keep_apart(state, (i, place[i]), (j, place[j]), &mut rows);
        }
    }
    let mut cost = vec![0.0; end + 1];
    cost[end] = 1.0;
    rows.push(Row::at_least(-2.0 * STRIDE).with(end, 1.0));
    let x = least(&cost, &rows);
    let mut next = state.clone();
    for (k, &i) in order.iter().enumerate() {
        next.at[i] += kurbo::Vec2::new(x[2 * k], x[2 * k + 1]);
        // The program ends within its own error of the edges of the cloth.
        let range = state.range(state.pose[i]);
        next.at[i].x = next.at[i].x.max(range.x0);
        next.at[i].y = next.at[i].y.min(range.y1).max(range.y0);
    }
    next.length = next.reach();
    next
}

/// Piece `i`, the `k`-th along the cloth, moves by no more than the stride, stays on the cloth, and
/// ends before the length.
fn keep_on_cloth(state: &State<'_>, i: usize, k: usize, end: usize, rows: &mut Vec<Row>) {
    let range = state.range(state.pose[i]);
    let Point { x, y } = state.at[i];
    rows.push(Row::at_least((range.x0 - x).max(-STRIDE)).with(2 * k, 1.0));
    rows.push(Row::at_least(-STRIDE).with(2 * k, -1.0));
    rows.push(Row::at_least((range.y0 - y).max(-STRIDE)).with(2 * k + 1, 1.0));
    rows.push(Row::at_least((y - range.y1).max(-STRIDE)).with(2 * k + 1, -1.0));
    let past = state.end(i) - state.length;
    if past > -4.0 * STRIDE {
        rows.push(Row::at_least(past).with(end, 1.0).with(2 * k, -1.0));
    }
}

/// Pieces `i` and `j` stay apart, if they could meet.
fn keep_apart(
    state: &State<'_>,
    (i, k): (usize, usize),
    (j, l): (usize, usize),
    rows: &mut Vec<Row>,
) {
    if state.frozen[i] && state.frozen[j] {
        return;
    }
    // Both may go the stride both along and across.
    let meeting = -2.0 * std::f64::consts::SQRT_2 * STRIDE;
    let nofit = state.table.nofit(state.pose[i], state.pose[j]);
    let d = state.at[i] - state.at[j];
    let far = nofit.bounds.inflate(-meeting, -meeting);
    if !far.contains(d.to_point()) {
        return;
    }
    for convex in &nofit.convex {
        let (side, depth) = convex.nearest_side(d.x, d.y);
        if depth <= meeting {
            continue;
        }
        let normal = convex.sides()[side].0;
        let mut row = Row::at_least(depth + RESERVE);
        if !state.frozen[i] {
            row = row.with(2 * k, normal.x).with(2 * k + 1, normal.y);
        }
        if !state.frozen[j] {
            row = row.with(2 * l, -normal.x).with(2 * l + 1, -normal.y);
        }
        rows.push(row);
    }
}
