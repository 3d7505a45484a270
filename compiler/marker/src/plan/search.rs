//! The search for a plan at the lengths reckoned with: quick plans first, the best of them made
//! better, and for small groups all plans. Never asks for a true length.

use super::bound::prove;
use super::greedy::greedy;
use super::improve::improve;
use super::model::{Left, Model};
use super::{Effort, Lay};
use crate::random::Random;

/// The most markers looked at one by one.
pub(crate) const MOST_MARKERS: usize = 20_000;

/// What ties are worth besides their area in the quick plans.
const SPICES: [f64; 5] = [0.0, 0.01, 0.05, 0.2, 1.0];

/// The best plan found, `None` if there is none; no dearer than the one known, if there is one.
pub(crate) fn search(
    model: &mut Model,
    left: &Left,
    effort: &Effort,
    known: Option<&[Lay]>,
) -> Option<Vec<Lay>> {
    let mut best = known.unwrap_or_default().to_vec();
    for lay in &mut best {
        lay.length = model.length(&lay.counts);
    }
    let mut cost = known.map_or(f64::INFINITY, |_| model.total(&best));
    for spice in SPICES {
        let Some(lays) = greedy(model, left, spice, &mut |_| 0) else {
            continue;
        };
        let sum = model.total(&lays);
        if sum < cost {
            (best, cost) = (lays, sum);
        }
    }
    if !cost.is_finite() {
        return None;
    }
    let mut steps = effort.steps / 2;
    let proven = prove(model, left, MOST_MARKERS, cost, &mut steps);
    if let Some(lays) = proven.lays {
        best = lays;
    }
    if proven.complete {
        return Some(best);
    }
    let mut steps = effort.steps;
    let mut random = Random::new(effort.seed);
    Some(improve(model, left, best, &mut steps, &mut random))
}
