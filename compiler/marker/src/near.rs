//! Markers in which the pieces of every tie lie near one another along the cloth.
//!
//! In: the articles of a job and how near. Out: whether a layout keeps it, and first layouts that
//! do: blocks of few ties one after another. Never: ends or gaps of these layouts, which the search
//! closes after.

use std::collections::BTreeMap;

use kurbo::{Point, Vec2};

use crate::bundle::{Span, dealt};
use crate::improve::{Options, improve};
use crate::job::{Article, Job, JobError};
use crate::layout::Layout;
use crate::phase::Axis;
use crate::start::with_flaws;
use crate::state::State;
use crate::stop::{Never, Stop};
use crate::table::{Pose, Table};
use crate::tolerance::CLEAR;

/// How near the pieces of a tie must lie.
#[derive(Clone, Debug)]
pub(crate) struct Near {
    articles: Vec<Article>,
    /// The widest spread of a tie, millimetres.
    most: f64,
}

/// Moves spent on a single tie: three pieces are as short as they go in a fraction of it.
const SINGLE_STEPS: u64 = 2000;
/// Moves spent on all blocks of one size.
const BLOCK_STEPS: u64 = 6000;

impl Near {
    /// What is asked; `None` if nothing is, or the job has no ties.
    pub(crate) fn of(job: &Job, most: Option<f64>) -> Option<Near> {
        let most = most.filter(|_| !job.articles.is_empty())?;
        Some(Near {
            articles: job.articles.clone(),
            most,
        })
    }

    /// Whether the pieces of every tie lie near enough.
    pub(crate) fn keeps(&self, state: &State<'_>) -> bool {
        self.widest(state).is_some_and(|widest| widest <= self.most)
    }

    /// The widest spread of a tie; `None` if these are not the pieces of the ties.
    pub(crate) fn widest(&self, state: &State<'_>) -> Option<f64> {
        let span = |i: usize| {
            let pose = &state.table.poses[state.pose[i]];
            Span {
                kind: pose.kind,
                start: state.at[i].x + pose.bounds.x0,
                end: state.end(i),
            }
        };
        let free = (0..state.len()).filter(|&i| !state.frozen[i]);
        let spans: Vec<Span> = free.map(span).collect();
        dealt(&self.articles, &spans).map(|bundles| bundles.widest())
    }
}

/// Layouts in blocks of one tie, of two, of four and so on, as long as they keep what is asked.
///
/// # Errors
/// When a single tie alone takes more cloth than its pieces may lie along.
pub(crate) fn blocks<'t>(
    table: &'t Table,
    job: &Job,
    near: &Near,
    stop: &dyn Stop,
) -> Result<Vec<State<'t>>, JobError> {
    let mut known = singles(job, near)?;
    let ties = ties(&job.articles);
    let mut found: Vec<State<'t>> = Vec::new();
    let mut size = 1;
    while size <= ties.len() {
        let wanted: Vec<Vec<usize>> = ties
            .chunks(size)
            .map(|block| counts(job, block.iter().map(|&a| &job.articles[a])))
            .collect();
        fill(&mut known, job, &wanted, stop)?;
        let mut state = with_flaws(table);
        for wanted in &wanted {
            if let Some(layout) = known.get(wanted) {
                append(&mut state, layout);
            }
        }
        state.length = state.reach();
        if size > 1 && !near.keeps(&state) {
            break;
        }
        found.push(state);
        size *= 2;
    }
    Ok(found)
}

/// The markers of one tie of each article.
fn singles(job: &Job, near: &Near) -> Result<BTreeMap<Vec<usize>, Layout>, JobError> {
    let mut known = BTreeMap::new();
    for article in job.articles.iter().filter(|a| a.count > 0) {
        let wanted = counts(job, [article].into_iter());
        let layout = short(job, &wanted, SINGLE_STEPS, &Never)?;
        if layout.length > near.most || near.most.is_nan() {
            return Err(JobError::Near(layout.length));
        }
        known.insert(wanted, layout);
    }
    Ok(known)
}

