//! First layouts: rows and dropped pieces made as short as they go.
//!
//! In: a job. Out: a clear layout in milliseconds, always the same for the same job. Never: lots.

use crate::bands::banded;
use crate::compact::compacted;
use crate::job::{Job, JobError};
use crate::layout::Layout;
use crate::proof::prove;
use crate::simplify::simplified_job;
use crate::start::{dropped, settle, with_flaws};
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;
use crate::tolerance::SIMPLER;

/// Layouts that are made as short as they go, to choose from: in haste, and for a long search.
pub(crate) const CHOICES: (usize, usize) = (2, 8);
/// Programs run on each.
const ROUNDS: usize = 40;
/// Programs run with the true outlines.
const EXACT_ROUNDS: usize = 6;
/// How much longer a layout may become, as a factor, whose pieces are clear of one another but not
/// their simpler outlines.
const LONGER: f64 = 1.02;

/// A good layout of `job` at once: rows of nested pieces, or pieces dropped one by one, made short.
/// A dozen ties take some hundredths of a second. On a stop a longer one comes back still sooner.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn first(job: &Job, stop: &dyn Stop) -> Result<Layout, JobError> {
    job.check()?;
    let simpler = simplified_job(job, SIMPLER);
    let table = Table::new(&simpler);
    let best = shortest(starts(&table, &job.counts(), CHOICES.0, stop), stop);
    let layout = best.unwrap_or_else(|| with_flaws(&table)).to_layout();
    Ok(if simpler == *job {
        layout
    } else {
        exact(job, layout)
    })
}

/// A layout that was found with simpler outlines made short with the true ones.
pub(crate) fn exact(job: &Job, found: Layout) -> Layout {
    let table = Table::new(job);
    let state = State::of_layout(&table, &found);
    let Some(mut short) = compacted(&state, state.length, EXACT_ROUNDS) else {
        return found;
    };
    settle(&mut short);
    let short = short.to_layout();
    if prove(job, &short).is_ok() {
        short
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

/// The shortest that comes of the layouts when each is made short.
pub(crate) fn shortest<'t>(starts: Vec<State<'t>>, stop: &dyn Stop) -> Option<State<'t>> {
    let mut best: Option<State<'t>> = None;
    for start in starts {
        let clear = start.is_clear();
        let limit = if clear {
            start.length
        } else {
            start.length * LONGER
        };
        let short = if clear && stop.stop() {
            None
        } else {
            compacted(&start, limit, ROUNDS)
        };
        let mut choices = [short, clear.then_some(start)].into_iter().flatten();
        let Some(short) = choices.find(State::keeps_near) else {
            continue;
        };
        if best.as_ref().is_none_or(|b| short.length < b.length) {
            best = Some(short);
        }
    }
    best
}
