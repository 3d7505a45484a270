//! The best place for one piece among others that stay: exact, by branch and bound.
//!
//! In: the no-fit polygons of the other pieces as they lie round the moved piece, each with a
//! weight, an upright box of places, and the axes that smaller boxes follow. Out: the place where the weighted sum of depths is least, if it is
//! less than a limit. Never: which piece to move, or what the weights mean.
//!
//! Why it is exact: inside one convex polygon the depth is concave, outside it is 0. So between the
//! edges of the polygons the sum is concave, and it is least where edges of two polygons cross, or
//! an edge and the border of all places, or two sides of that border. At a corner of one polygon
//! alone it is not: a straight line passes there outside the polygon, along which the sum is
//! concave, so that it falls one way or is level. A box of places whose every place is at least so
//! bad as the best one known is left out; in what is left all such crossings are tried.

use kurbo::{Point, Rect};

use crate::nofit::Convex;
use crate::slant::Slant;
use crate::tolerance::{CLEAR, PARALLEL};

/// A convex no-fit polygon where it lies.
#[derive(Clone, Copy)]
pub(crate) struct Bar<'t> {
    pub(crate) convex: &'t Convex,
    /// Where its origin is.
    pub(crate) at: Point,
    /// What a millimetre of depth in it costs; above 0.
    pub(crate) weight: f64,
}

/// A place and what it costs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Found {
    pub(crate) at: Point,
    pub(crate) cost: f64,
}

/// A box of places, with the bars that reach into it as a range of the finder's list.
#[derive(Clone, Copy)]
struct Node {
    /// Its middle and half sides along the axes of the slant.
    middle: Point,
    rx: f64,
    ry: f64,
    start: usize,
    end: usize,
    least: f64,
    /// Bars whose edge runs through the box, and the sum of what one over their own length is along
    /// either axis.
    crossing: usize,
    short: (f64, f64),
    cost: f64,
}

/// An edge of a bar inside a box.
#[derive(Clone, Copy)]
struct Piece {
    bar: usize,
    from: Point,
    to: Point,
}

/// The search for places, with memory kept from one search to the next.
pub(crate) struct Finder {
    /// The axes that boxes follow.
    pub(crate) slant: Slant,
    list: Vec<u32>,
    nodes: Vec<Node>,
    edges: Vec<Piece>,
}

/// Marks in the list a bar that covers the whole box.
const COVERS: u32 = 1 << 31;
/// A box with no more bars' edges in it than this has its crossings tried.
const FEW: usize = 4;
/// A box no wider than this has its crossings tried however many they are, millimetres.
const SMALL: f64 = 2.0;
/// No more edges than this are paired in one box: beyond, the box is full of copies of one crossing.
const MOST_EDGES: usize = 48;
/// A place no further than this outside of all places, by rounding, is one of them, millimetres.
const OUTSIDE: f64 = CLEAR / 10.0;

impl Finder {
    pub(crate) fn new() -> Finder {
        Finder {
            slant: Slant::Upright,
            list: Vec::new(),
            nodes: Vec::new(),
            edges: Vec::new(),
        }
    }

