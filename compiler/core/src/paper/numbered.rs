//! Lines on an outline with their numbers: where each number goes so that it covers no other, and
//! measures along the outline drawn below it.

use tiewright_geometry::{Curve, Point, Vec2};

use super::picture::{CAPITAL, Canvas, RADIUS};
use crate::layout::text_width;
use crate::sheet::Align;

/// Between a number's circle and anything else, mm.
const CLEAR: f64 = 0.5;
/// A line this long on paper bears its number in its middle, mm.
const ROOM_FOR_NUMBER: f64 = 4.0 * RADIUS;
/// From a measure's line up to the words on it, mm: less, and they seem to be struck out in print.
const ABOVE: f64 = 0.8;
/// From one measure below the outline to the next, mm.
const LANE: f64 = 2.0 * RADIUS + 1.0;
/// Rows of measures below an outline: more would fill the page, and all stand in a table as well.
const MOST_ROWS: usize = 14;
/// How far numbers get from their line, in steps of a radius.
const FARTHEST: u32 = 12;
/// Directions tried round a line.
const DIRECTIONS: u32 = 16;

impl Lane {
    fn length(&self) -> f64 {
        (self.to.x - self.from.x).abs()
    }

    fn middle(&self) -> f64 {
        (self.from.x + self.to.x) / 2.0
    }

    fn ends(&self) -> (f64, f64) {
        (self.from.x.min(self.to.x), self.from.x.max(self.to.x))
    }

    fn words_width(&self) -> f64 {
        text_width(&self.words, CAPITAL)
    }

    /// Where the words start: right or left of the number, or beyond an end, wherever no line of
    /// `down` would cross them and they stay within `across`.
    fn words_at(&self, down: &[f64], across: (f64, f64)) -> f64 {
        let (left, right) = self.ends();
        let width = self.words_width() + CLEAR;
        let beside = RADIUS + 2.0 * CLEAR;
        let starts = [
            self.middle() + beside,
            self.middle() - beside - width,
            right + CLEAR,
            left - width,
        ];
        let within = |start: &f64| across.0 <= *start && start + width <= across.1;
        let clear = |start: &f64| !down.iter().any(|x| (*start..start + width).contains(x));
        let fitting = || starts.into_iter().filter(within);
        fitting()
            .find(clear)
            .or(fitting().next())
            .unwrap_or(starts[0])
    }

    /// What the measure takes up of its row.
    fn taken(&self, words: f64) -> (f64, f64) {
        let (left, right) = self.ends();
        let (left, right) = (
            left.min(self.middle() - RADIUS),
            right.max(self.middle() + RADIUS),
        );
        if self.words.is_empty() {
            return (left, right);
        }
        (left.min(words), right.max(words + self.words_width()))
    }
}

/// A drawing with numbered lines.
pub(super) struct Board {
    canvas: Canvas,
    circles: Vec<Point>,
    lines: Vec<[Point; 2]>,
    /// Numbers stay between these.
    across: (f64, f64),
    below: Vec<Lane>,
}

/// A measure along the outline, drawn below it.
struct Lane {
    number: usize,
    from: Point,
    to: Point,
    words: String,
}

impl Board {
    /// A board over what is drawn; numbers stay within its width and `beyond` more at its left and
    /// its right.
    pub fn over(canvas: Canvas, beyond: (f64, f64)) -> Self {
        let bounds = canvas.bounds();
        Board {
            canvas,
            circles: Vec::new(),
            lines: Vec::new(),
            across: (bounds.x0 - beyond.0, bounds.x1 + beyond.1),
            below: Vec::new(),
        }
    }

    /// Draws lines as they lie, each with its number beside it, or on it where there is room.
    pub fn in_place(&mut self, lines: &[(usize, Curve)]) {
        for (_, line) in lines {
            self.canvas.measured(line.start(), line.end());
            self.lines.push([line.start(), line.end()]);
        }
        for (number, line) in lines {
            self.number(*number, line.start(), line.end());
        }
    }

