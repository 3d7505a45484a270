//! The nested sheet: every piece of a style in all its sizes, one outline over the other.
//!
//! Input are the drafts of one style, output is a picture, each piece scaled down to fit. The outlines of a piece
//! are laid so that they start at one place on the centre. Nothing is cut from it.

use std::sync::Arc;

use tiewright_geometry::{Affine, Curve, Point, Rect, Ring, Vec2};

use super::folded::{furniture, scale_for};
use super::pattern::facts_of;
use super::tags::{Line, distance, tags};
use super::text::{fitted, text_width};
use super::{CAPITAL, LEADING, MARGIN, NAME_CAPITAL, SPACING, label};
use crate::draft::{Draft, Piece};
use crate::format::decimal;
use crate::sheet::{Align, Fact, Group, Item, Mark, Pen, Sheet};
use crate::source::Span;

/// The widest the picture gets to be, mm: the long side of an A3 sheet.
const WIDEST: f64 = 420.0;
/// The tallest a piece gets to be, mm, so that small ones are no larger than long ones.
const TALLEST: f64 = 120.0;
/// Millimetres on the picture. Outlines that stray from each other by less are drawn as one: their
/// lines, which are as wide, would hide each other.
const SAME: f64 = 0.3;
/// Millimetres on the picture. How far the straight lines that outlines are compared by may be off
/// them.
const COMPARED: f64 = 0.05;
/// Dashes of the first, second, third … size, mm; an empty one is a full line.
const DASHES: [&[f64]; 4] = [&[], &[6.0, 1.5], &[2.0, 1.2], &[7.0, 1.2, 1.0, 1.2]];
/// Greys of the first four sizes, of the next four, and so on.
const GREYS: [f64; 3] = [0.0, 0.45, 0.25];
/// Widths of the lines of the first twelve sizes, of the next twelve, and so on, mm.
const WIDTHS: [f64; 3] = [0.3, 0.55, 0.8];
/// Length of a sample in the key, mm: two periods of the longest dash.
const SAMPLE: f64 = 22.0;
/// From a sample to its word, mm.
const SAMPLE_GAP: f64 = 3.0;
/// The most sizes nested: so many lines can be told from each other.
pub const MOST_SIZES: usize = DASHES.len() * GREYS.len() * WIDTHS.len();
/// The widest a name in the key may be, mm.
const NAME: f64 = 80.0;

/// The outlines of every piece of `drafts` nested, one piece below the other, with a key to the
/// sizes; `None` without drafts. All must be of one style.
pub fn nested_sheet(drafts: &[&Draft]) -> Option<Sheet> {
    let first = *drafts.first()?;
    let title = format!("{}, sizes nested", first.style);
    let mut page = Page {
        groups: Vec::new(),
        width: 0.0,
        depth: MARGIN + NAME_CAPITAL,
    };
    page.words("title", &title, NAME_CAPITAL);
    if !first.doc.is_empty() {
        page.depth += CAPITAL * LEADING;
        page.words("doc", &first.doc, CAPITAL);
    }
    for name in piece_names(drafts) {
        if let Some(stack) = Stack::of(&name, drafts) {
            page.stack(&stack, drafts);
        }
    }
    page.key(drafts);
    Some(page.into_sheet(title, facts_of(first, None)))
}

/// What a draft is called in the key.
fn name_of(draft: &Draft) -> Arc<str> {
    draft.size.clone().unwrap_or_else(|| draft.style.clone())
}

/// The line of the size of that number.
fn pen(index: usize) -> Pen {
    let (dashes, greys) = (DASHES.len(), GREYS.len());
    let of = |list: &[f64], at: usize| list.get(at % list.len()).copied().unwrap_or_default();
    Pen {
        width: of(&WIDTHS, index / (dashes * greys)),
        grey: of(&GREYS, index / dashes),
        dashes: DASHES.get(index % dashes).copied().unwrap_or_default(),
    }
}

