//! Taking overlapping pieces apart at a fixed length, by guided local search.
//!
//! In: a state whose pieces overlap. Out: the same pieces, none overlapping, or the least overlap
//! found before giving up. Never: the length.
//!
//! Every overlapping pair has a weight. One piece after another goes to the place where its
//! weighted overlaps are least; pairs that stay overlapping get heavier, so that what is always in
//! the way is moved in the end (guided local search, Voudouris & Tsang 1999; for packing, Egeblad,
//! Nielsen & Odgaard 2007; weights by the size of overlap, Gardeyn & Wauters 2025).

use kurbo::{Point, Rect};

use crate::lattice;
use crate::place::{Bar, Finder};
use crate::random::Random;
use crate::state::State;
use crate::tolerance::CLEAR;

/// How an attempt is made.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Effort {
    /// Rounds without a better overlap before giving up.
    pub(crate) patience: usize,
    /// How far round itself a piece is looked for a place always, as a share of its longer side.
    pub(crate) near: f64,
    /// Share of moves that look over the whole cloth.
    pub(crate) far: f64,
    /// Boxes looked into for one place.
    pub(crate) boxes: usize,
    /// Whether pieces take only their first turn and the opposite.
    pub(crate) few_turns: bool,
}

/// What asks to end: given the steps taken since last asked.
pub(crate) trait Meter {
    /// Takes note of steps; whether to go on.
    fn go_on(&mut self, steps: u64) -> bool;
}

/// The workings, kept from one attempt to the next.
pub(crate) struct Separator<'t> {
    finder: Finder,
    bars: Vec<Bar<'t>>,
    /// Weights of pairs, row by row.
    weight: Vec<f64>,
    depth: Vec<f64>,
    count: usize,
    order: Vec<usize>,
}

/// Least and most factor by which the weight of an overlapping pair grows in a round.
const GROWTH: (f64, f64) = (1.2, 2.0);
/// Factor by which the weight of a clear pair falls in a round.
const DECAY: f64 = 0.95;
/// A round counts as better if it leaves less than this share of the least overlap.
const BETTER: f64 = 0.98;

