//! A plan made cheaper: a few of its lays taken out, and what they gave planned anew.
//!
//! Never makes a plan dearer.

use super::Lay;
use super::exact::{SAME_COST, search};
use super::frame::Frame;
use super::greedy::greedy;
use super::model::{Left, Model};
use crate::random::Random;

/// The most lays taken out at once.
const MOST_OUT: usize = 4;
/// Nodes of the exact search of one part.
const PART_STEPS: u64 = 3_000;
/// The most markers of one part looked at.
const PART_MARKERS: usize = 150;
/// Steps that one part costs besides its nodes and the lengths it asks for.
const PART_COST: u64 = 50;
/// Of the offers of a part, one of so many is taken.
const CHOICE: usize = 4;

/// The plan after `steps`; never dearer.
pub(crate) fn improve(
    model: &mut Model,
    left: &Left,
    lays: Vec<Lay>,
    steps: &mut u64,
    random: &mut Random,
) -> Vec<Lay> {
    let mut lays = lays;
    while *steps > 0 && !lays.is_empty() {
        let asked = model.asked();
        let number = (2 + random.below(MOST_OUT - 1)).min(lays.len());
        random.shuffle(&mut lays);
        let kept = lays.split_off(number);
        let mut part = left.clone();
        for lay in &kept {
            part.change(&lay.counts, &lay.plies, -1);
        }
        if let Some(cheaper) = replan(model, &part, &lays, steps, random) {
            lays = cheaper;
        }
        lays.extend(kept);
        *steps = steps.saturating_sub(model.asked() - asked);
    }
    lays
}

/// Cheaper lays that give what these do.
fn replan(
    model: &mut Model,
    part: &Left,
    lays: &[Lay],
    steps: &mut u64,
    random: &mut Random,
) -> Option<Vec<Lay>> {
    let mut cost = model.total(lays);
    let mut best = None;
    *steps = steps.saturating_sub(PART_COST);
    let mut spend = (*steps).min(PART_STEPS);
    *steps -= spend;
    if part.done() {
        return Some(Vec::new());
    }
    let spice = random.unit() * random.unit();
    let made = greedy(model, part, spice, &mut |offers| {
        random.below(CHOICE.min(offers))
    });
    let mut keep = |model: &Model, lays: Vec<Lay>, cost: &mut f64| {
        let sum = model.total(&lays);
        if sum < *cost * (1.0 - SAME_COST) {
            (*cost, best) = (sum, Some(lays));
        }
    };
    if let Some(lays) = made {
        keep(model, lays, &mut cost);
    }
    let frame = Frame::new(model, part, PART_MARKERS);
    for number in frame.lays..=lays.len() {
        if frame.complete && frame.cost(number) >= cost {
            break;
        }
        let got = search(model, part, &frame, number, cost, &mut spend);
        if let Some(lays) = got.lays {
            keep(model, lays, &mut cost);
        }
    }
    *steps += spend;
    best
}
