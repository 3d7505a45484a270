//! Folding a polygon into layers, for pictures.
//!
//! Input: creases in order and a flat polygon. Output: polygons with their number of turns, the
//! lowest layer first. Each crease splits the layers that lie across it; the parts to its left
//! are mirrored and come to lie on the others in reverse order, as a stack that is turned over
//! does. Nothing here is measured from; the proof folds points.

use kurbo::Point;

use crate::refold::{Crease, Foot, MOST_PASSES};
use crate::segment::distance;
use crate::tolerance::{SAME, SCRAP};

/// The most points put between two corners of a polygon, or on a stretch of crease.
const MOST_POINTS: usize = 512;

/// Layers kept at most, so that creases that chase each other come to an end.
const MOST_LAYERS: usize = 256;

/// A layer: how often it was turned, and its outline.
type Layer = (u32, Vec<Point>);

/// A corner of a polygon on the way to being split: on the crease, or on one side of it.
#[derive(Clone, Copy)]
struct Node {
    point: Point,
    foot: Foot,
}

/// The layers of a polygon folded along the creases, the lowest first.
pub fn fold_layers(creases: &[Crease], polygon: &[Point], tol: f64) -> Vec<Layer> {
    let mut layers: Vec<Layer> = vec![(0, polygon.to_vec())];
    for _ in 0..MOST_PASSES {
        let mut moved = false;
        for crease in creases {
            let (stay, turned) = split_layers(crease, &layers, tol);
            moved |= !turned.is_empty();
            layers = stay;
            layers.extend(turned.into_iter().rev());
            layers.truncate(MOST_LAYERS);
        }
        if !moved {
            break;
        }
    }
    layers
}

/// The parts of all layers that stay, and those that are turned over, already mirrored.
fn split_layers(crease: &Crease, layers: &[Layer], tol: f64) -> (Vec<Layer>, Vec<Layer>) {
    let (mut stay, mut turned) = (Vec::new(), Vec::new());
    for (turns, polygon) in layers {
        let nodes = nodes(crease, polygon, tol);
        if nodes.iter().all(|node| node.foot.side <= SCRAP) {
            stay.push((*turns, polygon.clone()));
            continue;
        }
        for part in parts(crease, &nodes, tol) {
            let left = part
                .iter()
                .map(|node| node.foot.side)
                .fold(0.0, |a, b| if f64::abs(b) > f64::abs(a) { b } else { a });
            if left > 0.0 {
                let mirrored = part
                    .iter()
                    .map(|node| node.foot.point + (node.foot.point - node.point))
                    .collect();
                turned.push((turns + 1, mirrored));
            } else {
                stay.push((*turns, part.iter().map(|node| node.point).collect()));
            }
        }
    }
    (stay, turned)
}

/// The corners of a polygon with their feet, with a node on the crease between two of different
/// sides, and, over a curved crease, more between corners that are far apart.
fn nodes(crease: &Crease, polygon: &[Point], tol: f64) -> Vec<Node> {
    let node = |point: Point| Node {
        point,
        foot: crease.foot(point),
    };
    let mut found = Vec::with_capacity(polygon.len() * 2);
    let next = polygon.iter().cycle().skip(1);
    for (from, to) in polygon.iter().zip(next) {
        let count = match crease {
            Crease::Line(_) => 1,
            // A side of this length leaves its image by less than `tol` for bends of a metre.
            Crease::Curve(_) => {
                let length = distance(*from, *to);
                (length / (8.0 * 1000.0 * tol).sqrt())
                    .ceil()
                    .clamp(1.0, MOST_POINTS as f64) as usize
            }
        };
        let mut last = node(*from);
        found.push(last);
        for i in 1..=count {
            let here = node(from.lerp(*to, i as f64 / count as f64));
            if (last.foot.side > SAME && here.foot.side < -SAME)
                || (last.foot.side < -SAME && here.foot.side > SAME)
            {
                found.push(between(crease, last, here));
            }
            if i < count {
                found.push(here);
            }
            last = here;
        }
    }
    found
}

