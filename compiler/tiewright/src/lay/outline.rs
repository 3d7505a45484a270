//! From a piece as drafted to what the search for markers keeps clear: a polygon that is never less
//! than the piece, lying with its grain along the warp.

use tiewright_core::cloth::Bias;
use tiewright_geometry::{Affine, PathSeg, Point, Ring, Vec2};
use tiewright_marker::{Outline, Turn};

use super::job::{JobGrain, JobPiece};

/// How far a curve may be off a chord of it, mm. The polygon is wider than the piece by hardly more
/// than this, a tenth of what a knife wanders; every corner less makes the search quicker.
pub const SAG: f64 = 0.1;

/// A part of a cubic is halved no more often than this: parts of a curve 100 m long are then
/// shorter than [`SAG`].
const MOST_HALVINGS: u32 = 20;

/// The most corners of an outline; a drafted piece has some dozens, and whether its sides cross
/// takes time that grows with their square.
pub const MOST_CORNERS: usize = 5_000;

/// A curve that bulges less than this is straight, mm: the search takes what is so near as touching.
const FLAT: f64 = 1e-9;

/// The most a side may turn on the next one, as the cosine of the angle: 30 degrees.
const MOST_TURN_COS: f64 = 0.866;

/// A share of a grain arrow smaller than this is none: what is drafted along or across the centre
/// is cut straight, and has no other bias.
const STRAIGHT: f64 = 1e-6;

/// How the piece is turned as it is laid first: the warp of its grain arrow runs along `x`. Where
/// the warp must run the other way on the finished work, it is the mirror image of the arrow in the
/// piece's centre line.
pub fn laid(grain: &JobGrain, warp: Option<Bias>) -> Affine {
    let along = grain.to - grain.from;
    let length = along.hypot2().sqrt();
    let mut along = Vec2::new(along.x / length, along.y / length);
    let is_bias = along.x.abs() > STRAIGHT && along.y.abs() > STRAIGHT;
    let drafted = if along.x * along.y > 0.0 {
        Bias::Left
    } else {
        Bias::Right
    };
    if is_bias && warp.is_some_and(|warp| warp != drafted) {
        along.y = -along.y;
    }
    Affine::new([along.x, -along.y, along.y, along.x, 0.0, 0.0])
}

/// A quarter or half turn of the search as a map: exact, as the search has it.
pub fn turned(turn: Turn) -> Affine {
    let x = turn.apply(Point::new(1.0, 0.0));
    let y = turn.apply(Point::new(0.0, 1.0));
    Affine::new([x.x, x.y, y.x, y.y, 0.0, 0.0])
}

/// The polygon round `piece` as it is laid first. Where the outline bulges out its sides touch the
/// curve, where it is hollow their ends lie on it.
///
/// # Errors
/// In words, when curves of the piece come so near one another that polygons round them meet, or
/// take more than [`MOST_CORNERS`].
pub fn around(piece: &JobPiece, warp: Option<Bias>) -> Result<Outline, String> {
    let corners = corners(&piece.cut.transformed(laid(&piece.grain, warp)));
    if corners.len() > MOST_CORNERS {
        return Err(format!(
            "its outline takes more than {MOST_CORNERS} corners"
        ));
    }
    Outline::new(&corners).map_err(|why| why.to_string())
}

/// The corners round an outline, in the order of its walk.
fn corners(ring: &Ring) -> Vec<Point> {
    let mut corners = Vec::new();
    for edge in ring.edges() {
        for segment in edge.curve.segments() {
            match segment {
                PathSeg::Line(line) => corners.push(line.p0),
                PathSeg::Quad(_) | PathSeg::Cubic(_) => {
                    let c = segment.to_cubic();
                    for part in without_inflexion([c.p0, c.p1, c.p2, c.p3]) {
                        corners.push(part[0]);
                        push(&mut corners, part, MOST_HALVINGS);
                    }
                }
            }
        }
    }
    corners
}

/// Adds the corners of a cubic without inflexion, all but its start and its end.
fn push(corners: &mut Vec<Point>, cubic: [Point; 4], halvings: u32) {
    let [p0, p1, p2, p3] = cubic;
    let (out, into) = (
        direction([p0, p1, p2, p3]),
        direction([p3, p2, p1, p0]) * -1.0,
    );
    // Between its ends a cubic is off its chord by 3t(1-t)²a + 3t²(1-t)b, which is at most three
    // quarters of the greater one.
    let (a, b) = (outside(p0, p3, p1), outside(p0, p3, p2));
    let (bulge, hollow) = (0.75 * a.max(b), 0.75 * (-a).max(-b));
    let wide = bulge.max(hollow) > SAG || out.dot(into) < MOST_TURN_COS;
    if wide && halvings > 0 {
        let [left, rest] = parted(cubic, 0.5);
        push(corners, left, halvings - 1);
        if bulge <= FLAT {
            corners.push(left[3]);
        }
        push(corners, rest, halvings - 1);
    } else if bulge > FLAT {
        // Where the tangents at its ends meet.
        let turn = out.cross(into);
        let along = if turn == 0.0 {
            0.0
        } else {
            (p3 - p0).cross(into) / turn
        };
        corners.push(p0 + out * along.clamp(0.0, p0.distance(p3)));
    }
}

/// How far `p` lies to the left of the way from `a` to `b`, which is outside of a clockwise walk, mm.
fn outside(a: Point, b: Point, p: Point) -> f64 {
    let along = b - a;
    let length = along.hypot2().sqrt();
    if length > 0.0 {
        along.cross(p - a) / length
    } else {
        p.distance(a)
    }
}

