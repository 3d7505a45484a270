//! Folding a stack of polygons into layers, for pictures.
//!
//! Input: creases in order and flat polygons, the lowest first. Output: layers, the lowest first.
//! Each crease splits the layers that lie across it; the parts to its left are mirrored and come
//! to lie on the others in reverse order, as a stack that is turned over does. What lies beyond a
//! pleat turns over twice and comes to lie on top as it lay. Nothing here is
//! measured from; the proof folds points.

use kurbo::Point;

use crate::curve::{Curve, Place};
use crate::refold::{Fold, MOST_PASSES};
use crate::refold_foot::{Bed, Foot};
use crate::segment::distance;

/// The most halvings between two corners of a polygon, or of a stretch of crease.
const DEEPEST: u32 = 9;

/// Halvings that are always made over a curved crease, so that a bend both ways is not missed.
const SHALLOWEST: u32 = 2;

/// Layers kept at most, so that creases that chase each other come to an end.
const MOST_LAYERS: usize = 256;

/// Share of the tolerance by which a straight piece may leave the curve it stands for.
const SAG: f64 = 0.25;

/// Share of the tolerance within which a corner counts as lying on the crease; more than twice
/// [`SAG`], so that what was split along a crease once is not split again.
const ON_CREASE: f64 = 0.6;

/// A part of a folded stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Index of the flat polygon it is part of.
    pub sheet: usize,
    /// How often it was turned over; the right side of the cloth is up again when even.
    pub turns: u32,
    /// Its outline.
    pub outline: Vec<Point>,
}

/// A corner of a polygon on the way to being split.
#[derive(Clone, Copy)]
struct Node {
    point: Point,
    foot: Foot,
}

/// The layers of a stack of polygons folded along the creases, the lowest first. Their outlines
/// are true within `tol` mm.
pub fn fold_layers(folds: &[Fold], stack: &[Vec<Point>], tol: f64) -> Vec<Layer> {
    let flat = |(sheet, outline): (usize, &Vec<Point>)| Layer {
        sheet,
        turns: 0,
        outline: outline.clone(),
    };
    let mut layers: Vec<Layer> = stack.iter().enumerate().map(flat).collect();
    for pass in 0..MOST_PASSES {
        let mut moved = false;
        for fold in folds {
            match fold {
                Fold::Over(crease) => moved |= fold_over(crease, &mut layers, tol),
                Fold::Pleat(first, second) if pass == 0 => {
                    let (near, beyond) = split_layers(second, layers, tol);
                    layers = near;
                    fold_over(first, &mut layers, tol);
                    layers.extend(beyond.into_iter().map(|layer| turned_over(first, layer)));
                }
                Fold::Pleat(..) => {}
            }
            layers.truncate(MOST_LAYERS);
        }
        if !moved {
            break;
        }
    }
    layers
}

/// Turns over what lies left of a crease, on top of the rest; says whether anything did.
fn fold_over(crease: &Bed, layers: &mut Vec<Layer>, tol: f64) -> bool {
    let (stay, turned) = split_layers(crease, std::mem::take(layers), tol);
    let moved = !turned.is_empty();
    *layers = stay;
    layers.extend(turned.into_iter().rev());
    moved
}

/// A whole layer mirrored in a straight crease.
fn turned_over(crease: &Bed, layer: Layer) -> Layer {
    let image = |p: &Point| Node::new(crease, *p).image();
    Layer {
        turns: layer.turns + 1,
        outline: layer.outline.iter().map(image).collect(),
        ..layer
    }
}

/// The parts of all layers that stay, and those that are turned over, already mirrored.
fn split_layers(crease: &Bed, layers: Vec<Layer>, tol: f64) -> (Vec<Layer>, Vec<Layer>) {
    let (mut stay, mut turned) = (Vec::new(), Vec::new());
    for layer in layers {
        let on_left = |p: &Point| crease.foot(*p).side > ON_CREASE * tol;
        if !layer.outline.iter().any(on_left) {
            stay.push(layer);
            continue;
        }
        for part in Split::new(crease, &layer.outline, tol).parts() {
            let farther = |a: f64, b: f64| if b.abs() > a.abs() { b } else { a };
            if part.iter().map(|node| node.foot.side).fold(0.0, farther) > 0.0 {
                turned.push(Layer {
                    turns: layer.turns + 1,
                    outline: part.iter().map(Node::image).collect(),
                    ..layer
                });
            } else {
                stay.push(Layer {
                    outline: part.iter().map(|node| node.point).collect(),
                    ..layer
                });
            }
        }
    }
    (stay, turned)
}

