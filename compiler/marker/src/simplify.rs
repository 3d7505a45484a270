//! Outlines with fewer corners, never less than the true ones: what is searched with, since a
//! finely curved piece as it is takes many times longer than a polygon.
//!
//! In: an outline, how far outside it the simpler one may lie, and the turns it will take. Out: an
//! outline that holds it, with few corners and thus few convex parts, and that takes no more of the
//! cloth along or across in any of the turns. Never: a corner moved inwards.
//!
//! Of two steps the one that adds least area is taken as long as one stays within the tolerance: a
//! corner that turns right is filled over, or an edge between two that turn left is taken out and
//! its neighbours run on until they meet.

use kurbo::{Point, Rect};

use crate::job::Job;
use crate::outline::{Outline, bounds, meet, side};
use crate::tolerance::SAME_POINT;
use crate::turn::Turn;

/// The corners as they are by now, each with how far the edge from it on may lie outside the true
/// outline.
type Ring = Vec<(Point, f64)>;

/// One step: the corner `at` goes, and with `to` the next one too, for a new corner in their place.
struct Step {
    at: usize,
    to: Option<Point>,
    /// How far the edges that change then may lie outside.
    off: f64,
    area: f64,
}

/// The job with simpler outlines; areas stay those of the true ones.
pub(crate) fn simplified_job(job: &Job, tolerance: f64) -> Job {
    let mut simpler = job.clone();
    for kind in &mut simpler.kinds {
        kind.outline = simplified(&kind.outline, tolerance, &kind.turns);
    }
    simpler
}

/// The simpler outline; the same one if there is none.
pub(crate) fn simplified(outline: &Outline, tolerance: f64, turns: &[Turn]) -> Outline {
    let boxes: Vec<(Turn, Rect)> = turns
        .iter()
        .map(|turn| (*turn, outline.turned(*turn).bounds()))
        .collect();
    let mut ring: Ring = outline.points().iter().map(|p| (*p, 0.0)).collect();
    while ring.len() > 3 {
        let mut steps: Vec<Step> = (0..ring.len())
            .flat_map(|at| [fill(&ring, at), run_on(&ring, at, &boxes)])
            .flatten()
            .filter(|step| step.off <= tolerance)
            .collect();
        steps.sort_by(|a, b| a.area.total_cmp(&b.area));
        match steps.iter().find_map(|step| taken(&ring, step)) {
            Some(next) => ring = next,
            None => break,
        }
    }
    let corners: Vec<Point> = ring.iter().map(|(p, _)| *p).collect();
    match Outline::new(&corners) {
        Ok(simpler) if corners.len() < outline.points().len() => simpler,
        _ => outline.clone(),
    }
}

/// The corners before `at`, there, next, and after that.
fn round(ring: &Ring, at: usize) -> [(Point, f64); 4] {
    let count = ring.len();
    [count - 1, 0, 1, 2].map(|k| ring[(at + k) % count])
}

/// A corner that does not turn left filled over.
fn fill(ring: &Ring, at: usize) -> Option<Step> {
    let [(a, before), (b, after), (c, _), _] = round(ring, at);
    if side(a, b, c) > 0.0 || a.distance(c) <= SAME_POINT {
        return None;
    }
    let twice = (c - a).cross(b - a).abs();
    Some(Step {
        at,
        to: None,
        off: before.max(after) + twice / a.distance(c),
        area: twice / 2.0,
    })
}

/// The edge from a corner on taken out, its neighbours run on.
fn run_on(ring: &Ring, at: usize, boxes: &[(Turn, Rect)]) -> Option<Step> {
    let [(a, before), (b, own), (c, after), (d, _)] = round(ring, at);
    if side(a, b, c) <= 0.0 || side(b, c, d) <= 0.0 {
        return None;
    }
    let (into, out) = (b - a, d - c);
    let turn = into.cross(out);
    if turn <= 0.0 {
        return None;
    }
    let to = b + into * ((c - b).cross(out) / turn);
    let within = |(turn, room): &(Turn, Rect)| {
        let p = turn.apply(to);
        p.x >= room.x0 && p.x <= room.x1 && p.y >= room.y0 && p.y <= room.y1
    };
    if !to.is_finite() || !boxes.iter().all(within) {
        return None;
    }
    let twice = (c - b).cross(to - b).abs();
    Some(Step {
        at,
        to: Some(to),
        off: before.max(after).max(own + twice / b.distance(c)),
        area: twice / 2.0,
    })
}

