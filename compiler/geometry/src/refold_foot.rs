//! The foot of a point on a crease, for folding.
//!
//! Input: a crease and a point. Output: the point of the crease nearest to it, and on which side
//! of the crease it lies. A crease is laid out once as polynomials with their boxes and a few
//! samples, and asked for feet many times. On a bend the search starts at the nearest sample and
//! goes on by Newton's iteration inside the bracket of its neighbours. Of a point that a floor
//! under the crease shows to lie on its right nothing more is looked for. Shares nothing with the
//! unfolding, which this is to prove.

use kurbo::{PathSeg, Point, Rect, Vec2};

use crate::curve::Curve;
use crate::line::Line;
use crate::segment::{box_distance, control_box};
use crate::tolerance::SAME;

/// Stretches of each bend at whose ends the search for a foot may start.
const STARTS: usize = 12;

/// Parts in a run: a crease unfolded over others has hundreds of parts, and of most runs the box alone
/// is looked at.
const RUN: usize = 12;

/// Parameter. A foot that moves by less is found: Newton's step leaves an error of about the
/// square of this, and even at the middle of a circle, where all feet are alike, 1e-7 mm on a
/// metre.
const SETTLED: f64 = 1e-10;

/// The point of a crease nearest to another, and on which side of it that one lies.
#[derive(Debug, Clone, Copy)]
pub struct Foot {
    /// The point of the crease.
    pub point: Point,
    /// Signed distance from the crease, mm, left positive.
    pub side: f64,
    /// Grows along the crease.
    pub along: f64,
}

/// A crease laid out for finding feet.
#[derive(Debug, Clone)]
pub enum Bed {
    /// Straight, without ends.
    Line(Line),
    /// Curved, run on straight at both ends.
    Curve(Bends),
}

/// A curved crease laid out.
#[derive(Debug, Clone)]
pub struct Bends {
    curve: Curve,
    start: (Point, Vec2),
    end: (Point, Vec2),
    /// The parts in runs along the crease. In each the straight parts stand first: they are cheap
    /// and rule out most bends by their distance.
    runs: Vec<Run>,
    /// How many parts there are.
    count: usize,
    /// A line with all of the crease on its left, what runs on included, that the crease goes
    /// along without turning back: what lies right of it lies right of the crease.
    floor: Option<Line>,
}

/// Parts that follow each other along the crease, and the box round them.
#[derive(Debug, Clone)]
struct Run {
    bounds: Rect,
    parts: Vec<Part>,
}

/// One segment of a crease: the point `c[0] + t (c[1] + t (c[2] + t c[3]))` for `t` in [0, 1].
#[derive(Debug, Clone)]
struct Part {
    index: usize,
    bounds: Rect,
    coefficients: [Vec2; 4],
    /// The points at `i / STARTS`; none for a straight part.
    samples: Option<[Vec2; STARTS + 1]>,
}

impl Bed {
    /// Lays out a curved crease.
    pub fn curved(curve: Curve) -> Self {
        Self::Curve(Bends::new(curve))
    }

    /// The foot of a point on the crease.
    pub fn foot(&self, p: Point) -> Foot {
        match self {
            Self::Line(line) => {
                let along = (p - line.point).dot(line.direction);
                Foot {
                    point: line.point + along * line.direction,
                    side: line.direction.cross(p - line.point),
                    along,
                }
            }
            Self::Curve(bends) => bends.foot(p),
        }
    }

    /// The foot of a point that lies farther than [`SAME`] to the left; `None` for all others.
    pub fn foot_from_left(&self, p: Point) -> Option<Foot> {
        if let Self::Curve(bends) = self
            && bends.floor.is_some_and(|floor| floor.side(p) < 0.0)
        {
            return None;
        }
        Some(self.foot(p)).filter(|foot| foot.side > SAME)
    }

    /// The curve of a curved crease.
    pub fn curve(&self) -> Option<&Curve> {
        match self {
            Self::Line(_) => None,
            Self::Curve(bends) => Some(&bends.curve),
        }
    }
}

impl Bends {
    fn new(curve: Curve) -> Self {
        let segments = curve.segments().iter().enumerate();
        let parts: Vec<Part> = segments.map(|(i, seg)| Part::new(i, seg)).collect();
        Self {
            count: parts.len(),
            runs: parts.chunks(RUN).filter_map(Run::new).collect(),
            start: (curve.start(), curve.start_tangent()),
            end: (curve.end(), curve.end_tangent()),
            floor: floor(&curve),
            curve,
        }
    }

    /// The nearest of the feet on the parts and on the rays that run on from the ends.
    fn foot(&self, p: Point) -> Foot {
        let (start, first) = self.start;
        let (end, last) = self.end;
        let before = (p - start).dot(first).min(0.0);
        let after = (p - end).dot(last).max(0.0);
        let mut best = Candidate::new(start + before * first, p, first, before);
        best.offer(Candidate::new(
            end + after * last,
            p,
            last,
            self.count as f64 + after,
        ));
        let away = |run: &Run| box_distance(run.bounds, p);
        let runs = self.runs.iter().enumerate();
        let nearest = runs.min_by(|a, b| away(a.1).total_cmp(&away(b.1)));
        let Some((first, run)) = nearest else {
            return best.foot(p);
        };
        run.offer(p, &mut best);
        for (index, run) in self.runs.iter().enumerate() {
            if index != first {
                run.offer(p, &mut best);
            }
        }
        best.foot(p)
    }
}