    /// The best place in `range` that costs less than `limit`, looking into at most `effort` boxes.
    pub(crate) fn best(
        &mut self,
        bars: &[Bar<'_>],
        range: Rect,
        limit: f64,
        effort: usize,
    ) -> Option<Found> {
        if range.x1 < range.x0 || range.y1 < range.y0 {
            return None;
        }
        let mut best = Found {
            at: Point::ORIGIN,
            cost: limit,
        };
        self.list.clear();
        self.nodes.clear();
        self.list.extend(0..bars.len() as u32);
        let root = self.slant.round(range);
        let half = (root.width() / 2.0, root.height() / 2.0);
        let all = (0, bars.len());
        let root = self.node(bars, range, root.center(), half, all, &mut best);
        self.nodes.extend(root);
        let mut looked = 0;
        while let Some(node) = self.nodes.pop() {
            self.list.truncate(node.end);
            if node.least >= best.cost {
                continue;
            }
            looked += 1;
            if looked > effort || best.cost <= 0.0 {
                break;
            }
            let small = node.rx.max(node.ry) * 2.0 <= SMALL;
            if small || node.crossing <= FEW {
                self.try_crossings(bars, range, &node, &mut best);
            } else {
                self.split(bars, range, &node, &mut best);
            }
        }
        (best.cost < limit).then_some(best)
    }

    /// Halves a box across the side that is longer against the bars whose edges run through it, since
    /// long bars change little along themselves; the half with the better middle is looked into first.
    fn split(&mut self, bars: &[Bar<'_>], range: Rect, node: &Node, best: &mut Found) {
        let (mut dx, mut dy, mut rx, mut ry) = (0.0, 0.0, node.rx, node.ry);
        if rx * node.short.0 >= ry * node.short.1 {
            rx /= 2.0;
            dx = rx;
        } else {
            ry /= 2.0;
            dy = ry;
        }
        let parent = (node.start, node.end);
        let low = Point::new(node.middle.x - dx, node.middle.y - dy);
        let high = Point::new(node.middle.x + dx, node.middle.y + dy);
        let one = self.node(bars, range, low, (rx, ry), parent, best);
        let two = self.node(bars, range, high, (rx, ry), parent, best);
        match (one, two) {
            (Some(a), Some(b)) if a.cost < b.cost => {
                // The list is a stack as the nodes are: the node looked into first lies on top.
                let (length, middle) = (b.end - a.start, b.start - a.start);
                self.list[a.start..b.end].rotate_left(middle);
                let b = Node {
                    start: a.start,
                    end: a.start + (length - middle),
                    ..b
                };
                let a = Node {
                    start: b.end,
                    end: a.start + length,
                    ..a
                };
                self.nodes.extend([b, a]);
            }
            (one, two) => self.nodes.extend(one.into_iter().chain(two)),
        }
    }

    /// The box round `middle`, its bars appended to the list; `None` if nothing in it is better.
    fn node(
        &mut self,
        bars: &[Bar<'_>],
        range: Rect,
        middle: Point,
        (rx, ry): (f64, f64),
        parent: (usize, usize),
        best: &mut Found,
    ) -> Option<Node> {
        let slant = self.slant;
        let at = slant.on_cloth(middle);
        if slant.misses(range, at, (rx, ry)) {
            return None;
        }
        let start = self.list.len();
        let (mut least, mut cost, mut crossing) = (0.0, 0.0, 0);
        let mut short = (0.0, 0.0);
        for place in parent.0..parent.1 {
            let number = self.list[place] & !COVERS;
            let bar = &bars[number as usize];
            let from = at - bar.at.to_vec2();
            let seen = slant.seen(from);
            let b = bar.convex.bounds(slant);
            if seen.x + rx <= b.x0
                || seen.x - rx >= b.x1
                || seen.y + ry <= b.y0
                || seen.y - ry >= b.y1
            {
                continue;
            }
            let depths = bar.convex.depths(from.x, from.y, (rx, ry), slant);
            if depths.most <= CLEAR {
                continue;
            }
            if depths.least > 0.0 {
                least += bar.weight * depths.least;
                if least >= best.cost {
                    self.list.truncate(start);
                    // What rules out this box often rules out the next: it is asked first there.
                    self.list.swap(parent.0, place);
                    return None;
                }
                self.list.push(number | COVERS);
            } else {
                self.list.push(number);
                crossing += 1;
                short.0 += 1.0 / b.width();
                short.1 += 1.0 / b.height();
            }
            if depths.middle > CLEAR {
                cost += bar.weight * depths.middle;
            }
        }
        if cost < best.cost && holds(range, at) {
            let at = within(at, range);
            *best = Found { at, cost };
        }
        Some(Node {
            middle,
            rx,
            ry,
            start,
            end: self.list.len(),
            least,
            crossing,
            short,
            cost,
        })
    }

    /// Tries every crossing in the box.
    fn try_crossings(&mut self, bars: &[Bar<'_>], range: Rect, node: &Node, best: &mut Found) {
        let cell = Rect::new(
            node.middle.x - node.rx,
            node.middle.y - node.ry,
            node.middle.x + node.rx,
            node.middle.y + node.ry,
        );
        let slant = self.slant;
        self.edges.clear();
        add_border(range, slant, cell, bars.len(), &mut self.edges);
        for at in node.start..node.end {
            let number = self.list[at];
            if number & COVERS == 0 {
                let number = number as usize;
                collect_edges(&bars[number], number, slant, cell, &mut self.edges);
            }
        }
        self.edges.truncate(MOST_EDGES);
        for i in 0..self.edges.len() {
            let one = self.edges[i];
            for j in 0..i {
                let two = self.edges[j];
                let apart = two.bar != one.bar || one.bar == bars.len();
                if let Some(at) = cross(&one, &two, cell).filter(|_| apart) {
                    let at = slant.on_cloth(at);
                    if holds(range, at) {
                        self.try_place(bars, node, within(at, range), best);
                    }
                }
            }
        }
    }

    fn try_place(&self, bars: &[Bar<'_>], node: &Node, at: Point, best: &mut Found) {
        let mut cost = 0.0;
        for &number in &self.list[node.start..node.end] {
            let bar = &bars[(number & !COVERS) as usize];
            let depth = bar.convex.depth(at.x - bar.at.x, at.y - bar.at.y);
            if depth > CLEAR {
                cost += bar.weight * depth;
                if cost >= best.cost {
                    return;
                }
            }
        }
        if cost < best.cost {
            *best = Found { at, cost };
        }
    }
}

/// Whether a place is one of a box, but for rounding.
fn holds(range: Rect, at: Point) -> bool {
    let within = within(at, range);
    (within.x - at.x).abs() <= OUTSIDE && (within.y - at.y).abs() <= OUTSIDE
}

/// The nearest place of a box.
fn within(at: Point, range: Rect) -> Point {
    Point::new(
        at.x.max(range.x0).min(range.x1),
        at.y.max(range.y0).min(range.y1),
    )
}

/// The parts of the edges of a bar inside the box.
fn collect_edges(bar: &Bar<'_>, number: usize, slant: Slant, cell: Rect, edges: &mut Vec<Piece>) {
    let corners = bar.convex.corners();
    let offset = bar.at.to_vec2();
    let mut from = slant.seen(corners[corners.len() - 1] + offset);
    for corner in corners {
        let to = slant.seen(*corner + offset);
        if let Some((from, to)) = clipped(from, to, cell) {
            edges.push(Piece {
                bar: number,
                from,
                to,
            });
        }
        from = to;
    }
}

/// The parts of the sides of the whole range inside the box, as edges of a bar past the last.
fn add_border(range: Rect, slant: Slant, cell: Rect, number: usize, edges: &mut Vec<Piece>) {
    // Sides of the range are sides of boxes, but for rounding.
    let slack = 1e-9 * (range.width() + range.height());
    let cell = cell.inflate(slack, slack);
    let corners = [
        (range.x0, range.y0),
        (range.x1, range.y0),
        (range.x1, range.y1),
        (range.x0, range.y1),
    ];
    let corners = corners.map(|corner| slant.seen(corner.into()));
    for k in 0..corners.len() {
        let (from, to) = (corners[k], corners[(k + 1) % corners.len()]);
        if let Some((from, to)) = clipped(from, to, cell) {
            edges.push(Piece {
                bar: number,
                from,
                to,
            });
        }
    }
}

/// The part of a segment inside a box (Liang & Barsky 1984).
fn clipped(from: Point, to: Point, cell: Rect) -> Option<(Point, Point)> {
    if from.x.max(to.x) < cell.x0
        || from.x.min(to.x) > cell.x1
        || from.y.max(to.y) < cell.y0
        || from.y.min(to.y) > cell.y1
    {
        return None;
    }
    let (mut start, mut end) = (0.0_f64, 1.0_f64);
    let along = to - from;
    for (run, low, high) in [
        (along.x, cell.x0 - from.x, cell.x1 - from.x),
        (along.y, cell.y0 - from.y, cell.y1 - from.y),
    ] {
        if run.abs() < PARALLEL {
            if low > 0.0 || high < 0.0 {
                return None;
            }
            continue;
        }
        let (a, b) = (low / run, high / run);
        start = start.max(a.min(b));
        end = end.min(a.max(b));
    }
    if start > end {
        return None;
    }
    let at = |t: f64| if t >= 1.0 { to } else { from + along * t };
    Some((at(start), at(end)))
}

/// Where two edges cross inside the box.
fn cross(one: &Piece, two: &Piece, cell: Rect) -> Option<Point> {
    let (d, e) = (one.to - one.from, two.to - two.from);
    let turn = d.cross(e);
    if turn.abs() <= PARALLEL * (1.0 + d.hypot2()) {
        return None;
    }
    let at = one.from + d * ((two.from - one.from).cross(e) / turn);
    let inside = at.x >= cell.x0 && at.x <= cell.x1 && at.y >= cell.y0 && at.y <= cell.y1;
    inside.then_some(at)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    fn cost(bars: &[Bar<'_>], at: Point) -> f64 {
        bars.iter()
            .map(|b| b.weight * b.convex.depth(at.x - b.at.x, at.y - b.at.y).max(0.0))
            .sum()
    }

    fn random_bars<'t>(shapes: &'t [Convex], random: &mut Random) -> Vec<Bar<'t>> {
        (0..14)
            .map(|_| Bar {
                convex: &shapes[random.below(shapes.len())],
                at: Point::new(random.between(0.0, 200.0), random.between(0.0, 100.0)),
                weight: random.between(0.5, 3.0),
            })
            .collect()
    }

    /// No place on a fine grid is better than the one found.
    #[test]
    fn nothing_is_better_than_what_is_found() {
        let shape = |xy: &[(f64, f64)]| xy.iter().map(|&p| Point::from(p)).collect::<Vec<_>>();
        let square = shape(&[(0., 0.), (30., 0.), (30., 30.), (0., 30.)]);
        let bar = shape(&[(0., 0.), (10., 0.), (50., 40.), (40., 40.)]);
        let triangle = shape(&[(0., 0.), (40., 10.), (10., 35.)]);
        let shapes = [
            Convex::new(&square, &bar, 0.0),
            Convex::new(&triangle, &bar, 2.0),
            Convex::new(&bar, &bar, 0.0),
        ];
        let range = Rect::new(0., 0., 200., 100.);
        let mut finder = Finder::new();
        for seed in 0..20 {
            finder.slant = [Slant::Upright, Slant::Diagonal][seed as usize % 2];
            let bars = random_bars(&shapes, &mut Random::new(seed));
            let found = finder
                .best(&bars, range, f64::INFINITY, usize::MAX)
                .expect("a place");
            assert!((found.cost - cost(&bars, found.at)).abs() < 1e-6);
            for i in 0..=200 {
                for j in 0..=100 {
                    let at = Point::new(f64::from(i), f64::from(j));
                    assert!(cost(&bars, at) >= found.cost - 1e-6, "{seed}: {at:?}");
                }
            }
        }
    }
}