impl Node {
    fn new(crease: &Bed, point: Point) -> Self {
        Self {
            point,
            foot: crease.foot(point),
        }
    }

    /// Where the corner lies once it is turned over.
    fn image(&self) -> Point {
        self.foot.point + (self.foot.point - self.point)
    }
}

/// A polygon across a crease.
struct Split<'a> {
    crease: &'a Bed,
    tol: f64,
    nodes: Vec<Node>,
}

impl<'a> Split<'a> {
    /// The corners of a polygon with their feet, more where the image of a side bends, and one
    /// on the crease between two of different sides.
    fn new(crease: &'a Bed, polygon: &[Point], tol: f64) -> Self {
        let nodes = Vec::with_capacity(polygon.len() * 2);
        let mut split = Self { crease, tol, nodes };
        let corners: Vec<Node> = polygon.iter().map(|p| Node::new(crease, *p)).collect();
        for (from, to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            split.nodes.push(*from);
            split.between(from, to, 0);
        }
        split
    }

    /// Adds the nodes that are needed between two, both left out; says whether any are. How an image
    /// bends matters only on the left.
    fn between(&mut self, a: &Node, b: &Node, depth: u32) -> bool {
        let middle = Node::new(self.crease, a.point.midpoint(b.point));
        let bent = distance(middle.image(), a.image().midpoint(b.image())) > SAG * self.tol;
        let turned = [a, &middle, b]
            .into_iter()
            .any(|node| self.side(node) > 0.0);
        let bent = bent && turned;
        let curved = self.crease.curve().is_some();
        let crosses = self.side(a) * self.side(b) < 0.0;
        if curved && (bent || depth < SHALLOWEST) && depth < DEEPEST {
            let before = self.nodes.len();
            let first = self.between(a, &middle, depth + 1);
            self.nodes.push(middle);
            let second = self.between(&middle, b, depth + 1);
            // Between two sides the middle may be the node on the crease.
            let needed = bent || first || second || crosses;
            if !needed {
                self.nodes.truncate(before);
            }
            return needed;
        }
        if crosses {
            self.nodes.push(self.passage(a, b));
        }
        crosses
    }

    /// The node on the crease between two on different sides, by halving.
    fn passage(&self, a: &Node, b: &Node) -> Node {
        let at = |f: f64| Node::new(self.crease, a.point.lerp(b.point, f));
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..50 {
            let middle = 0.5 * (low + high);
            if (at(middle).foot.side > 0.0) == (a.foot.side > 0.0) {
                low = middle;
            } else {
                high = middle;
            }
        }
        let foot = at(0.5 * (low + high)).foot;
        Node {
            point: foot.point,
            foot: Foot { side: 0.0, ..foot },
        }
    }

    /// Signed distance from the crease; 0 for a node that counts as lying on it.
    fn side(&self, node: &Node) -> f64 {
        let side = node.foot.side;
        if side.abs() <= ON_CREASE * self.tol {
            0.0
        } else {
            side
        }
    }

    /// The polygons the crease divides this one into. Its passages through the crease, in order
    /// along the crease, lead into the polygon and out of it by turns, so each odd one is joined
    /// to the next.
    fn parts(&self) -> Vec<Vec<Node>> {
        let mut passages = self.passages();
        let along = |i: &usize| self.nodes.get(*i).map_or(0.0, |node| node.foot.along);
        passages.sort_by(|a, b| along(a).total_cmp(&along(b)));
        let mut partner: Vec<Option<usize>> = vec![None; self.nodes.len()];
        for pair in passages.chunks_exact(2) {
            let &[a, b] = pair else { continue };
            for (from, to) in [(a, b), (b, a)] {
                if let Some(slot) = partner.get_mut(from) {
                    *slot = Some(to);
                }
            }
        }
        let mut used = vec![false; self.nodes.len()];
        let mut found = Vec::new();
        for (start, node) in self.nodes.iter().enumerate() {
            if self.side(node) != 0.0 && used.get(start) == Some(&false) {
                let part = self.walk(&partner, &mut used, start);
                if part.len() > 2 {
                    found.push(part);
                }
            }
        }
        found
    }