/// The node on the crease between two on different sides, by halving.
fn between(crease: &Crease, a: Node, b: Node) -> Node {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if (crease.foot(a.point.lerp(b.point, middle)).side > 0.0) == (a.foot.side > 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
    let foot = crease.foot(a.point.lerp(b.point, 0.5 * (low + high)));
    Node {
        point: foot.point,
        foot: Foot { side: 0.0, ..foot },
    }
}

/// Splits a polygon along the crease. Its passages through the crease, in order along the
/// crease, are entered and left by turns, so each odd one is joined to the next.
fn parts(crease: &Crease, nodes: &[Node], tol: f64) -> Vec<Vec<Node>> {
    let side = |i: usize| {
        nodes.get(i % nodes.len()).map_or(0.0, |node| {
            if node.foot.side.abs() <= SAME {
                0.0
            } else {
                node.foot.side
            }
        })
    };
    // A passage is a node on the crease whose neighbours off the crease lie on different sides.
    let before = |i: usize| {
        (1..nodes.len())
            .map(|k| side(i + nodes.len() - k))
            .find(|s| *s != 0.0)
            .unwrap_or(0.0)
    };
    let mut passages: Vec<usize> = (0..nodes.len())
        .filter(|i| side(*i) == 0.0 && before(*i) * side(i + 1) < 0.0)
        .collect();
    let along = |i: &usize| nodes.get(*i).map_or(0.0, |node| node.foot.along);
    passages.sort_by(|a, b| along(a).total_cmp(&along(b)));
    let mut partner: Vec<Option<usize>> = vec![None; nodes.len()];
    for pair in passages.chunks_exact(2) {
        let &[a, b] = pair else { continue };
        for (from, to) in [(a, b), (b, a)] {
            if let Some(slot) = partner.get_mut(from) {
                *slot = Some(to);
            }
        }
    }
    let mut used = vec![false; nodes.len()];
    let mut found = Vec::new();
    for start in 0..nodes.len() {
        if side(start) != 0.0 && used.get(start) == Some(&false) {
            let part = walk(crease, nodes, &partner, &mut used, start, tol);
            if part.len() > 2 {
                found.push(part);
            }
        }
    }
    found
}

/// Walks round one part: along the polygon, and at each passage along the crease to its partner.
fn walk(
    crease: &Crease,
    nodes: &[Node],
    partner: &[Option<usize>],
    used: &mut [bool],
    start: usize,
    tol: f64,
) -> Vec<Node> {
    let mut part = Vec::new();
    let mut i = start;
    for _ in 0..2 * nodes.len() {
        let Some(node) = nodes.get(i) else { break };
        if let Some(slot) = used.get_mut(i) {
            *slot = true;
        }
        part.push(*node);
        if let Some(other) = partner
            .get(i)
            .copied()
            .flatten()
            .and_then(|j| Some((j, nodes.get(j)?)))
        {
            part.extend(along_crease(crease, node, other.1, tol));
            part.push(*other.1);
            i = other.0;
        }
        i = (i + 1) % nodes.len();
        if i == start {
            break;
        }
    }
    part
}

/// Nodes on the crease between two others, both left out.
fn along_crease(crease: &Crease, from: &Node, to: &Node, tol: f64) -> Vec<Node> {
    let Crease::Curve(curve) = crease else {
        return Vec::new();
    };
    let length = distance(from.point, to.point);
    let count = (length / (8.0 * 100.0 * tol).sqrt())
        .ceil()
        .clamp(1.0, MOST_POINTS as f64) as usize;
    let at =
        |i: usize| from.foot.along + (to.foot.along - from.foot.along) * i as f64 / count as f64;
    (1..count).map(|i| on_crease(curve, at(i))).collect()
}

/// The node at a coordinate along a crease, as its feet count it.
fn on_crease(curve: &crate::curve::Curve, along: f64) -> Node {
    let count = curve.segments().len();
    let point = if along < 0.0 {
        curve.start() + along * curve.start_tangent()
    } else if along >= count as f64 {
        curve.end() + (along - count as f64) * curve.end_tangent()
    } else {
        let seg = along.floor();
        curve.eval(crate::curve::Place {
            seg: seg as usize,
            t: along - seg,
        })
    };
    Node {
        point,
        foot: Foot {
            point,
            side: 0.0,
            along,
        },
    }
}
