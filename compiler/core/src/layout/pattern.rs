//! The pattern sheet: every piece once at full size, under a title block.

use std::sync::Arc;

use tiewright_geometry::{Point, Vec2};

use super::furniture::{Column, cutting_list, key, test_square, title};
use super::pack::pack;
use super::piece::{PlacedPiece, place_piece};
use super::{MARGIN, SPACING, frame};
use crate::draft::Draft;
use crate::sheet::{Fact, Group, Sheet};

/// Between the frame of the title block and what is in it, mm.
const PADDING: f64 = 6.0;
/// How much wider than high a sheet of small pieces gets to be, as area of a square sheet.
const SPREAD: f64 = 2.0;

/// Lays out `draft`: each piece once at 1:1 with its centre line level, in rows, under a block
/// with the title, what to cut, the key to the lines and a test square. Coordinates in mm.
pub fn pattern_sheet(draft: &Draft) -> Sheet {
    let placed: Vec<PlacedPiece> = draft.pieces.iter().map(|p| place_piece(draft, p)).collect();
    let sizes: Vec<(f64, f64)> = placed
        .iter()
        .map(|p| (p.footprint.width(), p.footprint.height()))
        .collect();
    let mut groups: Vec<Group> = placed.iter().map(|p| p.group.clone()).collect();
    let columns = vec![
        title(draft),
        cutting_list(draft),
        key(&groups),
        test_square(),
    ];
    let header = Header::of(&columns);
    let longest = sizes.iter().map(|s| s.0).fold(header.width, f64::max);
    let area: f64 = sizes
        .iter()
        .map(|s| (s.0 + SPACING) * (s.1 + SPACING))
        .sum();
    let packing = pack(&sizes, longest.max((area * SPREAD).sqrt()));

    for ((group, piece), corner) in groups.iter_mut().zip(&placed).zip(&packing.corners) {
        group.offset = *corner - piece.footprint.origin() + Vec2::new(MARGIN, MARGIN);
    }
    let width = packing.width.max(header.width) + 2.0 * MARGIN;
    let gap = if placed.is_empty() { 0.0 } else { SPACING };
    let top = MARGIN + packing.height + gap + header.height;
    groups.extend(header.groups(columns, top));
    Sheet {
        title: draft.title().into(),
        facts: facts_of(draft, draft.size.as_deref()),
        width,
        height: top + MARGIN,
        groups,
    }
}

/// Named facts about the draft as a whole; `size` is what it shows, none for all.
pub(super) fn facts_of(draft: &Draft, size: Option<&str>) -> Vec<Fact> {
    let mut facts: Vec<Fact> = vec![("style".into(), draft.style.to_string())];
    if let Some(size) = size {
        facts.push(("size".into(), size.to_string()));
    }
    facts.push(("units".into(), "mm".to_owned()));
    if !draft.doc.is_empty() {
        facts.push(("doc".into(), draft.doc.to_string()));
    }
    facts
}

/// The block above the pieces.
struct Header {
    width: f64,
    height: f64,
}

impl Header {
    fn of(columns: &[Column]) -> Self {
        let widths: f64 = columns.iter().map(|c| c.width).sum();
        let gaps = columns.len().saturating_sub(1) as f64 * SPACING;
        let tallest = columns.iter().map(|c| c.height).fold(0.0, f64::max);
        Header {
            width: widths + gaps + 2.0 * PADDING,
            height: tallest + 2.0 * PADDING,
        }
    }

    /// The columns side by side in a frame whose upper edge is at `top`.
    fn groups(&self, columns: Vec<Column>, top: f64) -> Vec<Group> {
        let low = Point::new(MARGIN, top - self.height);
        let high = Point::new(MARGIN + self.width, top);
        let mut groups = vec![Group {
            name: Arc::from("frame"),
            is_piece: false,
            facts: Vec::new(),
            offset: Vec2::ZERO,
            items: frame(low, high).into_iter().collect(),
        }];
        let mut left = MARGIN + PADDING;
        for column in columns {
            let corner = Point::new(left, top - PADDING);
            left += column.width + SPACING;
            groups.push(column.into_group(corner));
        }
        groups
    }
}
