//! One thread of the search: where to try next, and what to go on from.
//!
//! In: a clear layout. Out: shorter ones. It walks over clear layouts somewhat longer than the best
//! one, so that it comes round hills: two pieces change places, the layout is taken apart and made
//! short again, and the walk goes on from there if it is not much longer. In between it takes cloth
//! out of where it stands. Never: other threads.

use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::state::State;
use crate::stop::Stop;
use crate::window::{Try, attempt};

/// Lays of no more pieces are searched as a whole.
const WHOLE: usize = 75;
/// Free pieces of one try in a larger lay.
const WINDOW: f64 = 40.0;
/// The cloth taken out at a first try, and at the least, as a share of the window.
const TAKEN: (f64, f64) = (0.01, 0.0005);
/// Factors on it after a find and after none.
const BOLDER: f64 = 1.2;
const MILDER: f64 = 0.8;
/// Share of tries that begin with two pieces changing places.
const DISTURBED: f64 = 0.7;
/// How much longer than the best the walk may be, as a share of the window: drawn anew whenever
/// the walk starts from the best, low shares more often. Curved pieces have hills of all heights;
/// those between layouts of rectangles are high.
const LONGER: (f64, f64) = (0.0015, 0.025);
/// How much room such a try is given beyond the best, as a share of how much longer it may be.
const ROOM: f64 = 0.4;
/// Tries without a best after which the walk starts from the best again.
const PATIENCE: usize = 100;
/// How often pieces change places in a try that takes cloth out.
const SWAPS: usize = 5;
/// Share of tries in which a piece takes only its first turn and the opposite, if it has others,
/// in lays of up to so many pieces and in larger ones: in a large lay pieces nest no better across
/// than along, and fewer turns are searched faster.
const FEW_TURNS: (f64, f64, usize) = (0.25, 0.8, 30);

/// Rounds, reach and depth of one separation.
const EFFORT: Effort = Effort {
    patience: 10,
    near: 0.25,
    far: 0.5,
    boxes: 2000,
    few_turns: false,
};

/// One thread's search.
pub(crate) struct Worker<'t> {
    best: State<'t>,
    /// Where the walk is.
    now: State<'t>,
    random: Random,
    separator: Separator<'t>,
    /// The share of the window taken out at the next try.
    taken: f64,
    /// How much longer than the best the walk may be now, as a share of the window.
    longer: f64,
    /// Tries since the last best.
    tries: usize,
    /// Moves made in the last round.
    steps: u64,
}

/// Counts moves against a quota.
struct Quota<'s> {
    left: u64,
    used: u64,
    stop: &'s dyn Stop,
}

impl Meter for Quota<'_> {
    fn go_on(&mut self, steps: u64) -> bool {
        self.used += steps;
        self.left = self.left.saturating_sub(steps);
        self.left > 0 && !self.stop.stop()
    }
}

impl<'t> Worker<'t> {
    /// A worker that starts from `best`.
    pub(crate) fn new(best: &State<'t>, seed: u64) -> Worker<'t> {
        Worker {
            best: best.clone(),
            now: best.clone(),
            random: Random::new(seed),
            separator: Separator::new(),
            taken: TAKEN.0,
            longer: LONGER.0,
            tries: 0,
            steps: 0,
        }
    }

    /// The shortest layout it knows.
    pub(crate) fn best(&self) -> &State<'t> {
        &self.best
    }

    /// Moves made in the last round.
    pub(crate) fn steps(&self) -> u64 {
        self.steps
    }

    /// Goes on from a layout of another worker if it is shorter.
    pub(crate) fn learn(&mut self, best: &State<'t>) {
        if best.length < self.best.length {
            self.best.clone_from(best);
            self.now.clone_from(best);
            self.tries = 0;
        }
    }

    /// Tries until the quota is used.
    pub(crate) fn round(&mut self, quota: u64, stop: &dyn Stop) {
        let mut meter = Quota {
            left: quota,
            used: 0,
            stop,
        };
        while meter.go_on(1) {
            self.tries += 1;
            if self.tries > PATIENCE {
                self.tries = 0;
                self.now.clone_from(&self.best);
                let drawn = self.random.unit();
                self.longer = LONGER.0 + (LONGER.1 - LONGER.0) * drawn * drawn * drawn;
            }
            let how = self.choose();
            let found = attempt(
                &self.now,
                how,
                &mut self.separator,
                &mut self.random,
                &mut meter,
            );
            self.take(how, found);
        }
        self.steps = meter.used;
    }

    /// Goes on from what was found.
    fn take(&mut self, how: Try, found: Option<State<'t>>) {
        if !how.disturb {
            let factor = if found.is_some() { BOLDER } else { MILDER };
            self.taken = (self.taken * factor).clamp(TAKEN.1, TAKEN.0);
        }
        if let Some(found) = found.filter(State::keeps_near) {
            if found.length < self.best.length {
                self.best.clone_from(&found);
                self.tries = 0;
            }
            self.now = found;
        }
    }

    /// Where and how to try next: anywhere in a small lay; in a large one half of the times at an
    /// end, where most is to be gained.
    fn choose(&mut self) -> Try {
        let length = self.now.length;
        let count = self.now.len();
        let wide = if count <= WHOLE {
            length
        } else {
            (length * WINDOW / count as f64).min(length)
        };
        let last = length - wide;
        let from = match self.random.below(4) {
            0 => 0.0,
            1 => last,
            _ => self.random.between(-wide / 2.0, last + wide / 2.0),
        };
        let from = from.min(last).max(0.0);
        let window = (from, from + wide);
        let few = if count <= FEW_TURNS.2 {
            FEW_TURNS.0
        } else {
            FEW_TURNS.1
        };
        let disturb = self.random.unit() < DISTURBED;
        let (by, limit) = if disturb {
            (
                length - self.best.length - ROOM * self.longer * wide,
                self.best.length + self.longer * wide,
            )
        } else {
            (self.taken * wide, length)
        };
        Try {
            window,
            cut: self.random.between(window.0, window.1),
            by,
            limit,
            disturb,
            swaps: if disturb { 0 } else { SWAPS },
            effort: Effort {
                few_turns: self.random.unit() < few,
                ..EFFORT
            },
        }
    }
}
