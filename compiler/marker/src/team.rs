//! All threads of the search: who tries where, and what they found put together.
//!
//! In: a clear layout. Out: shorter ones, round by round. Never: a clock. A small lay is searched as
//! a whole by all, and the shortest found is the next start of those who fall far behind; when nothing
//! is gained any more, all begin anew, and later go on from the best. Of a large one each takes a window
//! of its own, far from the others, so that all they find is gain together. A round ends after a fixed
//! number of moves: the same seed gives the same layout on any number of processors.

use std::collections::VecDeque;

use crate::compact::compacted;
use crate::compose::{Plan, composed, plan};
use crate::first::{CHOICES, shortest, starts};
use crate::random::Random;
use crate::start::settle;
use crate::state::State;
use crate::stop::{Never, Stop};
use crate::table::Table;
use crate::worker::Worker;

/// Threads at work.
const WORKERS: usize = 2;
/// Moves of one worker in a round over a whole lay, and over a window.
const ROUND: (u64, u64) = (3000, 24_000);
/// Lays of no more pieces are searched as a whole.
const WHOLE: usize = 75;
/// Free pieces of a window in a larger lay, at the least and at the most.
const WINDOW: (f64, f64) = (24.0, 56.0);
/// Share of windows at an end, where most is to be gained.
const AT_END: f64 = 0.5;
/// Draws to find windows far from one another.
const DRAWS: usize = 20;
/// In lays of more pieces a piece takes only its first turn and the opposite, as long as that gains
/// anything: many pieces nest no better across than along, and fewer turns are searched faster.
const FEW_TURNS: usize = 30;
/// Moves without gain after which every second round has all turns: not before the few turns are
/// searched well, so that more turns never make a lay longer.
const STALLED: u64 = 2_000_000;
/// A thread that searches a whole lay goes its own way as long as its best layout is no longer than this
/// times the best of all: two ways find more than one.
const BEHIND: f64 = 1.01;
/// Moves without gain after which a lay searched as a whole is begun anew from its first layout, or if it
/// was, gone on with from the best: how short it comes out differs from one beginning to another.
const ANEW: u64 = 500_000;
/// Programs run on the whole lay after windows were made shorter.
const POLISH_ROUNDS: usize = 3;

/// Loops searched, each from lots of its own: some come out closer than others.
const LOOPS: u64 = 3;
/// Moves made on each, and then on the closest.
const LOOP: (u64, u64) = (100_000, 100_000);
/// The long layout made of a loop is no longer than this times the best, or loops are given up.
const HOPE: f64 = 1.01;
/// Programs run on a long layout made of a loop.
const LONG_ROUNDS: usize = 20;

/// The threads and the best layout they have in common.
pub(crate) struct Team<'t> {
    /// The best since they last began anew.
    best: State<'t>,
    /// The best of all before.
    kept: State<'t>,
    first: State<'t>,
    /// Whether they last began with the first layout.
    anew: bool,
    ring: Option<Box<Ring<'t>>>,
    workers: Vec<Worker<'t>>,
    random: Random,
    rounds: u64,
    /// Moves since the last gain on the best of all.
    idle: u64,
    /// Moves since the last gain on the best since they began anew, or since then.
    stale: u64,
}

/// The search of loops of which a long lay is to be made.
struct Ring<'t> {
    plan: Plan,
    /// How many of each kind the long lay has.
    counts: Vec<usize>,
    /// The loops; the one searched now is the first.
    teams: VecDeque<Team<'t>>,
    /// Moves made on it.
    steps: u64,
    /// How many loops are still to be searched.
    left: u64,
}