/// The ring after a step; `None` if its edges would then meet.
fn taken(ring: &Ring, step: &Step) -> Option<Ring> {
    let count = ring.len();
    // The ring with what goes first, so that nothing wraps round.
    let mut next = ring.clone();
    next.rotate_left(step.at);
    match step.to {
        Some(to) => {
            next.remove(1);
            next[0] = (to, step.off);
        }
        None => {
            next.remove(0);
            next.rotate_right(1);
        }
    }
    // Now corner 0 is the new one, or the one from which the new edge runs.
    let last = next.len() - 1;
    if step.to.is_some() {
        next[last].1 = step.off;
    } else {
        next[0].1 = step.off;
    }
    debug_assert!(next.len() + 1 == count);
    let edge = |i: usize| (next[i].0, next[(i + 1) % next.len()].0);
    let changed: &[usize] = if step.to.is_some() { &[0, last] } else { &[0] };
    let meets = changed.iter().any(|&i| {
        (0..next.len())
            .filter(|&j| j != i && (j + 1) % next.len() != i && (i + 1) % next.len() != j)
            .any(|j| near(edge(i), edge(j)) && meet(edge(i), edge(j)))
    });
    (!meets).then_some(next)
}

/// Whether the boxes round two segments have a point in common.
fn near(one: (Point, Point), two: (Point, Point)) -> bool {
    let (a, b) = (bounds(&[one.0, one.1]), bounds(&[two.0, two.1]));
    a.x0 <= b.x1 && b.x0 <= a.x1 && a.y0 <= b.y1 && b.y0 <= a.y1
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// How far a point lies outside a convex or other polygon: 0 within it.
    fn outside(point: Point, polygon: &[Point]) -> f64 {
        let count = polygon.len();
        let mut winding = 0;
        let mut least = f64::INFINITY;
        for i in 0..count {
            let (a, b) = (polygon[i], polygon[(i + 1) % count]);
            if a.y <= point.y && b.y > point.y && side(a, b, point) > 0.0 {
                winding += 1;
            } else if a.y > point.y && b.y <= point.y && side(a, b, point) < 0.0 {
                winding -= 1;
            }
            let along = b - a;
            let share = ((point - a).dot(along) / along.hypot2()).clamp(0.0, 1.0);
            least = least.min(point.distance(a + along * share));
        }
        if winding == 0 { least } else { 0.0 }
    }

    /// A closed curve of three waves, some of them dents, in fine chords.
    fn waves(sizes: [f64; 3], chords: usize) -> Outline {
        let corner = |i: usize| {
            let angle = 360.0 * i as f64 / chords as f64;
            let wave = |k: f64| libm::cos((k * angle).to_radians());
            let radius = 100.0 + sizes[0] * wave(2.0) + sizes[1] * wave(3.0) + sizes[2] * wave(5.0);
            Turn::degrees(angle).apply(Point::new(radius, 0.0))
        };
        Outline::new(&(0..chords).map(corner).collect::<Vec<_>>()).expect("an outline")
    }

    proptest! {
        #[test]
        fn the_simpler_outline_holds_the_true_one_within_the_tolerance(
            sizes in prop::array::uniform3(0.0..12.0_f64),
            chords in 24..90_usize,
            tolerance in 0.05..2.0_f64,
        ) {
            let outline = waves(sizes, chords);
            let turns = [Turn::NONE, Turn::degrees(45.0)];
            let simpler = simplified(&outline, tolerance, &turns);
            for p in outline.points() {
                prop_assert!(outside(*p, simpler.points()) <= 1e-9);
            }
            let corners = simpler.points();
            for i in 0..corners.len() {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                for k in 0..8 {
                    let on = a.lerp(b, f64::from(k) / 8.0);
                    prop_assert!(outside(on, outline.points()) <= tolerance + 1e-9);
                }
            }
            for turn in turns {
                let (mine, its) = (simpler.turned(turn).bounds(), outline.turned(turn).bounds());
                prop_assert!(its.inflate(1e-9, 1e-9).contains_rect(mine));
            }
        }
    }

    #[test]
    fn fine_chords_become_few_and_rectangles_stay() {
        let fine = waves([0.0; 3], 180);
        // The fewest tangents of this circle within half a millimetre are 32.
        let corners = simplified(&fine, 0.5, &[]).points().len();
        assert!(corners <= 60, "{corners}");
        let square = [(0., 0.), (50., 0.), (50., 30.), (0., 30.)].map(Point::from);
        let square = Outline::new(&square).expect("a square");
        assert_eq!(simplified(&square, 0.5, &[Turn::NONE]), square);
    }
}
