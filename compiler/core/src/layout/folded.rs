//! The folded sheet: the article as it lies on the table, face and back, layer over layer.
//!
//! A picture, not a pattern: it is scaled down to fit, and greys stand for the cloths.

use std::sync::Arc;

use tiewright_geometry::{Affine, Point, Ring, Vec2};

use super::marks::{self, Named};
use super::pattern::facts_of;
use super::{CAPITAL, LEADING, MARGIN, NAME_CAPITAL, SPACING, label};
use crate::draft::{Draft, Folded, FoldedMark, Layer, Side};
use crate::format::decimal;
use crate::sheet::{Align, Fact, Group, Item, Mark, Sheet};
use crate::source::Span;

/// The widest the picture gets to be, mm: the long side of an A3 sheet.
const WIDEST: f64 = 420.0;
/// Scales tried, the largest first, as 1 : n.
const SCALES: [f64; 10] = [1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 8.0, 10.0, 20.0];
/// Greys of the right side of the first, second, third … cloth; the wrong side is paler.
const GREYS: [f64; 5] = [0.62, 0.8, 0.48, 0.7, 0.55];
/// How far the wrong side is on the way from the right side's grey to white.
const PALER: f64 = 0.6;

/// An end is shown this many widths of the article long: past the opening at a point of 90 degrees.
const END_LENGTH: f64 = 1.5;
/// Articles shorter than this many of their ends show everything in the whole view.
const LONG: f64 = 4.0;
/// Marks this many widths from an end are shown in its enlarged picture.
const MARKED_END: f64 = 5.0;
/// What an enlarged end shows beyond its last mark, widths of the article.
const PAST_MARK: f64 = 0.25;
/// Width and height of the patch of a grey in the key, mm.
const PATCH: (f64, f64) = (10.0, CAPITAL);
/// From a patch to what is beside it, mm.
const PATCH_GAP: f64 = 2.0;

/// The face and the back of the folded article, one above the other, both ends of the back drawn
/// larger, and a key to the greys; `None` when the shape folds nothing. The face is drawn as
/// drafted; for the back the article is turned over its long axis.
pub fn folded_sheet(draft: &Draft) -> Option<Sheet> {
    let folded = draft.folded.as_ref()?;
    let bounds = folded.outline.bounds();
    let whole = (bounds.x0, bounds.x1);
    let scale = scale_for(bounds.width(), WIDEST - 2.0 * MARGIN);
    let title = format!("{}, folded, 1:{}", draft.title(), decimal(1.0 / scale, 2));
    let layers = folded.layers();
    let mut page = Page {
        cloths: cloths_of(&layers),
        folded,
        layers,
        groups: Vec::new(),
        width: 2.0 * MARGIN + super::text_width(&title, NAME_CAPITAL),
        depth: MARGIN,
    };
    page.depth += NAME_CAPITAL;
    let at = Point::new(MARGIN, -page.depth);
    let heading = label(title.clone(), at, Align::Start, NAME_CAPITAL);
    page.groups.push(furniture("title", vec![heading]));
    let ends = ends(folded);
    let in_ends = |mark: &FoldedMark| {
        let mut ends = ends.iter().flatten();
        mark.side == Side::Back && ends.any(|end| marks::is_within(mark, *end))
    };
    page.row("face", "face", Side::Face, &[whole], scale, &|_| true);
    page.row("back", "back", Side::Back, &[whole], scale, &|mark| {
        !in_ends(mark)
    });
    if let Some([front, rear]) = ends {
        let length = front.1 - front.0 + rear.1 - rear.0;
        let scale = scale_for(length, WIDEST - 2.0 * MARGIN - SPACING);
        let words = format!("back, both ends, 1:{}", decimal(1.0 / scale, 2));
        page.row("ends", &words, Side::Back, &[front, rear], scale, &in_ends);
    }
    page.key();
    Some(page.into_sheet(title, facts_of(draft, draft.size.as_deref())))
}

/// The stretches shown enlarged: both ends of a long article, as far as there is something to see.
fn ends(folded: &Folded) -> Option<[(f64, f64); 2]> {
    let bounds = folded.outline.bounds();
    let (width, length) = (bounds.height(), bounds.width());
    let end = END_LENGTH * width;
    if length <= LONG * end {
        return None;
    }
    let back: Vec<&FoldedMark> = on(folded, Side::Back).collect();
    let limit = (MARKED_END * width).min(length / 2.0);
    let (front, rear) = marks::reach(&back, (bounds.x0, bounds.x1), limit);
    let long = |reach: f64| {
        let past = if reach > 0.0 { PAST_MARK * width } else { 0.0 };
        end.max((reach + past).min(length / 2.0))
    };
    Some([
        (bounds.x0, bounds.x0 + long(front)),
        (bounds.x1 - long(rear), bounds.x1),
    ])
}