impl<'t> Ring<'t> {
    /// Loops for a long lay of so many of each kind; `None` if it is not to be made of loops.
    fn new(table: &'t Table, counts: &[usize], seed: u64) -> Option<Box<Ring<'t>>> {
        let plan = plan(table, counts)?;
        let starts = starts(table, &plan.counts, CHOICES.0, &Never);
        let mut start = shortest(starts, &Never).ok()?;
        start.is_loop = true;
        let mut random = Random::new(seed);
        let teams = (0..LOOPS)
            .map(|_| Team::alone(start.clone(), random.bits()))
            .collect();
        Some(Box::new(Ring {
            plan,
            counts: counts.to_vec(),
            teams,
            steps: 0,
            left: LOOPS,
        }))
    }

    /// The long layout of the loop searched now.
    fn long(&self) -> Option<State<'t>> {
        let ring = self.teams.front()?;
        let long = composed(ring.best(), &self.plan, &self.counts);
        Some(compacted(&long, long.length, LONG_ROUNDS).unwrap_or(long))
    }
}

impl<'t> Team<'t> {
    /// A team that starts from `best`, which has so many of each kind.
    pub(crate) fn new(best: State<'t>, counts: &[usize], seed: u64) -> Team<'t> {
        let large = counts.iter().sum::<usize>() > WHOLE;
        let ring = large.then(|| Ring::new(best.table, counts, seed)).flatten();
        Team {
            ring,
            ..Team::alone(best, seed)
        }
    }

    /// A team that searches nothing but the layout itself.
    fn alone(best: State<'t>, seed: u64) -> Team<'t> {
        let mut random = Random::new(seed);
        let workers = (0..WORKERS)
            .map(|_| Worker::new(&best, random.bits()))
            .collect();
        Team {
            kept: best.clone(),
            first: best.clone(),
            best,
            anew: false,
            ring: None,
            workers,
            random,
            rounds: 0,
            idle: 0,
            stale: 0,
        }
    }

    /// The shortest layout found.
    pub(crate) fn best(&self) -> &State<'t> {
        if self.kept.length < self.best.length {
            &self.kept
        } else {
            &self.best
        }
    }

    /// One round of all, of no more than `most` moves. Returns the moves made.
    pub(crate) fn round(&mut self, most: u64, stop: &dyn Stop) -> u64 {
        match self.ring.take() {
            Some(ring) => self.ring_round(ring, most, stop),
            None => self.own_round(most, stop),
        }
    }

    /// One round over a loop; when it is done it makes a long layout.
    fn ring_round(&mut self, mut ring: Box<Ring<'t>>, most: u64, stop: &dyn Stop) -> u64 {
        let steps = ring.teams.front_mut().map_or(0, |t| t.round(most, stop));
        ring.steps += steps;
        let last = ring.left == 0;
        if ring.steps < if last { LOOP.1 } else { LOOP.0 } {
            self.ring = Some(ring);
            return steps;
        }
        ring.steps = 0;
        ring.left = ring.left.saturating_sub(1);
        let long = ring.long().filter(State::is_clear);
        let length = long.as_ref().map_or(f64::INFINITY, |long| long.length);
        let hope = length < self.best.length * HOPE;
        if let Some(long) = long.filter(|long| long.length < self.best.length) {
            self.best = long;
        }
        if !last && hope {
            ring.teams.rotate_left(1);
            if ring.left == 0 {
                let teams = ring.teams.make_contiguous();
                teams.sort_by(|a, b| a.best().length.total_cmp(&b.best().length));
            }
            self.ring = Some(ring);
        }
        steps
    }

    /// One round over the lay itself.
    fn own_round(&mut self, most: u64, stop: &dyn Stop) -> u64 {
        let free = self.best.frozen.iter().filter(|f| !**f).count();
        let large = free > WHOLE;
        if large {
            let windows = self.windows(free);
            for (worker, window) in self.workers.iter_mut().zip(windows) {
                worker.start(&self.best, window);
            }
        }
        let quota = if large { ROUND.1 } else { ROUND.0 };
        let quota = quota.min(most.div_ceil(WORKERS as u64));
        self.rounds += 1;
        let few_turns = free > FEW_TURNS && (self.idle < STALLED || self.rounds.is_multiple_of(2));
        std::thread::scope(|scope| {
            for worker in &mut self.workers {
                scope.spawn(move || worker.round(quota, few_turns, stop));
            }
        });
        let steps = self.workers.iter().map(Worker::steps).sum();
        let (before, of_all) = (self.best.length, self.best().length);
        self.gather(large);
        let since = |gain: bool, moves: u64| if gain { 0 } else { moves + steps };
        self.stale = since(self.best.length < before, self.stale);
        self.idle = since(self.best().length < of_all, self.idle);
        if !large && self.stale > ANEW {
            self.begin_anew();
        }
        steps
    }

    /// All go on from the first layout, or if they last did so, from the best.
    fn begin_anew(&mut self) {
        self.kept = self.best().clone();
        self.anew = !self.anew;
        self.best = if self.anew { &self.first } else { &self.kept }.clone();
        self.stale = 0;
        for worker in &mut self.workers {
            worker.start(&self.best, (0.0, self.best.length));
        }
    }

    /// Puts together what was found.
    fn gather(&mut self, large: bool) {
        let mut found: Vec<&Worker<'t>> = self
            .workers
            .iter()
            .filter(|w| w.best().state.length < self.best.length)
            .collect();
        // From the right: what lies behind a window is moved along when it is joined.
        found.sort_by(|a, b| b.best().window.0.total_cmp(&a.best().window.0));
        let mut choices: Vec<State<'t>> = found.iter().map(|w| self.joined(&[w])).collect();
        if large && found.len() > 1 {
            choices.push(self.joined(&found));
        }
        choices.sort_by(|a, b| a.length.total_cmp(&b.length));
        let length = self.best.length;
        if let Some(mut short) = choices
            .into_iter()
            .find(|c| c.length < length && c.is_clear() && c.keeps_near())
        {
            if large {
                let polished = compacted(&short, short.length, POLISH_ROUNDS);
                let mut polished = polished.unwrap_or_else(|| short.clone());
                settle(&mut polished);
                if polished.keeps_near() {
                    short = polished;
                }
            }
            self.best = short;
        }
        if !large {
            for worker in &mut self.workers {
                if worker.best().state.length > self.best.length * BEHIND {
                    worker.start(&self.best, (0.0, self.best.length));
                }
            }
        }
    }

    /// The best layout with what these workers found.
    fn joined(&self, found: &[&Worker<'t>]) -> State<'t> {
        let mut whole = self.best.clone();
        for worker in found {
            worker.seam().join(worker.best(), &mut whole);
        }
        whole
    }

    /// A window for each worker, far from one another.
    fn windows(&mut self, count: usize) -> Vec<(f64, f64)> {
        let length = self.best.length;
        let poses = self.best.pose.iter();
        let widest = poses
            .map(|&p| self.best.table.poses[p].bounds.width())
            .fold(0.0, f64::max);
        let gap = widest.min(length / 4.0);
        let pieces = self.random.between(WINDOW.0, WINDOW.1);
        let wide = (length * pieces / count as f64).min((length - gap) / WORKERS as f64);
        let last = length - wide;
        let mut starts = [0.0, last];
        for _ in 0..DRAWS {
            let drawn = [self.start(wide, last), self.start(wide, last)];
            if (drawn[0] - drawn[1]).abs() >= wide + gap {
                starts = drawn;
                break;
            }
        }
        starts.map(|from| (from, from + wide)).to_vec()
    }

    fn start(&mut self, wide: f64, last: f64) -> f64 {
        if self.random.unit() < AT_END {
            return if self.random.below(2) == 0 { 0.0 } else { last };
        }
        let drawn = self.random.between(-wide / 2.0, last + wide / 2.0);
        drawn.min(last).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;
    use crate::start::dropped;

    #[test]
    fn who_begins_anew_keeps_the_best_and_comes_back_to_it() {
        let job = Job::of_rectangles();
        let table = Table::new(&job);
        let start = dropped(&table, &job.counts());
        let mut team = Team::new(start.clone(), &job.counts(), 1);
        while team.best().length >= start.length {
            team.round(u64::MAX, &Never);
        }
        let best = team.best().length;
        team.begin_anew();
        assert_eq!(team.best.length, start.length);
        assert_eq!(team.best().length, best);
        team.begin_anew();
        assert_eq!(team.best.length, best);
    }
}
