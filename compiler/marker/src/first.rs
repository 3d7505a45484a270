//! First layouts: rows and dropped pieces made as short as they go.
//!
//! In: a job. Out: a clear layout in milliseconds, always the same for the same job. Never: lots.

use crate::bands::banded;
use crate::compact::compacted;
use crate::job::{Job, JobError};
use crate::layout::Layout;
use crate::near::Near;
use crate::proof::prove;
use crate::simplify::simplified_job;
use crate::start::{dropped, settle};
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;
use crate::tolerance::SIMPLER;

/// Layouts that are made as short as they go, to choose from: in haste, and for a long search.
pub(crate) const CHOICES: (usize, usize) = (2, 8);
/// Programs run on each.
const ROUNDS: usize = 40;
/// Programs run between two looks at whether to stop.
const AT_A_TIME: usize = 5;
/// Programs run with the true outlines.
const EXACT_ROUNDS: usize = 6;
/// How much longer a layout may become, as a factor, whose pieces are clear of one another but not
/// their simpler outlines.
const LONGER: f64 = 1.02;

/// A good layout of `job` at once: rows of nested pieces, or pieces dropped one by one, made short.
/// A dozen ties take some hundredths of a second. On a stop a longer one comes back still sooner:
/// that of [`simple`] for the [`simpler`] job.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn first(job: &Job, stop: &dyn Stop) -> Result<Layout, JobError> {
    job.check()?;
    let simpler = simpler(job);
    let layout = simple(&simpler, stop)?;
    Ok(if simpler == *job || stop.stop() {
        layout
    } else {
        exact(job, None, layout)
    })
}

/// The job with outlines of fewer corners round its own: what is clear with them is clear with its
/// own too. Whoever lays the same kinds many times makes them simpler once.
pub fn simpler(job: &Job) -> Job {
    simplified_job(job, SIMPLER)
}

/// [`first`] with the outlines of `job` as they are, however many corners they have.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn simple(job: &Job, stop: &dyn Stop) -> Result<Layout, JobError> {
    job.check()?;
    let table = Table::new(job);
    let starts = starts(&table, &job.counts(), CHOICES.0, stop);
    Ok(shortest(starts, stop)?.to_layout())
}

/// A layout that was found with simpler outlines made short with the true ones.
pub(crate) fn exact(job: &Job, near: Option<f64>, found: Layout) -> Layout {
    let mut table = Table::new(job);
    table.near = Near::of(job, near);
    let state = State::of_layout(&table, &found);
    let Some(mut short) = compacted(&state, state.length, EXACT_ROUNDS) else {
        return found;
    };
    settle(&mut short);
    let layout = short.to_layout();
    if short.keeps_near() && prove(job, &layout).is_ok() {
        layout
    } else {
        found
    }
}

/// First layouts: no more than `most` of those in rows, and one dropped.
pub(crate) fn starts<'t>(
    table: &'t Table,
    counts: &[usize],
    most: usize,
    stop: &dyn Stop,
) -> Vec<State<'t>> {
    let mut starts = banded(table, counts, stop);
    starts.truncate(most);
    if starts.is_empty() || !stop.stop() {
        starts.push(dropped(table, counts));
    }
    starts
}

/// The shortest that comes of the layouts when each is made short, of those that keep the pieces of
/// a tie as near as asked.
///
/// # Errors
/// When none does.
pub(crate) fn shortest<'t>(starts: Vec<State<'t>>, stop: &dyn Stop) -> Result<State<'t>, JobError> {
    let mut best: Option<State<'t>> = None;
    let mut widest = f64::INFINITY;
    for start in starts {
        let clear = start.is_clear();
        let short = if clear {
            shortened(&start, stop)
        } else {
            compacted(&start, start.length * LONGER, ROUNDS)
        };
        for state in [clear.then_some(start), short].into_iter().flatten() {
            let shorter = best.as_ref().is_none_or(|b| state.length < b.length);
            if shorter && state.keeps_near() {
                best = Some(state);
            } else if let Some(near) = &state.table.near {
                widest = near.widest(&state).map_or(widest, |w| w.min(widest));
            }
        }
    }
    best.ok_or(JobError::Near(widest))
}

/// A clear layout made short until told to stop; `None` if it does not come out shorter.
fn shortened<'t>(start: &State<'t>, stop: &dyn Stop) -> Option<State<'t>> {
    let mut short: Option<State<'t>> = None;
    for _ in 0..ROUNDS / AT_A_TIME {
        let from = short.as_ref().unwrap_or(start);
        if stop.stop() {
            break;
        }
        let next = compacted(from, from.length, AT_A_TIME);
        if next.is_none() {
            break;
        }
        short = next;
    }
    short
}
