//! The search as a whole: first layouts, then tries at shorter ones until told to end.
//!
//! In: a job, a seed, how long to go on. Out: the best layout found; while it runs, word of each
//! better one. Never: a clock. Two threads try from the same layout with seeds of their own; after
//! a fixed number of steps the better result is the next start of both. So a search limited by
//! steps gives the same layout every time, on any number of processors.

use crate::bands::banded;
use crate::compact::compacted;
use crate::job::{Job, JobError};
use crate::layout::{Layout, Placement};
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::start::dropped;
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;
use crate::window::{Try, attempt};

/// How a search is run.
#[derive(Clone, Copy, Debug)]
pub struct Options {
    /// Where the drawing of lots starts: another seed, another search.
    pub seed: u64,
    /// Moves of single pieces after which to end; `None`: when told to.
    pub steps: Option<u64>,
}

/// How far a search has come.
#[derive(Clone, Copy, Debug)]
pub struct Progress {
    /// The length of the best layout, millimetres.
    pub length: f64,
    /// Its utilisation, from 0 to 1.
    pub utilisation: f64,
    /// Moves made so far.
    pub steps: u64,
}

/// Threads at work.
const WORKERS: usize = 2;
/// Moves of one worker between two looks at what the other has found.
const ROUND: u64 = 3000;
/// Layouts in rows that are made as short as they go, to choose from.
const STARTS: usize = 6;
/// Programs run on a first layout.
const START_ROUNDS: usize = 40;
/// Free pieces of one try.
const WINDOW_PIECES: f64 = 40.0;
/// Lays of no more pieces are searched as a whole.
const WHOLE_PIECES: usize = 75;
/// The cloth taken out at the first try, and at the least, as a share of the window.
const TAKEN: (f64, f64) = (0.01, 0.0005);

/// The best layout found for `job`.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn improve(
    job: &Job,
    options: Options,
    stop: &dyn Stop,
    progress: &mut dyn FnMut(Progress),
) -> Result<Layout, JobError> {
    job.check()?;
    let table = Table::new(job);
    let mut best = first(&table, job);
    if best.reach() <= 0.0 {
        return Ok(layout(&best));
    }
    let mut workers: Vec<Worker<'_>> = (0..WORKERS)
        .map(|k| Worker::new(best.clone(), options.seed.wrapping_mul(1000).wrapping_add(k as u64)))
        .collect();
    let mut steps = 0;
    loop {
        let so_far = Progress {
            length: best.length,
            utilisation: layout(&best).utilisation(job),
            steps,
        };
        progress(so_far);
        let left = options.steps.map_or(u64::MAX, |most| most.saturating_sub(steps));
        if left == 0 || stop.stop() {
            break;
        }
        let quota = ROUND.min(left.div_ceil(WORKERS as u64));
        std::thread::scope(|scope| {
            for worker in &mut workers {
                scope.spawn(move || worker.round(quota, stop));
            }
        });
        steps += workers.iter().map(|w| w.steps).sum::<u64>();
        for worker in &workers {
            if worker.best.length < best.length {
                best = worker.best.clone();
            }
        }
        for worker in &mut workers {
            if worker.best.length > best.length { worker.best.clone_from(&best); worker.now.clone_from(&best); worker.age = 0; }
        }
    }
    Ok(layout(&best))
}

/// The best of the first layouts.
fn first<'t>(table: &'t Table, job: &Job) -> State<'t> {
    let counts: Vec<usize> = job.kinds.iter().map(|k| k.count).collect();
    let mut starts = banded(table, &counts);
    starts.truncate(STARTS);
    let mut best = dropped(table, &counts);
    starts.push(best.clone());
    for start in starts {
        let short = compacted(&start, START_ROUNDS).unwrap_or(start);
        if short.length < best.length {
            best = short;
        }
    }
    best
}

fn layout(state: &State<'_>) -> Layout {
    let placements = (0..state.len())
        .filter(|&i| !state.frozen[i])
        .map(|i| {
            let pose = &state.table.poses[state.pose[i]];
            Placement {
                kind: pose.kind,
                turn: pose.turn,
                at: state.at[i].to_vec2(),
            }
        })
        .collect();
    Layout {
        placements,
        length: state.length,
    }
}

/// One thread's search.
struct Worker<'t> {
    best: State<'t>,
    now: State<'t>,
    age: usize,
    random: Random,
    separator: Separator<'t>,
    /// The share of the window taken out at the next try.
    taken: f64,
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
    fn new(best: State<'t>, seed: u64) -> Worker<'t> {
        Worker {
            now: best.clone(),
            age: 0,
            best,
            random: Random::new(seed),
            separator: Separator::new(),
            taken: TAKEN.0,
            steps: 0,
        }
    }

    /// Tries until the quota is used.
    fn round(&mut self, quota: u64, stop: &dyn Stop) {
        let mut meter = Quota {
            left: quota,
            used: 0,
            stop,
        };
        while meter.go_on(1) {
            let knob = |name: &str, d: f64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(d);
            self.age += 1;
            if self.age > knob("AGE", 100.0) as usize { self.age = 0; self.now = self.best.clone(); }
            let how = self.choose();
            let found = attempt(
                &self.now,
                how,
                &mut self.separator,
                &mut self.random,
                &mut meter,
            );
            match found {
                Some(found) => {
                    if !how.disturb { self.taken = (self.taken * 1.2).min(TAKEN.0); }
                    self.now = found;
                    if self.now.length < self.best.length { self.best = self.now.clone(); self.age = 0; }
                }
                None if how.disturb => (),
                None => self.taken = (self.taken * 0.8).max(TAKEN.1),
            }
        }
        self.steps = meter.used;
    }

    /// Where to try next: anywhere in a small lay; in a large one half of the times at an end.
    fn choose(&mut self) -> Try {
        let knob = |name: &str, d: f64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(d);
        let length = self.now.length;
        let count = self.best.len();
        let wide = if count <= WHOLE_PIECES {
            length
        } else {
            (length * knob("WIN", WINDOW_PIECES) / count as f64).min(length)
        };
        let from = match self.random.below(4) {
            0 => 0.0,
            1 => length - wide,
            _ => self.random.between(-wide / 2.0, length - wide / 2.0),
        };
        let window = (from.max(0.0).min(length - wide), from.max(0.0).min(length - wide) + wide);
        let disturb = self.random.unit() < knob("DIST", 0.5);
        Try {
            limit: if disturb { self.best.length + knob("TOL", 0.003) * wide } else { self.now.length },
            disturb,
            window,
            cut: self.random.between(window.0, window.1),
            by: if disturb { self.now.length - self.best.length - knob("EASE", 0.001) * wide } else { self.taken * wide },
            swaps: if disturb { 0 } else { knob("RETRY", 5.0) as usize },
            effort: Effort {
                patience: knob("PAT", 20.0) as usize,
                near: knob("NEAR", 150.0),
                far: knob("FAR", 0.3),
                boxes: knob("BOXES", 2000.0) as usize,
            },
        }
    }
}
