//! A draft as JSON for other programs: measures, pieces and proof, with every curve kept.
//!
//! Coordinates are the draft's own, in mm, `y` upwards; lines are SVG path data with absolute
//! `M`, `L`, `C` and `Z`; areas are mm².

use std::collections::BTreeMap;

use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};
use tiewright_core::cloth::{Bias, Property};
use tiewright_core::draft::{
    Cloth, Draft, Drill, FoldedMark, Inspection, Line, Measure, MeasuringPoint, Notch, NotchKind,
    Piece, ProofRow, Relation, Side, Text, Tool, Unit, WorkStep,
};
use tiewright_geometry::{Point, Ring, Vec2};

use super::path::Plot;

/// Decimals of a coordinate, mm.
const PLACES: usize = 6;
/// One over the last decimal place of any other number: measures may be small ratios.
const SCALE: f64 = 1e9;

/// `draft` as a JSON document, indented, with a line end at the end.
///
/// # Errors
/// Never with a draft of finite numbers; the serialiser's own error otherwise.
pub fn json(draft: &Draft) -> Result<String, serde_json::Error> {
    let mut text = serde_json::to_string_pretty(&Document::of(draft))?;
    text.push('\n');
    Ok(text)
}

/// A number as this format writes it: rounded, never −0.
fn number(value: f64) -> f64 {
    let rounded = (value * SCALE).round() / SCALE;
    // A number too large to be scaled has no decimals to round.
    if rounded.is_finite() {
        rounded + 0.0
    } else {
        value
    }
}

#[derive(Serialize)]
struct Document<'a> {
    style: &'a str,
    size: Option<&'a str>,
    doc: &'a str,
    units: &'static str,
    parameters: Measures<'a>,
    measures: Measures<'a>,
    measure_units: BTreeMap<&'a str, &'static str>,
    cloths: Vec<ClothOut<'a>>,
    pieces: Vec<PieceOut<'a>>,
    proof: Vec<ProofOut<'a>>,
    marks: Vec<MarkOut<'a>>,
    inspections: Vec<InspectionOut<'a>>,
    steps: Vec<StepOut<'a>>,
}

/// Named numbers in order of declaration.
struct Measures<'a>(&'a [Measure]);

impl Serialize for Measures<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for measure in self.0 {
            map.serialize_entry(&*measure.name, &number(measure.value))?;
        }
        map.end()
    }
}

/// Lengths in mm, shares as plain numbers; `null` where nothing is stated.
#[derive(Serialize)]
struct ClothOut<'a> {
    role: &'a str,
    name: Option<&'a str>,
    doc: &'a str,
    width: Option<f64>,
    usable_width: Option<f64>,
    direction: &'static str,
    bias: Option<&'static str>,
    thickness: Option<f64>,
    give: Option<f64>,
    ease_limit: Option<f64>,
    repeat_warp: Option<f64>,
    repeat_weft: Option<f64>,
    price: Option<f64>,
}

#[derive(Serialize)]
struct PieceOut<'a> {
    name: &'a str,
    doc: &'a str,
    quantity: u32,
    cloth: &'a str,
    cut: String,
    net: String,
    edges: Vec<LineOut<'a>>,
    sew: Vec<LineOut<'a>>,
    fold: Vec<LineOut<'a>>,
    place: Vec<LineOut<'a>>,
    notches: Vec<NotchOut<'a>>,
    drills: Vec<DrillOut<'a>>,
    texts: Vec<TextOut<'a>>,
    grain: GrainOut,
    area: f64,
    net_area: f64,
}

#[derive(Serialize)]
struct LineOut<'a> {
    name: &'a str,
    path: String,
}

#[derive(Serialize)]
struct NotchOut<'a> {
    name: &'a str,
    kind: &'static str,
    at: [f64; 2],
    inward: [f64; 2],
    depth: f64,
    width: f64,
}

#[derive(Serialize)]
struct DrillOut<'a> {
    name: &'a str,
    at: [f64; 2],
}

#[derive(Serialize)]
struct TextOut<'a> {
    text: &'a str,
    at: [f64; 2],
    angle: f64,
}

#[derive(Serialize)]
struct GrainOut {
    from: [f64; 2],
    to: [f64; 2],
}

#[derive(Serialize)]
struct ProofOut<'a> {
    name: &'a str,
    value: f64,
    limit: f64,
    relation: &'static str,
    unit: &'static str,
    holds: bool,
    advisory: bool,
}

#[derive(Serialize)]
struct MarkOut<'a> {
    name: &'a str,
    side: &'static str,
    path: String,
}

