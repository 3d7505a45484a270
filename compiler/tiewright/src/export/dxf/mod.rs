//! Drawing exchange (DXF R12) for cutters and other pattern programs.
//!
//! Input is a pattern sheet; output is 7-bit text that follows the layers and structure of ASTM
//! D6673 as its published summaries give them: one block a piece with the piece's texts in it,
//! each inserted once, the style's texts beside them. Piece coordinates are the draft's, in mm;
//! the insertion puts each piece where it lies on the sheet. Furniture of the sheet is left out.
//! Curves become straight stretches within a tolerance; every other format keeps curves.
//!
//! | layer | what |
//! |---|---|
//! | 1 | cut outline (closed), texts with keys |
//! | 2, 3 | turn points and curve points of layers 1, 8 and 14 |
//! | 4, 80 | notches: slit and V, T; thickness (39) is the depth, angle (50) points into the piece |
//! | 7 | grain: one line along the warp |
//! | 8 | lines not cut: fold and place |
//! | 13 | drill holes |
//! | 14 | sew lines, seams at joins |
//! | 15 | annotation |

mod vertices;
mod writer;

use std::collections::BTreeSet;

use tiewright_core::draft::NotchKind;
use tiewright_core::layout::{CAPITAL, LEADING, decimal};
use tiewright_core::sheet::{Align, Fact, Group, Mark, Sheet, Words};
use tiewright_geometry::{Curve, Point, Rect, Vec2};

use vertices::{Vertex, open_vertices, ring_vertices};
use writer::Writer;

/// How far the straight stretches of an outline may be off the curve, mm, unless said otherwise:
/// a tenth of what a knife wanders.
pub const DEFAULT_TOLERANCE: f64 = 0.05;

/// The longest name of a block in R12, characters.
const LONGEST_NAME: usize = 31;
/// A first guess at the size of a file, bytes.
const CAPACITY: usize = 48 << 10;

const BOUNDARY: &str = "1";
const TURN_POINT: &str = "2";
const CURVE_POINT: &str = "3";
const NOTCH: &str = "4";
const GRAIN: &str = "7";
const INTERNAL: &str = "8";
const DRILL: &str = "13";
const SEW: &str = "14";
const ANNOTATION: &str = "15";
const T_NOTCH: &str = "80";

/// The pieces of `sheet` as a DXF file, curves within `tolerance` mm. The result is ASCII.
pub fn dxf(sheet: &Sheet, tolerance: f64) -> String {
    let mut out = Writer::with_capacity(CAPACITY);
    section(&mut out, "HEADER", |out| {
        out.pair("  9", "$ACADVER");
        out.pair("  1", "AC1009");
    });
    let pieces: Vec<&Group> = sheet.groups.iter().filter(|g| g.is_piece).collect();
    let names = block_names(&pieces);
    section(&mut out, "BLOCKS", |out| {
        for (piece, name) in pieces.iter().zip(&names) {
            block(out, sheet, piece, name, tolerance);
        }
    });
    section(&mut out, "ENTITIES", |out| {
        for (piece, name) in pieces.iter().zip(&names) {
            out.entity("INSERT", BOUNDARY);
            out.pair("  2", name);
            out.point(piece.offset.to_point());
        }
        style_texts(out, sheet);
    });
    out.pair("  0", "EOF");
    out.finish()
}

fn section(out: &mut Writer, name: &str, body: impl FnOnce(&mut Writer)) {
    out.pair("  0", "SECTION");
    out.pair("  2", name);
    body(out);
    out.pair("  0", "ENDSEC");
}

fn block(out: &mut Writer, sheet: &Sheet, piece: &Group, name: &str, tolerance: f64) {
    out.entity("BLOCK", BOUNDARY);
    out.pair("  2", name);
    out.pair(" 70", "0");
    out.point(Point::ZERO);
    out.pair("  3", name);
    for item in &piece.items {
        mark(out, &item.mark, tolerance);
    }
    piece_texts(out, sheet, piece);
    out.entity("ENDBLK", BOUNDARY);
}

fn mark(out: &mut Writer, mark: &Mark, tolerance: f64) {
    match mark {
        Mark::Cut(ring) => polyline(out, BOUNDARY, true, &ring_vertices(ring, tolerance)),
        Mark::Net(curve) | Mark::Sew(curve) => line(out, SEW, curve, tolerance),
        Mark::Fold(curve) | Mark::Place(curve) => line(out, INTERNAL, curve, tolerance),
        Mark::Grain { from, to } => {
            out.entity("LINE", GRAIN);
            out.point(*from);
            out.number(" 11", to.x);
            out.number(" 21", to.y);
        }
        Mark::Notch {
            kind,
            at,
            inward,
            depth,
            ..
        } => {
            let layer = if *kind == NotchKind::T {
                T_NOTCH
            } else {
                NOTCH
            };
            point(out, layer, *at);
            out.number(" 39", *depth);
            out.number(" 50", degrees(*inward));
        }
        Mark::Drill(at) => point(out, DRILL, *at),
        Mark::Text(words) => text(out, ANNOTATION, words),
        // The sheet's own words and lines have no place in an exchange file.
        Mark::Rule(_) | Mark::Fill(..) | Mark::Label(_) => {}
    }
}

