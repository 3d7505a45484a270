//! Free room on a piece: which places a rectangle of words may take.
//!
//! Everything drawn is held as straight stretches; a rectangle is free when it lies inside the
//! outline and no stretch comes near it. Curves are sampled, which is close enough for words.

use tiewright_geometry::{Curve, Place, Point, Rect, Ring, Vec2};

/// Clear room round words, mm.
pub(super) const CLEARANCE: f64 = 1.2;
/// Straight stretches a curved segment is taken as: off by less than [`CLEARANCE`] on a taper.
const STRETCHES: u32 = 8;

/// A straight stretch of ink.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    from: Point,
    to: Point,
}

/// An upright or turned rectangle round words.
#[derive(Debug, Clone, Copy)]
pub struct Block {
    /// The middle.
    pub centre: Point,
    /// Along the words, mm.
    pub width: f64,
    /// Across the words, mm.
    pub height: f64,
    /// Unit vector along the words.
    pub along: Vec2,
}

/// The outline of a piece and all ink in it.
#[derive(Debug, Clone, Default)]
pub struct Field {
    outline: Vec<Stretch>,
    ink: Vec<Stretch>,
    words: Vec<Stretch>,
}

impl Field {
    /// The field inside `ring`, empty so far.
    pub fn new(ring: &Ring) -> Self {
        let outline = ring
            .edges()
            .iter()
            .flat_map(|edge| stretches(&edge.curve))
            .collect();
        Field {
            outline,
            ..Field::default()
        }
    }

    /// Adds a line.
    pub fn add_curve(&mut self, curve: &Curve) {
        self.ink.extend(stretches(curve));
    }

    /// Adds a straight line.
    pub fn add_line(&mut self, from: Point, to: Point) {
        self.ink.push(Stretch { from, to });
    }

    /// Adds words: their four sides and diagonals, so that nothing fits inside them either.
    pub fn add_block(&mut self, block: &Block) {
        let [a, b, c, d] = block.corners();
        for (from, to) in [(a, b), (b, c), (c, d), (d, a), (a, c), (b, d)] {
            self.words.push(Stretch { from, to });
        }
    }

    /// Whether `block` lies inside the outline and clear of other words, whatever lines are there.
    pub fn holds(&self, block: &Block) -> bool {
        block.is_clear_of(&self.outline)
            && block.is_clear_of(&self.words)
            && self.encloses(block.centre)
    }

    /// Whether `block` lies inside the outline and clear of all ink.
    pub fn is_free(&self, block: &Block) -> bool {
        block.is_clear_of(&self.ink) && self.holds(block)
    }

    /// The middle of the outline's lowest stretch.
    pub fn lowest(&self) -> Option<Point> {
        let middles = self.outline.iter().map(|s| s.from.midpoint(s.to));
        middles.min_by(|a, b| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)))
    }

    /// Even-odd count of the outline's stretches to the right of `p`.
    fn encloses(&self, p: Point) -> bool {
        let crosses = |s: &&Stretch| {
            (s.from.y > p.y) != (s.to.y > p.y) && {
                let share = (p.y - s.from.y) / (s.to.y - s.from.y);
                s.from.x + share * (s.to.x - s.from.x) > p.x
            }
        };
        self.outline.iter().filter(crosses).count() % 2 == 1
    }
}

impl Block {
    /// Level words of the given size about `centre`.
    pub fn level(centre: Point, width: f64, height: f64) -> Self {
        Block {
            centre,
            width,
            height,
            along: Vec2::new(1.0, 0.0),
        }
    }

    /// The corners in order.
    pub fn corners(&self) -> [Point; 4] {
        let half = self.along * (self.width / 2.0);
        let up = Vec2::new(-self.along.y, self.along.x) * (self.height / 2.0);
        let centre = self.centre;
        [
            centre - half - up,
            centre + half - up,
            centre + half + up,
            centre - half + up,
        ]
    }

    /// The smallest upright rectangle round it.
    pub fn bounds(&self) -> Rect {
        let [a, b, c, d] = self.corners();
        Rect::from_points(a, c).union(Rect::from_points(b, d))
    }

