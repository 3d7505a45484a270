//! Crossings of two cubic segments by halving, fat lines and Newton's iteration.
//!
//! Input: two cubics. Output: contacts, handed to a sink that removes repetitions. Work is
//! bounded; two curves that stay within rounding of each other come out as a common stretch.
//!
//! `lyon_geom`, by which outlines are flattened, finds crossings of cubics too, and the tests
//! hold this module against it. It is not used here, since it gives none for two curves that
//! touch without crossing, nor for two that pass each other within [`SAME`], nor the stretch
//! along which two coincide; all of these close or spoil an outline. A search for them of its
//! own would need all of what stands below.

use kurbo::{CubicBez, ParamCurve, PathSeg, Rect};

use crate::crossing::{Contact, size};
use crate::segment::{control_box, derivative, distance, near, norm, unit};
use crate::tolerance::{CROSSING, SAME, TOUCH};

/// Pairs of parts looked at before two curves count as running along each other. Curves that
/// cross nine times, the most two cubics can, need a few hundred.
const MOST_PAIRS: usize = 20_000;

/// A part of a cubic with its parameter range.
#[derive(Clone, Copy)]
struct Piece {
    curve: CubicBez,
    low: f64,
    high: f64,
    bounds: Rect,
}

/// The state of one search.
struct Search<'a> {
    a: CubicBez,
    b: CubicBez,
    pairs: usize,
    first: Option<Contact>,
    last: Option<Contact>,
    sink: &'a mut dyn FnMut(Contact),
}

/// Hands every crossing of `a` and `b` to `sink`, perhaps more than once. If they cannot be told
/// apart along a stretch, its ends are returned.
pub fn cubic_cubic(
    a: &CubicBez,
    b: &CubicBez,
    sink: &mut dyn FnMut(Contact),
) -> Option<(Contact, Contact)> {
    let mut search = Search {
        a: *a,
        b: *b,
        pairs: 0,
        first: None,
        last: None,
        sink,
    };
    search.pair(Piece::whole(*a), Piece::whole(*b));
    if search.pairs > MOST_PAIRS {
        search.first.zip(search.last)
    } else {
        None
    }
}

impl Piece {
    fn whole(curve: CubicBez) -> Self {
        Self {
            curve,
            low: 0.0,
            high: 1.0,
            bounds: control_box(&PathSeg::Cubic(curve)),
        }
    }

    fn halves(&self) -> [Self; 2] {
        let middle = 0.5 * (self.low + self.high);
        let (a, b) = self.curve.subdivide();
        let part = |curve, low, high| Self {
            curve,
            low,
            high,
            bounds: control_box(&PathSeg::Cubic(curve)),
        };
        [part(a, self.low, middle), part(b, middle, self.high)]
    }
}

impl Search<'_> {
    fn pair(&mut self, p: Piece, q: Piece) {
        self.pairs += 1;
        if self.pairs > MOST_PAIRS || !near(p.bounds, q.bounds, SAME) {
            return;
        }
        if apart(&p.curve, &q.curve) || apart(&q.curve, &p.curve) {
            return;
        }
        if directions_differ(&p.curve, &q.curve)
            && let Some(contact) = self.newton(&p, &q)
        {
            self.add(contact);
            return;
        }
        let (long_p, long_q) = (size(&p.curve), size(&q.curve));
        if long_p <= TOUCH && long_q <= TOUCH {
            if let Some(contact) = self.closest(&p, &q) {
                self.add(contact);
            }
        } else if long_p >= long_q {
            p.halves().into_iter().for_each(|half| self.pair(half, q));
        } else {
            q.halves().into_iter().for_each(|half| self.pair(p, half));
        }
    }

    fn add(&mut self, contact: Contact) {
        self.first = self.first.or(Some(contact));
        self.last = Some(contact);
        (self.sink)(contact);
    }

    /// Newton's iteration on `a(s) = b(t)` from the middle of two pieces; only a crossing within
    /// both of them counts.
    fn newton(&self, p: &Piece, q: &Piece) -> Option<Contact> {
        let (mut s, mut t) = (0.5 * (p.low + p.high), 0.5 * (q.low + q.high));
        let (slack_s, slack_t) = (1e-9, 1e-9);
        let (a, b) = (PathSeg::Cubic(self.a), PathSeg::Cubic(self.b));
        let mut before = f64::INFINITY;
        for _ in 0..24 {
            let miss = b.eval(t) - a.eval(s);
            let error = norm(miss);
            if error <= CROSSING && error >= 0.25 * before || error == 0.0 {
                break;
            }
            before = error;
            let (da, db) = (derivative(&a, s), derivative(&b, t));
            let det = da.cross(db);
            s += miss.cross(db) / det;
            t += miss.cross(da) / det;
            if !(s > p.low - 0.5 && s < p.high + 0.5 && t > q.low - 0.5 && t < q.high + 0.5) {
                return None;
            }
        }
        let inside = s >= p.low - slack_s
            && s <= p.high + slack_s
            && t >= q.low - slack_t
            && t <= q.high + slack_t;
        let (s, t) = (s.clamp(0.0, 1.0), t.clamp(0.0, 1.0));
        let point = a.eval(s);
        (inside && distance(point, b.eval(t)) <= CROSSING).then_some(Contact { point, s, t })
    }

    /// The closest approach of two tiny pieces, if it is within [`SAME`]: both are straight to
    /// rounding, so their ends and the crossing of their chords decide.
    fn closest(&self, p: &Piece, q: &Piece) -> Option<Contact> {
        let steps = [0.0, 0.5, 1.0];
        let mut best: Option<(f64, Contact)> = None;
        for f in steps {
            let s = p.low + f * (p.high - p.low);
            let point = self.a.eval(s);
            let (along, d) = crate::segment::nearest(&PathSeg::Cubic(q.curve), point);
            if d <= SAME && best.is_none_or(|(least, _)| d < least) {
                let t = q.low + along * (q.high - q.low);
                best = Some((d, Contact { point, s, t }));
            }
        }
        best.map(|(_, contact)| contact)
    }
}

/// Whether the control points of `b` lie on one side of the fat line round `a`'s chord.
fn apart(a: &CubicBez, b: &CubicBez) -> bool {
    let Some(u) = unit(a.p3 - a.p0) else {
        return false;
    };
    let side = |p: kurbo::Point| u.cross(p - a.p0);
    let (x, y) = (side(a.p1), side(a.p2));
    let (low, high) = (x.min(y).min(0.0) - SAME, x.max(y).max(0.0) + SAME);
    let sides = [b.p0, b.p1, b.p2, b.p3].map(side);
    sides.iter().all(|d| *d > high) || sides.iter().all(|d| *d < low)
}

/// Whether no tangent of `a` is parallel to one of `b`: then they cross once at most.
fn directions_differ(a: &CubicBez, b: &CubicBez) -> bool {
    let edges = |c: &CubicBez| [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2];
    let (va, vb) = (edges(a), edges(b));
    let mut signs = va.iter().flat_map(|v| vb.iter().map(move |w| v.cross(*w)));
    let Some(first) = signs.next() else {
        return false;
    };
    first != 0.0 && signs.all(|c| c * first > 0.0)
}
