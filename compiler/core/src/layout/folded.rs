//! The folded sheet: the article as it lies on the table, face and back, layer over layer.
//!
//! A picture, not a pattern: it is scaled down to fit, and greys stand for the cloths.

use std::sync::Arc;

use tiewright_geometry::{Affine, Point, Ring, Vec2};

use super::pattern::facts_of;
use super::piece::style_line;
use super::text::decimal;
use super::{CAPITAL, MARGIN, NAME_CAPITAL, SPACING, label};
use crate::draft::{Draft, Folded, Layer};
use crate::sheet::{Align, Group, Item, Mark, Sheet};
use crate::source::Span;

/// The widest the picture gets to be, mm: the long side of an A3 sheet.
const WIDEST: f64 = 420.0;
/// Scales tried, the largest first, as 1 : n.
const SCALES: [f64; 8] = [2.0, 2.5, 3.0, 4.0, 5.0, 8.0, 10.0, 20.0];
/// Greys of the right side of the first, second, third … cloth; the wrong side is paler.
const GREYS: [f64; 5] = [0.62, 0.8, 0.48, 0.7, 0.55];
/// How far the wrong side is on the way from the right side's grey to white.
const PALER: f64 = 0.6;

/// The face and the back of the folded article, one above the other; `None` when the shape folds
/// nothing. The face is drawn as drafted; for the back the article is turned over its long axis.
pub fn folded_sheet(draft: &Draft) -> Option<Sheet> {
    let folded = draft.folded.as_ref()?;
    let bounds = folded.outline.bounds();
    let room = WIDEST - 2.0 * MARGIN;
    let fitting = SCALES.into_iter().find(|n| bounds.width() / n <= room);
    let scale = 1.0 / fitting.unwrap_or_else(|| (bounds.width() / room).ceil());
    let (width, height) = (bounds.width() * scale, bounds.height() * scale);
    let title_height = NAME_CAPITAL + SPACING / 2.0;
    let view = |face: bool, bottom: f64| View {
        scale,
        face,
        // The reflected article spans −y1 to −y0.
        origin: Vec2::new(MARGIN, bottom)
            - Vec2::new(bounds.x0, if face { bounds.y0 } else { -bounds.y1 }) * scale,
    };
    let step = height + CAPITAL * 2.0 + SPACING;
    let (back, face) = (view(false, MARGIN), view(true, MARGIN + step));
    let top = MARGIN + 2.0 * step + title_height;
    let layers = folded.layers();
    let cloths = cloths_of(&layers);
    let caption = |text: &str, bottom: f64| {
        let at = Point::new(MARGIN, bottom + height + CAPITAL);
        label(text, at, Align::Start, CAPITAL)
    };
    let title = format!(
        "{}, folded, 1:{}",
        style_line(draft),
        decimal(1.0 / scale, 2)
    );
    let heading = label(
        title.clone(),
        Point::new(MARGIN, top - NAME_CAPITAL),
        Align::Start,
        NAME_CAPITAL,
    );
    let words_width = super::text_width(&title, NAME_CAPITAL);
    let mut face_items = face.items(folded, &layers, &cloths);
    face_items.push(caption("face", MARGIN + step));
    let mut back_items = back.items(folded, &layers, &cloths);
    back_items.push(caption("back", MARGIN));
    Some(Sheet {
        title: title.into(),
        facts: facts_of(draft),
        width: width.max(words_width) + 2.0 * MARGIN,
        height: top + MARGIN,
        groups: vec![
            furniture("title", vec![heading]),
            furniture("face", face_items),
            furniture("back", back_items),
        ],
    })
}

fn furniture(name: &str, items: Vec<Item>) -> Group {
    Group {
        name: Arc::from(name),
        is_piece: false,
        facts: Vec::new(),
        offset: Vec2::ZERO,
        items,
    }
}

/// The cloths in the order they are laid.
fn cloths_of(layers: &[Layer]) -> Vec<Arc<str>> {
    let mut cloths: Vec<Arc<str>> = Vec::new();
    for layer in layers {
        if !cloths.contains(&layer.cloth) {
            cloths.push(layer.cloth.clone());
        }
    }
    cloths
}

/// How one side of the article is drawn.
struct View {
    scale: f64,
    face: bool,
    origin: Vec2,
}

impl View {
    fn to_sheet(&self, p: Point) -> Point {
        let y = if self.face { p.y } else { -p.y };
        Point::new(p.x * self.scale, y * self.scale) + self.origin
    }

    /// The layers from the table upwards, then the outline.
    fn items(&self, folded: &Folded, layers: &[Layer], cloths: &[Arc<str>]) -> Vec<Item> {
        let mut items = Vec::new();
        let mut paint = |layer: &Layer| {
            let grey = self.grey(layer, cloths);
            items.extend(layer.polygons.iter().map(|polygon| {
                let corners = polygon.iter().map(|&p| self.to_sheet(p)).collect();
                Item {
                    mark: Mark::Fill(corners, grey),
                    span: Span::default(),
                }
            }));
        };
        // Layers are listed as they lie with the face down; seen from the face, the first is on top.
        if self.face {
            layers.iter().rev().for_each(&mut paint);
        } else {
            layers.iter().for_each(&mut paint);
        }
        items.extend(self.outline(&folded.outline));
        items
    }

    fn grey(&self, layer: &Layer, cloths: &[Arc<str>]) -> f64 {
        let index = cloths.iter().position(|c| *c == layer.cloth).unwrap_or(0);
        let right = GREYS.get(index % GREYS.len()).copied().unwrap_or(0.6);
        // `right_side_up` is said of the article lying face down.
        if layer.right_side_up == self.face {
            right + (1.0 - right) * PALER
        } else {
            right
        }
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
