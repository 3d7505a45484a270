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
//!
//! The `dxf` crate holds the drawing and writes it, told to write no handles, which R12 does not
//! need and which it would number 0. What it writes is brought into lines of text and thinned by
//! `lines`: some readers take R12 entities with an empty header and no tables only, so the
//! header keeps nothing but its version. The hour and the random ids of the crate's header are
//! dropped with the rest of it, and the same sheet gives the same bytes.

mod lines;
pub mod marker;
mod vertices;

use std::collections::BTreeSet;

use ::dxf::entities::{
    Entity, EntityCommon, EntityType, Insert, Line, ModelPoint, Polyline, Text, Vertex,
};
use ::dxf::enums::{AcadVersion, HorizontalTextJustification};
use ::dxf::{Block, Drawing, DxfError};
use tiewright_core::draft::NotchKind;
use tiewright_core::format::decimal;
use tiewright_core::layout::{CAPITAL, LEADING};
use tiewright_core::sheet::{Align, Fact, Group, Mark, Sheet, Words};
use tiewright_geometry::{Curve, Point, Rect, Vec2};

use lines::lines;
use vertices::{Place, open_vertices, ring_vertices};

/// How far the straight stretches of an outline may be off the curve, mm, unless said otherwise:
/// a tenth of what a knife wanders.
pub const DEFAULT_TOLERANCE: f64 = 0.05;

/// Decimals of a coordinate, mm: a tenth of a micrometre.
const PLACES: usize = 4;
/// The longest name of a block in R12, characters.
const LONGEST_NAME: usize = 31;
/// A first guess at the size of what the library writes, bytes.
const CAPACITY: usize = 128 << 10;

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
///
/// # Errors
/// The library's own; none is known for a drawing written to memory.
pub fn dxf(sheet: &Sheet, tolerance: f64) -> Result<String, DxfError> {
    let mut drawing = r12();
    let pieces: Vec<&Group> = sheet.groups.iter().filter(|g| g.is_piece).collect();
    let names = block_names(&pieces);
    for (piece, name) in pieces.iter().zip(&names) {
        let block = block(&mut drawing, sheet, piece, name, tolerance);
        drawing.add_block(block);
    }
    for (piece, name) in pieces.iter().zip(&names) {
        drawing.add_entity(insert(name, piece.offset.to_point()));
    }
    for text in style_texts(sheet) {
        drawing.add_entity(text);
    }
    written(&drawing)
}

/// An empty drawing of release 12.
fn r12() -> Drawing {
    let mut drawing = Drawing::new();
    drawing.header.version = AcadVersion::R12;
    drawing.header.handles_enabled = false;
    drawing
}

/// `drawing` as text.
fn written(drawing: &Drawing) -> Result<String, DxfError> {
    let mut raw = Vec::with_capacity(CAPACITY);
    drawing.save_binary(&mut raw)?;
    lines(&raw)
}

fn block(drawing: &mut Drawing, sheet: &Sheet, piece: &Group, name: &str, tolerance: f64) -> Block {
    let mut pen = Pen {
        drawing,
        entities: Vec::new(),
        tolerance,
    };
    for item in &piece.items {
        pen.mark(&item.mark);
    }
    pen.entities.extend(piece_texts(sheet, piece));
    Block {
        name: name.to_owned(),
        layer: BOUNDARY.to_owned(),
        entities: pen.entities,
        ..Block::default()
    }
}

/// Draws the marks of one piece.
struct Pen<'a> {
    /// What numbers the vertices.
    drawing: &'a mut Drawing,
    entities: Vec<Entity>,
    tolerance: f64,
}

