//! Names on lines that lie close together, as on a map: each in a small frame on its own line, where
//! that line is farthest from the others. No name covers another; one that finds no room is left out.

use tiewright_geometry::{Point, Rect, Vec2};

use super::label;
use super::text::text_width;
use crate::sheet::{Align, Item, Mark};
use crate::source::Span;

/// Height of a capital in a tag, mm: read from near by.
const SMALL: f64 = 2.2;
/// Between the words and their frame, mm.
const PADDING: f64 = 0.8;
/// Between two frames, mm.
const APART: f64 = 0.6;
/// Places tried on each line, evenly along it.
const PLACES: u32 = 96;
/// A line this far from all others is as far as need be, mm.
const FAR: f64 = 8.0;

/// A closed line and its name.
pub(super) struct Line {
    /// Its corners, in order.
    pub points: Vec<Point>,
    /// What it is called.
    pub words: String,
}

/// The names as drawn.
pub(super) struct Tags {
    /// Frames and words.
    pub items: Vec<Item>,
    /// Round all of them; nothing where there are none.
    pub bounds: Option<Rect>,
}

/// Names all lines, right of and below a corner; the ones that keep least apart from others first,
/// since they have the least choice.
pub(super) fn tags(lines: &[Line], corner: Point) -> Tags {
    let mut choices: Vec<(&Line, Vec<(f64, Point)>)> = lines
        .iter()
        .enumerate()
        .map(|(index, line)| (line, choices(index, lines)))
        .collect();
    let best = |list: &[(f64, Point)]| list.first().map_or(0.0, |(far, _)| *far);
    choices.sort_by(|a, b| best(&a.1).total_cmp(&best(&b.1)));
    let mut taken: Vec<Rect> = Vec::new();
    let mut items = Vec::new();
    for (line, places) in choices {
        let (width, height) = (
            text_width(&line.words, SMALL) + 2.0 * PADDING,
            SMALL + 2.0 * PADDING,
        );
        let free = |at: &Point| {
            let room = block(*at, width + APART, height + APART);
            let inside = room.x0 >= corner.x && room.y1 <= corner.y;
            inside
                && taken
                    .iter()
                    .all(|other| other.intersect(room).is_zero_area())
        };
        let Some(at) = places.into_iter().map(|(_, at)| at).find(free) else {
            continue;
        };
        let tag = block(at, width, height);
        taken.push(tag);
        let corners = [
            (tag.x0, tag.y0),
            (tag.x1, tag.y0),
            (tag.x1, tag.y1),
            (tag.x0, tag.y1),
        ];
        items.push(Item {
            mark: Mark::Fill(corners.map(Point::from).to_vec(), 1.0),
            span: Span::default(),
        });
        let baseline = at - Vec2::new(0.0, SMALL / 2.0);
        items.push(label(&*line.words, baseline, Align::Middle, SMALL));
    }
    Tags {
        items,
        bounds: taken.into_iter().reduce(|a, b| a.union(b)),
    }
}

fn block(middle: Point, width: f64, height: f64) -> Rect {
    Rect::from_center_size(middle, (width, height))
}

/// Places on a line, the farthest from all other lines first.
fn choices(index: usize, lines: &[Line]) -> Vec<(f64, Point)> {
    let Some(line) = lines.get(index) else {
        return Vec::new();
    };
    let far = |at: Point| {
        let others = lines
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != index);
        others
            .map(|(_, other)| distance(at, &other.points))
            .fold(FAR, f64::min)
    };
    let mut out: Vec<(f64, Point)> = along(&line.points)
        .into_iter()
        .map(|at| (far(at), at))
        .collect();
    out.sort_by(|a, b| b.0.total_cmp(&a.0));
    out
}

/// Points evenly along a closed line.
fn along(points: &[Point]) -> Vec<Point> {
    let sides = || points.iter().zip(points.iter().cycle().skip(1));
    let whole: f64 = sides().map(|(a, b)| a.distance(*b)).sum();
    let step = whole / f64::from(PLACES);
    let mut out = Vec::new();
    let mut next = step / 2.0;
    for (a, b) in sides() {
        let length = a.distance(*b);
        while next < length {
            out.push(a.lerp(*b, next / length));
            next += step;
        }
        next -= length;
    }
    out
}

/// The distance from a point to a closed line.
pub(super) fn distance(at: Point, points: &[Point]) -> f64 {
    let sides = points.iter().zip(points.iter().cycle().skip(1));
    let to_side = |(a, b): (&Point, &Point)| {
        let side = *b - *a;
        let share = ((at - *a).dot(side) / side.hypot2().max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
        at.distance(a.lerp(*b, share))
    };
    sides.map(to_side).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(side: f64, words: &str) -> Line {
        let half = side / 2.0;
        let corners = [(-half, -half), (-half, half), (half, half), (half, -half)];
        Line {
            points: corners.map(Point::from).to_vec(),
            words: words.to_owned(),
        }
    }

    #[test]
    fn distances_are_to_sides_and_corners() {
        let points = square(10.0, "").points;
        assert_eq!(distance(Point::ZERO, &points), 5.0);
        assert_eq!(distance(Point::new(8.0, 9.0), &points), 5.0);
        assert_eq!(distance(Point::new(0.0, 7.0), &points), 2.0);
    }

    #[test]
    fn places_lie_evenly_on_the_line() {
        let line = square(24.0, "");
        let places = along(&line.points);
        assert_eq!(places.len(), PLACES as usize);
        assert!(places.iter().all(|at| distance(*at, &line.points) < 1e-9));
    }

    #[test]
    fn every_name_stands_on_its_own_line_and_clear_of_others() {
        let lines: Vec<Line> = (0..8)
            .map(|n| square(100.0 + 3.0 * f64::from(n), &format!("size {n}")))
            .collect();
        let tags = tags(&lines, Point::new(-60.0, 90.0));
        assert!(
            tags.bounds
                .is_some_and(|round| round.x0 >= -60.0 && round.y1 <= 90.0)
        );
        let frames: Vec<Rect> = tags
            .items
            .iter()
            .filter_map(|item| match &item.mark {
                Mark::Fill(corners, _) => Some(Rect::from_points(corners[0], corners[2])),
                _ => None,
            })
            .collect();
        assert_eq!(frames.len(), lines.len());
        for (index, frame) in frames.iter().enumerate() {
            let own = lines
                .iter()
                .filter(|l| distance(frame.center(), &l.points) < 1e-9);
            assert_eq!(own.count(), 1);
            let others = frames.iter().skip(index + 1);
            assert!(
                others
                    .into_iter()
                    .all(|o| o.intersect(*frame).is_zero_area())
            );
        }
    }

    #[test]
    fn a_name_without_room_is_left_out() {
        let lines = [square(1.0, "a long name"), square(1.1, "another long name")];
        assert_eq!(tags(&lines, Point::new(-50.0, 50.0)).items.len(), 2);
    }
}
