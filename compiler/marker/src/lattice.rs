//! The best place for a piece that is tied to the repeat of the cloth.
//!
//! In: what [`Finder::best`] takes, and the tie of the piece. Out: the best place on the repeat, of
//! those looked at: where the range has few lines or points of the repeat all of them, else those
//! round the best place of a piece that is free. Never: places off the repeat.

use kurbo::{Point, Rect};

use crate::phase::{Axis, Tie};
use crate::place::{Bar, Finder, Found};
use crate::tolerance::CLEAR;

/// Lines of the repeat that are all searched.
const MOST_LINES: usize = 40;
/// Points of the repeat that are all tried.
const MOST_POINTS: usize = 400;
/// Repeats to either side of the best free place that are looked at.
const ROUND: f64 = 2.0;
/// How far a piece tied one way may slide the other way from the best free place, in repeats: on a
/// slanted edge it makes up so for what the repeat takes.
const SLIDE: f64 = 4.0;
/// Part of the boxes of a search over the plane that a search along one line may look into.
const LINE_BOXES: usize = 8;

/// The best place on the repeat in `range` that costs less than `limit`.
pub(crate) fn best(
    tie: Tie,
    finder: &mut Finder,
    bars: &[Bar<'_>],
    range: Rect,
    limit: f64,
    effort: usize,
) -> Option<Found> {
    if tie == Tie::FREE || range.x1 < range.x0 || range.y1 < range.y0 {
        return finder.best(bars, range, limit, effort);
    }
    let mut look = range;
    let few = match (
        tie.x.count(range.x0, range.x1),
        tie.y.count(range.y0, range.y1),
    ) {
        (Some(across), Some(along)) => across.saturating_mul(along) <= MOST_POINTS,
        (Some(lines), None) | (None, Some(lines)) => lines <= MOST_LINES,
        (None, None) => true,
    };
    if !few {
        let free = finder.best(bars, range, limit, effort)?;
        let reach = |axis: Axis, other: Axis| match (axis, other) {
            (Axis::Tied { repeat, .. }, _) => ROUND * repeat,
            (Axis::Free, Axis::Tied { repeat, .. }) => SLIDE * repeat,
            (Axis::Free, Axis::Free) => 0.0,
        };
        let (dx, dy) = (reach(tie.x, tie.y), reach(tie.y, tie.x));
        look = Rect::new(free.at.x, free.at.y, free.at.x, free.at.y)
            .inflate(dx, dy)
            .intersect(range);
    }
    on_repeat(tie, finder, bars, look, limit, effort)
}

/// The best of all places on the repeat in `range`.
fn on_repeat(
    tie: Tie,
    finder: &mut Finder,
    bars: &[Bar<'_>],
    range: Rect,
    limit: f64,
    effort: usize,
) -> Option<Found> {
    let mut best = Found {
        at: Point::ORIGIN,
        cost: limit,
    };
    let effort = effort.div_ceil(LINE_BOXES);
    for x in tie.x.places(range.x0, range.x1) {
        for y in tie.y.places(range.y0, range.y1) {
            let found = match (x, y) {
                (Some(x), Some(y)) => try_point(bars, Point::new(x, y), best.cost),
                _ => {
                    let line = Rect {
                        x0: x.unwrap_or(range.x0),
                        x1: x.unwrap_or(range.x1),
                        y0: y.unwrap_or(range.y0),
                        y1: y.unwrap_or(range.y1),
                    };
                    finder.best(bars, line, best.cost, effort)
                }
            };
            if let Some(found) = found {
                // What rounding has done to the measure that is tied is taken back.
                let at = Point::new(x.unwrap_or(found.at.x), y.unwrap_or(found.at.y));
                best = Found { at, ..found };
                if best.cost <= 0.0 {
                    return Some(best);
                }
            }
        }
    }
    (best.cost < limit).then_some(best)
}

/// The place, if it costs less than `limit`.
fn try_point(bars: &[Bar<'_>], at: Point, limit: f64) -> Option<Found> {
    let mut cost = 0.0;
    for bar in bars {
        let depth = bar.convex.depth(at.x - bar.at.x, at.y - bar.at.y);
        if depth > CLEAR {
            cost += bar.weight * depth;
            if cost >= limit {
                return None;
            }
        }
    }
    (cost < limit).then_some(Found { at, cost })
}