impl Pen<'_> {
    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Cut(ring) => self.polyline(BOUNDARY, true, &ring_vertices(ring, self.tolerance)),
            Mark::Net(curve) | Mark::Sew(curve) => self.line(SEW, curve),
            Mark::Fold(curve) | Mark::Place(curve) => self.line(INTERNAL, curve),
            Mark::Grain { from, to } => {
                let line = Line::new(at(*from), at(*to));
                self.draw(GRAIN, EntityType::Line(line));
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
                self.notch(layer, *at, *inward, *depth);
            }
            Mark::Drill(at) => self.point(DRILL, *at),
            Mark::Text(words) => self.entities.push(text(ANNOTATION, words)),
            // The sheet's own words and lines have no place in an exchange file.
            Mark::Rule(_) | Mark::Stroke(..) | Mark::Fill(..) | Mark::Label(_) => {}
        }
    }

    fn draw(&mut self, layer: &str, what: EntityType) {
        self.entities.push(on_layer(layer, what));
    }

    fn line(&mut self, layer: &str, curve: &Curve) {
        self.polyline(layer, false, &open_vertices(curve, self.tolerance));
    }

    fn polyline(&mut self, layer: &str, closed: bool, places: &[Place]) {
        let mut line = Polyline::default();
        line.set_is_closed(closed);
        for place in places {
            line.add_vertex(self.drawing, Vertex::new(at(place.at)));
        }
        self.draw(layer, EntityType::Polyline(line));
        for place in places {
            self.point(if place.turn { TURN_POINT } else { CURVE_POINT }, place.at);
        }
    }

    fn point(&mut self, layer: &str, place: Point) {
        self.draw(layer, EntityType::ModelPoint(ModelPoint::new(at(place))));
    }

    fn notch(&mut self, layer: &str, place: Point, inward: Vec2, depth: f64) {
        let point = ModelPoint {
            thickness: depth,
            angle: degrees(inward),
            ..ModelPoint::new(at(place))
        };
        self.draw(layer, EntityType::ModelPoint(point));
    }
}

fn on_layer(layer: &str, what: EntityType) -> Entity {
    Entity {
        common: EntityCommon {
            layer: layer.to_owned(),
            ..EntityCommon::default()
        },
        specific: what,
    }
}

fn insert(name: &str, place: Point) -> Entity {
    let insert = Insert {
        name: name.to_owned(),
        location: at(place),
        ..Insert::default()
    };
    on_layer(BOUNDARY, EntityType::Insert(insert))
}

fn text(layer: &str, words: &Words) -> Entity {
    let mut text = Text {
        location: at(words.at),
        text_height: words.height,
        value: on_one_line(&words.text),
        rotation: words.angle.to_degrees(),
        ..Text::default()
    };
    if words.align == Align::Middle {
        text.horizontal_text_justification = HorizontalTextJustification::Center;
        text.second_alignment_point = at(words.at);
    }
    on_layer(layer, EntityType::Text(text))
}

/// `text` with line ends and other controls as spaces.
fn on_one_line(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect()
}

/// The point for the library.
fn at(p: Point) -> ::dxf::Point {
    ::dxf::Point::new(p.x, p.y, 0.0)
}

/// From the x axis, 0 up to 360.
fn degrees(direction: Vec2) -> f64 {
    let angle = libm::atan2(direction.y, direction.x).to_degrees();
    if angle < 0.0 { angle + 360.0 } else { angle }
}

