//! What two single parts, straight or cubic, have in common.
//!
//! Input: two parts. Output: contact points with the parameters on both, and stretches along
//! which the parts coincide. Straight parts are solved in closed form, a straight and a cubic
//! part by the roots of a cubic polynomial, two cubics by halving with rejection by fat lines and
//! Newton's iteration once their directions are apart (T. W. Sederberg and R. J. Meyers, "Loop
//! detection in surface patch intersections", CAGD 5 (1988): curves whose tangent directions
//! never agree cross once at most). Nothing here knows of curves of several segments.

use kurbo::{CubicBez, ParamCurve, PathSeg, Point, Rect, Vec2};

use crate::bernstein::roots;
use crate::crossing_cubics::cubic_cubic;
use crate::segment::{box_distance, control_box, distance, near, nearest, norm, tangent, unit};
use crate::tolerance::{JOIN, PARALLEL, RUN_ON, SAME};

/// Sine of an angle. Straight parts nearer to parallel are tested for lying on each other: at
/// one metre they drift apart by [`SAME`] only.
const ALIKE: f64 = 1e-6;

/// Millimetres. Two contacts farther apart than this are two, however flat the parts run between
/// them.
const TOUCHING_SPAN: f64 = 1.0;

/// A straight part: the points `origin + x · direction` for `low <= x <= high` (mm, which may
/// be infinite).
#[derive(Debug, Clone, Copy)]
pub struct Straight {
    pub origin: Point,
    pub direction: Vec2,
    pub low: f64,
    pub high: f64,
}

/// A part of a track; the parameter is `x` for a straight part and `t` for a cubic one.
#[derive(Debug, Clone, Copy)]
pub enum Part {
    Straight(Straight),
    Cubic(CubicBez, Rect),
}

/// A point two parts have in common: its parameters on the first and on the second.
#[derive(Debug, Clone, Copy)]
pub struct Contact {
    pub point: Point,
    pub s: f64,
    pub t: f64,
}

/// What was found: single points, and the two ends of each common stretch.
#[derive(Debug, Default)]
pub struct Contacts {
    pub points: Vec<Contact>,
    pub stretches: Vec<(Contact, Contact)>,
}

impl Part {
    /// The part for a segment; `None` for one without length.
    pub fn of(seg: &PathSeg) -> Option<Self> {
        match seg {
            PathSeg::Line(l) => {
                let direction = unit(l.p1 - l.p0)?;
                let high = distance(l.p0, l.p1);
                Some(Self::Straight(Straight {
                    origin: l.p0,
                    direction,
                    low: 0.0,
                    high,
                }))
            }
            other => Some(Self::Cubic(other.to_cubic(), control_box(other))),
        }
    }

    /// The point at a parameter.
    pub fn at(&self, s: f64) -> Point {
        match self {
            Self::Straight(part) => part.at(s),
            Self::Cubic(c, _) => c.eval(s),
        }
    }

    /// Unit tangent at a parameter.
    pub fn tangent(&self, s: f64) -> Vec2 {
        match self {
            Self::Straight(part) => part.direction,
            Self::Cubic(c, _) => tangent(&PathSeg::Cubic(*c), s),
        }
    }

    /// The end points that exist, with their parameters.
    fn ends(&self) -> impl Iterator<Item = (Point, f64)> {
        let (low, high) = match self {
            Self::Straight(part) => (part.low, part.high),
            Self::Cubic(..) => (0.0, 1.0),
        };
        let part = *self;
        [low, high]
            .into_iter()
            .filter(|s| s.is_finite())
            .map(move |s| (part.at(s), s))
    }

    /// Nearest parameter and distance, if the distance may be [`SAME`] or less.
    fn touching(&self, p: Point) -> Option<f64> {
        match self {
            Self::Straight(part) => {
                let s = part.clamp(part.along(p));
                (distance(part.at(s), p) <= SAME).then_some(s)
            }
            Self::Cubic(c, bounds) => {
                if box_distance(*bounds, p) > SAME {
                    return None;
                }
                let (t, d) = nearest(&PathSeg::Cubic(*c), p);
                (d <= SAME).then_some(t)
            }
        }
    }
}

impl Straight {
    /// The point at `x`.
    pub fn at(&self, x: f64) -> Point {
        self.origin + x * self.direction
    }

    /// Where the foot of `p` lies.
    pub fn along(&self, p: Point) -> f64 {
        (p - self.origin).dot(self.direction)
    }

    /// Signed distance of `p` from the endless line, left positive.
    fn side(&self, p: Point) -> f64 {
        self.direction.cross(p - self.origin)
    }

