//! What is marked on the finished work, drawn on its picture: places as thin outlines, tacks as short
//! heavy lines, seams as stitches, each with its name below the article and a leader to it.
//!
//! Input: marks in the draft frame and how a stretch of the article is drawn. Output: items of the
//! sheet. No name covers another and no two leaders cross.

use std::sync::Arc;

use tiewright_geometry::{Curve, Point, Vec2, flatten_segment};

use super::{CAPITAL, label, rule, text_width};
use crate::draft::{FoldedMark, mirrored_from};
use crate::sheet::{Align, Item, Mark};
use crate::source::Span;

/// Width of a tack, mm on the sheet: heavier than any other line.
const TACK: f64 = 1.0;
/// Millimetres on the work. How far the straight lines of a picture may stray from a curve.
const PICTURE: f64 = 0.05;
/// From the article down to the names of its marks, mm.
const DROP: f64 = 6.0;
/// From a leader to the name it leads to, mm.
const GAP: f64 = 1.0;
/// Between neighbouring names, mm.
const APART: f64 = 4.0;
/// Millimetres on the work. A line that ends so near to its start is closed.
const CLOSED: f64 = 0.01;

/// What a mark is drawn as, by its form alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// Where something lies: a closed line.
    Place,
    /// Where something is held: an open line shorter than the work is wide.
    Tack,
    /// Where something is sewn along: a longer open line.
    Stitches,
}

fn form(curve: &Curve, width: f64) -> Form {
    if curve.start().distance(curve.end()) < CLOSED {
        Form::Place
    } else if curve.length() < width {
        Form::Tack
    } else {
        Form::Stitches
    }
}

/// The name of a mark and its mirror image alike.
pub(super) fn name_of(mark: &FoldedMark) -> &str {
    mirrored_from(&mark.name).unwrap_or(&mark.name)
}

/// Whether all of a mark lies between two stations.
pub(super) fn is_within(mark: &FoldedMark, (from, to): (f64, f64)) -> bool {
    let bounds = mark.curve.bounds();
    bounds.x0 >= from && bounds.x1 <= to
}

/// How far from each end of the article, of `length`, its marks reach that lie within `limit` of it: what
/// an enlarged end should show.
pub(super) fn reach(marks: &[&FoldedMark], whole: (f64, f64), limit: f64) -> (f64, f64) {
    let (mut front, mut rear): (f64, f64) = (0.0, 0.0);
    for mark in marks {
        if is_within(mark, (whole.0, whole.0 + limit)) {
            front = front.max(mark.curve.bounds().x1 - whole.0);
        } else if is_within(mark, (whole.1 - limit, whole.1)) {
            rear = rear.max(whole.1 - mark.curve.bounds().x0);
        }
    }
    (front, rear)
}

/// A mark on the part of the article between two stations; `width` is that of the article.
pub(super) fn drawn(
    mark: &FoldedMark,
    width: f64,
    stretch: (f64, f64),
    to_sheet: &dyn Fn(Point) -> Point,
) -> Vec<Item> {
    let form = form(&mark.curve, width);
    let mut points = vec![mark.curve.start()];
    for segment in mark.curve.segments() {
        flatten_segment(segment, PICTURE, &mut |p| points.push(p));
    }
    let mut items = Vec::new();
    for line in clipped(&points, stretch) {
        let line: Vec<Point> = line.into_iter().map(to_sheet).collect();
        match form {
            Form::Tack => items.extend(line.windows(2).filter_map(|pair| bar(pair, mark.span))),
            Form::Place => items.extend(chained(&line).map(|curve| Item {
                mark: Mark::Rule(curve),
                span: mark.span,
            })),
            Form::Stitches => items.extend(chained(&line).map(|curve| Item {
                mark: Mark::Sew(curve),
                span: mark.span,
            })),
        }
    }
    items
}

fn chained(points: &[Point]) -> Option<Curve> {
    let lines: Vec<Curve> = points
        .windows(2)
        .filter_map(|pair| Curve::line(*pair.first()?, *pair.get(1)?).ok())
        .collect();
    Curve::chain(&lines).ok()
}

