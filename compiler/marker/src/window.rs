//! One try at a shorter layout: cloth taken out at one place, the pieces round it taken apart.
//!
//! In: a clear layout. Out: a shorter clear one, or nothing. A few dozen pieces round the place move
//! freely, all others only in the linear program that follows. When the pieces do not come apart,
//! two of them change places and the search goes on from there. Never: where in the layout to try.

use kurbo::{Point, Rect};

use crate::compact::{compacted, compacted_part};
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::start::settle;
use crate::state::State;

/// Where and how a try is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Try {
    /// Pieces whose middle is from here to there along the cloth move freely, millimetres.
    pub(crate) window: (f64, f64),
    /// Where cloth is taken out.
    pub(crate) cut: f64,
    /// How much, millimetres.
    pub(crate) by: f64,
    /// What is found must be shorter than this, millimetres.
    pub(crate) limit: f64,
    /// Whether two pieces change places to begin with.
    pub(crate) disturb: bool,
    /// How often two pieces change places before the try is given up.
    pub(crate) swaps: usize,
    /// How hard each separation is tried.
    pub(crate) effort: Effort,
}

/// Programs run on pieces that did not quite come apart.
const HOPE_ROUNDS: usize = 4;
/// Pieces deeper in one another than this, on the mean, will not come apart, millimetres.
const HOPE_DEPTH: f64 = 1.0;
/// Programs run on a window found, and after it on the whole layout.
const POLISH_ROUNDS: (usize, usize) = (10, 3);
/// Pairs looked at to find two pieces of different kinds.
const SWAP_DRAWS: usize = 50;

/// The pieces of a window and all that they can meet.
struct Part<'t> {
    /// Those of the window free, the others frozen.
    state: State<'t>,
    /// The number of each in the whole layout.
    members: Vec<usize>,
    /// The frozen ones that go with the end of the window.
    behind: Vec<bool>,
    /// The length when it was cut out.
    length: f64,
}

/// Tries once.
pub(crate) fn attempt<'t>(
    from: &State<'t>,
    how: Try,
    separator: &mut Separator<'t>,
    random: &mut Random,
    meter: &mut dyn Meter,
) -> Option<State<'t>> {
    let whole = squeezed(from, how);
    let free: Vec<bool> = (0..whole.len())
        .map(|i| !whole.frozen[i] && in_window(from, i, how.window))
        .collect();
    let count = free.iter().filter(|f| **f).count();
    if count == 0 {
        return None;
    }
    let mut part = extract(&whole, &free, how.window);
    separator.reset(part.state.len());
    for round in 0..=how.swaps {
        if (round > 0 || how.disturb) && !swap(&mut part.state, random) {
            break;
        }
        let left = separator.separate(&mut part.state, random, how.effort, meter);
        let hope = left <= HOPE_DEPTH * count as f64;
        if let Some(found) = hope
            .then(|| shortened(&whole, &part, how, left == 0.0))
            .flatten()
        {
            return Some(found);
        }
        if !meter.go_on(0) {
            break;
        }
    }
    None
}

/// The whole layout with the part, `clear` or nearly so, made clear and short; `None` if it cannot
/// be so or is not shorter than the limit.
fn shortened<'t>(whole: &State<'t>, part: &Part<'t>, how: Try, clear: bool) -> Option<State<'t>> {
    let rounds = HOPE_ROUNDS;
    let found = if whole.table.flaws.is_empty() && whole.table.step == 0.0 {
        match compacted_part(&part.state, &part.behind, how.limit, rounds) {
            Some(short) => {
                let shorter = compacted_part(&short, &part.behind, short.length, POLISH_ROUNDS.0);
                joined(whole, part, shorter.as_ref().unwrap_or(&short), how.window)
            }
            // The program keeps a reserve, which pieces that just fill the width do not have.
            None if clear => joined(whole, part, &part.state, how.window),
            None => return None,
        }
    } else {
        // What lies behind cannot go along as one past a flaw, nor off the repeat.
        let now = joined(whole, part, &part.state, how.window);
        match compacted(&now, how.limit, rounds) {
            Some(short) => short,
            None if clear => now,
            None => return None,
        }
    };
    if !found.is_clear() {
        return None;
    }
    let mut found = compacted(&found, found.length, POLISH_ROUNDS.1).unwrap_or(found);
    settle(&mut found);
    (found.length < how.limit).then_some(found)
}