    /// The nearest parameter within the part.
    fn clamp(&self, x: f64) -> f64 {
        x.max(self.low).min(self.high)
    }

    /// Whether `x` is within the part or at most [`SAME`] outside.
    fn reaches(&self, x: f64) -> bool {
        x >= self.low - SAME && x <= self.high + SAME
    }

    /// Whether the part comes within [`SAME`] of a rectangle; exact enough to reject by.
    fn near_box(&self, bounds: Rect) -> bool {
        let corners = [
            (bounds.x0, bounds.y0),
            (bounds.x1, bounds.y0),
            (bounds.x0, bounds.y1),
            (bounds.x1, bounds.y1),
        ];
        let sides = corners.map(|c| self.side(Point::from(c)));
        if sides.iter().all(|d| *d > SAME) || sides.iter().all(|d| *d < -SAME) {
            return false;
        }
        let along = corners.map(|c| self.along(Point::from(c)));
        !(along.iter().all(|x| *x > self.high + SAME) || along.iter().all(|x| *x < self.low - SAME))
    }
}

/// Adds everything `a` and `b` have in common to `found`.
pub fn contacts(a: &Part, b: &Part, found: &mut Contacts) {
    match (a, b) {
        (Part::Straight(a), Part::Straight(b)) => straight_straight(a, b, found),
        (Part::Straight(l), Part::Cubic(c, bounds)) => {
            if l.near_box(*bounds) {
                straight_cubic(l, c, a, b, found, false);
            }
        }
        (Part::Cubic(c, bounds), Part::Straight(l)) => {
            if l.near_box(*bounds) {
                straight_cubic(l, c, b, a, found, true);
            }
        }
        (Part::Cubic(c, c_box), Part::Cubic(d, d_box)) => {
            if near(*c_box, *d_box, SAME) {
                two_cubics(c, d, a, b, found);
            }
        }
    }
}

/// Contacts of the ends of either part with the other.
fn end_contacts(a: &Part, b: &Part, found: &mut Vec<Contact>) {
    for (point, s) in a.ends() {
        if let Some(t) = b.touching(point) {
            push(found, a, b, Contact { point, s, t });
        }
    }
    for (point, t) in b.ends() {
        if let Some(s) = a.touching(point) {
            push(found, a, b, Contact { point, s, t });
        }
    }
}

/// Adds a contact unless it is one already there.
pub fn push(found: &mut Vec<Contact>, a: &Part, b: &Part, new: Contact) {
    if !found.iter().any(|old| one_contact(a, b, old, &new)) {
        found.push(new);
    }
}

/// Whether two contacts are one: the same point, or the ends of a stretch so flat that the parts
/// stay within [`SAME`] of each other between them.
fn one_contact(a: &Part, b: &Part, x: &Contact, y: &Contact) -> bool {
    let apart = distance(x.point, y.point);
    if let (Part::Cubic(..), true) = (a, (x.s - y.s).abs() > 0.25) {
        return false;
    }
    if let (Part::Cubic(..), true) = (b, (x.t - y.t).abs() > 0.25) {
        return false;
    }
    if apart <= JOIN {
        return true;
    }
    let s = 0.5 * (x.s + y.s);
    let between = b.at(0.5 * (x.t + y.t)) - a.at(s);
    apart <= TOUCHING_SPAN && a.tangent(s).cross(between).abs() <= SAME
}

fn straight_straight(a: &Straight, b: &Straight, found: &mut Contacts) {
    let sine = a.direction.cross(b.direction);
    if sine.abs() < ALIKE && alike(a, b, found) {
        return;
    }
    if sine.abs() < PARALLEL {
        return;
    }
    let between = b.origin - a.origin;
    let s = between.cross(b.direction) / sine;
    let t = between.cross(a.direction) / sine;
    if a.reaches(s) && b.reaches(t) {
        let s = a.clamp(s);
        found.points.push(Contact {
            point: a.at(s),
            s,
            t: b.clamp(t),
        });
    }
}

/// Nearly parallel parts: whether they share a stretch or touch at its end, if so added.
fn alike(a: &Straight, b: &Straight, found: &mut Contacts) -> bool {
    let same_way = a.direction.dot(b.direction) > 0.0;
    let (from, to) = if same_way {
        (b.low, b.high)
    } else {
        (b.high, b.low)
    };
    let limit = |x: f64| x.clamp(-RUN_ON, RUN_ON);
    let low = limit(a.low).max(limit(a.along(b.at(limit(from)))));
    let high = limit(a.high).min(limit(a.along(b.at(limit(to)))));
    if low > high + SAME {
        return false;
    }
    let contact = |s: f64| {
        let point = a.at(s);
        Contact {
            point,
            s,
            t: b.clamp(b.along(point)),
        }
    };
    let touches = [low, high].map(|s| b.side(a.at(s)).abs() <= SAME);
    match touches {
        [true, true] if high - low > JOIN => found.stretches.push((contact(low), contact(high))),
        [true, true] => found.points.push(contact(a.clamp(0.5 * (low + high)))),
        [true, false] => found.points.push(contact(low)),
        [false, true] => found.points.push(contact(high)),
        [false, false] => return false,
    }
    true
}

