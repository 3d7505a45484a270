//! Long layouts from rows: pieces of one kind nested along the cloth at their true pitch, rows side
//! by side as they share the width.
//!
//! In: a table and how many of each kind. Out: clear layouts, longest-run first choice of rows by a
//! linear program, some in several orders. Never: the ends, which rows fill badly and the search
//! fills better.

use kurbo::Point;
use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, SolveOutcome};

use crate::start::{drop_one, leftmost, leftmost_from, with_flaws};
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;

/// A row of one kind, its poses in turn.
#[derive(Clone, Debug)]
struct Row {
    kind: usize,
    poses: [usize; 2],
    height: f64,
    /// Length of cloth for one piece in a long row.
    pitch: f64,
}

/// Rows side by side: how many of each.
type Mix = Vec<usize>;

/// Mixes weighed by the program: beyond, only those that waste least.
const MOST_MIXES: usize = 400;
/// Rows kept of each kind, the closest ones: in haste, and else.
const ROWS_OF_KIND: (usize, usize) = (1, 2);

/// Layouts in rows; empty if no two pieces make a row.
pub(crate) fn banded<'t>(table: &'t Table, counts: &[usize], stop: &dyn Stop) -> Vec<State<'t>> {
    let kept = if stop.stop() {
        ROWS_OF_KIND.0
    } else {
        ROWS_OF_KIND.1
    };
    let rows = all_rows(table, counts, kept);
    let mixes = all_mixes(&rows, table.width);
    let Some(lengths) = shares(&rows, &mixes, counts) else {
        return Vec::new();
    };
    let mut blocks: Vec<(Mix, f64)> = mixes
        .into_iter()
        .zip(lengths)
        .filter(|(_, length)| *length > 0.0)
        .collect();
    blocks.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut made = Vec::new();
    for order in orders(blocks.len()) {
        let blocks: Vec<&(Mix, f64)> = order.iter().map(|&k| &blocks[k]).collect();
        for flip in [false, true] {
            if stop.stop() && !made.is_empty() {
                break;
            }
            made.push(laid(table, counts, &rows, &blocks, flip));
        }
    }
    made.sort_by(|a, b| a.length.total_cmp(&b.length));
    made
}

/// The closest rows of every kind, `most` of each.
fn all_rows(table: &Table, counts: &[usize], most: usize) -> Vec<Row> {
    let mut rows = Vec::new();
    for (kind, poses) in table.few_of_kind.iter().enumerate() {
        if counts[kind] == 0 {
            continue;
        }
        let mut own: Vec<Row> = Vec::new();
        for (k, &a) in poses.iter().enumerate() {
            own.extend(poses[..=k].iter().map(|&b| row(table, kind, a, b)));
        }
        own.sort_by(|a, b| (a.height * a.pitch).total_cmp(&(b.height * b.pitch)));
        let mut kept: Vec<Row> = Vec::new();
        for row in own {
            if kept.len() < most && kept.iter().all(|k| (k.height - row.height).abs() > 1.0) {
                kept.push(row);
            }
        }
        rows.extend(kept);
    }
    rows
}

fn row(table: &Table, kind: usize, a: usize, b: usize) -> Row {
    let (one, two) = (table.poses[a].bounds, table.poses[b].bounds);
    let mut state = State::empty(table);
    let mut starts = Vec::new();
    for k in 0..6 {
        let pose = [a, b][k % 2];
        let y = -table.poses[pose].bounds.y0;
        let x = leftmost(&state, pose, y);
        starts.push(x + table.poses[pose].bounds.x0);
        state.push(pose, Point::new(x, y), false);
    }
    Row {
        kind,
        poses: [a, b],
        height: one.height().max(two.height()),
        pitch: (starts[4] - starts[2]) / 2.0,
    }
}

/// Every choice of rows that leaves no room for one more.
fn all_mixes(rows: &[Row], width: f64) -> Vec<Mix> {
    fn fill(rows: &[Row], at: usize, room: f64, mix: &mut Mix, found: &mut Vec<(f64, Mix)>) {
        const ENOUGH: usize = 100_000;
        if found.len() >= ENOUGH {
            return;
        }
        if at == rows.len() {
            if rows.iter().all(|r| r.height > room) {
                found.push((room, mix.clone()));
            }
            return;
        }
        let most = (room / rows[at].height + 1e-9) as usize;
        for count in (0..=most).rev() {
            mix[at] = count;
            fill(
                rows,
                at + 1,
                room - rows[at].height * count as f64,
                mix,
                found,
            );
        }
        mix[at] = 0;
    }
    let mut found = Vec::new();
    fill(rows, 0, width, &mut vec![0; rows.len()], &mut found);
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.truncate(MOST_MIXES);
    found.into_iter().map(|(_, mix)| mix).collect()
}