/// The texts with keys that belong to a piece, in rows about its middle.
fn piece_texts(sheet: &Sheet, piece: &Group) -> Vec<Entity> {
    let size = fact(&sheet.facts, "size").unwrap_or("base");
    let mut keys = vec![
        format!("Piece Name: {}", piece.name),
        format!("Size: {size}"),
    ];
    for (key, name) in [
        ("Quantity", "quantity"),
        ("Material", "cloth"),
        ("Annotation", "doc"),
    ] {
        keys.extend(fact(&piece.facts, name).map(|value| format!("{key}: {value}")));
    }
    let bounds = bounds_of(piece);
    let keys_height = keys.len() as f64 * LEADING;
    let height = (bounds.height() / keys_height).min(CAPITAL);
    let top = bounds.center() + Vec2::new(0.0, keys_height * height / 2.0);
    let below = top - Vec2::new(0.0, keys_height * height);
    let mut texts = rows(BOUNDARY, &keys, top, height);
    texts.extend(rows(ANNOTATION, &notch_notes(piece), below, height));
    texts
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
fn style_texts(sheet: &Sheet) -> Vec<Entity> {
    let style = fact(&sheet.facts, "style").unwrap_or(&sheet.title);
    let mut keys = vec![format!("Style Name: {style}")];
    keys.extend(fact(&sheet.facts, "doc").map(|doc| format!("Style Description: {doc}")));
    keys.extend(fact(&sheet.facts, "size").map(|size| format!("Sample Size: {size}")));
    keys.push("Units: METRIC".to_owned());
    rows(BOUNDARY, &keys, Point::ZERO, CAPITAL)
}

/// Lines of words below each other.
fn rows(layer: &str, lines: &[String], top: Point, height: f64) -> Vec<Entity> {
    let row = |(row, line): (usize, &String)| {
        let down = (row as f64 * LEADING + 1.0) * height;
        let words = Words {
            text: line.as_str().into(),
            at: top - Vec2::new(0.0, down),
            align: Align::Start,
            height,
            angle: 0.0,
        };
        text(layer, &words)
    };
    lines.iter().enumerate().map(row).collect()
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
    use tiewright_core::draft::Draft;
    use tiewright_core::layout::pattern_sheet;

    fn written(draft: &Draft, tolerance: f64) -> String {
        dxf(&pattern_sheet(draft), tolerance).expect("a DXF file")
    }

    /// The file as the library reads it.
    fn read(text: &str) -> ::dxf::Drawing {
        ::dxf::Drawing::load(&mut text.as_bytes()).expect("a DXF file")
    }

    fn layers(entities: &[::dxf::entities::Entity], layer: &str) -> usize {
        entities.iter().filter(|e| e.common.layer == layer).count()
    }

    #[test]
    fn one_block_a_piece_each_inserted_once() {
        let text = written(&sample::draft(), DEFAULT_TOLERANCE);
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
        let drawing = read(&written(&sample::draft(), DEFAULT_TOLERANCE));
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
            let drawing = read(&written(&draft, tolerance));
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
        let drawing = read(&written(&draft, DEFAULT_TOLERANCE));
        let names: Vec<String> = drawing.blocks().map(|b| b.name.clone()).collect();
        assert_eq!(
            names,
            [
                "piece_____with_a_name_too_long_",
                "piece_____with_a_name_too_lon_2"
            ]
        );
    }

    #[test]
    fn the_header_has_its_version_only_and_there_are_no_tables() {
        let text = written(&sample::draft(), DEFAULT_TOLERANCE);
        let start = "  0\r\nSECTION\r\n  2\r\nHEADER\r\n  9\r\n$ACADVER\r\n  1\r\nAC1009\r\n\
                     \x20 0\r\nENDSEC\r\n  0\r\nSECTION\r\n  2\r\nBLOCKS\r\n";
        assert!(text.starts_with(start), "{}", &text[..200]);
        let sections = text.matches("\r\nSECTION\r\n").count();
        assert_eq!(sections, 3, "header, blocks, entities");
        assert!(text.ends_with("  0\r\nEOF\r\n"));
    }

    #[test]
    fn text_is_seven_bit_and_escaped_once() {
        let text = written(&sample::draft(), DEFAULT_TOLERANCE);
        assert!(text.contains("\r\ncaf\\U+00E9 <label> ^  here\r\n"));
        let drawing = read(&text);
        let words: Vec<&str> = drawing
            .blocks()
            .flat_map(|b| &b.entities)
            .filter_map(|e| match &e.specific {
                EntityType::Text(text) => Some(text.value.as_str()),
                _ => None,
            })
            .collect();
        assert!(words.contains(&"caf\u{e9} <label> ^ here"), "{words:?}");
    }

    #[test]
    fn the_same_sheet_gives_the_same_bytes() {
        let first = written(&sample::draft(), DEFAULT_TOLERANCE);
        // The library's header counts seconds and draws random ids.
        std::thread::sleep(std::time::Duration::from_millis(1100));
        assert_eq!(first, written(&sample::draft(), DEFAULT_TOLERANCE));
    }
}