/// A straight part `a` and a cubic part `b`; the contacts are added swapped if `swap` is set.
fn straight_cubic(
    l: &Straight,
    c: &CubicBez,
    a: &Part,
    b: &Part,
    found: &mut Contacts,
    swap: bool,
) {
    let mut mine: Vec<Contact> = Vec::new();
    end_contacts(a, b, &mut mine);
    let side = [c.p0, c.p1, c.p2, c.p3].map(|p| l.side(p));
    let slopes = [side[1] - side[0], side[2] - side[1], side[3] - side[2]];
    // Crossings first, then places where the cubic turns round within reach of the line.
    let crossings = roots(&side);
    let turns = roots(&slopes);
    let touching = turns.iter().filter(|t| l.side(c.eval(*t)).abs() <= SAME);
    for t in crossings.iter().chain(touching) {
        let point = c.eval(t);
        let s = l.along(point);
        if l.reaches(s) {
            push(
                &mut mine,
                a,
                b,
                Contact {
                    point,
                    s: l.clamp(s),
                    t,
                },
            );
        }
    }
    let turned = |x: Contact| {
        if swap {
            Contact {
                point: x.point,
                s: x.t,
                t: x.s,
            }
        } else {
            x
        }
    };
    found.points.extend(mine.into_iter().map(turned));
}

fn two_cubics(c: &CubicBez, d: &CubicBez, a: &Part, b: &Part, found: &mut Contacts) {
    let mut mine: Vec<Contact> = Vec::new();
    end_contacts(a, b, &mut mine);
    if let [only] = mine.as_slice()
        && parted(c, d, only)
    {
        found.points.push(*only);
        return;
    }
    if let Some(stretch) = common_stretch(a, b, &mine) {
        found.stretches.push(stretch);
        return;
    }
    let stretch = cubic_cubic(c, d, &mut |contact| push(&mut mine, a, b, contact));
    match stretch {
        Some(stretch) => found.stretches.push(stretch),
        None => found.points.append(&mut mine),
    }
}

/// Whether two cubics that share the end point of `only` leave it to opposite sides of a line
/// through it, and so share nothing else.
fn parted(c: &CubicBez, d: &CubicBez, only: &Contact) -> bool {
    let from_end = |curve: &CubicBez, t: f64| {
        let p = [curve.p0, curve.p1, curve.p2, curve.p3];
        if t <= 0.0 {
            Some(p)
        } else if t >= 1.0 {
            Some([p[3], p[2], p[1], p[0]])
        } else {
            None
        }
    };
    let (Some(c), Some(d)) = (from_end(c, only.s), from_end(d, only.t)) else {
        return false;
    };
    let (Some(u), Some(v)) = (unit(c[1] - c[0]), unit(d[1] - d[0])) else {
        return false;
    };
    let Some(axis) = unit(u - v) else {
        return false;
    };
    c.iter().skip(1).all(|p| (*p - c[0]).dot(axis) > SAME)
        && d.iter().skip(1).all(|p| (*p - d[0]).dot(axis) < -SAME)
}

/// The stretch between two end contacts along which two cubics coincide. Cubics are analytic, so
/// a common stretch always ends at an end of one of them.
fn common_stretch(a: &Part, b: &Part, ends: &[Contact]) -> Option<(Contact, Contact)> {
    let first = ends.iter().min_by(|x, y| x.s.total_cmp(&y.s))?;
    let last = ends.iter().max_by(|x, y| x.s.total_cmp(&y.s))?;
    if distance(first.point, last.point) <= JOIN {
        return None;
    }
    let shared = [0.25, 0.5, 0.75].into_iter().all(|f| {
        let p = a.at(first.s + f * (last.s - first.s));
        b.touching(p).is_some()
    });
    shared.then_some((*first, *last))
}

/// A vector's length, for the recursion on cubics.
pub fn size(c: &CubicBez) -> f64 {
    norm(c.p1 - c.p0) + norm(c.p2 - c.p1) + norm(c.p3 - c.p2)
}