impl<'t> Separator<'t> {
    pub(crate) fn new() -> Separator<'t> {
        Separator {
            finder: Finder::default(),
            bars: Vec::new(),
            weight: Vec::new(),
            depth: Vec::new(),
            count: 0,
            order: Vec::new(),
        }
    }

    /// Forgets all weights.
    pub(crate) fn reset(&mut self, count: usize) {
        self.count = count;
        self.weight.clear();
        self.weight.resize(count * count, 1.0);
    }

    /// Takes the pieces apart. Returns the least sum of depths reached; `state` has it. It is 0 if
    /// none overlap.
    pub(crate) fn separate(
        &mut self,
        state: &mut State<'t>,
        random: &mut Random,
        effort: Effort,
        meter: &mut dyn Meter,
    ) -> f64 {
        if self.count != state.len() {
            self.reset(state.len());
        }
        self.measure_all(state);
        let mut best = self.total();
        let mut best_state: Option<State<'t>> = None;
        let mut waited = 0;
        while best > 0.0 && waited < effort.patience {
            if !self.round(state, random, effort, meter) {
                break;
            }
            let total = self.total();
            if total < best {
                if total == 0.0 || total < best * BETTER {
                    waited = 0;
                }
                best = total;
                match &mut best_state {
                    Some(kept) => kept.clone_from(state),
                    None => best_state = Some(state.clone()),
                }
            } else {
                waited += 1;
            }
            self.reweigh();
        }
        if let Some(kept) = best_state.filter(|_| best > 0.0) {
            *state = kept;
        }
        best
    }

    /// Moves every overlapping piece once. Whether to go on.
    fn round(
        &mut self,
        state: &mut State<'t>,
        random: &mut Random,
        effort: Effort,
        meter: &mut dyn Meter,
    ) -> bool {
        let mut order = std::mem::take(&mut self.order);
        order.clear();
        order.extend((0..self.count).filter(|&i| !state.frozen[i] && self.overlaps(i)));
        random.shuffle(&mut order);
        let mut steps = 0;
        for &i in &order {
            if self.overlaps(i) {
                let far = random.unit() < effort.far;
                self.move_piece(state, i, far, random, effort);
                steps += 1;
            }
        }
        self.order = order;
        meter.go_on(steps.max(1))
    }

    /// Moves piece `i` to its best place.
    fn move_piece(
        &mut self,
        state: &mut State<'t>,
        i: usize,
        far: bool,
        random: &mut Random,
        effort: Effort,
    ) {
        let row = i * self.count;
        let mut limit: f64 = (0..self.count)
            .map(|j| self.weight[row + j] * self.depth[row + j])
            .sum();
        let old = (state.pose[i], state.at[i]);
        let kind = state.table.poses[old.0].kind;
        let poses = if effort.few_turns {
            &state.table.few_of_kind[kind]
        } else {
            &state.table.of_kind[kind]
        };
        let first = random.below(poses.len());
        let mut found: Option<(usize, Point)> = None;
        for turn in 0..poses.len() {
            let pose = poses[(first + turn) % poses.len()];
            let mut range = state.range(pose);
            if !far {
                range = near_places(state, old, pose, effort.near, range);
            }
            let weight = &self.weight;
            state.bars(i, pose, range, |j| weight[row + j], &mut self.bars);
            let tie = state.table.poses[pose].tie;
            let finder = &mut self.finder;
            if let Some(place) = lattice::best(tie, finder, &self.bars, range, limit, effort.boxes)
            {
                limit = place.cost;
                found = Some((pose, place.at));
            }
            if limit <= 0.0 {
                break;
            }
        }
        if let Some((pose, at)) = found {
            state.pose[i] = pose;
            state.at[i] = if state.is_loop {
                state.inside(pose, at)
            } else {
                at
            };
            self.measure(state, i);
        }
    }

    fn overlaps(&self, i: usize) -> bool {
        let row = i * self.count;
        self.depth[row..row + self.count].iter().any(|d| *d > CLEAR)
    }

    fn measure_all(&mut self, state: &State<'t>) {
        self.depth.clear();
        self.depth.resize(self.count * self.count, 0.0);
        for i in 0..self.count {
            self.measure(state, i);
        }
    }

    /// Measures the overlaps of piece `i`.
    fn measure(&mut self, state: &State<'t>, i: usize) {
        for j in 0..self.count {
            let depth = if i == j || (state.frozen[i] && state.frozen[j]) {
                0.0
            } else {
                state.depth(i, j)
            };
            self.depth[i * self.count + j] = depth;
            self.depth[j * self.count + i] = depth;
        }
    }

    /// Sum of the depths of all pairs.
    fn total(&self) -> f64 {
        self.depth.iter().sum::<f64>() / 2.0
    }

    /// Overlapping pairs get heavier by the size of their overlap, others lighter.
    fn reweigh(&mut self) {
        let deepest = self.depth.iter().copied().fold(0.0, f64::max);
        if deepest <= 0.0 {
            return;
        }
        for (weight, depth) in self.weight.iter_mut().zip(&self.depth) {
            if *depth > 0.0 {
                *weight *= GROWTH.0 + (GROWTH.1 - GROWTH.0) * depth / deepest;
            } else if *weight > 1.0 {
                *weight = (*weight * DECAY).max(1.0);
            }
        }
    }
}

/// The places near where a piece lies, also when it takes another pose: its box stays about where
/// it was.
fn near_places(
    state: &State<'_>,
    old: (usize, Point),
    pose: usize,
    near: f64,
    range: Rect,
) -> Rect {
    let middle = old.1 + state.table.poses[old.0].bounds.center().to_vec2()
        - state.table.poses[pose].bounds.center().to_vec2();
    let bounds = state.table.poses[old.0].bounds;
    let side = 2.0 * near * bounds.width().max(bounds.height());
    let tie = state.table.poses[pose].tie;
    // A place on the repeat on either side is near, however long the repeat.
    let size = (side.max(2.0 * tie.x.step()), side.max(2.0 * tie.y.step()));
    let round = Rect::from_center_size(middle, size);
    let (x0, x1) = if state.is_loop {
        (f64::NEG_INFINITY, f64::INFINITY)
    } else {
        (range.x0, range.x1)
    };
    Rect {
        x0: round.x0.max(x0),
        y0: round.y0.max(range.y0),
        x1: round.x1.min(x1),
        y1: round.y1.min(range.y1),
    }
}