    /// Draws the outline of something and its number beside it.
    pub fn shape(&mut self, number: usize, curve: Curve) {
        let room = curve.bounds();
        self.canvas.curve(curve);
        let middle = room.center();
        let (from, to) = if room.width() > room.height() {
            (Point::new(room.x0, middle.y), Point::new(room.x1, middle.y))
        } else {
            (Point::new(middle.x, room.y0), Point::new(middle.x, room.y1))
        };
        self.lines.push([from, to]);
        self.number(number, from, to);
    }

    /// A measure from `from` to `to`, level and below everything, with `words` beside its number.
    pub fn below(&mut self, number: usize, from: Point, to: Point, words: String) {
        self.below.push(Lane {
            number,
            from,
            to,
            words,
        });
    }

    /// All of it, with the measures below, the shortest nearest to the outline; what finds no room
    /// in [`MOST_ROWS`] is left out.
    pub fn finished(mut self) -> Canvas {
        let mut lanes = std::mem::take(&mut self.below);
        lanes.sort_by(|a, b| a.length().total_cmp(&b.length()));
        // No words stand on a line that goes down to a measure.
        let down: Vec<f64> = lanes.iter().flat_map(|l| [l.from.x, l.to.x]).collect();
        let top = self.canvas.bounds().y0;
        // Of each row the stretches taken.
        let mut rows: Vec<Vec<(f64, f64)>> = Vec::new();
        for lane in &lanes {
            let words = lane.words_at(&down, self.across);
            let taken = lane.taken(words);
            let free = |row: &Vec<(f64, f64)>| {
                let clear =
                    |other: &(f64, f64)| taken.1 + CLEAR < other.0 || other.1 + CLEAR < taken.0;
                row.iter().all(clear)
            };
            let row = rows.iter().position(free).unwrap_or(rows.len());
            if row == MOST_ROWS {
                continue;
            }
            match rows.get_mut(row) {
                Some(row) => row.push(taken),
                None => rows.push(vec![taken]),
            }
            self.lane(lane, words, top - (row as f64 + 0.5) * LANE - CLEAR);
        }
        self.canvas
    }

    fn lane(&mut self, lane: &Lane, words: f64, y: f64) {
        let (from, to) = (Point::new(lane.from.x, y), Point::new(lane.to.x, y));
        for (start, end) in [(lane.from, from), (lane.to, to)] {
            self.canvas.rule(start, end - Vec2::new(0.0, CLEAR));
        }
        self.canvas.measured(from, to);
        if !lane.words.is_empty() {
            let at = Point::new(words, y + ABOVE);
            self.canvas.words(lane.words.clone(), at, Align::Start);
        }
        self.canvas.number(lane.number, from.midpoint(to));
    }

    /// Puts a number to a line: on it, beyond its ends, or beside it with a leader.
    fn number(&mut self, number: usize, from: Point, to: Point) {
        let middle = from.midpoint(to);
        let along = to - from;
        let length = along.hypot2().sqrt();
        if length >= ROOM_FOR_NUMBER && self.is_free(middle, &[from, to]) {
            return self.put(number, middle);
        }
        let beyond = |tip: Point, sign: f64| tip + along * (sign * (RADIUS + CLEAR) / length);
        let ends = [beyond(to, 1.0), beyond(from, -1.0)];
        if length > 0.0
            && let Some(at) = ends.into_iter().find(|&at| self.is_free(at, &[from, to]))
        {
            return self.put(number, at);
        }
        let round = (2..=FARTHEST).flat_map(|ring| {
            (0..DIRECTIONS).map(move |step| {
                let angle = f64::from(step) / f64::from(DIRECTIONS) * std::f64::consts::TAU;
                let way = Vec2::new(libm::sin(angle), libm::cos(angle));
                middle + way * (f64::from(ring) * RADIUS)
            })
        });
        let mut round = round.peekable();
        let Some(first) = round.peek().copied() else {
            return;
        };
        let at = round.find(|&at| self.is_free(at, &[])).unwrap_or(first);
        self.canvas.rule(middle, at);
        self.lines.push([middle, at]);
        self.put(number, at);
    }