/// The marks on one side.
fn on(folded: &Folded, side: Side) -> impl Iterator<Item = &FoldedMark> {
    folded.marks.iter().filter(move |mark| mark.side == side)
}

/// The largest of [`SCALES`] at which `length` fits into `room`.
pub(super) fn scale_for(length: f64, room: f64) -> f64 {
    let fitting = SCALES.into_iter().find(|n| length / n <= room);
    1.0 / fitting.unwrap_or_else(|| (length / room).ceil())
}

/// The sheet while it is filled from the top. Until its height is known the top is at `y` = 0.
struct Page<'a> {
    folded: &'a Folded,
    layers: Vec<Layer>,
    cloths: Vec<Arc<str>>,
    groups: Vec<Group>,
    width: f64,
    /// Down from the upper edge to the end of what is drawn, mm.
    depth: f64,
}

impl Page<'_> {
    /// Adds stretches of one side of the article beside each other, below a caption, with its marks and
    /// the names of those that are `named` here.
    fn row(
        &mut self,
        name: &str,
        caption: &str,
        side: Side,
        stretches: &[(f64, f64)],
        scale: f64,
        is_named: &dyn Fn(&FoldedMark) -> bool,
    ) {
        self.depth += SPACING + CAPITAL;
        let words = Point::new(MARGIN, -self.depth);
        let mut items = vec![label(caption, words, Align::Start, CAPITAL)];
        let bounds = self.folded.outline.bounds();
        self.depth += CAPITAL + bounds.height() * scale;
        let mut left = MARGIN;
        let mut names: Vec<Named> = Vec::new();
        for &(from, to) in stretches {
            // The reflected article spans −y1 to −y0.
            let lowest = match side {
                Side::Face => bounds.y0,
                Side::Back => -bounds.y1,
            };
            let view = View {
                scale,
                face: side == Side::Face,
                stretch: (from, to),
                origin: Vec2::new(left - from * scale, -self.depth - lowest * scale),
            };
            items.extend(view.items(&self.folded.outline, &self.layers, &self.cloths));
            for mark in on(self.folded, side) {
                let to_sheet = |p| view.to_sheet(p);
                items.extend(marks::drawn(mark, bounds.height(), view.stretch, &to_sheet));
                let new = !names
                    .iter()
                    .any(|known| *known.name == *marks::name_of(mark));
                if new && is_named(mark) && marks::is_within(mark, view.stretch) {
                    names.push(marks::named(mark, bounds.height(), &to_sheet));
                }
            }
            left += (to - from) * scale + SPACING;
        }
        self.width = self.width.max(left - SPACING + MARGIN);
        if !names.is_empty() {
            let (words, down, right) = marks::names(names, MARGIN, -self.depth);
            items.extend(words);
            self.depth += down;
            self.width = self.width.max(right + MARGIN);
        }
        self.groups.push(furniture(name, items));
    }

    /// Adds what the greys stand for: a line for each cloth.
    fn key(&mut self) {
        self.depth += SPACING - CAPITAL * LEADING + CAPITAL;
        let mut items = Vec::new();
        for (index, cloth) in self.cloths.iter().enumerate() {
            self.depth += CAPITAL * LEADING;
            let mut left = MARGIN;
            for right_side in [true, false] {
                let corner = Point::new(left, -self.depth);
                let mark = Mark::Fill(patch(corner), grey(index, right_side));
                items.push(Item {
                    mark,
                    span: Span::default(),
                });
                left += PATCH.0 + PATCH_GAP;
            }
            let words = format!("{cloth}: right side, wrong side");
            self.width = self
                .width
                .max(left + super::text_width(&words, CAPITAL) + MARGIN);
            let at = Point::new(left, -self.depth);
            items.push(label(words, at, Align::Start, CAPITAL));
        }
        self.groups.push(furniture("key", items));
    }

    fn into_sheet(mut self, title: String, facts: Vec<Fact>) -> Sheet {
        let height = self.depth + MARGIN;
        for group in &mut self.groups {
            group.offset = Vec2::new(0.0, height);
        }
        Sheet {
            title: title.into(),
            facts,
            width: self.width,
            height,
            groups: self.groups,
        }
    }
}

fn patch(corner: Point) -> Vec<Point> {
    let (width, height) = PATCH;
    [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)]
        .map(|(x, y)| corner + Vec2::new(x, y))
        .to_vec()
}

pub(super) fn furniture(name: &str, items: Vec<Item>) -> Group {
    Group {
        name: Arc::from(name),
        is_piece: false,
        facts: Vec::new(),
        offset: Vec2::ZERO,
        items,
    }
}

