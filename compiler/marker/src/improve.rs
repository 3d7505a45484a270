//! The search as a whole: first layouts, then tries at shorter ones until told to end.
//!
//! In: a job, a seed, how long to go on. Out: the best layout found; while it runs, word of each
//! better one. Never: a clock. Two threads try from the same layout with seeds of their own; after
//! a fixed number of steps the better result is the next start of both. So a search limited by
//! steps gives the same layout every time, on any number of processors.

use kurbo::Point;

use crate::bands::banded;
use crate::compact::compacted;
use crate::job::{Job, JobError};
use crate::layout::{Layout, Placement};
use crate::near::{Near, blocks};
use crate::proof::prove;
use crate::start::{dropped, with_flaws};
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;
use crate::tolerance::FULL;
use crate::worker::Worker;

/// How a search is run.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// Where the drawing of lots starts: another seed, another search.
    pub seed: u64,
    /// Moves of single pieces after which to end; `None`: when told to.
    pub steps: Option<u64>,
    /// A layout to start from: what comes out is never longer. It is passed over if it is no
    /// layout of the job.
    pub start: Option<Layout>,
    /// The most cloth the pieces of one tie may lie along, from the left end of the first to the
    /// right end of the last, millimetres; `None`: any. Needs the articles of the job.
    pub near: Option<f64>,
}

/// How far a search has come.
#[derive(Clone, Copy, Debug, PartialEq)]
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
const STARTS: usize = 8;
/// Programs run on a first layout.
const START_ROUNDS: usize = 40;

/// The best layout found for `job`. `progress` is told after every round of both threads, several
/// times a second; on a stop the best layout so far comes back.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn improve(
    job: &Job,
    options: &Options,
    stop: &dyn Stop,
    progress: &mut dyn FnMut(Progress),
) -> Result<Layout, JobError> {
    job.check()?;
    let mut table = Table::new(job);
    table.near = Near::of(job, options.near);
    let mut best = first(&table, job, options.start.as_ref(), stop)?;
    let mut workers: Vec<Worker<'_>> = (0..WORKERS as u64)
        .map(|k| {
            Worker::new(
                &best,
                options.seed.wrapping_mul(WORKERS as u64).wrapping_add(k),
            )
        })
        .collect();
    let mut steps = 0;
    loop {
        let now = layout(&best);
        let utilisation = now.utilisation(job);
        progress(Progress {
            length: now.length,
            utilisation,
            steps,
        });
        let left = options
            .steps
            .map_or(u64::MAX, |most| most.saturating_sub(steps));
        if left == 0 || stop.stop() || utilisation >= FULL || job.pieces() == 0 {
            return Ok(now);
        }
        steps += round(
            &mut workers,
            &mut best,
            ROUND.min(left.div_ceil(WORKERS as u64)),
            stop,
        );
    }
}

/// One round of all workers, who then have the best in common. Returns the moves made.
fn round<'t>(workers: &mut [Worker<'t>], best: &mut State<'t>, quota: u64, stop: &dyn Stop) -> u64 {
    std::thread::scope(|scope| {
        for worker in workers.iter_mut() {
            scope.spawn(move || worker.round(quota, stop));
        }
    });
    for worker in workers.iter() {
        if worker.best().length < best.length {
            best.clone_from(worker.best());
        }
    }
    for worker in workers.iter_mut() {
        worker.learn(best);
    }
    workers.iter().map(|w| w.steps()).sum()
}

/// The best of the first layouts, of those that keep the pieces of a tie as near as asked.
fn first<'t>(
    table: &'t Table,
    job: &Job,
    given: Option<&Layout>,
    stop: &dyn Stop,
) -> Result<State<'t>, JobError> {
    let counts: Vec<usize> = job.kinds.iter().map(|k| k.count).collect();
    let mut starts = banded(table, &counts);
    starts.truncate(STARTS);
    starts.push(dropped(table, &counts));
    let given = given.filter(|layout| prove(job, layout).is_ok());
    starts.extend(given.map(|given| state(table, given)));
    if let Some(near) = &table.near {
        starts.extend(blocks(table, job, near, stop)?);
    }
    let mut best: Option<State<'t>> = None;
    let mut widest = f64::INFINITY;
    for start in starts {
        let short = compacted(&start, start.length, START_ROUNDS);
        for state in [Some(start), short].into_iter().flatten() {
            let shorter = best.as_ref().is_none_or(|b| state.length < b.length);
            if shorter && state.keeps_near() {
                best = Some(state);
            } else if let Some(near) = &table.near {
                widest = near.widest(&state).map_or(widest, |w| w.min(widest));
            }
        }
    }
    best.ok_or(JobError::Near(widest))
}

/// A layout as the search has it.
fn state<'t>(table: &'t Table, layout: &Layout) -> State<'t> {
    let mut state = with_flaws(table);
    for placement in &layout.placements {
        let pose = table
            .poses
            .iter()
            .position(|p| (p.kind, p.turn) == (placement.kind, placement.turn));
        if let Some(pose) = pose {
            state.push(pose, Point::ORIGIN + placement.at, false);
        }
    }
    state.length = layout.length;
    state
}

fn layout(state: &State<'_>) -> Layout {
    let placement = |i: usize| {
        let pose = &state.table.poses[state.pose[i]];
        Placement {
            kind: pose.kind,
            turn: pose.turn,
            at: state.at[i].to_vec2(),
        }
    };
    let free = (0..state.len()).filter(|&i| !state.frozen[i]);
    Layout {
        placements: free.map(placement).collect(),
        length: state.length,
    }
}
