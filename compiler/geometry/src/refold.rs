//! Folding flat cloth again, to prove a pattern by.
//!
//! Input: creases in the order they are folded, and points, curves or polygons of the flat cloth.
//! Output: where they come to lie. The cloth to the left of a crease is turned over: each of its
//! points is mirrored in the point of the crease that is nearest to it. A pleat is turned under
//! between two lines and carries along all that lies beyond them. Shares nothing with the
//! unfolding: feet are found in `refold_foot`, by their own scan and iteration. Pictures of folded
//! polygons are made in `refold_polygon`.

use kurbo::{PathSeg, Point, Vec2};

use crate::curve::Curve;
use crate::line::Line;
use crate::refold_foot::{Bed, Foot};
use crate::refold_polygon::{Layer, fold_layers};
use crate::tolerance::SAME;

/// Passes over all creases before a point that still moves is left where it is.
pub const MOST_PASSES: usize = 8;

/// Parts of a segment that are sampled apart: enough that a bend both ways is not passed over.
const STEPS: u32 = 4;

/// How often a stretch of a folded curve is parted at most.
const DEEPEST: u32 = 14;

/// Halvings to the place where the turns change: a billionth of the longest segment.
const MOST_HALVINGS: usize = 30;

/// A crease; the cloth to its left is turned over.
#[derive(Debug, Clone)]
pub enum Crease {
    /// Straight, without ends.
    Line(Line),
    /// Curved, run on straight at both ends.
    Curve(Curve),
    /// Two lines without ends, the second to the left of the first. The cloth between them is
    /// turned over at the first, and all beyond the second turns back there: it keeps its side.
    Pleat(Line, Line),
}

/// A folded point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Folded {
    /// Where it comes to lie.
    pub point: Point,
    /// How often it was turned over; the right side of the cloth is up again when even.
    pub turns: u32,
}

/// Creases in the order they are folded.
#[derive(Debug, Clone)]
pub struct Refold {
    folds: Vec<Fold>,
}

/// One crease, laid out.
#[derive(Debug, Clone)]
pub enum Fold {
    /// What is left of it is turned over.
    Over(Bed),
    /// A pleat: its first line, then its second.
    Pleat(Bed, Bed),
}

/// A place of a segment, flat and folded.
#[derive(Clone, Copy)]
struct Sample {
    t: f64,
    flat: Point,
    folded: Folded,
}

impl Refold {
    /// Folding along the given creases, in order.
    pub fn new(creases: Vec<Crease>) -> Self {
        Self {
            folds: creases.into_iter().map(Fold::new).collect(),
        }
    }

    /// Where a point of the flat cloth comes to lie. Each crease in turn mirrors it if it lies
    /// more than [`SAME`] to the left; this is repeated until none of them moves it, eight times
    /// at most. A pleat is laid once: what is tucked away by the next may well lie across it.
    pub fn point(&self, p: Point) -> Folded {
        let mut folded = Folded { point: p, turns: 0 };
        let count = self.folds.len();
        let mut left_alone = 0;
        let passes = self.folds.iter().cycle().take(MOST_PASSES * count);
        for (step, fold) in passes.enumerate() {
            let moved = match fold {
                Fold::Over(bed) => folded.turn_over(bed),
                Fold::Pleat(..) if step >= count => false,
                Fold::Pleat(first, second) if folded.turn_over(second) => {
                    folded.mirror(&first.foot(folded.point));
                    true
                }
                Fold::Pleat(first, _) => folded.turn_over(first),
            };
            if moved {
                left_alone = 0;
            } else {
                left_alone += 1;
                if left_alone == count {
                    break;
                }
            }
        }
        folded
    }

    /// The folded image of a flat curve as points, the ends of its segments among them, joined
    /// by straight lines no farther than `tol` mm from it; a fold of the image itself is met
    /// within `tol` too. A tolerance that is not positive counts as [`SAME`].
    pub fn curve(&self, curve: &Curve, tol: f64) -> Vec<Point> {
        let tol = if tol > SAME { tol } else { SAME };
        let mut points = vec![self.point(curve.start()).point];
        for seg in curve.segments() {
            let sampler = Sampler {
                refold: self,
                seg,
                tol,
            };
            let mut last = sampler.at(0.0);
            for i in 1..=STEPS {
                let next = sampler.at(f64::from(i) / f64::from(STEPS));
                sampler.between(&last, &next, 0, &mut points);
                last = next;
            }
        }
        points
    }

