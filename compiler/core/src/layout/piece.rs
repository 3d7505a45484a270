//! One piece as a group of a sheet: its lines and marks as drafted, and the words on it.

use tiewright_geometry::{Curve, Edge, Place, Point, Rect, Ring};

use super::field::{Block, Field};
use super::labels::{Writer, piece_labels};
use crate::draft::{Draft, Notch, Piece, mirrored_from};
use crate::sheet::{Fact, Group, Item, Mark};
use crate::source::Span;

/// Edges of the net outline nearer than this to the cut outline are on it, mm: half of what a
/// draughtsman's pencil covers.
const ON_LINE: f64 = 0.05;
/// Side of the square kept clear round a drill hole, mm.
const DRILL_ROOM: f64 = 5.0;

/// A piece ready to be laid on a sheet.
#[derive(Debug, Clone)]
pub(super) struct PlacedPiece {
    /// The group, not yet moved.
    pub group: Group,
    /// Everything drawn lies in here, in the draft frame.
    pub footprint: Rect,
}

/// Draws `piece` of `draft` in the draft frame.
pub(super) fn place_piece(draft: &Draft, piece: &Piece) -> PlacedPiece {
    let mut items = lines_of(piece);
    let mut field = field_of(piece, &items);
    let bounds = piece.cut.bounds();
    let mut writer = Writer {
        field: &mut field,
        bounds,
        footprint: bounds,
        items: Vec::new(),
    };
    for text in &piece.texts {
        writer.declared(&text.text, text.at, text.angle, text.span);
    }
    for line in piece.place.iter().filter(|line| !line.name.is_empty()) {
        let name = mirrored_from(&line.name).unwrap_or(&line.name);
        let name = name.replace('-', " ");
        writer.beside(&name, line.curve.bounds(), line.span);
    }
    let cut = cut_line(piece);
    writer.anywhere(&piece_labels(&piece.name, &cut, &draft.title(), piece.span));
    let footprint = writer.footprint;
    items.append(&mut writer.items);
    let group = Group {
        name: piece.name.clone(),
        is_piece: true,
        facts: facts_of(piece),
        offset: tiewright_geometry::Vec2::ZERO,
        items,
    };
    PlacedPiece { group, footprint }
}

/// `cut 2, shell`.
fn cut_line(piece: &Piece) -> String {
    format!("cut {}, {}", piece.quantity, piece.cloth)
}

fn facts_of(piece: &Piece) -> Vec<Fact> {
    let mut facts: Vec<Fact> = vec![
        ("quantity".into(), piece.quantity.to_string()),
        ("cloth".into(), piece.cloth.to_string()),
    ];
    if !piece.doc.is_empty() {
        facts.push(("doc".into(), piece.doc.to_string()));
    }
    facts
}

/// Every line and mark of the piece, the outline first.
fn lines_of(piece: &Piece) -> Vec<Item> {
    let mut items = vec![Item {
        mark: Mark::Cut(piece.cut.clone()),
        span: piece.span,
    }];
    let seams = piece.net.edges().iter().filter(|edge| is_seam(piece, edge));
    items.extend(seams.map(|e| item(Mark::Net(e.curve.clone()), piece.span)));
    items.extend(
        piece
            .sew
            .iter()
            .map(|l| item(Mark::Sew(l.curve.clone()), l.span)),
    );
    items.extend(
        piece
            .fold
            .iter()
            .map(|l| item(Mark::Fold(l.curve.clone()), l.span)),
    );
    items.extend(
        piece
            .place
            .iter()
            .map(|l| item(Mark::Place(l.curve.clone()), l.span)),
    );
    items.extend(piece.notches.iter().map(|n| item(notch(n), n.span)));
    items.extend(piece.drills.iter().map(|d| item(Mark::Drill(d.at), d.span)));
    let grain = Mark::Grain {
        from: piece.grain.from,
        to: piece.grain.to,
    };
    items.push(item(grain, piece.span));
    items
}

fn item(mark: Mark, span: Span) -> Item {
    Item { mark, span }
}

fn notch(notch: &Notch) -> Mark {
    let Notch {
        kind,
        at,
        inward,
        depth,
        width,
        ..
    } = *notch;
    Mark::Notch {
        kind,
        at,
        inward,
        depth,
        width,
    }
}

/// Whether `edge` of the net outline lies inside the cut outline and no declared line shows it.
fn is_seam(piece: &Piece, edge: &Edge) -> bool {
    if piece.cut.edges().iter().any(|cut| cut.curve == edge.curve) {
        return false;
    }
    let curve = &edge.curve;
    let Some(middle) = middle(curve) else {
        return false;
    };
    piece.cut.signed_distance(middle).abs() > ON_LINE
        && !piece
            .sew
            .iter()
            .any(|line| line.curve.nearest(middle).1 <= ON_LINE)
}

fn middle(curve: &Curve) -> Option<Point> {
    let seg = curve.segments().len() / 2;
    let t = if curve.segments().len() % 2 == 1 {
        0.5
    } else {
        0.0
    };
    (seg < curve.segments().len()).then(|| curve.eval(Place { seg, t }))
}

/// The piece's room for words.
fn field_of(piece: &Piece, items: &[Item]) -> Field {
    let mut field = Field::new(&piece.cut);
    for Item { mark, .. } in items {
        match mark {
            Mark::Net(c) | Mark::Sew(c) | Mark::Fold(c) | Mark::Place(c) => field.add_curve(c),
            Mark::Grain { from, to } => field.add_line(*from, *to),
            Mark::Notch {
                at, inward, depth, ..
            } => field.add_line(*at, *at + *inward * *depth),
            Mark::Drill(at) => field.add_block(&Block::level(*at, DRILL_ROOM, DRILL_ROOM)),
            _ => {}
        }
    }
    field
}

/// An outline of straight edges, for samples in the key.
pub(super) fn sample_ring(corners: &[Point]) -> Option<Ring> {
    let next = corners.iter().cycle().skip(1);
    let edges: Result<Vec<Edge>, _> = corners
        .iter()
        .zip(next)
        .map(|(&a, &b)| {
            Curve::line(a, b).map(|curve| Edge {
                name: "sample".into(),
                curve,
            })
        })
        .collect();
    Ring::from_edges(edges.ok()?).ok()
}