/// A straight stretch of a tack.
fn bar(pair: &[Point], span: Span) -> Option<Item> {
    let (from, to) = (*pair.first()?, *pair.get(1)?);
    let length = from.distance(to);
    if length <= 0.0 {
        return None;
    }
    let across = Vec2::new(from.y - to.y, to.x - from.x) * (TACK / 2.0 / length);
    let corners = vec![from - across, from + across, to + across, to - across];
    Some(Item {
        mark: Mark::Fill(corners, 0.0),
        span,
    })
}

/// The parts of a line of straight stretches between two stations along the article.
fn clipped(points: &[Point], (from, to): (f64, f64)) -> Vec<Vec<Point>> {
    let mut out: Vec<Vec<Point>> = Vec::new();
    let mut goes_on = false;
    for pair in points.windows(2) {
        let [a, b] = *pair else { continue };
        // Parameters at which the stretch enters and leaves the strip between the stations.
        let (mut enters, mut leaves): (f64, f64) = (0.0, 1.0);
        for (at_a, at_b) in [(a.x - from, b.x - from), (to - a.x, to - b.x)] {
            if at_a < 0.0 && at_b < 0.0 {
                leaves = -1.0;
            } else if at_a < 0.0 {
                enters = enters.max(at_a / (at_a - at_b));
            } else if at_b < 0.0 {
                leaves = leaves.min(at_a / (at_a - at_b));
            }
        }
        if enters > leaves {
            goes_on = false;
            continue;
        }
        match out.last_mut().filter(|_| goes_on && enters == 0.0) {
            Some(line) => line.push(a.lerp(b, leaves)),
            None => out.push(vec![a.lerp(b, enters), a.lerp(b, leaves)]),
        }
        goes_on = leaves == 1.0;
    }
    out
}

/// A name and the point of the sheet its leader starts from.
pub(super) struct Named {
    pub name: Arc<str>,
    pub from: Point,
}

/// The name of a mark with where its leader starts: at the foot of the mark as it is drawn, or in the
/// middle of a seam.
pub(super) fn named(mark: &FoldedMark, width: f64, to_sheet: &dyn Fn(Point) -> Point) -> Named {
    let curve = &mark.curve;
    let bounds = curve.bounds();
    let from = match form(curve, width) {
        Form::Stitches => {
            let middle = curve.place_at_length(curve.length() / 2.0);
            to_sheet(curve.eval(middle.unwrap_or(curve.start_place())))
        }
        Form::Place | Form::Tack => {
            let x = bounds.center().x;
            let ends = [bounds.y0, bounds.y1].map(|y| to_sheet(Point::new(x, y)));
            let [a, b] = ends;
            if a.y < b.y { a } else { b }
        }
    };
    Named {
        name: name_of(mark).into(),
        from,
    }
}

/// The names of marks in one line below an article whose lowest point on the sheet is at `foot`, from
/// `left` on, with their leaders. Gives the items, how far down they reach from `foot`, and how far to
/// the right.
pub(super) fn names(mut marks: Vec<Named>, left: f64, foot: f64) -> (Vec<Item>, f64, f64) {
    marks.sort_by(|a, b| a.from.x.total_cmp(&b.from.x).then(a.name.cmp(&b.name)));
    let widths: Vec<f64> = marks.iter().map(|m| text_width(&m.name, CAPITAL)).collect();
    let wanted: Vec<f64> = marks.iter().map(|m| m.from.x).collect();
    let middles = spread(&wanted, &widths, left);
    let top = foot - DROP;
    let mut items = Vec::new();
    let mut right = left;
    for ((mark, width), middle) in marks.into_iter().zip(widths).zip(middles) {
        // Straight down to the article's foot and only then aside, so that no two leaders cross.
        let knee = Point::new(mark.from.x, foot);
        items.extend(rule(mark.from, knee));
        items.extend(rule(knee, Point::new(middle, top + GAP)));
        let at = Point::new(middle, top - CAPITAL);
        items.push(label(mark.name, at, Align::Middle, CAPITAL));
        right = right.max(middle + width / 2.0);
    }
    (items, DROP + CAPITAL, right)
}

