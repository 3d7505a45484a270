//! The cutting ticket: what to cut for one article, from which cloth, and how much of it that is.

use tiewright_geometry::Rect;

use super::picture::{Canvas, View};
use super::{Align, Block, Cell, Paper, Table, column, facts, lengths, tools};
use crate::cloth::Property;
use crate::draft::{Cloth, Draft, Grain, Piece, Tool};
use crate::format::{PAPER_ROUNDING, decimal, paper_area};
use crate::sheet::{Mark, Sheet};

/// Width and height a small picture of a piece keeps within, mm.
const SMALL: (f64, f64) = (29.0, 14.0);
/// Length of the grain arrow in a small picture, mm: its head is plain to see.
const ARROW: f64 = 12.0;

/// The ticket of `draft`.
pub(super) fn ticket(draft: &Draft) -> Paper {
    let blocks = vec![
        facts(&["order", "how many", "cut by", "date"]),
        tools::caution(Tool::Blade).into(),
        Block::Heading("Pieces of one".to_owned()),
        Block::Table(pieces(draft)),
        Block::Paragraph(format!(
            "Pictures are not to one scale. The arrow is the warp, the grain its angle to the length \
             of the piece. Length, width and area are of the line to cut, over all. {PAPER_ROUNDING} Areas are rounded to 0.1 cm²."
        )),
        Block::Heading("Cloth in the pieces of one; a marker needs more".to_owned()),
        Block::Table(cloths(draft)),
    ];
    Paper {
        title: "Cutting ticket".to_owned(),
        blocks,
    }
}

fn pieces(draft: &Draft) -> Table {
    Table {
        name: "what to cut".to_owned(),
        columns: vec![
            column("", Align::Middle, 33.0),
            column("piece", Align::Start, 37.0),
            column("cut", Align::Middle, 10.5),
            column("cloth", Align::Start, 25.0),
            column("long", Align::End, 25.0),
            column("wide", Align::End, 24.0),
            column("area, grain", Align::End, 25.5),
        ],
        rows: draft.pieces.iter().map(|piece| row(draft, piece)).collect(),
    }
}

fn row(draft: &Draft, piece: &Piece) -> Vec<Cell> {
    let bounds = piece.cut.bounds();
    let named = |name: &str, note: &str| Cell::Named {
        name: name.to_owned(),
        note: note.to_owned(),
    };
    vec![
        Cell::Picture(small_picture(piece)),
        named(&piece.name, &piece.doc),
        named(&piece.quantity.to_string(), ""),
        Cell::Words(cut_from(draft, piece)),
        lengths(bounds.width()),
        lengths(bounds.height()),
        Cell::Words(format!(
            "{}\n{} deg",
            paper_area(piece.area),
            grain_angle(piece.grain)
        )),
    ]
}

/// The role of the piece's cloth, and the cloth if the style names one.
fn cut_from(draft: &Draft, piece: &Piece) -> String {
    let cloth = draft.cloths.iter().find(|cloth| cloth.role == piece.cloth);
    match cloth.and_then(|cloth| cloth.name.as_ref()) {
        Some(name) => format!("{}\n{name}", piece.cloth),
        None => piece.cloth.to_string(),
    }
}

/// The angle of the warp to the length of the piece, whole degrees and halves, from 0 to 180: an
/// arrow one way and the other are the same warp.
fn grain_angle(grain: Grain) -> String {
    let along = grain.to - grain.from;
    let degrees = libm::atan2(along.y, along.x).to_degrees();
    decimal(degrees.rem_euclid(180.0), 1)
}

/// The piece as it is drafted, as large as fits, with its warp through its middle.
fn small_picture(piece: &Piece) -> Sheet {
    let bounds = piece.cut.bounds();
    let scale = (SMALL.0 / bounds.width()).min(SMALL.1 / bounds.height());
    let view = View {
        scale,
        turned: false,
    };
    let cut = view.ring(&piece.cut);
    let mut canvas = Canvas::default();
    let room = cut.bounds();
    canvas.put(Mark::Cut(cut), room);
    let Grain { from, to } = piece.grain;
    let (middle, along) = (view.point(from.midpoint(to)), to - from);
    let length = along.hypot2().sqrt();
    if length > 0.0 {
        let half = along * (ARROW / 2.0 / length);
        let (from, to) = (middle - half, middle + half);
        canvas.put(Mark::Grain { from, to }, Rect::from_points(from, to));
    }
    canvas.into_sheet(&format!("piece-{}", piece.name), &piece.name)
}

/// What each role is cut from. What the style does not say is left to be written in.
fn cloths(draft: &Draft) -> Table {
    Table {
        name: "cloth by role".to_owned(),
        columns: vec![
            column("for", Align::Start, 28.0),
            column("cloth", Align::Start, 60.0),
            column("direction", Align::Start, 24.0),
            column("width", Align::End, 25.0),
            column("pieces", Align::End, 18.0),
            column("area", Align::End, 25.0),
        ],
        rows: draft
            .cloths
            .iter()
            .map(|cloth| cloth_row(draft, cloth))
            .collect(),
    }
}

/// What a cloth is, and how much its pieces were drafted to give.
fn note(cloth: &Cloth) -> String {
    let gives = cloth
        .properties
        .get(Property::Give)
        .filter(|give| *give > 0.0);
    let gives = gives.map(|give| format!("gives {} %", decimal(give * 100.0, 2)));
    let doc = (!cloth.doc.is_empty()).then(|| cloth.doc.to_string());
    let said: Vec<String> = doc.into_iter().chain(gives).collect();
    said.join(", ")
}

fn cloth_row(draft: &Draft, cloth: &Cloth) -> Vec<Cell> {
    let of_it = || {
        draft
            .pieces
            .iter()
            .filter(|piece| piece.cloth == cloth.role)
    };
    let count: u64 = of_it().map(|piece| u64::from(piece.quantity)).sum();
    let area: f64 = of_it()
        .map(|piece| f64::from(piece.quantity) * piece.area)
        .sum();
    let (name, direction) = match &cloth.name {
        Some(name) => (
            Cell::Named {
                name: name.to_string(),
                note: note(cloth),
            },
            Cell::Words(cloth.properties.direction().as_str().to_owned()),
        ),
        None => (Cell::Blank, Cell::Blank),
    };
    let width = cloth.properties.get(Property::UsableWidth);
    vec![
        Cell::Words(cloth.role.to_string()),
        name,
        direction,
        width.map_or(Cell::Blank, lengths),
        Cell::Words(count.to_string()),
        Cell::Words(paper_area(area)),
    ]
}