    /// Whether none of `stretches` comes within [`CLEARANCE`] of the block.
    fn is_clear_of(&self, stretches: &[Stretch]) -> bool {
        let near = self.bounds().inflate(CLEARANCE, CLEARANCE);
        // Most stretches are far away, which is cheaper to see than how they lie.
        let beside = |s: &Stretch| {
            s.from.x.max(s.to.x) < near.x0
                || s.from.x.min(s.to.x) > near.x1
                || s.from.y.max(s.to.y) < near.y0
                || s.from.y.min(s.to.y) > near.y1
        };
        !stretches.iter().any(|s| !beside(s) && self.meets(s))
    }

    /// Whether `stretch` comes within [`CLEARANCE`] of the block.
    fn meets(&self, stretch: &Stretch) -> bool {
        let local = |p: Point| {
            let v = p - self.centre;
            Vec2::new(v.dot(self.along), self.along.cross(v))
        };
        let (a, b) = (local(stretch.from), local(stretch.to));
        let (hx, hy) = (self.width / 2.0 + CLEARANCE, self.height / 2.0 + CLEARANCE);
        let across = b - a;
        // Part of the stretch, as parameters from 0 to 1, that is inside both strips.
        let x = strip(a.x, across.x, hx);
        let y = strip(a.y, across.y, hy);
        x.0.max(y.0).max(0.0) <= x.1.min(y.1).min(1.0)
    }
}

/// The parameters between which `start + t * step` lies within `half` of 0; empty (first above
/// second) if never.
fn strip(start: f64, step: f64, half: f64) -> (f64, f64) {
    if step == 0.0 {
        let inside = start.abs() <= half;
        return if inside {
            (f64::NEG_INFINITY, f64::INFINITY)
        } else {
            (f64::INFINITY, f64::NEG_INFINITY)
        };
    }
    let (t, u) = ((-half - start) / step, (half - start) / step);
    (t.min(u), t.max(u))
}

/// A curve as straight stretches.
fn stretches(curve: &Curve) -> impl Iterator<Item = Stretch> + '_ {
    let pieces = curve
        .segments()
        .iter()
        .enumerate()
        .flat_map(|(seg, segment)| {
            let count = match segment {
                tiewright_geometry::PathSeg::Line(_) => 1,
                _ => STRETCHES,
            };
            (1..=count).map(move |k| Place {
                seg,
                t: f64::from(k) / f64::from(count),
            })
        });
    let mut from = curve.start();
    pieces.map(move |place| {
        let to = curve.eval(place);
        let stretch = Stretch { from, to };
        from = to;
        stretch
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn field() -> Field {
        let corners = [(0.0, 0.0), (0.0, 40.0), (100.0, 40.0), (100.0, 0.0)];
        let points: Vec<Point> = corners.into_iter().map(Point::from).collect();
        let mut field = Field::default();
        for (i, &from) in points.iter().enumerate() {
            field.outline.push(Stretch {
                from,
                to: points[(i + 1) % 4],
            });
        }
        field
    }

    #[test]
    fn a_block_is_free_inside_and_not_across_the_outline() {
        let field = field();
        assert!(field.is_free(&Block::level(Point::new(50.0, 20.0), 90.0, 30.0)));
        assert!(!field.is_free(&Block::level(Point::new(50.0, 20.0), 99.0, 30.0)));
        assert!(!field.is_free(&Block::level(Point::new(150.0, 20.0), 10.0, 10.0)));
        let turned = Block {
            along: Vec2::new(0.0, 1.0),
            ..Block::level(Point::new(50.0, 20.0), 50.0, 5.0)
        };
        assert!(!field.is_free(&turned));
    }

    #[test]
    fn ink_takes_room_and_so_do_words() {
        let mut field = field();
        let block = Block::level(Point::new(50.0, 20.0), 20.0, 10.0);
        field.add_line(Point::new(50.0, 0.0), Point::new(50.0, 40.0));
        assert!(field.holds(&block) && !field.is_free(&block));
        let left = Block::level(Point::new(25.0, 20.0), 20.0, 10.0);
        assert!(field.is_free(&left));
        field.add_block(&left);
        let within = Block::level(Point::new(25.0, 20.0), 2.0, 1.0);
        assert!(!field.is_free(&within) && !field.holds(&within));
    }
}