/// One piece in all sizes that have it.
struct Stack<'d> {
    piece: &'d Piece,
    scale: f64,
    /// The different outlines, scaled and moved to start at one place, each with the numbers of the
    /// sizes it is of.
    outlines: Vec<(Ring, Vec<usize>)>,
}

impl<'d> Stack<'d> {
    fn of(name: &str, drafts: &[&'d Draft]) -> Option<Self> {
        let own = |draft: &&'d Draft| draft.pieces.iter().find(|piece| *piece.name == *name);
        let pieces: Vec<(usize, &Piece)> = drafts
            .iter()
            .enumerate()
            .filter_map(|(size, draft)| Some((size, own(draft)?)))
            .collect();
        let bounds = pieces.iter().map(|(_, piece)| piece.cut.bounds().size());
        let (width, height) = bounds.fold((0.0, 0.0), |(width, height): (f64, f64), size| {
            (width.max(size.width), height.max(size.height))
        });
        let scale = scale_for(width, WIDEST - 2.0 * MARGIN).min(scale_for(height, TALLEST));
        let mut outlines: Vec<(Ring, Vec<usize>)> = Vec::new();
        for (size, piece) in &pieces {
            let ring = at_start(&piece.cut.transformed(Affine::scale(scale)));
            match outlines.iter_mut().find(|(known, _)| same(known, &ring)) {
                Some((_, sizes)) => sizes.push(*size),
                None => outlines.push((ring, vec![*size])),
            }
        }
        let (_, piece) = *pieces.first()?;
        Some(Stack {
            piece,
            scale,
            outlines,
        })
    }

    fn bounds(&self) -> Rect {
        let bounds = self.outlines.iter().map(|(ring, _)| ring.bounds());
        bounds.reduce(|a, b| a.union(b)).unwrap_or_default()
    }

    /// The sizes of an outline in words.
    fn words(&self, sizes: &[usize], drafts: &[&Draft]) -> String {
        if self.outlines.len() == 1 {
            return "all sizes".to_owned();
        }
        let names = sizes.iter().filter_map(|size| drafts.get(*size));
        let names: Vec<String> = names.map(|draft| name_of(draft).to_string()).collect();
        match names.as_slice() {
            [first, _, _, ..] => format!("{first} and {} more", names.len() - 1),
            few => few.join(", "),
        }
    }
}

/// The names of the pieces of all drafts, in the order in which they first come up.
fn piece_names(drafts: &[&Draft]) -> Vec<Arc<str>> {
    let mut names: Vec<Arc<str>> = Vec::new();
    for piece in drafts.iter().flat_map(|draft| &draft.pieces) {
        if !names.contains(&piece.name) {
            names.push(piece.name.clone());
        }
    }
    names
}

/// Whether two outlines are one to the eye.
fn same(a: &Ring, b: &Ring) -> bool {
    let (a, b) = (a.flatten(COMPARED), b.flatten(COMPARED));
    let on = |a: &[Point], b: &[Point]| a.iter().all(|p| distance(*p, b) < SAME);
    on(&a, &b) && on(&b, &a)
}

/// The outline moved along the centre until it starts at 0: where it first meets the centre, or
/// where it does not, its first point.
fn at_start(ring: &Ring) -> Ring {
    let corners = ring.flatten(COMPARED);
    let next = corners.iter().cycle().skip(1);
    let meets = corners.iter().zip(next).filter_map(|(a, b)| {
        let crosses = (a.y <= 0.0) != (b.y <= 0.0);
        crosses.then(|| a.lerp(*b, a.y / (a.y - b.y)).x)
    });
    let start = meets.reduce(f64::min).unwrap_or(ring.bounds().x0);
    ring.transformed(Affine::translate((-start, 0.0)))
}

/// The sheet while it is filled from the top. Until its height is known the top is at `y` = 0.
struct Page {
    groups: Vec<Group>,
    width: f64,
    /// Down from the upper edge to the end of what is drawn, mm.
    depth: f64,
}

impl Page {
    /// A line of words at the depth reached.
    fn words(&mut self, name: &str, text: &str, height: f64) {
        let text = fitted(text, height, WIDEST - 2.0 * MARGIN);
        let wide = MARGIN + text_width(&text, height);
        self.width = self.width.max(wide);
        let at = Point::new(MARGIN, -self.depth);
        let words = label(text, at, Align::Start, height);
        self.groups.push(furniture(name, vec![words]));
    }