/// The whole layout with the pieces of the part as they are now, and what lies behind moved along.
fn joined<'t>(
    whole: &State<'t>,
    part: &Part<'t>,
    now: &State<'t>,
    window: (f64, f64),
) -> State<'t> {
    let mut joined = whole.clone();
    let by = now.length - part.length;
    for i in 0..whole.len() {
        if is_behind(whole, i, window) {
            joined.at[i].x += by;
        }
    }
    for (k, &i) in part.members.iter().enumerate() {
        if !now.frozen[k] {
            joined.pose[i] = now.pose[k];
            joined.at[i] = now.at[k];
        }
    }
    joined.length = joined.reach();
    joined
}

/// Whether a piece goes with the end of the window if it is not free.
fn is_behind(whole: &State<'_>, i: usize, window: (f64, f64)) -> bool {
    !whole.frozen[i] && middle(whole, i) > (window.0 + window.1) / 2.0
}

fn middle(state: &State<'_>, i: usize) -> f64 {
    state.at[i].x + state.table.poses[state.pose[i]].bounds.center().x
}

fn in_window(state: &State<'_>, i: usize, window: (f64, f64)) -> bool {
    let x = middle(state, i);
    x >= window.0 && x <= window.1
}

/// The layout with cloth taken out: what lies right of the cut goes left.
fn squeezed<'t>(from: &State<'t>, how: Try) -> State<'t> {
    let mut whole = from.clone();
    let by = repeats(from, how);
    whole.length = from.length - by;
    for i in 0..whole.len() {
        if !whole.frozen[i] && middle(from, i) > how.cut {
            whole.at[i].x -= by;
        }
    }
    whole.bring_inside();
    whole
}

/// How much cloth is taken out: as asked, but by whole repeats if pieces are tied to them and some
/// lie behind the window, for these go along as they are.
fn repeats(from: &State<'_>, how: Try) -> f64 {
    let step = from.table.step;
    if step == 0.0 || how.window.1 >= from.length {
        how.by
    } else if how.disturb {
        libm::round(how.by / step) * step
    } else {
        libm::ceil(how.by / step) * step
    }
}

/// The pieces of the window, and as frozen ones all that they can meet.
fn extract<'t>(whole: &State<'t>, free: &[bool], window: (f64, f64)) -> Part<'t> {
    let widths = whole.table.poses.iter().map(|p| p.bounds.width());
    let widest = widths.fold(0.0, f64::max);
    // A free piece reaches out of the window by half its width, and so it may again when it has
    // moved; what it can meet there lies by half its own width further.
    let reach = (window.0 - 2.0 * widest, window.1 + 2.0 * widest);
    let mut part = Part {
        state: State::empty(whole.table),
        members: Vec::new(),
        behind: Vec::new(),
        length: whole.length,
    };
    part.state.length = whole.length;
    part.state.window = (window.0 - widest / 2.0, window.1 + widest / 2.0);
    for (i, &free) in free.iter().enumerate() {
        if free || in_window(whole, i, reach) {
            part.state.push(whole.pose[i], whole.at[i], !free);
            part.members.push(i);
            part.behind.push(!free && is_behind(whole, i, window));
        }
    }
    part
}

/// Two free pieces of different kinds change places, middle for middle. Whether there are two.
fn swap(state: &mut State<'_>, random: &mut Random) -> bool {
    let free: Vec<usize> = (0..state.len()).filter(|&i| !state.frozen[i]).collect();
    for _ in 0..SWAP_DRAWS {
        let (i, j) = (
            free[random.below(free.len())],
            free[random.below(free.len())],
        );
        let (a, b) = (state.pose[i], state.pose[j]);
        let poses = &state.table.poses;
        if poses[a].kind != poses[b].kind {
            let between = poses[a].bounds.center() - poses[b].bounds.center();
            let (at_i, at_j) = (state.at[i], state.at[j]);
            state.at[i] = at_j - between;
            state.at[j] = at_i + between;
            state.bring_inside();
            return true;
        }
    }
    // All of one kind: one goes elsewhere.
    let Some(&i) = free.get(random.below(free.len())) else {
        return false;
    };
    let range: Rect = state.range(state.pose[i]);
    state.at[i] = Point::new(
        random.between(range.x0, range.x1),
        random.between(range.y0, range.y1),
    );
    state.bring_inside();
    true
}