impl Run {
    fn new(parts: &[Part]) -> Option<Self> {
        let boxes = parts.iter().map(|part| part.bounds);
        let bounds = boxes.reduce(|all, one| all.union(one))?;
        let mut parts = parts.to_vec();
        parts.sort_by_key(|part| part.samples.is_some());
        Some(Self { bounds, parts })
    }

    /// Offers the feet on its parts that may be nearer than the best so far.
    fn offer(&self, p: Point, best: &mut Candidate) {
        // Square roots only for the one foot that is kept.
        let nearer = |bounds: Rect, best: &Candidate| {
            let far = box_distance(bounds, p);
            far * far < best.square
        };
        if !nearer(self.bounds, best) {
            return;
        }
        for part in &self.parts {
            if nearer(part.bounds, best) {
                best.offer(part.nearest(p));
            }
        }
    }
}

/// The parallel of the crease's chord through the control point farthest to its right, if the
/// crease everywhere goes forward along the chord and runs on to the left of it.
fn floor(curve: &Curve) -> Option<Line> {
    let chord = Line::through(curve.start(), curve.end())?;
    let points = curve.segments().iter().flat_map(|seg| {
        let c = seg.to_cubic();
        [c.p0, c.p1, c.p2, c.p3]
    });
    let goes_forward = points
        .clone()
        .zip(points.clone().skip(1))
        .all(|(a, b)| (b - a).dot(chord.direction) >= 0.0);
    let rises = |outwards: Vec2| chord.direction.cross(outwards) >= 0.0;
    let runs_on_left = rises(-curve.start_tangent()) && rises(curve.end_tangent());
    let lowest = points.map(|p| chord.side(p)).fold(0.0, f64::min);
    (goes_forward && runs_on_left).then(|| chord.offset(lowest))
}

/// A point of the crease that may be the foot.
struct Candidate {
    point: Point,
    square: f64,
    direction: Vec2,
    along: f64,
}

impl Candidate {
    fn new(point: Point, p: Point, direction: Vec2, along: f64) -> Self {
        let between = p - point;
        Self {
            point,
            square: between.dot(between),
            direction,
            along,
        }
    }

    /// Takes the other if it is nearer.
    fn offer(&mut self, other: Self) {
        if other.square < self.square {
            *self = other;
        }
    }

    fn foot(&self, p: Point) -> Foot {
        Foot {
            point: self.point,
            side: self.direction.cross(p - self.point).signum() * self.square.sqrt(),
            along: self.along,
        }
    }
}

impl Part {
    fn new(index: usize, seg: &PathSeg) -> Self {
        let [p0, p1, p2, p3] = match seg {
            PathSeg::Line(l) => [l.p0, l.p0, l.p1, l.p1],
            other => {
                let c = other.to_cubic();
                [c.p0, c.p1, c.p2, c.p3]
            }
        };
        let coefficients = match seg {
            PathSeg::Line(l) => [l.p0.to_vec2(), l.p1 - l.p0, Vec2::ZERO, Vec2::ZERO],
            _ => [
                p0.to_vec2(),
                3.0 * (p1 - p0),
                3.0 * ((p2 - p1) - (p1 - p0)),
                (p3 - p0) - 3.0 * (p2 - p1),
            ],
        };
        let mut part = Self {
            index,
            bounds: control_box(seg),
            coefficients,
            samples: None,
        };
        if let PathSeg::Cubic(_) = seg {
            let at = |i: usize| part.at(i as f64 / STARTS as f64);
            part.samples = Some(std::array::from_fn(at));
        }
        part
    }

    /// The point at a parameter.
    fn at(&self, t: f64) -> Vec2 {
        let [a, b, c, d] = self.coefficients;
        a + t * (b + t * (c + t * d))
    }

    /// The derivative at a parameter.
    fn slope(&self, t: f64) -> Vec2 {
        let [_, b, c, d] = self.coefficients;
        b + t * (2.0 * c + (3.0 * t) * d)
    }

    fn nearest(&self, p: Point) -> Candidate {
        let t = match &self.samples {
            Some(samples) => self.settle(samples, p.to_vec2()),
            None => {
                let [from, v, ..] = self.coefficients;
                ((p.to_vec2() - from).dot(v) / v.dot(v)).clamp(0.0, 1.0)
            }
        };
        let along = self.index as f64 + t;
        Candidate::new(self.at(t).to_point(), p, self.slope(t), along)
    }

    /// The parameter of the foot on a bend.
    fn settle(&self, samples: &[Vec2; STARTS + 1], p: Vec2) -> f64 {
        let step = 1.0 / STARTS as f64;
        let mut nearest = (0.0, f64::INFINITY);
        for (i, sample) in samples.iter().enumerate() {
            let between = *sample - p;
            let square = between.dot(between);
            if square < nearest.1 {
                nearest = (i as f64 * step, square);
            }
        }
        let mut t = nearest.0;
        let (mut low, mut high) = ((t - step).max(0.0), (t + step).min(1.0));
        let [_, _, c, d] = self.coefficients;
        // The sign of (C − p)·C' says on which side of `t` the foot lies; Newton's step on it, and
        // half the bracket where that leaves it.
        for _ in 0..60 {
            let (between, slope) = (self.at(t) - p, self.slope(t));
            let pull = between.dot(slope);
            if pull > 0.0 {
                high = t;
            } else {
                low = t;
            }
            let bend = 2.0 * c + (6.0 * t) * d;
            let step = t - pull / (slope.dot(slope) + between.dot(bend));
            let inside = step > low && step < high;
            let next = if inside { step } else { 0.5 * (low + high) };
            let moved = (next - t).abs();
            t = next;
            if moved < SETTLED {
                break;
            }
        }
        t
    }
}