    /// A piece in all sizes below its name.
    fn stack(&mut self, stack: &Stack<'_>, drafts: &[&Draft]) {
        let piece = stack.piece;
        self.depth += SPACING + CAPITAL;
        let scale = decimal(1.0 / stack.scale, 2);
        let caption = format!("{}, {}, 1:{scale}", piece.name, piece.cloth);
        let at = Point::new(MARGIN, -self.depth);
        let mut items = vec![label(caption, at, Align::Start, CAPITAL)];
        let bounds = stack.bounds();
        self.depth += CAPITAL;
        let below = -self.depth;
        self.depth += CAPITAL;
        let origin = Vec2::new(MARGIN - bounds.x0, -self.depth - bounds.y1);
        let to_sheet = Affine::translate(origin);
        let mut lines = Vec::new();
        for (ring, sizes) in &stack.outlines {
            let ring = ring.transformed(to_sheet);
            lines.push(Line {
                points: ring.flatten(COMPARED),
                words: stack.words(sizes, drafts),
            });
            let pen = pen(sizes.first().copied().unwrap_or(0));
            items.extend(ring.edges().iter().map(|edge| Item {
                mark: Mark::Stroke(edge.curve.clone(), pen),
                span: piece.span,
            }));
        }
        let tags = tags(&lines, Point::new(MARGIN / 2.0, below));
        items.extend(tags.items);
        self.width = self.width.max(MARGIN + bounds.width());
        self.depth += bounds.height();
        if let Some(tagged) = tags.bounds {
            self.width = self.width.max(tagged.x1);
            self.depth = self.depth.max(-tagged.y0);
        }
        self.groups.push(furniture(&piece.name, items));
    }

    /// Which line is which size, in columns as wide as the widest name.
    fn key(&mut self, drafts: &[&Draft]) {
        let names: Vec<String> = drafts
            .iter()
            .map(|draft| fitted(&name_of(draft), CAPITAL, NAME))
            .collect();
        let widest = names
            .iter()
            .map(|name| text_width(name, CAPITAL))
            .fold(0.0, f64::max);
        let column = SAMPLE + SAMPLE_GAP + widest + SPACING;
        let room = (WIDEST - 2.0 * MARGIN + SPACING) / column;
        let columns = (room.floor() as usize).clamp(1, names.len().max(1));
        let rows = names.len().div_ceil(columns);
        self.depth += SPACING;
        let mut items = Vec::new();
        for (index, name) in names.into_iter().enumerate() {
            let left = MARGIN + (index / rows) as f64 * column;
            let baseline = -self.depth - (index % rows + 1) as f64 * CAPITAL * LEADING;
            items.extend(sample(left, baseline + CAPITAL / 2.0, pen(index)));
            let at = Point::new(left + SAMPLE + SAMPLE_GAP, baseline);
            self.width = self.width.max(at.x + widest);
            items.push(label(name, at, Align::Start, CAPITAL));
        }
        self.depth += rows as f64 * CAPITAL * LEADING;
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
            width: self.width + MARGIN,
            height,
            groups: self.groups,
        }
    }
}

/// A level stretch of a line.
fn sample(left: f64, y: f64, pen: Pen) -> Option<Item> {
    let curve = Curve::line(Point::new(left, y), Point::new(left + SAMPLE, y)).ok()?;
    Some(Item {
        mark: Mark::Stroke(curve, pen),
        span: Span::default(),
    })
}