    fn put(&mut self, number: usize, at: Point) {
        self.canvas.number(number, at);
        self.circles.push(at);
    }

    /// Whether a circle at `at` is clear of everything but the line `own`.
    fn is_free(&self, at: Point, own: &[Point]) -> bool {
        let (left, right) = self.across;
        let apart = |p: Point, least: f64| (p - at).hypot2() >= least * least;
        (left + RADIUS..=right - RADIUS).contains(&at.x)
            && self.circles.iter().all(|c| apart(*c, 2.0 * RADIUS + CLEAR))
            && self
                .lines
                .iter()
                .all(|line| line.as_slice() == own || apart(nearest(*line, at), RADIUS + CLEAR))
    }
}

/// The point of a straight stretch nearest to `p`.
fn nearest([from, to]: [Point; 2], p: Point) -> Point {
    let along = to - from;
    let length2 = along.hypot2();
    if length2 <= 0.0 {
        return from;
    }
    from + along * ((p - from).dot(along) / length2).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn board() -> Board {
        let mut canvas = Canvas::default();
        let corners = [(0.0, -10.0), (100.0, -10.0), (100.0, 10.0), (0.0, 10.0)];
        canvas.fill(corners.map(Point::from).to_vec(), 0.9);
        Board::over(canvas, (7.0, 7.0))
    }

    fn line(a: (f64, f64), b: (f64, f64)) -> Curve {
        Curve::line(a.into(), b.into()).expect("a line")
    }

    #[test]
    fn numbers_cover_neither_each_other_nor_a_line() {
        let mut board = board();
        let lines: Vec<(usize, Curve)> = (0..12)
            .map(|n| {
                let x = 10.0 + 2.0 * n as f64;
                (n + 1, line((x, -3.0), (x + 1.0, 4.0)))
            })
            .collect();
        board.in_place(&lines);
        assert_eq!(board.circles.len(), lines.len());
        for (index, circle) in board.circles.iter().enumerate() {
            for other in &board.circles[..index] {
                assert!(
                    (*circle - *other).hypot() >= 2.0 * RADIUS,
                    "{circle} {other}"
                );
            }
            for (_, line) in &lines {
                assert!(line.nearest(*circle).1 >= RADIUS, "{circle}");
            }
        }
    }

    #[test]
    fn a_long_line_bears_its_number_in_its_middle() {
        let mut board = board();
        board.in_place(&[(1, line((20.0, -10.0), (20.0, 10.0)))]);
        assert_eq!(board.circles, [Point::new(20.0, 0.0)]);
    }

    #[test]
    fn measures_below_share_a_row_where_they_can() {
        let mut board = board();
        let at = |x: f64| Point::new(x, -10.0);
        board.below(1, at(0.0), at(100.0), String::new());
        board.below(2, at(0.0), at(30.0), String::new());
        board.below(3, at(100.0), at(60.0), String::new());
        let low = board.finished().bounds().y0;
        // Two rows: the short ones beside each other, the long one below them.
        assert!(
            low < -10.0 - 1.5 * LANE && low > -10.0 - 2.5 * LANE,
            "{low}"
        );
    }

    #[test]
    fn words_keep_off_lines_that_go_down() {
        let lane = Lane {
            number: 1,
            from: Point::new(0.0, 0.0),
            to: Point::new(60.0, 0.0),
            words: "60.0 mm".to_owned(),
        };
        let wide = (-100.0, 100.0);
        assert_eq!(
            lane.words_at(&[0.0, 60.0], wide),
            30.0 + RADIUS + 2.0 * CLEAR
        );
        let left = lane.words_at(&[0.0, 60.0, 40.0], wide);
        assert!(left + lane.words_width() < 30.0 - RADIUS);
        // Nothing is clear: within the sheet all the same.
        let all: Vec<f64> = (-50..150).map(f64::from).collect();
        let forced = lane.words_at(&all, (-100.0, 40.0));
        assert!(forced + lane.words_width() <= 40.0);
    }
}