/// How long each mix runs so that all pieces are laid and the whole is shortest.
fn shares(rows: &[Row], mixes: &[Mix], counts: &[usize]) -> Option<Vec<f64>> {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let lengths: Vec<_> = mixes
        .iter()
        .map(|_| problem.add_var(1.0, (0.0, f64::INFINITY)))
        .collect();
    for (kind, count) in counts.iter().enumerate().filter(|(_, c)| **c > 0) {
        let mut laid = LinearExpr::empty();
        for (mix, length) in mixes.iter().zip(&lengths) {
            let rate: f64 = (0..rows.len())
                .filter(|&r| rows[r].kind == kind)
                .map(|r| mix[r] as f64 / rows[r].pitch)
                .sum();
            if rate > 0.0 {
                laid.add(*length, rate);
            }
        }
        problem.add_constraint(laid, ComparisonOp::Ge, *count as f64);
    }
    let SolveOutcome::Solution(solved) = problem.solve().ok()? else {
        return None;
    };
    Some(lengths.iter().map(|l| solved.var_value(*l)).collect())
}

/// Orders of the blocks: all of few, and each block first of many.
fn orders(count: usize) -> Vec<Vec<usize>> {
    const FEW: usize = 3;
    if count <= FEW {
        let mut all = vec![Vec::new()];
        for k in 0..count {
            all = all
                .iter()
                .flat_map(|order: &Vec<usize>| {
                    (0..=order.len()).map(move |at| {
                        let mut next = order.clone();
                        next.insert(at, k);
                        next
                    })
                })
                .collect();
        }
        return all;
    }
    (0..count)
        .map(|first| (0..count).map(|k| (first + k) % count).collect())
        .collect()
}

/// The layout of the blocks one after another; what no row has room for is dropped at the end.
fn laid<'t>(
    table: &'t Table,
    counts: &[usize],
    rows: &[Row],
    blocks: &[&(Mix, f64)],
    flip: bool,
) -> State<'t> {
    let mut left = counts.to_vec();
    let mut state = with_flaws(table);
    for block in blocks {
        lay_block(&mut state, &mut left, rows, block, flip);
    }
    for (kind, &count) in left.iter().enumerate() {
        for _ in 0..count {
            drop_one(&mut state, kind);
        }
    }
    state.length = state.reach();
    state
}

/// A row in the making.
struct Lane<'r> {
    row: &'r Row,
    /// How far its side is from the edge of the cloth.
    level: f64,
    /// How many pieces it has, and is to have.
    laid: usize,
    most: usize,
    /// Which of the two poses came first.
    phase: usize,
    /// Where it ends, and where its last piece begins.
    end: f64,
    last: f64,
}

/// Lays the rows of one block, always the one next that is furthest behind.
fn lay_block(
    state: &mut State<'_>,
    left: &mut [usize],
    rows: &[Row],
    (mix, length): &(Mix, f64),
    flip: bool,
) {
    let table = state.table;
    let mut lanes: Vec<Lane<'_>> = Vec::new();
    let mut level = 0.0;
    for (row, &count) in rows.iter().zip(mix) {
        for _ in 0..count {
            lanes.push(Lane {
                row,
                level,
                laid: 0,
                most: (length / row.pitch + 0.5) as usize,
                phase: 0,
                end: 0.0,
                last: f64::NEG_INFINITY,
            });
            level += row.height;
        }
    }
    loop {
        let next = lanes
            .iter_mut()
            .filter(|lane| lane.laid < lane.most && left[lane.row.kind] > 0)
            .min_by(|a, b| a.end.total_cmp(&b.end));
        let Some(lane) = next else {
            break;
        };
        let poses = lane.row.poses;
        let place = |pose| in_lane(state, pose, (lane.level, lane.last), flip);
        if lane.laid == 0 {
            lane.phase = usize::from(place(poses[1]).0 < place(poses[0]).0);
        }
        let pose = poses[(lane.laid + lane.phase) % 2];
        let (end, at) = place(pose);
        state.push(pose, at, false);
        left[lane.row.kind] -= 1;
        lane.laid += 1;
        lane.end = end;
        lane.last = at.x + table.poses[pose].bounds.x0;
    }
}

/// Where the next piece of a lane lies, after its right end. What there was room for before its last
/// piece lies there already.
fn in_lane(state: &State<'_>, pose: usize, (level, last): (f64, f64), flip: bool) -> (f64, Point) {
    let bounds = state.table.poses[pose].bounds;
    let y = if flip {
        state.table.width - level - bounds.y1
    } else {
        level - bounds.y0
    };
    let y = state.table.level(pose, y);
    let x = leftmost_from(state, pose, y, last - bounds.x0);
    (x + bounds.x1, Point::new(x, y))
}