/// The cloths in the order they are laid.
pub(crate) fn cloths_of(layers: &[Layer]) -> Vec<Arc<str>> {
    let mut cloths: Vec<Arc<str>> = Vec::new();
    for layer in layers {
        if !cloths.contains(&layer.cloth) {
            cloths.push(layer.cloth.clone());
        }
    }
    cloths
}

/// The grey of one side of the cloth of that number.
fn grey(index: usize, right_side: bool) -> f64 {
    let right = GREYS.get(index % GREYS.len()).copied().unwrap_or(0.6);
    if right_side {
        right
    } else {
        right + (1.0 - right) * PALER
    }
}

/// How a stretch of one side of the article is drawn.
pub(crate) struct View {
    /// Picture millimetres to a millimetre of the draft.
    pub scale: f64,
    /// Whether the face is up; else the article is turned over its long axis.
    pub face: bool,
    /// From and to, along the article.
    pub stretch: (f64, f64),
    /// Added after scaling.
    pub origin: Vec2,
}

impl View {
    fn to_sheet(&self, p: Point) -> Point {
        let y = if self.face { p.y } else { -p.y };
        Point::new(p.x * self.scale, y * self.scale) + self.origin
    }

    /// The layers from the table upwards, then the outline where all of it is shown.
    pub fn items(&self, outline: &Ring, layers: &[Layer], cloths: &[Arc<str>]) -> Vec<Item> {
        let mut items = Vec::new();
        let bounds = outline.bounds();
        let is_whole = self.stretch == (bounds.x0, bounds.x1);
        let mut paint = |layer: &Layer| {
            let grey = self.grey(layer, cloths);
            let shown = if is_whole {
                layer.outline.clone()
            } else {
                clipped(&layer.outline, self.stretch)
            };
            if shown.len() > 2 {
                let corners = shown.into_iter().map(|p| self.to_sheet(p)).collect();
                items.push(Item {
                    mark: Mark::Fill(corners, grey),
                    span: Span::default(),
                });
            }
        };
        // Layers are listed as they lie with the face down; seen from the face, the first is on top.
        if self.face {
            layers.iter().rev().for_each(&mut paint);
        } else {
            layers.iter().for_each(&mut paint);
        }
        if is_whole {
            items.extend(self.outline(outline));
        }
        items
    }

    fn grey(&self, layer: &Layer, cloths: &[Arc<str>]) -> f64 {
        let index = cloths.iter().position(|c| *c == layer.cloth).unwrap_or(0);
        // `right_side_up` is said of the article lying face down.
        grey(index, layer.right_side_up != self.face)
    }

    fn outline<'a>(&self, ring: &'a Ring) -> impl Iterator<Item = Item> + use<'a> {
        let (s, o) = (self.scale, self.origin);
        let affine = Affine::new([s, 0.0, 0.0, if self.face { s } else { -s }, o.x, o.y]);
        ring.edges().iter().map(move |edge| {
            let mark = Mark::Rule(edge.curve.transformed(affine));
            Item {
                mark,
                span: Span::default(),
            }
        })
    }
}

/// The part of a polygon between two stations along the article, one half plane after the other
/// (I. E. Sutherland and G. W. Hodgman, "Reentrant polygon clipping", CACM 17 (1974)).
pub(crate) fn clipped(polygon: &[Point], (from, to): (f64, f64)) -> Vec<Point> {
    let right_of = |x: f64, sign: f64, corners: &[Point]| {
        let mut kept = Vec::with_capacity(corners.len() + 2);
        for (&a, &b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            let (at_a, at_b) = (sign * (a.x - x), sign * (b.x - x));
            if at_a >= 0.0 {
                kept.push(a);
            }
            if (at_a < 0.0) != (at_b < 0.0) {
                kept.push(a.lerp(b, at_a / (at_a - at_b)));
            }
        }
        kept
    };
    right_of(to, -1.0, &right_of(from, 1.0, polygon))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_polygon_is_cut_at_both_stations() {
        let square = patch(Point::ZERO);
        let (width, height) = PATCH;
        let middle = clipped(&square, (2.0, 5.0));
        assert_eq!(middle.len(), 4);
        assert!(middle.iter().all(|p| p.x == 2.0 || p.x == 5.0));
        assert!(middle.iter().all(|p| p.y == 0.0 || p.y == height));
        assert_eq!(clipped(&square, (-1.0, width + 1.0)), square);
        assert!(clipped(&square, (width + 1.0, width + 2.0)).is_empty());
    }

    #[test]
    fn the_scale_is_the_largest_that_fits() {
        assert_eq!(scale_for(100.0, 390.0), 1.0);
        assert_eq!(scale_for(1447.8, 390.0), 0.25);
        assert_eq!(scale_for(39_000.0, 390.0), 0.01);
    }
}