fn line(out: &mut Writer, layer: &str, curve: &Curve, tolerance: f64) {
    polyline(out, layer, false, &open_vertices(curve, tolerance));
}

fn polyline(out: &mut Writer, layer: &str, closed: bool, vertices: &[Vertex]) {
    out.entity("POLYLINE", layer);
    out.pair(" 66", "1");
    out.point(Point::ZERO);
    out.pair(" 70", if closed { "1" } else { "0" });
    for vertex in vertices {
        out.entity("VERTEX", layer);
        out.point(vertex.at);
    }
    out.entity("SEQEND", layer);
    for vertex in vertices {
        point(
            out,
            if vertex.turn { TURN_POINT } else { CURVE_POINT },
            vertex.at,
        );
    }
}

fn point(out: &mut Writer, layer: &str, at: Point) {
    out.entity("POINT", layer);
    out.point(at);
}

fn text(out: &mut Writer, layer: &str, words: &Words) {
    out.entity("TEXT", layer);
    out.point(words.at);
    out.number(" 40", words.height);
    out.text("  1", &words.text);
    out.number(" 50", words.angle.to_degrees());
    if words.align == Align::Middle {
        out.pair(" 72", "1");
        out.number(" 11", words.at.x);
        out.number(" 21", words.at.y);
    }
}

/// From the x axis, 0 up to 360.
fn degrees(direction: Vec2) -> f64 {
    let angle = libm::atan2(direction.y, direction.x).to_degrees();
    if angle < 0.0 { angle + 360.0 } else { angle }
}

/// The texts with keys that belong to a piece, in rows about its middle.
fn piece_texts(out: &mut Writer, sheet: &Sheet, piece: &Group) {
    let size = fact(&sheet.facts, "size").unwrap_or("base");
    let mut rows = vec![
        format!("Piece Name: {}", piece.name),
        format!("Size: {size}"),
    ];
    for (key, name) in [
        ("Quantity", "quantity"),
        ("Material", "cloth"),
        ("Annotation", "doc"),
    ] {
        rows.extend(fact(&piece.facts, name).map(|value| format!("{key}: {value}")));
    }
    let bounds = bounds_of(piece);
    let rows_height = rows.len() as f64 * LEADING;
    let height = (bounds.height() / rows_height).min(CAPITAL);
    let top = bounds.center() + Vec2::new(0.0, rows_height * height / 2.0);
    write_rows(out, BOUNDARY, &rows, top, height);
    write_rows(
        out,
        ANNOTATION,
        &notch_notes(piece),
        top - Vec2::new(0.0, rows_height * height),
        height,
    );
}

/// What the point of a notch cannot say: one line for each kind and size.
fn notch_notes(piece: &Group) -> Vec<String> {
    let note = |mark: &Mark| {
        let Mark::Notch {
            kind, depth, width, ..
        } = mark
        else {
            return None;
        };
        let kind = match kind {
            NotchKind::Slit => return None,
            NotchKind::V => "V",
            NotchKind::T => "T",
        };
        let (depth, width) = (decimal(*depth, 3), decimal(*width, 3));
        Some(format!("Notch: {kind}, depth {depth}, width {width}"))
    };
    let notes: BTreeSet<String> = piece.items.iter().filter_map(|i| note(&i.mark)).collect();
    notes.into_iter().collect()
}

/// The texts with keys that belong to the style as a whole, below the sheet.
fn style_texts(out: &mut Writer, sheet: &Sheet) {
    let style = fact(&sheet.facts, "style").unwrap_or(&sheet.title);
    let mut rows = vec![format!("Style Name: {style}")];
    rows.extend(fact(&sheet.facts, "doc").map(|doc| format!("Style Description: {doc}")));
    rows.extend(fact(&sheet.facts, "size").map(|size| format!("Sample Size: {size}")));
    rows.push("Units: METRIC".to_owned());
    write_rows(out, BOUNDARY, &rows, Point::ZERO, CAPITAL);
}

fn write_rows(out: &mut Writer, layer: &str, rows: &[String], top: Point, height: f64) {
    for (row, line) in rows.iter().enumerate() {
        let down = (row as f64 * LEADING + 1.0) * height;
        let at = top - Vec2::new(0.0, down);
        let align = Align::Start;
        text(
            out,
            layer,
            &Words {
                text: line.as_str().into(),
                at,
                align,
                height,
                angle: 0.0,
            },
        );
    }
}

fn fact<'a>(facts: &'a [Fact], name: &str) -> Option<&'a str> {
    facts
        .iter()
        .find(|(key, _)| &**key == name)
        .map(|(_, value)| value.as_str())
}

fn bounds_of(piece: &Group) -> Rect {
    let cut = piece.items.iter().find_map(|item| match &item.mark {
        Mark::Cut(ring) => Some(ring.bounds()),
        _ => None,
    });
    cut.unwrap_or(Rect::ZERO)
}

