//! The plain outline: a draft as text to be read and compared by people, line by line.
//!
//! Measures and proof first, then every piece with one path element a line, edge by edge, at a
//! thousandth of a millimetre. Made for comparing two states of a shape, not for machines.

use tiewright_core::draft::{
    Draft, Line, Measure, Notch, NotchKind, Piece, ProofRow, Relation, Text, Unit,
};
use tiewright_geometry::{Curve, Point, Ring, Vec2};

use super::number::{Zeros, fixed};
use super::path::Plot;

/// Decimals of a length, an area or an angle.
const PLACES: usize = 3;
/// Decimals of a plain number, such as a strain of a few thousandths.
const PLAIN_PLACES: usize = 6;

/// `draft` as plain text.
pub fn outline(draft: &Draft) -> String {
    let mut out = Outline {
        text: String::new(),
    };
    out.line(&["style ", &draft.style]);
    if let Some(size) = &draft.size {
        out.line(&["size ", size]);
    }
    out.measures("parameters", &draft.parameters);
    out.measures("measures", &draft.measures);
    if !draft.proof.is_empty() {
        out.line(&["proof"]);
    }
    for row in &draft.proof {
        out.proof(row);
    }
    for piece in &draft.pieces {
        out.piece(piece);
    }
    out.text
}

/// An outline being written.
struct Outline {
    text: String,
}

impl Outline {
    fn line(&mut self, parts: &[&str]) {
        for part in parts {
            // A line end in a name or text would look like another entry.
            self.text
                .extend(part.chars().map(|c| if c.is_control() { ' ' } else { c }));
        }
        self.text.push('\n');
    }

    fn measures(&mut self, heading: &str, measures: &[Measure]) {
        if !measures.is_empty() {
            self.line(&[heading]);
        }
        for measure in measures {
            let value = value(measure.value, measure.unit);
            self.line(&["  ", &measure.name, " ", &value]);
        }
    }

    fn proof(&mut self, row: &ProofRow) {
        let verdict = match (row.holds, row.advisory) {
            (true, _) => "holds",
            (false, true) => "advises",
            (false, false) => "FAILS",
        };
        let relation = match row.relation {
            Relation::AtMost => " <= ",
            Relation::AtLeast => " >= ",
        };
        let (found, limit) = (value(row.value, row.unit), value(row.limit, row.unit));
        self.line(&["  ", verdict, " ", &row.name, " ", &found, relation, &limit]);
    }

    fn piece(&mut self, piece: &Piece) {
        self.text.push('\n');
        let quantity = piece.quantity.to_string();
        self.line(&[
            "piece ",
            &piece.name,
            " cut ",
            &quantity,
            " cloth ",
            &piece.cloth,
        ]);
        let (area, net) = (area(piece.area), area(piece.net_area));
        self.line(&["  area ", &area, " net ", &net]);
        self.ring("cut", &piece.cut);
        if piece.net != piece.cut {
            self.ring("net", &piece.net);
        }
        self.lines("sew", &piece.sew);
        self.lines("fold", &piece.fold);
        self.lines("place", &piece.place);
        for notch in &piece.notches {
            self.notch(notch);
        }
        for drill in &piece.drills {
            self.line(&["  drill ", &drill.name, " at ", &point(drill.at)]);
        }
        for text in &piece.texts {
            self.words(text);
        }
        let grain = piece.grain;
        self.line(&[
            "  grain from ",
            &point(grain.from),
            " to ",
            &point(grain.to),
        ]);
    }

    fn ring(&mut self, heading: &str, ring: &Ring) {
        for edge in ring.edges() {
            self.curve(heading, &edge.name, &edge.curve);
        }
    }

    fn lines(&mut self, heading: &str, lines: &[Line]) {
        for line in lines {
            self.curve(heading, &line.name, &line.curve);
        }
    }

    fn curve(&mut self, heading: &str, name: &str, curve: &Curve) {
        let gap = if name.is_empty() { "" } else { " " };
        self.line(&["  ", heading, gap, name]);
        self.line(&["    M", &point(curve.start())]);
        for segment in curve.segments() {
            self.text.push_str("    ");
            Plot::plain(PLACES).segment(&mut self.text, segment);
            self.text.push('\n');
        }
    }

    fn notch(&mut self, notch: &Notch) {
        let kind = match notch.kind {
            NotchKind::Slit => "slit",
            NotchKind::V => "V",
            NotchKind::T => "T",
        };
        let (at, inward) = (point(notch.at), vector(notch.inward));
        let (depth, width) = (number(notch.depth, PLACES), number(notch.width, PLACES));
        self.line(&[
            "  notch ",
            &notch.name,
            " ",
            kind,
            " at ",
            &at,
            " inward ",
            &inward,
        ]);
        self.line(&["    depth ", &depth, " width ", &width]);
    }

    fn words(&mut self, text: &Text) {
        let (at, angle) = (point(text.at), number(text.angle.to_degrees(), PLACES));
        self.line(&["  text \"", &text.text, "\" at ", &at, " angle ", &angle]);
    }
}

fn number(value: f64, places: usize) -> String {
    fixed(value, places, Zeros::Kept)
}

fn value(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Plain => number(value, PLAIN_PLACES),
        Unit::Millimetre => number(value, PLACES) + " mm",
        Unit::SquareMillimetre => area(value),
        Unit::Degree => number(value, PLACES) + " deg",
    }
}

fn area(value: f64) -> String {
    number(value, PLACES) + " mm2"
}

fn point(p: Point) -> String {
    vector(p.to_vec2())
}

fn vector(v: Vec2) -> String {
    let mut out = String::new();
    Plot::plain(PLACES).point(&mut out, v.to_point());
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn reads_like_a_list() {
        let text = outline(&sample::draft());
        let expected = "\
style club & sons
size long
parameters
  length 1447.800 mm
measures
  front-corner 41.275 mm
  edge-ease -0.009500
proof
  holds margin is even 0.010 mm <= 0.500 mm
  FAILS joins clear of the knot 0.000 mm <= 0.500 mm

piece blade cut 1 cloth shell
";
        assert!(text.starts_with(expected), "{text}");
        for line in [
            "  cut side\n    M60 60\n    C150 60 240 40 330 40\n",
            "  notch  V at 150 -60 inward 0 1\n    depth 3.000 width 4.000\n",
            "  text \"caf\u{e9} <label> ^ here\" at 180 0 angle 0.000\n",
            "  grain from 60 -40 to 90 -10\n",
        ] {
            assert!(text.contains(line), "{line} in {text}");
        }
    }

    #[test]
    fn a_moved_corner_changes_few_lines() {
        let mut draft = sample::draft();
        let before = outline(&draft);
        draft.pieces[0].grain.to.x += 0.01;
        let after = outline(&draft);
        let differ = before
            .lines()
            .zip(after.lines())
            .filter(|(a, b)| a != b)
            .count();
        assert_eq!(differ, 1);
    }
}
