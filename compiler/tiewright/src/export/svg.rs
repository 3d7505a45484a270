//! Scalable drawings: any sheet at full size, curves as curves.
//!
//! One unit is one millimetre and the stated size says so, so a print at 100 % is 1:1. Line types
//! differ by weight and dash as well as by name, for prints in grey. The text is plain ASCII save
//! for words that are not; it needs no style sheet and no script.

use tiewright_core::draft::NotchKind;
use tiewright_core::sheet::{Align, Group, Mark, Sheet, Words};
use tiewright_geometry::{Point, Vec2};

use super::number::{Zeros, push_fixed};
use super::path::Plot;

/// Decimals of a coordinate, mm: a tenth of a micrometre.
const PLACES: usize = 4;
/// Size of the font over the height of its capitals (Noto Sans: 2048 to 1462).
const FONT_SIZE: f64 = 2048.0 / 1462.0;
/// Faces in order of liking; the widths of the layout suit them all.
const FONTS: &str = "Noto Sans,Helvetica,Arial,sans-serif";
/// Radius of the circle that shows a drill hole, mm.
const DRILL_RADIUS: f64 = 1.5;
/// Length of the arrow's barbs, mm.
const BARB: f64 = 4.0;
/// A first guess at the size of a file, bytes.
const CAPACITY: usize = 24 << 10;

const CUT: &str = "fill:none;stroke:#000;stroke-width:0.7;stroke-linejoin:miter";
const NET: &str = "fill:none;stroke:#000;stroke-width:0.35;stroke-dasharray:9 2";
const SEW: &str = "fill:none;stroke:#000;stroke-width:0.35;stroke-dasharray:3 2";
const FOLD: &str = "fill:none;stroke:#000;stroke-width:0.35;stroke-dasharray:10 2 1 2";
const PLACE: &str = "fill:none;stroke:#000;stroke-width:0.5;stroke-dasharray:0.7 1.8";
const GRAIN: &str = "fill:none;stroke:#000;stroke-width:0.35";
const NOTCH: &str = "fill:none;stroke:#000;stroke-width:0.5";
const DRILL: &str = "fill:none;stroke:#000;stroke-width:0.35";
const RULE: &str = "fill:none;stroke:#000;stroke-width:0.2";

