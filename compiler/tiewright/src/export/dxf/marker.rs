//! A marker as drawing exchange (DXF R12) for the cutter: every line where it lies, at full size.
//!
//! Input is the sheet of a marker, output 7-bit text with plain entities and no blocks, on layers
//! that say what they hold. Coordinates are millimetres from the corner of the cloth where the pieces
//! begin, at the edge of the usable width, as the laid file has them. Curves become straight
//! stretches within a tolerance. Rulers are left out.
//!
//! | layer | what |
//! |---|---|
//! | `cut` | closed lines to cut |
//! | `notch` | notches as they are cut |
//! | `drill` | drill holes, points |
//! | `grain` | grain arrows, along the warp |
//! | `text` | words on the pieces, and the title with its test square |
//! | `cloth-edge` | the edges of the cloth, and where pieces may lie |
//! | `flaw` | flaws |

use ::dxf::entities::{Entity, EntityType, Line, ModelPoint, Polyline, Vertex};
use ::dxf::{Drawing, DxfError};
use tiewright_core::sheet::{Group, Mark, Sheet, Words};
use tiewright_geometry::{Point, Vec2};

use super::vertices::{Place, open_vertices, ring_vertices};
use super::{at, on_layer, r12, text, written};
use crate::export::ink;
use crate::lay::furniture::{CLOTH, FLAWS, RULERS};

const CUT: &str = "cut";
const NOTCH: &str = "notch";
const DRILL: &str = "drill";
const GRAIN: &str = "grain";
const TEXT: &str = "text";
const EDGE: &str = "cloth-edge";
const FLAW: &str = "flaw";

/// The marker of `sheet`, whose pieces may begin at `origin`, as a DXF file with curves within
/// `tolerance` mm. The result is ASCII.
///
/// # Errors
/// The library's own; none is known for a drawing written to memory.
pub fn marker(sheet: &Sheet, origin: Point, tolerance: f64) -> Result<String, DxfError> {
    let mut drawing = r12();
    let mut pen = Pen {
        drawing: &mut drawing,
        entities: Vec::new(),
        tolerance,
        by: Vec2::ZERO,
    };
    for group in &sheet.groups {
        pen.by = group.offset - origin.to_vec2();
        pen.group(group);
    }
    let entities = pen.entities;
    for entity in entities {
        drawing.add_entity(entity);
    }
    written(&drawing)
}

struct Pen<'a> {
    /// What numbers the vertices.
    drawing: &'a mut Drawing,
    entities: Vec<Entity>,
    tolerance: f64,
    by: Vec2,
}

impl Pen<'_> {
    fn group(&mut self, group: &Group) {
        let layer = match &*group.name {
            _ if group.is_piece => None,
            CLOTH => Some(EDGE),
            FLAWS => Some(FLAW),
            _ => None,
        };
        for item in &group.items {
            match (&item.mark, layer) {
                (Mark::Stroke(curve, _), Some(layer)) => {
                    let places = open_vertices(curve, self.tolerance);
                    self.polyline(layer, false, &places);
                }
                (Mark::Label(words) | Mark::Text(words), None) if group.name.as_ref() != RULERS => {
                    self.words(words);
                }
                (Mark::Rule(curve), None) if group.name.as_ref() != RULERS => {
                    let places = open_vertices(curve, self.tolerance);
                    self.polyline(TEXT, false, &places);
                }
                (mark, _) if group.is_piece => self.mark(mark),
                _ => {}
            }
        }
    }

    fn mark(&mut self, mark: &Mark) {
        match mark {
            Mark::Cut(ring) => {
                let places = ring_vertices(ring, self.tolerance);
                self.polyline(CUT, true, &places);
            }
            Mark::Notch {
                kind,
                at,
                inward,
                depth,
                width,
            } => {
                for [from, to] in ink::notch(*kind, *at, *inward * *depth, *width) {
                    self.line(NOTCH, from, to);
                }
            }
            Mark::Drill(place) => {
                let point = ModelPoint::new(at(*place + self.by));
                self.draw(DRILL, EntityType::ModelPoint(point));
            }
            Mark::Grain { from, to } => {
                self.line(GRAIN, *from, *to);
                if let Some([tip, left, right]) = ink::arrow_head(*from, *to) {
                    self.line(GRAIN, left, tip);
                    self.line(GRAIN, tip, right);
                }
            }
            _ => {}
        }
    }

    fn draw(&mut self, layer: &str, what: EntityType) {
        self.entities.push(on_layer(layer, what));
    }

    fn line(&mut self, layer: &str, from: Point, to: Point) {
        let line = Line::new(at(from + self.by), at(to + self.by));
        self.draw(layer, EntityType::Line(line));
    }

    fn polyline(&mut self, layer: &str, closed: bool, places: &[Place]) {
        let mut line = Polyline::default();
        line.set_is_closed(closed);
        for place in places {
            line.add_vertex(self.drawing, Vertex::new(at(place.at + self.by)));
        }
        self.draw(layer, EntityType::Polyline(line));
    }

    fn words(&mut self, words: &Words) {
        let moved = Words {
            at: words.at + self.by,
            ..words.clone()
        };
        self.entities.push(text(TEXT, &moved));
    }
}
