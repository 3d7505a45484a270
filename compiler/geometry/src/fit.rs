//! Fitting cubics to a smooth curve given by its points and derivatives.
//!
//! Input: a [`Smooth`] source and a range of its parameter. Output: cubic segments within
//! [`FIT`] of it that touch it, with its tangents, at their ends. The two handle lengths of each
//! segment are found by least squares on the distances across the curve (the scheme of
//! J. Hoschek, "Intrinsic parametrization for approximation", CAGD 5 (1988)); a range that cannot
//! be fitted by one segment is halved. The source must not have corners or cusps.

use kurbo::{CubicBez, ParamCurve, ParamCurveDeriv, PathSeg, Point, Vec2};

use crate::segment::{left, norm, unit};
use crate::tolerance::FIT;

/// Share of [`FIT`] that the samples may be off. A tenth: a segment more is cheap, and the area
/// beside a metre of edge comes out within half a square millimetre.
const SAMPLED: f64 = 0.1;

/// Halvings before the source counts as broken. Each divides the error by at least sixteen, so
/// even an error of a kilometre is gone after eight.
const DEEPEST: u32 = 12;

/// Where in a range the source is sampled: near the ends and the middle of the two lobes that
/// the error of a fit with exact end tangents has.
const SAMPLES: [f64; 7] = [0.08, 0.22, 0.36, 0.5, 0.64, 0.78, 0.92];

/// Rounds of least squares before a range is halved. They go on only while each at least halves
/// the error: the first two bring nearly all that can be had.
const ROUNDS: usize = 4;

/// A curve that can be sampled.
pub trait Smooth {
    /// The point and the derivative at parameter `t`.
    fn at(&self, t: f64) -> (Point, Vec2);
}

/// One end of a range.
#[derive(Clone, Copy)]
struct End {
    t: f64,
    point: Point,
    tangent: Vec2,
    speed: f64,
}

/// A sample's distance from a trial segment, and where on it.
#[derive(Clone, Copy, Default)]
struct Miss {
    u: f64,
    across: f64,
    normal: Vec2,
    far: f64,
}

/// Appends the fit of `source` from `low` to `high`. Errors: the place of a jump or cusp that no
/// number of halvings gets past.
pub fn fit(source: &impl Smooth, low: f64, high: f64, out: &mut Vec<PathSeg>) -> Result<(), Point> {
    let (a, b) = (end(source, low, high), end(source, high, low));
    range(source, a, b, 0, out)
}

fn range(
    source: &impl Smooth,
    a: End,
    b: End,
    depth: u32,
    out: &mut Vec<PathSeg>,
) -> Result<(), Point> {
    if let Some(found) = one(source, a, b) {
        out.push(PathSeg::Cubic(found));
        return Ok(());
    }
    let middle = end(source, 0.5 * (a.t + b.t), b.t);
    if depth >= DEEPEST || !middle.point.is_finite() {
        return Err(middle.point);
    }
    range(source, a, middle, depth + 1, out)?;
    range(source, middle, b, depth + 1, out)
}

/// The source at `t`; where its derivative vanishes, the direction is taken a little towards
/// `other`.
fn end(source: &impl Smooth, t: f64, other: f64) -> End {
    let (point, derivative) = source.at(t);
    let tangent = unit(derivative).or_else(|| {
        let (beside, _) = source.at(t + 1e-4 * (other - t));
        unit(if other > t {
            beside - point
        } else {
            point - beside
        })
    });
    End {
        t,
        point,
        tangent: tangent.unwrap_or(Vec2::new(1.0, 0.0)),
        speed: norm(derivative),
    }
}

/// One segment for the whole range, if one is enough.
fn one(source: &impl Smooth, a: End, b: End) -> Option<CubicBez> {
    let width = b.t - a.t;
    let samples = SAMPLES.map(|f| source.at(a.t + f * width).0);
    let longest = 3.0 * norm(b.point - a.point);
    let (mut x, mut y) = (a.speed * width / 3.0, b.speed * width / 3.0);
    if x <= 0.0 || y <= 0.0 {
        x = longest / 9.0;
        y = x;
    }
    let mut misses = SAMPLES.map(|u| Miss {
        u,
        ..Miss::default()
    });
    let mut before = f64::INFINITY;
    for _ in 0..ROUNDS {
        let trial = CubicBez::new(
            a.point,
            a.point + x * a.tangent,
            b.point - y * b.tangent,
            b.point,
        );
        let worst = measure(&trial, &samples, &mut misses);
        if worst <= SAMPLED * FIT {
            return Some(trial);
        }
        if worst > 0.5 * before {
            return None;
        }
        before = worst;
        let (dx, dy) = correction(&misses, a.tangent, b.tangent)?;
        (x, y) = (x + dx, y + dy);
        if !(x > 0.0 && y > 0.0 && x < longest && y < longest) {
            return None;
        }
    }
    None
}

/// Finds the foot of each sample on the trial; returns the greatest distance.
fn measure(trial: &CubicBez, samples: &[Point; 7], misses: &mut [Miss; 7]) -> f64 {
    let slope = trial.deriv();
    let bend = slope.deriv();
    let mut worst: f64 = 0.0;
    for (p, miss) in samples.iter().zip(misses) {
        let mut u = miss.u;
        for _ in 0..2 {
            let (v, w) = (slope.eval(u).to_vec2(), bend.eval(u).to_vec2());
            let between = trial.eval(u) - *p;
            let rise = v.dot(v) + between.dot(w);
            if rise <= 0.0 {
                break;
            }
            u = (u - between.dot(v) / rise).clamp(0.0, 1.0);
        }
        let normal = unit(slope.eval(u).to_vec2()).map_or(Vec2::ZERO, left);
        let between = trial.eval(u) - *p;
        *miss = Miss {
            u,
            across: between.dot(normal),
            normal,
            far: norm(between),
        };
        // `max` would pass over a distance that is not a number.
        worst = if miss.far <= worst { worst } else { miss.far };
    }
    worst
}

/// The changes of the two handle lengths that make the misses smallest in the sum of squares.
fn correction(misses: &[Miss; 7], first: Vec2, last: Vec2) -> Option<(f64, f64)> {
    let (mut aa, mut ab, mut bb, mut ac, mut bc) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for miss in misses {
        let (u, v) = (miss.u, 1.0 - miss.u);
        let a = 3.0 * u * v * v * first.dot(miss.normal);
        let b = -3.0 * u * u * v * last.dot(miss.normal);
        aa += a * a;
        ab += a * b;
        bb += b * b;
        ac += a * miss.across;
        bc += b * miss.across;
    }
    let det = aa * bb - ab * ab;
    // Handles that lie along the curve have no say in how far it is off.
    (det > 1e-12 * aa * bb).then(|| ((ab * bc - bb * ac) / det, (ab * ac - aa * bc) / det))
}