    /// A stack of flat polygons, the lowest first, folded: its layers in the order they come to
    /// lie, the lowest first. Every crease splits what lies across it and turns the left part
    /// over, on top of the rest. Outlines are true within `tol` mm; a tolerance that is not
    /// positive counts as [`SAME`].
    pub fn layers(&self, stack: &[Vec<Point>], tol: f64) -> Vec<Layer> {
        fold_layers(&self.folds, stack, if tol > SAME { tol } else { SAME })
    }
}

impl Fold {
    fn new(crease: Crease) -> Self {
        match crease {
            Crease::Line(line) => Self::Over(Bed::Line(line)),
            Crease::Curve(curve) => Self::Over(Bed::curved(curve)),
            Crease::Pleat(first, second) => Self::Pleat(Bed::Line(first), Bed::Line(second)),
        }
    }
}

impl Folded {
    /// Mirrors it in a crease if it lies to the left; says whether it did.
    fn turn_over(&mut self, bed: &Bed) -> bool {
        let foot = bed.foot_from_left(self.point);
        if let Some(foot) = &foot {
            self.mirror(foot);
        }
        foot.is_some()
    }

    fn mirror(&mut self, foot: &Foot) {
        self.point = foot.point + (foot.point - self.point);
        self.turns += 1;
    }
}

/// The folded image of one segment on the way to being points.
struct Sampler<'a> {
    refold: &'a Refold,
    seg: &'a PathSeg,
    tol: f64,
}

impl Sampler<'_> {
    fn at(&self, t: f64) -> Sample {
        let flat = point_at(self.seg, t);
        Sample {
            t,
            flat,
            folded: self.refold.point(flat),
        }
    }

    fn part_way(&self, a: &Sample, b: &Sample, f: f64) -> Sample {
        self.at(a.t + f * (b.t - a.t))
    }

    /// Appends the image from `a` to `b` without its first point. It is parted where the turns
    /// change, and halved until the image of the middle and the quarters lies on the chord.
    fn between(&self, a: &Sample, b: &Sample, depth: u32, points: &mut Vec<Point>) {
        if depth >= DEEPEST || self.is_small(a, b) {
            points.push(b.folded.point);
            return;
        }
        if a.folded.turns != b.folded.turns {
            let (before, after) = self.passage(*a, *b);
            self.between(a, &before, depth + 1, points);
            points.push(after.folded.point);
            self.between(&after, b, depth + 1, points);
            return;
        }
        let on_chord = |sample: &Sample| {
            let off = off(sample.folded.point, a.folded.point, b.folded.point);
            off <= 0.5 * self.tol && sample.folded.turns == a.folded.turns
        };
        let middle = self.part_way(a, b, 0.5);
        let mut quarters = [0.25, 0.75].into_iter();
        if on_chord(&middle) && quarters.all(|f| on_chord(&self.part_way(a, b, f))) {
            points.push(b.folded.point);
            return;
        }
        self.between(a, &middle, depth + 1, points);
        self.between(&middle, b, depth + 1, points);
    }

    /// Two places that are not told apart, between which the turns change, by halving.
    fn passage(&self, mut a: Sample, mut b: Sample) -> (Sample, Sample) {
        for _ in 0..MOST_HALVINGS {
            if self.is_small(&a, &b) {
                break;
            }
            let middle = self.part_way(&a, &b, 0.5);
            if middle.folded.turns == a.folded.turns {
                a = middle;
            } else {
                b = middle;
            }
        }
        (a, b)
    }

    fn is_small(&self, a: &Sample, b: &Sample) -> bool {
        dist(a.flat, b.flat) <= 0.5 * self.tol
    }
}

/// Distance of `p` from the straight line from `a` to `b`.
fn off(p: Point, a: Point, b: Point) -> f64 {
    let chord = b - a;
    let along = ((p - a).dot(chord) / chord.dot(chord)).clamp(0.0, 1.0);
    // A chord without length gives no number.
    let foot = if along.is_nan() { a } else { a + along * chord };
    dist(foot, p)
}

/// The point of a segment, by its polynomial.
fn point_at(seg: &PathSeg, t: f64) -> Point {
    match seg {
        PathSeg::Line(l) if t <= 0.0 => l.p0,
        PathSeg::Line(l) if t >= 1.0 => l.p1,
        PathSeg::Line(l) => l.p0 + t * (l.p1 - l.p0),
        other => {
            let c = other.to_cubic();
            let u = 1.0 - t;
            let weights = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
            let points = [c.p0, c.p1, c.p2, c.p3];
            let sum = points
                .iter()
                .zip(weights)
                .map(|(p, w)| w * p.to_vec2())
                .fold(Vec2::ZERO, |a, b| a + b);
            sum.to_point()
        }
    }
}

/// Distance of two points, mm.
fn dist(a: Point, b: Point) -> f64 {
    let v = b - a;
    v.dot(v).sqrt()
}