/// A name for each block: letters, digits, `-` and `_`, unlike every other in any case.
fn block_names(pieces: &[&Group]) -> Vec<String> {
    let mut taken = BTreeSet::new();
    let mut names = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let plain = |c: char| {
            if c.is_ascii_alphanumeric() || c == '-' {
                c
            } else {
                '_'
            }
        };
        let stem: String = piece.name.chars().map(plain).take(LONGEST_NAME).collect();
        let mut name = stem.clone();
        let mut count = 2;
        while name.is_empty() || !taken.insert(name.to_ascii_uppercase()) {
            let tail = format!("_{count}");
            name = stem
                .chars()
                .take(LONGEST_NAME - tail.len())
                .collect::<String>()
                + &tail;
            count += 1;
        }
        names.push(name);
    }
    names
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{self, ALLOWANCE};
    use tiewright_core::layout::pattern_sheet;

    /// The file as an independent reader sees it.
    fn read(text: &str) -> ::dxf::Drawing {
        ::dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file")
    }

    fn layers(entities: &[::dxf::entities::Entity], layer: &str) -> usize {
        entities.iter().filter(|e| e.common.layer == layer).count()
    }

    #[test]
    fn one_block_a_piece_each_inserted_once() {
        let text = dxf(&pattern_sheet(&sample::draft()), DEFAULT_TOLERANCE);
        assert!(text.is_ascii());
        let drawing = read(&text);
        assert_eq!(drawing.header.version, ::dxf::enums::AcadVersion::R12);
        let blocks: Vec<&str> = drawing.blocks().map(|b| b.name.as_str()).collect();
        assert_eq!(blocks, ["blade", "loop"]);
        let inserts: Vec<String> = drawing
            .entities()
            .filter_map(|e| match &e.specific {
                ::dxf::entities::EntityType::Insert(insert) => Some(insert.name.clone()),
                _ => None,
            })
            .collect();
        assert_eq!(inserts, ["blade", "loop"]);
    }

    #[test]
    fn marks_are_on_their_layers() {
        let drawing = read(&dxf(&pattern_sheet(&sample::draft()), DEFAULT_TOLERANCE));
        let blade = drawing.blocks().next().expect("a block");
        let count = |layer| layers(&blade.entities, layer);
        // Slit and V; T; grain; fold and place; hole; sewing line and join.
        assert_eq!([count(NOTCH), count(T_NOTCH), count(GRAIN)], [2, 1, 1]);
        assert_eq!([count(INTERNAL), count(DRILL), count(SEW)], [2, 1, 2]);
        // The text of the draft and what the notches' points cannot say.
        assert_eq!(count(ANNOTATION), 3);
        let texts: Vec<&str> = blade
            .entities
            .iter()
            .filter_map(|e| match &e.specific {
                ::dxf::entities::EntityType::Text(text) => Some(text.value.as_str()),
                _ => None,
            })
            .collect();
        for key in [
            "Piece Name: blade",
            "Size: long",
            "Quantity: 1",
            "Material: shell",
        ] {
            assert!(texts.contains(&key), "{key} in {texts:?}");
        }
    }

    #[test]
    fn the_outline_has_the_area_of_the_piece() {
        let draft = sample::draft();
        for (tolerance, off) in [(0.5, 200.0), (0.05, 20.0), (0.005, 2.0)] {
            let drawing = read(&dxf(&pattern_sheet(&draft), tolerance));
            let blade = drawing.blocks().next().expect("a block");
            let outline = blade.entities.iter().find_map(|e| match &e.specific {
                ::dxf::entities::EntityType::Polyline(line) if line.is_closed() => Some(line),
                _ => None,
            });
            let corners: Vec<(f64, f64)> = outline
                .expect("an outline")
                .vertices()
                .map(|v| (v.location.x, v.location.y))
                .collect();
            let turned: f64 = corners
                .iter()
                .zip(corners.iter().cycle().skip(1))
                .map(|(a, b)| (a.0 * b.1 - b.0 * a.1) / 2.0)
                .sum();
            assert!(
                (turned.abs() - draft.pieces[0].area).abs() < off,
                "{turned} at {tolerance}"
            );
            // Points and vertices are the same places.
            let points = layers(&blade.entities, TURN_POINT) + layers(&blade.entities, CURVE_POINT);
            // Sewing line, join, fold and place line: two ends each.
            assert_eq!(points, corners.len() + 8);
        }
        assert!(draft.pieces[0].area > draft.pieces[0].net_area + 100.0 * ALLOWANCE);
    }

    #[test]
    fn equal_names_and_odd_names_make_different_blocks() {
        let mut draft = sample::draft();
        draft.pieces[0].name = "piece \u{e9}/\u{e9} with a name too long for an old reader".into();
        draft.pieces[1].name = "piece \u{e8}/\u{e8} with a name too long for an old reader".into();
        let drawing = read(&dxf(&pattern_sheet(&draft), DEFAULT_TOLERANCE));
        let names: Vec<String> = drawing.blocks().map(|b| b.name.clone()).collect();
        assert_eq!(
            names,
            [
                "piece_____with_a_name_too_long_",
                "piece_____with_a_name_too_lon_2"
            ]
        );
    }
}