/// Where names of these widths have their middles, from left to right, as near as may be to where they
/// are wanted, apart from each other and none before `left`. Least squares by pooling neighbours that
/// would overlap (M. Ayer et al., Annals of Mathematical Statistics 26 (1955)).
fn spread(wanted: &[f64], widths: &[f64], left: f64) -> Vec<f64> {
    // With every name moved left by the room of those before it, the middles only must not fall.
    let mut offsets = Vec::with_capacity(widths.len());
    let mut offset = 0.0;
    for (index, width) in widths.iter().enumerate() {
        if let Some(before) = index.checked_sub(1).and_then(|at| widths.get(at)) {
            offset += before / 2.0 + APART + width / 2.0;
        }
        offsets.push(offset);
    }
    // Each pool: the sum of its members' places, and how many they are.
    let mut pools: Vec<(f64, f64)> = Vec::new();
    for (want, offset) in wanted.iter().zip(&offsets) {
        let mut pool = (want - offset, 1.0);
        while let Some(last) = pools.pop_if(|last| last.0 / last.1 > pool.0 / pool.1) {
            pool = (pool.0 + last.0, pool.1 + last.1);
        }
        pools.push(pool);
    }
    let least = left + widths.first().map_or(0.0, |width| width / 2.0);
    let mut out = Vec::with_capacity(wanted.len());
    let mut offsets = offsets.into_iter();
    for (sum, count) in pools {
        let place = (sum / count).max(least);
        out.extend(offsets.by_ref().take(count as usize).map(|o| place + o));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_stay_near_and_apart() {
        let alone = spread(&[50.0, 100.0], &[20.0, 20.0], 0.0);
        assert_eq!(alone, [50.0, 100.0]);
        let crowded = spread(&[50.0, 52.0, 54.0], &[20.0, 10.0, 20.0], 0.0);
        assert!((crowded[1] - crowded[0] - 19.0).abs() < 1e-9);
        assert!((crowded[2] - crowded[1] - 19.0).abs() < 1e-9);
        assert!((crowded[1] - 52.0).abs() < 1e-9, "{crowded:?}");
        let at_the_left = spread(&[2.0, 3.0], &[20.0, 20.0], 0.0);
        assert_eq!(at_the_left, [10.0, 34.0]);
    }

    #[test]
    fn a_line_is_cut_at_both_stations() {
        let p = Point::new;
        let zigzag = [p(0.0, 0.0), p(10.0, 10.0), p(0.0, 20.0)];
        assert_eq!(clipped(&zigzag, (-1.0, 11.0)), [zigzag.to_vec()]);
        let parts = clipped(&zigzag, (0.0, 5.0));
        assert_eq!(
            parts,
            [
                vec![p(0.0, 0.0), p(5.0, 5.0)],
                vec![p(5.0, 15.0), p(0.0, 20.0)]
            ]
        );
        assert!(clipped(&zigzag, (11.0, 12.0)).is_empty());
        let upright = [p(3.0, 0.0), p(3.0, 9.0)];
        assert_eq!(clipped(&upright, (2.0, 4.0)), [upright.to_vec()]);
        assert!(clipped(&upright, (4.0, 5.0)).is_empty());
    }

    #[test]
    fn the_form_follows_the_line() {
        let line = |to: Point| Curve::line(Point::ZERO, to).expect("a line");
        assert_eq!(form(&line(Point::new(6.0, 0.0)), 80.0), Form::Tack);
        assert_eq!(form(&line(Point::new(600.0, 0.0)), 80.0), Form::Stitches);
        let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 0.0)].map(Point::from);
        let ring = chained(&corners).expect("a line");
        assert_eq!(form(&ring, 80.0), Form::Place);
    }
}
