//! One thread of the search: where to try next, and what to go on from.
//!
//! In: a clear layout, or a window of it. Out: shorter ones. It walks over clear layouts somewhat
//! longer than the best one, so that it comes round hills: two pieces change places, the layout is
//! taken apart and made short again, and the walk goes on from there if it is not much longer. In
//! between it takes cloth out of where it stands. Where no walk leads on, it gives chase. Never: other
//! threads, or which window.

use crate::chase::Chase;
use crate::part::{Part, Seam};
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::state::State;
use crate::stop::Stop;
use crate::window::{Try, attempt};

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
/// Walks without a best after which some of them are a chase instead, and how many.
const STUCK: u64 = 3;
const CHASES: f64 = 0.15;
/// Share of tries in which a piece takes only its first turn and the opposite, if it has others and
/// may take them.
const FEW_TURNS: f64 = 0.25;

/// Share of moves that look over the whole cloth, at the most; and the number of such looks for so
/// many pieces: a look takes the longer the more pieces there are.
const FAR: (f64, f64) = (0.2, 3.6);

/// Rounds, reach and depth of one separation.
pub(crate) const EFFORT: Effort = Effort {
    patience: 6,
    near: 0.25,
    far: FAR.0,
    boxes: 2000,
    few_turns: false,
};

/// One thread's search.
pub(crate) struct Worker<'t> {
    best: Part<'t>,
    seam: Seam,
    /// Where the walk is.
    now: Part<'t>,
    random: Random,
    separator: Separator<'t>,
    /// The share of the window taken out at the next try.
    taken: f64,
    /// How much longer than the best the walk may be now, as a share of the window.
    longer: f64,
    /// Tries since the last best, or since the walk began anew.
    tries: usize,
    /// Walks since the last best.
    walks: u64,
    /// What is tried instead of a walk.
    chase: Option<Chase<'t>>,
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
    /// A worker that starts with the whole of a layout.
    pub(crate) fn new(whole: &State<'t>, seed: u64) -> Worker<'t> {
        let (part, seam) = Part::cut(whole, (0.0, whole.length));
        Worker {
            now: part.clone(),
            best: part,
            seam,
            random: Random::new(seed),
            separator: Separator::new(),
            taken: TAKEN.0,
            longer: LONGER.0,
            tries: 0,
            walks: 0,
            chase: None,
            steps: 0,
        }
    }

    /// Goes on with a window of a layout.
    pub(crate) fn start(&mut self, whole: &State<'t>, window: (f64, f64)) {
        let (part, seam) = Part::cut(whole, window);
        self.now.clone_from(&part);
        self.best = part;
        self.seam = seam;
        self.tries = 0;
        self.walks = 0;
        self.chase = None;
    }

    /// The shortest it knows.
    pub(crate) fn best(&self) -> &Part<'t> {
        &self.best
    }

    /// How that belongs to the layout the worker started from.
    pub(crate) fn seam(&self) -> &Seam {
        &self.seam
    }

    /// Moves made in the last round.
    pub(crate) fn steps(&self) -> u64 {
        self.steps
    }

    /// Tries until the quota is used. With `few_turns` pieces take only their first turn and the
    /// opposite.
    pub(crate) fn round(&mut self, quota: u64, few_turns: bool, stop: &dyn Stop) {
        let mut meter = Quota {
            left: quota,
            used: 0,
            stop,
        };
        while meter.go_on(1) {
            match self.chase.take() {
                Some(chase) => self.go_on(chase, few_turns, &mut meter),
                None => self.walk(few_turns, &mut meter),
            }
        }
        self.steps = meter.used;
    }

    /// One try of the walk, or the beginning of another.
    fn walk(&mut self, few_turns: bool, meter: &mut dyn Meter) {
        self.tries += 1;
        if self.tries > PATIENCE {
            self.tries = 0;
            self.walks += 1;
            self.now.clone_from(&self.best);
            let drawn = self.random.unit();
            self.longer = LONGER.0 + (LONGER.1 - LONGER.0) * drawn * drawn * drawn;
            let stuck = self.walks > STUCK && self.best.is_all();
            if stuck && self.random.unit() < CHASES {
                let effort = self.effort(few_turns);
                self.chase = Some(Chase::new(self.best.clone(), effort, &mut self.random));
                return;
            }
        }
        let how = self.choose(few_turns);
        let found = attempt(&self.now, how, &mut self.separator, &mut self.random, meter);
        if !how.disturb {
            let factor = if found.is_some() { BOLDER } else { MILDER };
            self.taken = (self.taken * factor).clamp(TAKEN.1, TAKEN.0);
        }
        self.take(found);
    }

    /// One try of a chase.
    fn go_on(&mut self, mut chase: Chase<'t>, few_turns: bool, meter: &mut dyn Meter) {
        let found = chase.go_on(few_turns, &mut self.separator, &mut self.random, meter);
        if found.is_none() && !chase.is_over() {
            self.chase = Some(chase);
        }
        self.take(found);
    }

    /// Goes on from what was found.
    fn take(&mut self, found: Option<Part<'t>>) {
        let keeps = |found: &Part<'t>| !found.whole || found.state.keeps_near();
        if let Some(found) = found.filter(keeps) {
            if found.state.length < self.best.state.length {
                self.best.clone_from(&found);
                self.tries = 0;
                self.walks = 0;
            }
            self.now = found;
        }
    }

    /// How to try next.
    fn choose(&mut self, few_turns: bool) -> Try {
        let window = self.best.window;
        let wide = window.1 - window.0;
        let (length, best) = (self.now.state.length, self.best.state.length);
        let disturb = self.random.unit() < DISTURBED;
        let (by, limit) = if disturb {
            (
                length - best - ROOM * self.longer * wide,
                best + self.longer * wide,
            )
        } else {
            (self.taken * wide, length)
        };
        Try {
            cut: self.random.between(window.0, window.1),
            by,
            limit,
            disturb,
            effort: Effort {
                few_turns: self.random.unit() < FEW_TURNS || few_turns,
                ..self.effort(few_turns)
            },
        }
    }

    /// How hard to try with so many pieces.
    fn effort(&self, few_turns: bool) -> Effort {
        Effort {
            far: FAR.0.min(FAR.1 / self.now.state.len() as f64),
            few_turns,
            ..EFFORT
        }
    }
}
