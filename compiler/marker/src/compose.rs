//! Long layouts from a few ties laid again and again, each time nesting into the last.
//!
//! In: how many of each kind a long lay has; later, a short layout of a few of each on a loop of
//! cloth, its end at its start. Out: which of each to lay on the loop, and the long layout it makes.
//! Never: the search of the loop, or the ends, which the search of the long lay fills.

use kurbo::Vec2;

use crate::start::{drop_one, with_flaws};
use crate::state::State;
use crate::table::Table;

/// Pieces on a loop, at the least and at the most: fewer cannot be in the shares they are needed in,
/// more are searched longer.
const PIECES: (usize, usize) = (24, 60);
/// The least share of the area of all pieces that the loops must have.
const SHARE: f64 = 0.9;
/// How many times as long as the longest piece a full loop is at the least, so that no piece meets
/// another on both sides.
const ROOM: f64 = 2.0;

/// A loop, so many times.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Plan {
    /// How many of each kind the loop has.
    pub(crate) counts: Vec<usize>,
    /// How often it is laid.
    pub(crate) times: usize,
}

/// The loop that leaves least over, of these the shortest; `None` if pieces may be turned half
/// round, for then rows are as close as a loop comes out, if they cannot lie anywhere along the
/// cloth, or there are too few of each kind.
pub(crate) fn plan(table: &Table, counts: &[usize]) -> Option<Plan> {
    let turned = table.few_of_kind.iter().any(|poses| poses.len() > 1);
    if turned || !table.flaws.is_empty() || table.step > 0.0 || table.near.is_some() {
        return None;
    }
    let pieces: usize = counts.iter().sum();
    let area = |counts: &[usize]| -> f64 {
        let areas = counts.iter().zip(&table.area);
        areas.map(|(count, area)| *count as f64 * area).sum()
    };
    let share = |plan: &Plan| area(&plan.counts) * plan.times as f64 / area(counts);
    let widths = table.poses.iter().map(|p| p.bounds.width());
    let least = ROOM * widths.fold(0.0, f64::max);
    (pieces.div_ceil(PIECES.1)..=pieces / PIECES.0)
        .filter(|times| *times > 1)
        .map(|times| Plan {
            counts: counts.iter().map(|count| count / times).collect(),
            times,
        })
        .filter(|plan| share(plan) >= SHARE && area(&plan.counts) >= least * table.width)
        .max_by(|a, b| share(a).total_cmp(&share(b)).then(a.times.cmp(&b.times)))
}

/// The loop cut open where it comes out shortest and laid so many times, and what is left of the
/// counts dropped behind.
pub(crate) fn composed<'t>(ring: &State<'t>, plan: &Plan, counts: &[usize]) -> State<'t> {
    let open = opened(ring);
    let mut long = with_flaws(ring.table);
    for copy in 0..plan.times {
        let by = Vec2::new(ring.length * copy as f64, 0.0);
        for i in 0..open.len() {
            long.push(open.pose[i], open.at[i] + by, false);
        }
    }
    for (kind, count) in counts.iter().enumerate() {
        for _ in plan.counts[kind] * plan.times..*count {
            drop_one(&mut long, kind);
        }
    }
    long.length = long.reach();
    long
}

/// The loop as a layout: cut at the left end of a piece, what reaches over the cut goes on behind.
fn opened<'t>(ring: &State<'t>) -> State<'t> {
    let left =
        |state: &State<'_>, i: usize| state.at[i].x + state.table.poses[state.pose[i]].bounds.x0;
    let cut_at = |cut: f64| {
        let mut open = ring.clone();
        open.is_loop = false;
        for i in 0..open.len() {
            let laps = ((left(ring, i) - cut) / ring.length).floor();
            open.at[i].x -= cut + laps * ring.length;
        }
        open.length = open.reach();
        open
    };
    let choices = (0..ring.len()).map(|i| cut_at(left(ring, i)));
    choices
        .min_by(|a, b| a.length.total_cmp(&b.length))
        .unwrap_or_else(|| ring.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::first::{shortest, starts};
    use crate::job::Job;
    use crate::proof::prove;
    use crate::stop::Never;

    fn job(counts: [usize; 2]) -> Job {
        let four: &[(f64, f64)] = &[(0., 0.), (300., 0.), (400., 250.), (60., 200.)];
        let three: &[(f64, f64)] = &[(0., 0.), (200., 30.), (90., 240.)];
        Job::of_polygons(&[(four, counts[0]), (three, counts[1])], 700.0)
    }

    #[test]
    fn a_loop_laid_again_and_again_is_a_sound_layout_of_all_pieces() {
        let job = job([50, 51]);
        let table = Table::new(&job);
        let plan = plan(&table, &job.counts()).expect("a plan");
        assert!(plan.times > 1);
        let starts = starts(&table, &plan.counts, 2, &Never);
        let mut ring = shortest(starts, &Never).expect("a layout");
        ring.is_loop = true;
        // Half way round, so that pieces lie over the seam.
        for i in 0..ring.len() {
            let on = ring.at[i] + Vec2::new(ring.length / 2.0, 0.0);
            ring.at[i] = ring.inside(ring.pose[i], on);
        }
        assert!(ring.is_clear());
        let long = composed(&ring, &plan, &job.counts());
        assert_eq!(prove(&job, &long.to_layout()), Ok(()));
    }

    #[test]
    fn pieces_over_the_seam_of_a_loop_meet() {
        let job = job([20, 20]);
        let table = Table::new(&job);
        let starts = starts(&table, &job.counts(), 2, &Never);
        let mut ring = shortest(starts, &Never).expect("a layout");
        ring.is_loop = true;
        assert!(ring.is_clear());
        let widest = (0..ring.len()).map(|i| ring.end(i) - ring.at[i].x);
        ring.length -= widest.fold(0.0, f64::max);
        assert!(!ring.is_clear());
    }

    #[test]
    fn too_few_of_a_kind_are_not_laid_in_loops() {
        let job = job([1, 80]);
        let mut uneven = job.clone();
        uneven.kinds[1].count = 1;
        let table = Table::new(&job);
        assert_eq!(plan(&table, &uneven.counts()), None);
    }
}
