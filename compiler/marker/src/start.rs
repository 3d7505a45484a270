//! First layouts: pieces dropped one after another as far left as they go.
//!
//! In: a state and a piece to add, its pose and how high it lies. Out: the leftmost place where it
//! is clear of all others; and whole layouts made so, which are always clear. Never: overlaps.

use kurbo::{Point, Rect};

use crate::phase::Axis;
use crate::state::State;
use crate::table::Table;
use crate::tolerance::CLEAR;

/// Levels tried for one piece: more take long and find little.
const MOST_LEVELS: usize = 60;

/// The leftmost clear x of `pose` with its origin at `y`.
pub(crate) fn leftmost(state: &State<'_>, pose: usize, y: f64) -> f64 {
    leftmost_but(state, None, pose, y, f64::NEG_INFINITY)
}

/// [`leftmost`], but not left of `from`.
pub(crate) fn leftmost_from(state: &State<'_>, pose: usize, y: f64, from: f64) -> f64 {
    leftmost_but(state, None, pose, y, from)
}

/// [`leftmost_from`] as if the piece `but` were not there.
fn leftmost_but(state: &State<'_>, but: Option<usize>, pose: usize, y: f64, from: f64) -> f64 {
    let table = state.table;
    let tie = table.poses[pose].tie.x;
    let mut x = tie.from(from.max(-table.poses[pose].bounds.x0));
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for j in (0..state.len()).filter(|&j| Some(j) != but) {
        let at = state.at[j];
        let reach = table.reach(pose, state.pose[j]);
        if y - at.y <= reach.y0 || y - at.y >= reach.y1 || at.x + reach.x1 <= x {
            continue;
        }
        for convex in table.nofit(pose, state.pose[j]) {
            // Half of what counts as clear: rounding must not make an overlap of a touch.
            if let Some((a, b)) = convex.run(y - at.y, CLEAR / 2.0) {
                runs.push((a + at.x, b + at.x));
            }
        }
    }
    runs.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (a, b) in runs {
        if a >= x {
            break;
        }
        if b > x {
            x = tie.from(b);
        }
    }
    x
}

/// Every piece, from the left, moved straight along the cloth to its leftmost place, if that is
/// further left: takes back what a linear program leaves between pieces for its own error.
pub(crate) fn settle(state: &mut State<'_>) {
    let mut order: Vec<usize> = (0..state.len()).filter(|&i| !state.frozen[i]).collect();
    order.sort_by(|&a, &b| state.at[a].x.total_cmp(&state.at[b].x).then(a.cmp(&b)));
    for i in order {
        let (pose, y) = (state.pose[i], state.at[i].y);
        let x = leftmost_but(state, Some(i), pose, y, f64::NEG_INFINITY);
        state.at[i].x = state.at[i].x.min(x);
    }
    state.length = state.reach();
}

/// All pieces of the counts given for each kind, the largest first, each where its right end comes
/// out least: at the edges of the cloth and at the levels where pieces before it begin and end.
pub(crate) fn dropped<'t>(table: &'t Table, counts: &[usize]) -> State<'t> {
    let mut state = with_flaws(table);
    let mut kinds: Vec<usize> = (0..counts.len()).collect();
    kinds.sort_by(|&a, &b| table.area[b].total_cmp(&table.area[a]).then(a.cmp(&b)));
    for kind in kinds {
        for _ in 0..counts[kind] {
            drop_one(&mut state, kind);
        }
    }
    state.length = state.reach();
    state
}

/// The flaws of the cloth, as pieces that never move.
pub(crate) fn with_flaws(table: &Table) -> State<'_> {
    let mut state = State::empty(table);
    for (pose, at) in &table.flaws {
        state.push(*pose, *at, true);
    }
    state
}

/// Levels moved to the nearest places of the repeat, down and up.
fn on_repeat(tie: Axis, range: Rect, levels: &mut Vec<f64>) {
    if tie != Axis::Free {
        let both = |y: &f64| [tie.nearest(*y, range.y0, *y), tie.nearest(*y, *y, range.y1)];
        let tied: Vec<f64> = levels.iter().flat_map(both).collect();
        *levels = tied;
        levels.retain(|y| tie.has(range.y0, *y) && tie.has(*y, range.y1));
    }
}

pub(crate) fn drop_one(state: &mut State<'_>, kind: usize) {
    let table = state.table;
    let mut best: Option<(f64, usize, Point)> = None;
    for &pose in &table.of_kind[kind] {
        let bounds = table.poses[pose].bounds;
        let range = table.range(pose, 0.0);
        let mut levels = vec![range.y0, range.y1];
        for j in 0..state.len() {
            let other = table.poses[state.pose[j]].bounds;
            levels.push(state.at[j].y + other.y1 - bounds.y0);
            levels.push(state.at[j].y + other.y0 - bounds.y1);
        }
        levels.retain(|y| *y >= range.y0 && *y <= range.y1);
        on_repeat(table.poses[pose].tie.y, range, &mut levels);
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        let step = levels.len().div_ceil(MOST_LEVELS).max(1);
        let levels = levels.into_iter().step_by(step);
        for y in levels {
            let x = leftmost(state, pose, y);
            let end = x + bounds.x1;
            if best.is_none_or(|(least, _, _)| end < least) {
                best = Some((end, pose, Point::new(x, y)));
            }
        }
    }
    if let Some((_, pose, at)) = best {
        state.push(pose, at, false);
    }
}