    /// The nodes on the crease, the last of each run of them, that lie between nodes of
    /// different sides.
    fn passages(&self) -> Vec<usize> {
        let sides: Vec<f64> = self.nodes.iter().map(|node| self.side(node)).collect();
        let mut last = sides
            .iter()
            .rev()
            .copied()
            .find(|side| *side != 0.0)
            .unwrap_or(0.0);
        let mut found = Vec::new();
        for (i, (side, next)) in sides.iter().zip(sides.iter().cycle().skip(1)).enumerate() {
            if *side != 0.0 {
                last = *side;
            } else if last * next < 0.0 {
                found.push(i);
            }
        }
        found
    }

    /// Walks round one part: along the polygon, and at each passage along the crease to its
    /// partner.
    fn walk(&self, partner: &[Option<usize>], used: &mut [bool], start: usize) -> Vec<Node> {
        let mut part = Vec::new();
        let mut i = start;
        for _ in 0..2 * self.nodes.len() {
            let Some(node) = self.nodes.get(i) else { break };
            if let Some(slot) = used.get_mut(i) {
                *slot = true;
            }
            part.push(*node);
            let across = partner.get(i).copied().flatten();
            if let Some((j, other)) = across.and_then(|j| Some((j, self.nodes.get(j)?))) {
                if let Some(curve) = self.crease.curve() {
                    self.across(curve, node, other, &mut part);
                }
                part.push(*other);
                i = j;
            }
            i = (i + 1) % self.nodes.len();
            if i == start {
                break;
            }
        }
        part
    }

    /// Adds the nodes on the crease from one passage to another, both left out, the joints of
    /// the crease between them among them.
    fn across(&self, curve: &Curve, from: &Node, to: &Node, out: &mut Vec<Node>) {
        let (low, high) = (from.foot.along, to.foot.along);
        let between = |x: &f64| *x > low.min(high) && *x < low.max(high);
        let joints = 0..=curve.segments().len();
        let mut stops: Vec<f64> = joints.map(|i| i as f64).filter(between).collect();
        if high < low {
            stops.reverse();
        }
        let mut last = *from;
        for stop in stops {
            let here = on_crease(curve, stop);
            self.along(curve, &last, &here, 0, out);
            out.push(here);
            last = here;
        }
        self.along(curve, &last, to, 0, out);
    }

    /// Adds the nodes that are needed on one part of the crease between two, both left out; says
    /// whether any are.
    fn along(&self, curve: &Curve, a: &Node, b: &Node, depth: u32, out: &mut Vec<Node>) -> bool {
        let middle = on_crease(curve, 0.5 * (a.foot.along + b.foot.along));
        let chord = b.point - a.point;
        let sag = chord.cross(middle.point - a.point).abs();
        let bent = sag > SAG * self.tol * distance(a.point, b.point);
        if !(bent || depth < SHALLOWEST) || depth == DEEPEST {
            return false;
        }
        let before = out.len();
        let first = self.along(curve, a, &middle, depth + 1, out);
        out.push(middle);
        let second = self.along(curve, &middle, b, depth + 1, out);
        let needed = bent || first || second;
        if !needed {
            out.truncate(before);
        }
        needed
    }
}

/// The node at a coordinate along a crease, as its feet count it.
fn on_crease(curve: &Curve, along: f64) -> Node {
    let count = curve.segments().len() as f64;
    let point = if along < 0.0 {
        curve.start() + along * curve.start_tangent()
    } else if along >= count {
        curve.end() + (along - count) * curve.end_tangent()
    } else {
        let seg = along.floor();
        let place = Place {
            seg: seg as usize,
            t: along - seg,
        };
        curve.eval(place)
    };
    let foot = Foot {
        point,
        side: 0.0,
        along,
    };
    Node { point, foot }
}
