//! From a piece as drafted to what the search for markers keeps clear: a polygon that is never less
//! than the piece, lying with its grain along the warp.

use tiewright_geometry::{Affine, PathSeg, Point, Ring, Vec2};
use tiewright_marker::{Chord, Outline, Turn};

use super::job::{Bias, JobGrain, JobPiece};

/// How far a chord may be off its curve, mm. The polygon is wider than the piece by no more than
/// this: a tenth of what a knife wanders; every chord less makes the search quicker.
pub const SAG: f64 = 0.1;

/// A part of a cubic is halved no more often than this: parts of a curve 100 m long are then
/// shorter than [`SAG`].
const MOST_HALVINGS: u32 = 20;

/// The most chords of an outline; a drafted piece has some dozens, and whether they cross takes
/// time that grows with their square.
pub const MOST_CHORDS: usize = 5_000;

/// A share of a grain arrow smaller than this is none: what is drafted along or across the centre
/// is cut straight, and has no other bias.
const STRAIGHT: f64 = 1e-6;

/// How the piece is turned as it is laid first: the warp of its grain arrow runs along `x`. On a
/// cloth of the other bias it is the mirror image of the arrow in the piece's centre line.
pub fn laid(grain: &JobGrain, bias: Bias) -> Affine {
    let along = grain.to - grain.from;
    let length = along.hypot2().sqrt();
    let mut along = Vec2::new(along.x / length, along.y / length);
    let is_bias = along.x.abs() > STRAIGHT && along.y.abs() > STRAIGHT;
    if bias == Bias::Left && is_bias {
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

/// The polygon round `piece` as it is laid first.
///
/// # Errors
/// In words, when curves of the piece come so near one another that polygons round them meet, or
/// take more than [`MOST_CHORDS`].
pub fn around(piece: &JobPiece, bias: Bias) -> Result<Outline, String> {
    let chords = chords(&piece.cut.transformed(laid(&piece.grain, bias)));
    if chords.len() > MOST_CHORDS {
        return Err(format!("its outline takes more than {MOST_CHORDS} chords"));
    }
    Outline::around(&chords).map_err(|why| why.to_string())
}

/// The chords of an outline, counter-clockwise.
fn chords(ring: &Ring) -> Vec<Chord> {
    let mut chords = Vec::new();
    // An outline is walked clockwise.
    for edge in ring.edges().iter().rev() {
        for segment in edge.curve.segments().iter().rev() {
            match segment {
                PathSeg::Line(line) => chords.push(Chord {
                    start: line.p1,
                    sag: 0.0,
                }),
                PathSeg::Quad(_) | PathSeg::Cubic(_) => {
                    let c = segment.to_cubic();
                    push(&mut chords, [c.p3, c.p2, c.p1, c.p0], MOST_HALVINGS);
                }
            }
        }
    }
    chords
}

/// Adds the chords of a cubic, halved until each is near enough.
fn push(chords: &mut Vec<Chord>, cubic: [Point; 4], halvings: u32) {
    let [p0, p1, p2, p3] = cubic;
    let along = p3 - p0;
    let length = along.hypot2().sqrt();
    // To the right of a counter-clockwise walk is outside.
    let right = |p: Point| {
        if length > 0.0 {
            (p - p0).cross(along) / length
        } else {
            p.distance(p0)
        }
    };
    let (a, b) = (right(p1), right(p2));
    // Between its ends a cubic is off its chord by 3t(1-t)²a + 3t²(1-t)b, which is at most three
    // quarters of the greater one.
    let off = |a: f64, b: f64| 0.75 * a.max(b).max(0.0);
    let reach = (p1 - p0).dot(along).min((p3 - p2).dot(along));
    if halvings > 0 && (off(a, b).max(off(-a, -b)) > SAG || reach < 0.0) {
        let [left, rest] = halved(cubic);
        push(chords, left, halvings - 1);
        push(chords, rest, halvings - 1);
    } else {
        chords.push(Chord {
            start: p0,
            sag: off(a, b),
        });
    }
}

/// The two halves of a cubic (de Casteljau).
fn halved([p0, p1, p2, p3]: [Point; 4]) -> [[Point; 4]; 2] {
    let (a, b, c) = (p0.midpoint(p1), p1.midpoint(p2), p2.midpoint(p3));
    let (d, e) = (a.midpoint(b), b.midpoint(c));
    let middle = d.midpoint(e);
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

    /// A leaf with a hollow side.
    const LEAF: &str = "M0 0C-40 60 -40 140 0 200C60 160 20 100 90 90C60 40 30 10 0 0Z";

    #[test]
    fn the_polygon_holds_the_piece_and_not_much_more() {
        let leaf = piece(LEAF, Vec2::new(3.0, 2.0));
        let outline = around(&leaf, Bias::Right).expect("a polygon");
        let laid = leaf.cut.transformed(laid(&leaf.grain, Bias::Right));
        let most = leaf.cut.area() + laid.perimeter() * SAG;
        assert!(outline.area() > leaf.cut.area() && outline.area() < most);
        let corners = outline.points();
        for p in laid.flatten(1e-4) {
            let inside = crossings(corners, p) % 2 == 1;
            let away = (0..corners.len())
                .map(|i| to_side(p, corners[i], corners[(i + 1) % corners.len()]))
                .fold(f64::INFINITY, f64::min);
            assert!(inside || away < 1e-9, "{p:?} is outside by {away}");
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
        for (x, y, wanted) in [(3.0, 4.0, -4.0), (5.0, 0.0, 0.0), (0.0, 5.0, 5.0)] {
            let grain = JobGrain {
                from: Point::new(1.0, 1.0),
                to: Point::new(1.0 + x, 1.0 + y),
            };
            let right = laid(&grain, Bias::Right) * Point::new(x, y);
            assert!((right - Point::new(5.0, 0.0)).hypot() < 1e-12);
            let left = laid(&grain, Bias::Left) * Point::new(x, wanted);
            assert!((left - Point::new(5.0, 0.0)).hypot() < 1e-12);
        }
    }
}
