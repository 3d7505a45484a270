//! One try at a shorter part of a layout: cloth taken out at one place, the pieces taken apart.
//!
//! In: a clear part. Out: a clear one short enough, or nothing. The pieces of its window move
//! freely; two of them may change places to begin with. Never: where in the layout to try.

use kurbo::{Point, Rect};

use crate::compact::compacted_part;
use crate::part::Part;
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::start::settle;
use crate::state::State;

/// Where and how a try is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Try {
    /// Where cloth is taken out, millimetres along it.
    pub(crate) cut: f64,
    /// How much, millimetres.
    pub(crate) by: f64,
    /// What is found must be shorter than this, millimetres.
    pub(crate) limit: f64,
    /// Whether two pieces change places to begin with.
    pub(crate) disturb: bool,
    /// How hard each separation is tried.
    pub(crate) effort: Effort,
}

/// Programs run on pieces that did not quite come apart.
const HOPE_ROUNDS: usize = 4;
/// Pieces deeper in one another than this, on the mean, will not come apart, millimetres.
const HOPE_DEPTH: f64 = 1.0;
/// Programs run on what was found.
const POLISH_ROUNDS: usize = 10;
/// Pairs looked at to find two pieces of different kinds.
const SWAP_DRAWS: usize = 50;

/// What came of taking the pieces of a part apart.
pub(crate) enum Taken<'t> {
    /// They are clear, and the part is shorter than the limit.
    Short(Part<'t>),
    /// They still overlap, by this sum of depths, or the part is not short enough.
    Over(f64, Part<'t>),
}

/// Tries once.
pub(crate) fn attempt<'t>(
    from: &Part<'t>,
    how: Try,
    separator: &mut Separator<'t>,
    random: &mut Random,
    meter: &mut dyn Meter,
) -> Option<Part<'t>> {
    if from.count() == 0 {
        return None;
    }
    match taken_apart(squeezed(from, how), from, how, separator, random, meter) {
        Taken::Short(part) => Some(part),
        Taken::Over(..) => None,
    }
}

/// Takes apart the pieces of `part`, which has less cloth than `from`, the clear part it was made of.
pub(crate) fn taken_apart<'t>(
    mut part: Part<'t>,
    from: &Part<'t>,
    how: Try,
    separator: &mut Separator<'t>,
    random: &mut Random,
    meter: &mut dyn Meter,
) -> Taken<'t> {
    let frozen = part.hold();
    part.state.bring_inside();
    separator.reset(part.state.len());
    if how.disturb {
        swap(&mut part.state, random);
    }
    let left = separator.separate(&mut part.state, random, how.effort, meter);
    part.state.frozen = frozen;
    if left > HOPE_DEPTH * from.count() as f64 {
        return Taken::Over(left, part);
    }
    let margin = part.state.margin;
    if from.whole {
        // Now the pieces beyond the window move, too.
        part.state.margin = (0.0, 0.0);
    }
    let short = shortened(&part.state, from, how.limit, left == 0.0);
    part.state.margin = margin;
    match short {
        Some(state) => {
            part.state = state;
            part.state.margin = margin;
            Taken::Short(part)
        }
        None => Taken::Over(left, part),
    }
}

/// The pieces of a part, `clear` or nearly so, made clear and short; `None` if they cannot be so
/// or come out no shorter than the limit.
fn shortened<'t>(state: &State<'t>, part: &Part<'t>, limit: f64, clear: bool) -> Option<State<'t>> {
    let mut found = match compacted_part(state, &part.behind, limit, HOPE_ROUNDS) {
        Some(short) => {
            compacted_part(&short, &part.behind, short.length, POLISH_ROUNDS).unwrap_or(short)
        }
        // The program keeps a reserve, which pieces that just fill the width do not have.
        None if clear && state.is_clear() => state.clone(),
        None => return None,
    };
    if part.whole && !found.is_loop {
        settle(&mut found);
    }
    (found.length < limit).then_some(found)
}

/// The part with cloth taken out: what lies right of the cut goes left.
pub(crate) fn squeezed<'t>(from: &Part<'t>, how: Try) -> Part<'t> {
    let mut part = from.clone();
    let by = repeats(from, how);
    part.state.length -= by;
    for i in 0..part.state.len() {
        let goes = part.behind[i] || !part.state.frozen[i];
        if goes && from.state.middle(i) > how.cut {
            part.state.at[i].x -= by;
        }
    }
    part
}

/// How much cloth is taken out: as asked, but by whole repeats if pieces are tied to them and some
/// lie behind the window, for these go along as they are.
fn repeats(from: &Part<'_>, how: Try) -> f64 {
    let step = from.state.table.step;
    if step == 0.0 || from.window.1 >= from.state.length {
        how.by
    } else if how.disturb {
        libm::round(how.by / step) * step
    } else {
        libm::ceil(how.by / step) * step
    }
}

/// Two free pieces of different kinds change places, middle for middle; if all are of one kind, one
/// goes elsewhere.
fn swap(state: &mut State<'_>, random: &mut Random) {
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
            return;
        }
    }
    let Some(&i) = free.get(random.below(free.len())) else {
        return;
    };
    let range: Rect = state.range(state.pose[i]);
    state.at[i] = Point::new(
        random.between(range.x0, range.x1),
        random.between(range.y0, range.y1),
    );
    state.bring_inside();
}
