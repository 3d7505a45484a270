//! A long try at a shorter layout: cloth is taken out once, and the pieces are taken apart on what is
//! left over and over, each time from a layout that overlaps little and with two pieces changing places.
//!
//! In: a clear part. Out: a shorter clear one, or nothing. Never: when it is worth trying.
//!
//! Pieces on a common grid have layouts that no walk over clear ones a little longer leaves; layouts
//! that overlap are all connected. The pool of them is after Gardeyn & Wauters 2025.

use crate::part::Part;
use crate::random::Random;
use crate::separate::{Effort, Meter, Separator};
use crate::window::{Taken, Try, squeezed, taken_apart};

/// The cloth taken out, at the least and at the most, as a share of the window; little oftener.
const TAKEN: (f64, f64) = (0.001, 0.031);
/// Times the pieces are taken apart before giving up.
const TRIES: usize = 30;
/// Layouts kept to go on from.
const POOL: usize = 20;
/// Rounds of one separation without a better overlap before giving up.
const PATIENCE: usize = 50;

/// Where a long try stands.
pub(crate) struct Chase<'t> {
    /// The clear part it began from.
    from: Part<'t>,
    how: Try,
    /// Layouts that overlap, with the sums of their depths, the least first.
    pool: Vec<(f64, Part<'t>)>,
    tries: usize,
}

impl<'t> Chase<'t> {
    /// Begins to look for a part shorter than `from`.
    pub(crate) fn new(from: Part<'t>, effort: Effort, random: &mut Random) -> Chase<'t> {
        let wide = from.window.1 - from.window.0;
        let drawn = random.unit();
        let how = Try {
            cut: random.between(from.window.0, from.window.1),
            by: wide * (TAKEN.0 + (TAKEN.1 - TAKEN.0) * drawn * drawn),
            limit: from.state.length,
            disturb: false,
            effort: Effort {
                patience: PATIENCE,
                ..effort
            },
        };
        let pool = vec![(f64::INFINITY, squeezed(&from, how))];
        Chase {
            from,
            how,
            pool,
            tries: 0,
        }
    }

    /// Whether it is given up.
    pub(crate) fn is_over(&self) -> bool {
        self.tries >= TRIES
    }

    /// Takes the pieces apart once more. Gives a shorter part if that is one.
    pub(crate) fn go_on(
        &mut self,
        few_turns: bool,
        separator: &mut Separator<'t>,
        random: &mut Random,
        meter: &mut dyn Meter,
    ) -> Option<Part<'t>> {
        let drawn = random.unit();
        let picked = (self.pool.len() as f64 * drawn * drawn) as usize;
        let (_, part) = self.pool.get(picked)?;
        self.how.effort.few_turns = few_turns;
        let taken = taken_apart(part.clone(), &self.from, self.how, separator, random, meter);
        self.tries += 1;
        match taken {
            Taken::Short(part) => return Some(part),
            Taken::Over(depth, part) => {
                if !self.how.disturb {
                    // The first was only pushed together.
                    self.how.disturb = true;
                    self.pool.clear();
                }
                let place = self.pool.partition_point(|(least, _)| *least <= depth);
                self.pool.insert(place, (depth, part));
                self.pool.truncate(POOL);
            }
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;
    use crate::start::dropped;
    use crate::table::Table;
    use crate::worker::EFFORT;

    struct Always;

    impl Meter for Always {
        fn go_on(&mut self, _: u64) -> bool {
            true
        }
    }

    #[test]
    fn what_is_caught_is_clear_and_shorter() {
        let job = Job::of_rectangles();
        let table = Table::new(&job);
        let mut start = dropped(&table, &job.counts());
        // Room at the end, so that there is something to catch.
        start.length += 10.0;
        let (from, _) = Part::cut(&start, (0.0, start.length));
        let mut random = Random::new(1);
        let mut separator = Separator::new();
        let mut chase = Chase::new(from, EFFORT, &mut random);
        let mut caught = None;
        while caught.is_none() && !chase.is_over() {
            caught = chase.go_on(false, &mut separator, &mut random, &mut Always);
        }
        let caught = caught.expect("a shorter part");
        assert!(caught.state.is_clear());
        assert!(caught.state.length < start.length);
    }
}