#[derive(Serialize)]
struct InspectionOut<'a> {
    name: &'a str,
    when: &'a str,
    outline: String,
    points: Vec<PointOut<'a>>,
}

#[derive(Serialize)]
struct PointOut<'a> {
    name: &'a str,
    doc: &'a str,
    path: String,
    value: f64,
    tolerance: f64,
}

#[derive(Serialize)]
struct StepOut<'a> {
    title: &'a str,
    text: &'a str,
    tool: Option<&'static str>,
}

impl<'a> Document<'a> {
    fn of(draft: &'a Draft) -> Self {
        let marks = draft.folded.iter().flat_map(|folded| &folded.marks);
        let named = draft.parameters.iter().chain(&draft.measures);
        Document {
            style: &draft.style,
            size: draft.size.as_deref(),
            doc: &draft.doc,
            units: "mm",
            parameters: Measures(&draft.parameters),
            measures: Measures(&draft.measures),
            measure_units: named.map(|m| (&*m.name, unit(m.unit))).collect(),
            cloths: draft.cloths.iter().map(ClothOut::of).collect(),
            pieces: draft.pieces.iter().map(PieceOut::of).collect(),
            proof: draft.proof.iter().map(ProofOut::of).collect(),
            marks: marks.map(MarkOut::of).collect(),
            inspections: draft.inspections.iter().map(InspectionOut::of).collect(),
            steps: draft.steps.iter().map(StepOut::of).collect(),
        }
    }
}

impl<'a> ClothOut<'a> {
    fn of(cloth: &'a Cloth) -> Self {
        let stated = |property| cloth.properties.get(property).map(number);
        ClothOut {
            role: &cloth.role,
            name: cloth.name.as_deref(),
            doc: &cloth.doc,
            width: stated(Property::Width),
            usable_width: stated(Property::UsableWidth),
            direction: cloth.properties.direction().as_str(),
            bias: cloth.properties.bias().map(Bias::as_str),
            thickness: stated(Property::Thickness),
            give: stated(Property::Give),
            ease_limit: stated(Property::EaseLimit),
            repeat_warp: stated(Property::RepeatWarp),
            repeat_weft: stated(Property::RepeatWeft),
            price: stated(Property::Price),
        }
    }
}

impl<'a> PieceOut<'a> {
    fn of(piece: &'a Piece) -> Self {
        PieceOut {
            name: &piece.name,
            doc: &piece.doc,
            quantity: piece.quantity,
            cloth: &piece.cloth,
            cut: outline(&piece.cut),
            net: outline(&piece.net),
            edges: piece
                .cut
                .edges()
                .iter()
                .map(|e| line(&e.name, &e.curve))
                .collect(),
            sew: lines(&piece.sew),
            fold: lines(&piece.fold),
            place: lines(&piece.place),
            notches: piece.notches.iter().map(NotchOut::of).collect(),
            drills: piece.drills.iter().map(DrillOut::of).collect(),
            texts: piece.texts.iter().map(TextOut::of).collect(),
            grain: GrainOut {
                from: point(piece.grain.from),
                to: point(piece.grain.to),
            },
            area: number(piece.area),
            net_area: number(piece.net_area),
        }
    }
}

impl<'a> NotchOut<'a> {
    fn of(notch: &'a Notch) -> Self {
        NotchOut {
            name: &notch.name,
            kind: match notch.kind {
                NotchKind::Slit => "slit",
                NotchKind::V => "v",
                NotchKind::T => "t",
            },
            at: point(notch.at),
            inward: vector(notch.inward),
            depth: number(notch.depth),
            width: number(notch.width),
        }
    }
}

impl<'a> DrillOut<'a> {
    fn of(drill: &'a Drill) -> Self {
        DrillOut {
            name: &drill.name,
            at: point(drill.at),
        }
    }
}

impl<'a> TextOut<'a> {
    fn of(text: &'a Text) -> Self {
        TextOut {
            text: &text.text,
            at: point(text.at),
            angle: number(text.angle.to_degrees()),
        }
    }
}

impl<'a> ProofOut<'a> {
    fn of(row: &'a ProofRow) -> Self {
        ProofOut {
            name: &row.name,
            value: number(row.value),
            limit: number(row.limit),
            relation: match row.relation {
                Relation::AtMost => "at-most",
                Relation::AtLeast => "at-least",
            },
            unit: unit(row.unit),
            holds: row.holds,
            advisory: row.advisory,
        }
    }
}

impl<'a> MarkOut<'a> {
    fn of(mark: &'a FoldedMark) -> Self {
        MarkOut {
            name: &mark.name,
            side: match mark.side {
                Side::Face => "face",
                Side::Back => "back",
            },
            path: path(&mark.curve),
        }
    }
}