/// The direction in which a cubic leaves its first point.
fn direction([p0, rest @ ..]: [Point; 4]) -> Vec2 {
    let far = rest
        .iter()
        .map(|p| *p - p0)
        .find(|v| v.hypot2() > FLAT * FLAT);
    far.map_or(Vec2::ZERO, |v| v / v.hypot2().sqrt())
}

/// A cubic parted where it changes from bulging to hollow: where its first derivative runs along the
/// second, which is a quadratic of the parameter.
fn without_inflexion(cubic: [Point; 4]) -> Vec<[Point; 4]> {
    let [p0, p1, p2, p3] = cubic;
    let (a, b, c) = (
        p1 - p0,
        p2 - p1 - (p1 - p0),
        p3 - p2 - (p2 - p1) * 2.0 + (p1 - p0),
    );
    let (square, linear, plain) = (b.cross(c), a.cross(c), a.cross(b));
    // The form that loses no digits however small the square term is.
    let root = (linear * linear - 4.0 * square * plain).sqrt();
    let sum = -0.5 * (linear + root.copysign(linear));
    let mut at = vec![sum / square, plain / sum];
    // Without an inflexion these are no finite numbers.
    at.retain(|t| *t > 0.0 && *t < 1.0);
    at.sort_by(f64::total_cmp);
    let (mut parts, mut rest, mut from) = (Vec::new(), cubic, 0.0);
    for t in at {
        let [left, right] = parted(rest, (t - from) / (1.0 - from));
        parts.push(left);
        (rest, from) = (right, t);
    }
    parts.push(rest);
    parts
}

/// The parts of a cubic before and after `t` (de Casteljau).
fn parted([p0, p1, p2, p3]: [Point; 4], t: f64) -> [[Point; 4]; 2] {
    let (a, b, c) = (p0.lerp(p1, t), p1.lerp(p2, t), p2.lerp(p3, t));
    let (d, e) = (a.lerp(b, t), b.lerp(c, t));
    let middle = d.lerp(e, t);
    [[p0, a, d, middle], [middle, e, c, p3]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::path;

    fn piece(cut: &str, grain: Vec2) -> JobPiece {
        JobPiece {
            name: "leaf".to_owned(),
            quantity: 1,
            cut: path::ring(cut).expect("an outline"),
            lines: Vec::new(),
            notches: Vec::new(),
            drills: Vec::new(),
            texts: Vec::new(),
            grain: JobGrain {
                from: Point::new(0.0, 0.0),
                to: grain.to_point(),
            },
        }
    }

    /// Sides that bulge and are hollow by turns.
    const WAVES: &str = "M115.43 0C67.9 21.52 17.42 35.02 -31.09 53.86C-33.37 16.77 -33.15 -20.36 \
                         -33.19 -57.49C8.51 -18.07 71.86 -34.6 115.43 0Z";
    /// A side with an inflexion in its middle.
    const HALF_WAVE: &str = "M48.85 0C27.04 18.91 2.31 32.81 -24.7 42.78C-28.45 -7.51 -52.28 \
                             -53.02 -59.21 -102.55C-29.05 -62.19 7.36 -28.42 48.85 0Z";
    /// A side whose second inflexion lies as far off as rounding has it.
    const ALMOST_ONE: &str = "M278.416144 305.816900L366.920512 215.806849L223.877421 158.264599\
                              C214.433556 197.101246 203.519578 235.685419 203.629766 276.162864Z";
    /// A leaf with a hollow side.
    const LEAF: &str = "M0 0C-40 60 -40 140 0 200C60 160 20 100 90 90C60 40 30 10 0 0Z";

    #[test]
    fn the_polygon_holds_the_piece_and_not_much_more() {
        for path in [LEAF, WAVES, HALF_WAVE, ALMOST_ONE] {
            let piece = piece(path, Vec2::new(3.0, 2.0));
            let outline = around(&piece, None).expect("a polygon");
            let laid = piece.cut.transformed(laid(&piece.grain, None));
            let most = piece.cut.area() + laid.perimeter() * SAG;
            assert!(outline.area() > piece.cut.area() && outline.area() < most);
            let corners = outline.points();
            for p in laid.flatten(1e-4) {
                let inside = crossings(corners, p) % 2 == 1;
                let away = (0..corners.len())
                    .map(|i| to_side(p, corners[i], corners[(i + 1) % corners.len()]))
                    .fold(f64::INFINITY, f64::min);
                assert!(
                    inside || away < 1e-8,
                    "{p:?} of {path} is outside by {away}"
                );
            }
        }
    }

    fn crossings(corners: &[Point], p: Point) -> usize {
        let sides = corners.iter().zip(corners.iter().cycle().skip(1));
        let right = sides.filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y) > p.x
        });
        right.count()
    }

    fn to_side(p: Point, a: Point, b: Point) -> f64 {
        let along = b - a;
        let share = ((p - a).dot(along) / along.hypot2()).clamp(0.0, 1.0);
        p.distance(a + along * share)
    }

    #[test]
    fn the_warp_runs_along_the_cloth_and_the_other_bias_is_the_mirror_image() {
        for (x, y, other) in [
            (3.0, 4.0, -4.0),
            (3.0, -4.0, 4.0),
            (5.0, 0.0, 0.0),
            (0.0, 5.0, 5.0),
        ] {
            let grain = JobGrain {
                from: Point::new(1.0, 1.0),
                to: Point::new(1.0 + x, 1.0 + y),
            };
            let (same, turned) = if y > 0.0 {
                (Bias::Left, Bias::Right)
            } else {
                (Bias::Right, Bias::Left)
            };
            for (warp, y) in [(None, y), (Some(same), y), (Some(turned), other)] {
                let along = laid(&grain, warp) * Point::new(x, y);
                assert!((along - Point::new(5.0, 0.0)).hypot() < 1e-12, "{warp:?}");
            }
        }
    }
}