/// `sheet` as an SVG document.
pub fn svg(sheet: &Sheet) -> String {
    let mut out = Svg {
        text: String::with_capacity(CAPACITY),
    };
    out.raw("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"");
    out.number(sheet.width);
    out.raw("mm\" height=\"");
    out.number(sheet.height);
    out.raw("mm\" viewBox=\"0 0 ");
    out.number(sheet.width);
    out.raw(" ");
    out.number(sheet.height);
    out.raw("\"");
    for (name, value) in &sheet.facts {
        out.data(name, value);
    }
    out.raw(">\n<title>");
    out.escaped(&sheet.title);
    out.raw("</title>\n");
    for group in &sheet.groups {
        out.group(group, sheet.height);
    }
    out.raw("</svg>\n");
    out.text
}

/// A document being written.
struct Svg {
    text: String,
}

impl Svg {
    fn raw(&mut self, text: &str) {
        self.text.push_str(text);
    }

    fn number(&mut self, value: f64) {
        push_fixed(&mut self.text, value, PLACES, Zeros::Dropped);
    }

    /// Text with the characters XML reserves written out, and those it forbids left out.
    fn escaped(&mut self, text: &str) {
        for c in text.chars() {
            match c {
                '&' => self.raw("&amp;"),
                '<' => self.raw("&lt;"),
                '>' => self.raw("&gt;"),
                '"' => self.raw("&quot;"),
                '\n' | '\r' | '\t' => self.raw(" "),
                '\u{FFFE}' | '\u{FFFF}' => {}
                c if c.is_control() => {}
                c => self.text.push(c),
            }
        }
    }

    fn data(&mut self, name: &str, value: &str) {
        self.raw(" data-");
        self.escaped(name);
        self.raw("=\"");
        self.escaped(value);
        self.raw("\"");
    }

    fn group(&mut self, group: &Group, height: f64) {
        let kind = if group.is_piece { "piece" } else { "sheet" };
        self.raw("<g id=\"");
        self.raw(kind);
        self.raw("-");
        self.escaped(&group.name);
        self.raw("\" class=\"");
        self.raw(kind);
        self.raw("\"");
        for (name, value) in &group.facts {
            self.data(name, value);
        }
        self.raw(">\n");
        let offset = group.offset;
        let plot = Plot {
            dx: offset.x,
            dy: height - offset.y,
            down: true,
            places: PLACES,
        };
        for item in &group.items {
            self.mark(&item.mark, group, &plot);
        }
        self.raw("</g>\n");
    }

    fn mark(&mut self, mark: &Mark, group: &Group, plot: &Plot) {
        match mark {
            Mark::Cut(ring) => {
                // Only a piece's outline is to be cut; the key's sample is not.
                if group.is_piece {
                    self.raw("<path id=\"cut-");
                    self.escaped(&group.name);
                    self.raw("\" class=\"cut\" style=\"");
                } else {
                    self.raw("<path class=\"key\" style=\"");
                }
                self.raw(CUT);
                self.path_data(|out| plot.ring(out, ring));
            }
            Mark::Net(curve) => self.path("net", NET, |out| plot.curve(out, curve)),
            Mark::Sew(curve) => self.path("sew", SEW, |out| plot.curve(out, curve)),
            Mark::Fold(curve) => self.path("fold", FOLD, |out| plot.curve(out, curve)),
            Mark::Place(curve) => self.path("place", PLACE, |out| plot.curve(out, curve)),
            Mark::Rule(curve) => self.path("rule", RULE, |out| plot.curve(out, curve)),
            Mark::Fill(corners, grey) => self.fill(corners, *grey, plot),
            Mark::Grain { from, to } => self.grain(*from, *to, plot),
            Mark::Notch { .. } => self.notch(mark, plot),
            Mark::Drill(at) => self.drill(*at, plot),
            Mark::Text(words) => self.words("text", words, plot),
            Mark::Label(words) => self.words("label", words, plot),
        }
    }

    fn path(&mut self, class: &str, style: &str, data: impl FnOnce(&mut String)) {
        self.raw("<path class=\"");
        self.raw(class);
        self.raw("\" style=\"");
        self.raw(style);
        self.path_data(data);
    }

    /// The rest of a path after its style.
    fn path_data(&mut self, data: impl FnOnce(&mut String)) {
        self.raw("\" d=\"");
        data(&mut self.text);
        self.raw("\"/>\n");
    }

    fn fill(&mut self, corners: &[Point], grey: f64, plot: &Plot) {
        self.raw("<path class=\"fill\" style=\"stroke:#000;stroke-width:0.15;stroke-linejoin:round;fill:#");
        let shade = (grey.clamp(0.0, 1.0) * 255.0).round() as u32;
        for _ in 0..3 {
            for nibble in [shade >> 4, shade & 0xF] {
                self.text.push(char::from_digit(nibble, 16).unwrap_or('0'));
            }
        }
        self.path_data(|out| plot.polygon(out, corners));
    }

    fn grain(&mut self, from: Point, to: Point, plot: &Plot) {
        let along = to - from;
        let length = along.hypot2().sqrt();
        self.path("grain", GRAIN, |out| {
            plot.stretch(out, from, to);
            if length > 0.0 {
                let back = along * (-BARB.min(length / 3.0) / length);
                let side = Vec2::new(-back.y, back.x) * 0.4;
                for tip in [to + back + side, to + back - side] {
                    plot.stretch(out, to, tip);
                }
            }
        });
    }

    fn notch(&mut self, mark: &Mark, plot: &Plot) {
        let Mark::Notch {
            kind,
            at,
            inward,
            depth,
            width,
        } = *mark
        else {
            return;
        };
        let (class, foot) = (class_of(kind), at + inward * depth);
        let half = Vec2::new(-inward.y, inward.x) * (width / 2.0);
        self.path(class, NOTCH, |out| match kind {
            NotchKind::Slit => plot.stretch(out, at, foot),
            NotchKind::V => {
                plot.stretch(out, at + half, foot);
                plot.stretch(out, foot, at - half);
            }
            NotchKind::T => {
                plot.stretch(out, at, foot);
                plot.stretch(out, foot + half, foot - half);
            }
        });
    }

    fn drill(&mut self, at: Point, plot: &Plot) {
        let (right, up) = (Vec2::new(DRILL_RADIUS, 0.0), Vec2::new(0.0, DRILL_RADIUS));
        let centre = plot.map(at);
        self.raw("<circle class=\"drill\" style=\"");
        self.raw(DRILL);
        self.raw("\" cx=\"");
        self.number(centre.x);
        self.raw("\" cy=\"");
        self.number(centre.y);
        self.raw("\" r=\"");
        self.number(DRILL_RADIUS);
        self.raw("\"/>\n");
        self.path("drill-cross", DRILL, |out| {
            plot.stretch(out, at - right, at + right);
            plot.stretch(out, at - up, at + up);
        });
    }

    fn words(&mut self, class: &str, words: &Words, plot: &Plot) {
        let at = plot.map(words.at);
        self.raw("<text class=\"");
        self.raw(class);
        self.raw("\" x=\"");
        self.number(at.x);
        self.raw("\" y=\"");
        self.number(at.y);
        self.raw("\" style=\"fill:#000;font-family:");
        self.raw(FONTS);
        self.raw(";font-size:");
        self.number(words.height * FONT_SIZE);
        self.raw("px;text-anchor:");
        self.raw(if words.align == Align::Middle {
            "middle"
        } else {
            "start"
        });
        self.raw("\"");
        if words.angle != 0.0 {
            self.raw(" transform=\"rotate(");
            self.number(-words.angle.to_degrees());
            for value in [at.x, at.y] {
                self.raw(" ");
                self.number(value);
            }
            self.raw(")\"");
        }
        self.raw(">");
        self.escaped(&words.text);
        self.raw("</text>\n");
    }
}

fn class_of(kind: NotchKind) -> &'static str {
    match kind {
        NotchKind::Slit => "notch slit",
        NotchKind::V => "notch v",
        NotchKind::T => "notch t",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use resvg::usvg::roxmltree::{Document, Node};
    use tiewright_core::layout::{folded_sheet, pattern_sheet};

    fn with_class<'a>(document: &'a Document, class: &str) -> Vec<Node<'a, 'a>> {
        let class = class.to_owned();
        document
            .descendants()
            .filter(|n| n.attribute("class") == Some(&class))
            .collect()
    }

    #[test]
    fn the_sheet_is_at_full_size_and_every_outline_has_its_name() {
        let draft = sample::draft();
        let sheet = pattern_sheet(&draft);
        let text = svg(&sheet);
        let document = Document::parse(&text).expect("XML");
        let root = document.root_element();
        let width = format!("{}", sheet.width);
        assert!(
            root.attribute("width")
                .is_some_and(|w| w.strip_suffix("mm").is_some_and(|w| w
                    .parse::<f64>()
                    .is_ok_and(|w| (w - sheet.width).abs() < 1e-4))),
            "{width}"
        );
        let ids: Vec<_> = with_class(&document, "cut")
            .iter()
            .map(|n| n.attribute("id"))
            .collect();
        assert_eq!(ids, [Some("cut-blade"), Some("cut-loop")]);
        let piece = with_class(&document, "piece")[0];
        assert_eq!(piece.attribute("data-quantity"), Some("1"));
        assert_eq!(root.attribute("data-style"), Some("club & sons"));
    }

    #[test]
    fn curves_stay_curves_and_y_runs_down() {
        let sheet = pattern_sheet(&sample::draft());
        let text = svg(&sheet);
        let document = Document::parse(&text).expect("XML");
        let data = with_class(&document, "cut")[0]
            .attribute("d")
            .expect("path data");
        assert_eq!(data.matches('C').count(), 1);
        assert_eq!(data.matches('M').count(), 1);
        assert!(data.ends_with('Z'));
        // The panel's first corner is its point; the sheet's upper edge is y = 0.
        let first: Vec<f64> = data[1..]
            .split(['L', ' '])
            .take(2)
            .map(|n| n.parse().expect("a number"))
            .collect();
        let offset = sheet.groups[0].offset;
        assert!((first[0] - offset.x).abs() < 1e-4);
        assert!((first[1] - (sheet.height - offset.y)).abs() < 1e-4);
    }

    #[test]
    fn every_kind_of_mark_is_drawn_on_the_piece() {
        let text = svg(&pattern_sheet(&sample::draft()));
        let document = Document::parse(&text).expect("XML");
        let blade = document
            .descendants()
            .find(|n| n.attribute("id") == Some("piece-blade"));
        let classes: Vec<&str> = blade
            .expect("a group")
            .children()
            .filter_map(|n| n.attribute("class"))
            .collect();
        let expected = [
            "cut",
            "net",
            "sew",
            "fold",
            "place",
            "notch slit",
            "notch v",
            "notch t",
        ];
        for class in expected
            .into_iter()
            .chain(["drill", "grain", "text", "label"])
        {
            assert!(classes.contains(&class), "{class}");
        }
        let words: Vec<_> = with_class(&document, "text")
            .iter()
            .map(|n| n.text())
            .collect();
        assert_eq!(words, [Some("caf\u{e9} <label> ^ here")]);
    }

    #[test]
    fn the_folded_sheet_shows_face_and_back() {
        let sheet = folded_sheet(&sample::draft()).expect("a sheet");
        let text = svg(&sheet);
        let document = Document::parse(&text).expect("XML");
        for id in ["sheet-face", "sheet-back"] {
            let view = document
                .descendants()
                .find(|n| n.attribute("id") == Some(id));
            let fills = view.expect("a view").children();
            assert_eq!(
                fills
                    .filter(|n| n.attribute("class") == Some("fill"))
                    .count(),
                2
            );
        }
    }

    #[test]
    fn what_xml_forbids_is_left_out() {
        let mut draft = sample::draft();
        draft.style = "a\u{0}b\u{b}c\u{FFFF}<\">".into();
        let text = svg(&pattern_sheet(&draft));
        let document = Document::parse(&text).expect("XML");
        assert_eq!(
            document.root_element().attribute("data-style"),
            Some("abc<\">")
        );
    }
}