impl<'a> InspectionOut<'a> {
    fn of(inspection: &'a Inspection) -> Self {
        InspectionOut {
            name: &inspection.name,
            when: &inspection.when,
            outline: outline(&inspection.outline),
            points: inspection.points.iter().map(PointOut::of).collect(),
        }
    }
}

impl<'a> PointOut<'a> {
    fn of(point: &'a MeasuringPoint) -> Self {
        PointOut {
            name: &point.name,
            doc: &point.doc,
            path: path(&point.line),
            value: number(point.value),
            tolerance: number(point.tolerance),
        }
    }
}

impl<'a> StepOut<'a> {
    fn of(step: &'a WorkStep) -> Self {
        StepOut {
            title: &step.title,
            text: &step.text,
            tool: step.tool.map(|tool| match tool {
                Tool::Iron => "iron",
                Tool::Blade => "blade",
            }),
        }
    }
}

/// The unit of a number as it is written.
pub(super) fn unit(unit: Unit) -> &'static str {
    match unit {
        Unit::Plain => "",
        Unit::Millimetre => "mm",
        Unit::SquareMillimetre => "mm2",
        Unit::Degree => "deg",
    }
}

fn lines(lines: &[Line]) -> Vec<LineOut<'_>> {
    lines.iter().map(|l| line(&l.name, &l.curve)).collect()
}

fn line<'a>(name: &'a str, curve: &tiewright_geometry::Curve) -> LineOut<'a> {
    LineOut {
        name,
        path: path(curve),
    }
}

fn path(curve: &tiewright_geometry::Curve) -> String {
    let mut path = String::new();
    Plot::plain(PLACES).curve(&mut path, curve);
    path
}

fn outline(ring: &Ring) -> String {
    let mut path = String::new();
    Plot::plain(PLACES).ring(&mut path, ring);
    path
}

fn point(p: Point) -> [f64; 2] {
    vector(p.to_vec2())
}

fn vector(v: Vec2) -> [f64; 2] {
    [number(v.x), number(v.y)]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use serde_json::Value;

    #[test]
    fn has_what_readers_look_for() {
        let draft = sample::draft();
        let text = json(&draft).expect("JSON");
        let value: Value = serde_json::from_str(&text).expect("JSON");
        assert_eq!(value["style"], "club & sons");
        assert_eq!(value["size"], "long");
        assert_eq!(value["units"], "mm");
        assert_eq!(value["measures"]["front-corner"], 41.275);
        assert_eq!(value["measures"]["edge-ease"], -0.0095);
        let cloth = &value["cloths"][0];
        assert_eq!(cloth["role"], "shell");
        assert_eq!(cloth["name"], "navy");
        assert_eq!(cloth["direction"], "one-way");
        assert_eq!(cloth["bias"], "left");
        assert_eq!(cloth["usable_width"], 1380.0);
        assert!(cloth["price"].is_null());
        let blade = &value["pieces"][0];
        assert_eq!(blade["quantity"], 1);
        assert_eq!(blade["grain"]["from"], serde_json::json!([60.0, -40.0]));
        assert_eq!(blade["sew"][0]["path"], "M10 0L60 50");
        assert_eq!(blade["notches"][1]["kind"], "v");
        assert_eq!(blade["notches"][1]["width"], 4.0);
        let area = blade["area"].as_f64().expect("a number");
        assert!((area - draft.pieces[0].area).abs() < 1e-6);
        assert_eq!(value["proof"][0]["holds"], true);
        assert_eq!(value["marks"][0]["side"], "back");
        assert_eq!(value["marks"][0]["path"], "M80 -3L80 3");
        let finished = &value["inspections"][0];
        assert_eq!(finished["when"], "when it is finished");
        assert_eq!(finished["points"][0]["value"], 120.0);
        assert_eq!(finished["points"][0]["tolerance"], 1.5);
        assert_eq!(finished["points"][0]["path"], "M60 -60L60 60");
        assert_eq!(value["steps"][0]["title"], "Press the join");
        assert_eq!(value["steps"][0]["tool"], "iron");
        // A negative zero would be told apart by careless readers.
        assert_eq!(value["proof"][1]["value"].to_string(), "0.0");
        assert!(
            blade["cut"]
                .as_str()
                .is_some_and(|d| d.contains('C') && d.ends_with('Z'))
        );
    }

    #[test]
    fn measures_keep_their_order() {
        let text = json(&sample::draft()).expect("JSON");
        assert!(text.find("front-corner") < text.find("edge-ease"));
    }
}