/// Lays the blocks that are not known yet.
fn fill(
    known: &mut BTreeMap<Vec<usize>, Layout>,
    job: &Job,
    wanted: &[Vec<usize>],
    stop: &dyn Stop,
) -> Result<(), JobError> {
    let mut new: Vec<&Vec<usize>> = wanted.iter().filter(|w| !known.contains_key(*w)).collect();
    new.sort();
    new.dedup();
    let steps = BLOCK_STEPS / (new.len() as u64).max(1);
    for wanted in new {
        let layout = short(job, wanted, steps, stop)?;
        known.insert(wanted.clone(), layout);
    }
    Ok(())
}

/// A short marker of so many pieces of each kind on cloth without flaws.
fn short(job: &Job, wanted: &[usize], steps: u64, stop: &dyn Stop) -> Result<Layout, JobError> {
    let mut few = job.clone();
    few.articles.clear();
    few.cloth.flaws.clear();
    for (kind, &count) in few.kinds.iter_mut().zip(wanted) {
        kind.count = count;
    }
    let options = Options {
        steps: Some(steps),
        ..Options::default()
    };
    improve(&few, &options, stop, &mut |_| {})
}

/// The article of every tie, those of each article spread over the whole.
fn ties(articles: &[Article]) -> Vec<usize> {
    let mut ties: Vec<(f64, usize)> = Vec::new();
    for (number, article) in articles.iter().enumerate() {
        if article.pieces.iter().any(|p| p.1 > 0) {
            let share = |tie: usize| (tie as f64 + 0.5) / article.count as f64;
            ties.extend((0..article.count).map(|tie| (share(tie), number)));
        }
    }
    ties.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    ties.into_iter().map(|(_, number)| number).collect()
}

/// How many pieces of each kind one tie of each of the articles needs.
fn counts<'a>(job: &Job, ties: impl Iterator<Item = &'a Article>) -> Vec<usize> {
    let mut counts = vec![0; job.kinds.len()];
    for article in ties {
        for &(kind, quantity) in &article.pieces {
            counts[kind] += quantity;
        }
    }
    counts
}

/// Adds a layout as one, as far left as it goes among the pieces and flaws that are there.
fn append(state: &mut State<'_>, layout: &Layout) {
    let table = state.table;
    let pieces: Vec<(usize, Point)> = layout
        .placements
        .iter()
        .filter_map(|p| {
            let same = |pose: &Pose| (pose.kind, pose.turn) == (p.kind, p.turn);
            let pose = table.poses.iter().position(same)?;
            Some((pose, Point::ORIGIN + p.at))
        })
        .collect();
    let by = Vec2::new(shift(state, &pieces), 0.0);
    for (pose, at) in pieces {
        state.push(pose, at + by, false);
    }
}

/// How far pieces must go along the cloth, all as one, to be clear of all that is there: the least
/// such move to the right, by whole repeats if pieces are tied to them.
fn shift(state: &State<'_>, pieces: &[(usize, Point)]) -> f64 {
    let table = state.table;
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for &(pose, at) in pieces {
        for j in 0..state.len() {
            let d = at - state.at[j];
            let reach = table.reach(pose, state.pose[j]);
            if d.y <= reach.y0 || d.y >= reach.y1 {
                continue;
            }
            let nofit = table.nofit(pose, state.pose[j]);
            let run = nofit.iter().filter_map(|c| c.run(d.y, CLEAR / 2.0));
            runs.extend(run.map(|(a, b)| (a - d.x, b - d.x)));
        }
    }
    runs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let tie = if table.step > 0.0 {
        Axis::Tied {
            phase: 0.0,
            repeat: table.step,
        }
    } else {
        Axis::Free
    };
    let mut by = 0.0;
    for (a, b) in runs {
        if a >= by {
            break;
        }
        if b > by {
            by = tie.from(b);
        }
    }
    by
}
