//! The search as a whole: first layouts, then tries at shorter ones until told to end.
//!
//! In: a job, a seed, how long to go on. Out: the best layout found; while it runs, word of each
//! better one. Never: a clock.

use crate::first::{CHOICES, exact, shortest, starts};
use crate::job::{Job, JobError};
use crate::layout::Layout;
use crate::near::{Near, blocks};
use crate::proof::prove;
use crate::simplify::simplified_job;
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;
use crate::team::Team;
use crate::tolerance::{FULL, SIMPLER};

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

/// The best layout found for `job`. `progress` is told after every round of all threads, about
/// once a second or oftener; on a stop the best layout so far comes back.
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
    let simpler = simplified_job(job, SIMPLER);
    let mut table = Table::new(&simpler);
    table.near = Near::of(job, options.near);
    let mut starts = starts(&table, &job.counts(), CHOICES.1, stop);
    let given = options.start.as_ref();
    let given = given.filter(|layout| prove(job, layout).is_ok());
    starts.extend(given.map(|given| State::of_layout(&table, given)));
    if let Some(near) = &table.near {
        starts.extend(blocks(&table, &simpler, near, stop)?);
    }
    let mut team = Team::new(shortest(starts, stop)?, &job.counts(), options.seed);
    let mut steps = 0;
    let mut tell = |layout: &Layout, steps: u64| {
        progress(Progress {
            length: layout.length,
            utilisation: layout.utilisation(job),
            steps,
        });
    };
    loop {
        let now = team.best().to_layout();
        let left = options
            .steps
            .map_or(u64::MAX, |most| most.saturating_sub(steps));
        let full = now.utilisation(job) >= FULL || job.pieces() == 0;
        let end = left == 0 || stop.stop() || full;
        let now = if end && simpler != *job {
            exact(job, options.near, now)
        } else {
            now
        };
        let now = match given {
            Some(given) if given.length < now.length => given.clone(),
            _ => now,
        };
        tell(&now, steps);
        if end {
            return Ok(now);
        }
        steps += team.round(left, stop);
    }
}
