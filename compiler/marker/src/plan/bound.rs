//! The whole search of small groups: number of lays by number of lays, until no more can pay.
//!
//! Never: lengths but those reckoned with.

use super::Lay;
use super::exact::{SAME_COST, search};
use super::frame::Frame;
use super::model::{Left, Model};

/// What is known after the search.
pub(crate) struct Proven {
    /// A plan cheaper than the one given.
    pub(crate) lays: Option<Vec<Lay>>,
    /// No plan costs less.
    pub(crate) bound: f64,
    /// Whether the bound is the cost of the best plan.
    pub(crate) complete: bool,
    /// If not all plans were looked at: the frame, and the number of lays of which they were not.
    /// All plans of fewer lays were.
    pub(crate) open: Option<(Frame, usize)>,
}

/// Looks for plans cheaper than `below`, at the lengths the model reckons with.
pub(crate) fn prove(
    model: &mut Model,
    left: &Left,
    limit: usize,
    below: f64,
    steps: &mut u64,
) -> Proven {
    let limit = usize::try_from(*steps).map_or(limit, |s| s.min(limit));
    let frame = Frame::new(model, left, limit);
    let mut known = Proven {
        lays: None,
        bound: 0.0,
        complete: false,
        open: None,
    };
    let mut cost = below;
    let mut number = frame.lays;
    let ties: i64 = left.low.iter().map(|l| (*l).max(0)).sum();
    loop {
        // All smaller numbers are searched; more lays than ties are none.
        if frame.cost(number) >= cost - cost.abs() * SAME_COST || number as i64 > ties {
            known.bound = cost;
            known.complete = frame.complete || model.is_ideal();
            return known;
        }
        let got = search(model, left, &frame, number, cost, steps);
        if let Some(lays) = got.lays {
            cost = model.total(&lays);
            known.lays = Some(lays);
        }
        if !got.complete {
            known.bound = frame.cost(number).min(cost);
            known.open = Some((frame, number));
            return known;
        }
        number += 1;
    }
}
