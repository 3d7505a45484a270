//! First layouts: rows and dropped pieces made as short as they go.
//!
//! In: a job. Out: a clear layout in milliseconds, always the same for the same job. Never: lots.

use crate::bands::banded;
use crate::compact::compacted;
use crate::job::{Job, JobError};
use crate::layout::Layout;
use crate::start::{dropped, with_flaws};
use crate::state::State;
use crate::stop::Stop;
use crate::table::Table;

/// Layouts that are made as short as they go, to choose from: in haste, and for a long search.
pub(crate) const CHOICES: (usize, usize) = (2, 8);
/// Programs run on each.
const ROUNDS: usize = 40;

/// A good layout of `job` at once: rows of nested pieces, or pieces dropped one by one, made short.
/// A dozen ties take some hundredths of a second. On a stop a longer one comes back still sooner.
///
/// # Errors
/// When the job cannot be laid at all.
pub fn first(job: &Job, stop: &dyn Stop) -> Result<Layout, JobError> {
    job.check()?;
    let table = Table::new(job);
    let best = shortest(starts(&table, &job.counts(), CHOICES.0, stop), stop);
    Ok(best.unwrap_or_else(|| with_flaws(&table)).to_layout())
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
        let short = if stop.stop() {
            start
        } else {
            compacted(&start, start.length, ROUNDS).unwrap_or(start)
        };
        if best.as_ref().is_none_or(|b| short.length < b.length) {
            best = Some(short);
        }
    }
    best
}
