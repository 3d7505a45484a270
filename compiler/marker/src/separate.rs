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
use crate::place::{Bar, Finder, Found};
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

/// A place for a piece in a pose, and what it costs.
#[derive(Clone, Copy)]
struct Look {
    pose: usize,
    at: Point,
    cost: f64,
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
            finder: Finder::new(),
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

    /// Moves piece `i` to its best place: near where it lies, or with `far` anywhere. What is found
    /// near rules out most of the cloth.
    fn move_piece(
        &mut self,
        state: &mut State<'t>,
        i: usize,
        far: bool,
        random: &mut Random,
        effort: Effort,
    ) {
        let row = i * self.count;
        let cost = (0..self.count)
            .map(|j| self.weight[row + j] * self.depth[row + j])
            .sum();
        let kind = state.table.poses[state.pose[i]].kind;
        let poses = if effort.few_turns {
            &state.table.few_of_kind[kind]
        } else {
            &state.table.of_kind[kind]
        };
        let first = random.below(poses.len());
        let poses = || (0..poses.len()).map(|turn| poses[(first + turn) % poses.len()]);
        let mut now = Look {
            pose: state.pose[i],
            at: state.at[i],
            cost,
        };
        let mut found = false;
        for pose in poses() {
            let range = near_places(state, i, pose, effort.near);
            found |= self.look(state, i, pose, range, effort, &mut now);
        }
        if far {
            for pose in poses() {
                let range = state.range(pose);
                found |= self.look(state, i, pose, range, effort, &mut now);
            }
        }
        if found {
            state.pose[i] = now.pose;
            state.at[i] = if state.is_loop {
                state.inside(now.pose, now.at)
            } else {
                now.at
            };
            self.measure(state, i);
        }
    }

    /// Looks for a place of `pose` that costs less than the best so far. Whether there is one.
    fn look(
        &mut self,
        state: &State<'t>,
        i: usize,
        pose: usize,
        range: Rect,
        effort: Effort,
        best: &mut Look,
    ) -> bool {
        if best.cost <= 0.0 {
            return false;
        }
        let weights = &self.weight[i * self.count..];
        state.bars(i, pose, range, |j| weights[j], &mut self.bars);
        let on = &state.table.poses[pose];
        self.finder.slant = on.slant;
        let (finder, bars) = (&mut self.finder, &self.bars);
        let place = lattice::best(on.tie, finder, bars, range, best.cost, effort.boxes);
        if let Some(Found { at, cost }) = place {
            *best = Look { pose, at, cost };
        }
        place.is_some()
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

/// The places near where piece `i` lies, also when it takes another pose: its box stays about where
/// it was.
fn near_places(state: &State<'_>, i: usize, pose: usize, near: f64) -> Rect {
    let bounds = state.table.poses[state.pose[i]].bounds;
    let between = bounds.center() - state.table.poses[pose].bounds.center();
    let side = 2.0 * near * bounds.width().max(bounds.height());
    let tie = state.table.poses[pose].tie;
    // A place on the repeat on either side is near, however long the repeat.
    let size = (side.max(2.0 * tie.x.step()), side.max(2.0 * tie.y.step()));
    let round = Rect::from_center_size(state.at[i] + between, size);
    let range = state.range(pose);
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
