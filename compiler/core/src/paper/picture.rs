//! What the pictures of papers are drawn with: a view that scales the draft's frame down, and a
//! canvas that knows how much room is in use.

use std::sync::Arc;

use tiewright_geometry::{Affine, Curve, Point, Rect, Ring, Vec2};

use crate::layout::text_width;
use crate::sheet::{Align, Group, Item, Mark, Sheet, Words};
use crate::source::Span;

/// Height of a capital in the words of a picture, mm: as in a text of 11 points.
pub(super) const CAPITAL: f64 = 2.8;
/// Round a picture, mm: half of its widest line.
const EDGE: f64 = 0.5;
/// Radius of the circle round a number, mm: two digits fit.
pub(super) const RADIUS: f64 = 3.0;
/// Corners of the circle round a number: round to the eye.
const CORNERS: u32 = 36;
/// Length and half width of the head of an arrow, mm.
const HEAD: (f64, f64) = (2.0, 0.6);

/// A scale down and a move: from the draft frame to a picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// Picture millimetres to a millimetre of the draft.
    pub scale: f64,
    /// Whether it is looked at from below, turned over its long axis.
    pub turned: bool,
}

impl View {
    fn affine(self) -> Affine {
        let across = if self.turned { -self.scale } else { self.scale };
        Affine::new([self.scale, 0.0, 0.0, across, 0.0, 0.0])
    }

    /// Where `p` is drawn.
    pub fn point(self, p: Point) -> Point {
        self.affine() * p
    }

    /// How `curve` is drawn.
    pub fn curve(self, curve: &Curve) -> Curve {
        curve.transformed(self.affine())
    }

    /// How `ring` is drawn; it must be seen from above.
    pub fn ring(self, ring: &Ring) -> Ring {
        ring.transformed(self.affine())
    }
}

/// A drawing in the making; it grows with what is put on it.
#[derive(Debug, Default)]
pub(super) struct Canvas {
    groups: Vec<(Vec2, Vec<Item>)>,
    items: Vec<Item>,
    bounds: Option<Rect>,
}

impl Canvas {
    /// The room in use.
    pub fn bounds(&self) -> Rect {
        self.bounds.unwrap_or(Rect::ZERO)
    }

    /// Draws `mark`, which needs the room `bounds`.
    pub fn put(&mut self, mark: Mark, bounds: Rect) {
        self.need(bounds);
        self.items.push(Item {
            mark,
            span: Span::default(),
        });
    }

    fn need(&mut self, bounds: Rect) {
        self.bounds = Some(self.bounds.map_or(bounds, |b| b.union(bounds)));
    }

    /// A filled polygon.
    pub fn fill(&mut self, corners: Vec<Point>, grey: f64) {
        let Some(&first) = corners.first() else {
            return;
        };
        let room = corners
            .iter()
            .fold(Rect::from_points(first, first), |room, p| room.union_pt(*p));
        self.put(Mark::Fill(corners, grey), room);
    }

    /// A thin line.
    pub fn curve(&mut self, curve: Curve) {
        let room = curve.bounds();
        self.put(Mark::Rule(curve), room);
    }

    /// A thin straight line; nothing where the two points are one.
    pub fn rule(&mut self, from: Point, to: Point) {
        if let Ok(curve) = Curve::line(from, to) {
            self.curve(curve);
        }
    }

    /// A thin straight line with a head at both ends, shorter heads on a short line.
    pub fn measured(&mut self, from: Point, to: Point) {
        self.rule(from, to);
        for (tip, tail) in [(from, to), (to, from)] {
            let along = tail - tip;
            let length = along.hypot2().sqrt();
            if length <= 0.0 {
                return;
            }
            let size = (length / 3.0 / HEAD.0).min(1.0) / length;
            let back = tip + along * (HEAD.0 * size);
            let side = Vec2::new(-along.y, along.x) * (HEAD.1 * size);
            self.fill(vec![tip, back + side, back - side], 0.0);
        }
    }

    /// Words on one line; `at` is the start or the middle of their baseline.
    pub fn words(&mut self, text: String, at: Point, align: Align) {
        let width = text_width(&text, CAPITAL);
        let left = match align {
            Align::Start => at.x,
            Align::Middle => at.x - width / 2.0,
        };
        // A quarter of a capital for what hangs below the line.
        let room = Rect::new(left, at.y - CAPITAL / 4.0, left + width, at.y + CAPITAL);
        let words = Words {
            text: text.into(),
            at,
            align,
            height: CAPITAL,
            angle: 0.0,
        };
        self.put(Mark::Label(words), room);
    }

    /// A number in a white circle.
    pub fn number(&mut self, number: usize, at: Point) {
        let corner = |step: u32| {
            let angle = f64::from(step) / f64::from(CORNERS) * std::f64::consts::TAU;
            at + Vec2::new(libm::cos(angle), libm::sin(angle)) * RADIUS
        };
        self.fill((0..CORNERS).map(corner).collect(), 1.0);
        let baseline = at - Vec2::new(0.0, CAPITAL / 2.0);
        self.words(number.to_string(), baseline, Align::Middle);
    }

    /// Puts `other` to the right of what is here, `gap` away, its `y` as it is.
    pub fn beside(&mut self, other: Canvas, gap: f64) {
        let across = self.bounds().x1 + gap - other.bounds().x0;
        self.append(other, Vec2::new(across, 0.0));
    }

    fn append(&mut self, other: Canvas, by: Vec2) {
        self.need(other.bounds() + by);
        self.groups
            .extend(other.groups.into_iter().map(|(at, items)| (at + by, items)));
        self.groups.push((by, other.items));
    }

    /// The drawing as large as what is on it; its groups are called after `name`, which must be
    /// unique in the document.
    pub fn into_sheet(self, name: &str, title: &str) -> Sheet {
        let bounds = self.bounds().inflate(EDGE, EDGE);
        let corner = bounds.origin().to_vec2();
        let all = std::iter::once((Vec2::ZERO, self.items)).chain(self.groups);
        let group = |(index, (by, items)): (usize, (Vec2, Vec<Item>))| Group {
            name: if index == 0 {
                Arc::from(name)
            } else {
                format!("{name}-{index}").into()
            },
            is_piece: false,
            facts: Vec::new(),
            offset: by - corner,
            items,
        };
        Sheet {
            title: title.into(),
            facts: Vec::new(),
            width: bounds.width(),
            height: bounds.height(),
            groups: all.enumerate().map(group).collect(),
        }
    }
}
