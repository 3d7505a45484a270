//! Scalable drawings: any sheet at full size, curves as curves.
//!
//! One unit is one millimetre and the stated size says so, so a print at 100 % is 1:1. Line types
//! differ by weight and dash as well as by name, for prints in grey. The text is plain ASCII save
//! for words that are not; it needs no style sheet and no script.
//!
//! The `svg` crate holds the tree and writes it, attributes in the order of their names. Numbers
//! are handed to it as text: its own path data has single precision only, which cannot hold the
//! decimals written here.

use std::fmt::Write;

use ::svg::Document;
use ::svg::node::element::{Circle, Element, Group as GroupNode, Path, Title};
use ::svg::node::{Node, Text as TextNode};
use tiewright_core::draft::NotchKind;
use tiewright_core::sheet::{self, Align, Fact, Group, Mark, Sheet, Words};
use tiewright_geometry::{Curve, Point, Vec2};

use super::ink::{self, DRILL_RADIUS, FONT_SIZE, Stroke};
use super::number::{Zeros, fixed};
use super::path::Plot;

/// Decimals of a coordinate, mm: a tenth of a micrometre.
const PLACES: usize = 4;
/// Faces in order of liking; the widths of the layout suit them all.
const FONTS: &str = "Noto Sans,Helvetica,Arial,sans-serif";
/// A first guess at the size of a file, bytes.
const CAPACITY: usize = 32 << 10;

/// `sheet` as an SVG document.
pub fn svg(sheet: &Sheet) -> String {
    let (width, height) = (number(sheet.width), number(sheet.height));
    let mut document = Document::new()
        .set("viewBox", format!("0 0 {width} {height}"))
        .set("width", width + "mm")
        .set("height", height + "mm")
        .add(Title::new(clean(&sheet.title)));
    facts(&mut document, &sheet.facts);
    for group in &sheet.groups {
        document.append(drawn(group, sheet.height));
    }
    let mut text = String::with_capacity(CAPACITY);
    // Writing to a string cannot fail.
    let _ = writeln!(text, "{document}");
    text
}

fn number(value: f64) -> String {
    fixed(value, PLACES, Zeros::Dropped)
}

/// Words without the characters XML forbids, on one line. The library writes out the reserved ones.
fn clean(text: &str) -> String {
    text.chars()
        .map(|c| {
            if matches!(c, '\n' | '\r' | '\t') {
                ' '
            } else {
                c
            }
        })
        .filter(|c| !c.is_control() && !matches!(c, '\u{FFFE}' | '\u{FFFF}'))
        .collect()
}

fn facts(node: &mut impl Node, facts: &[Fact]) {
    for (name, value) in facts {
        node.assign(format!("data-{name}"), clean(value));
    }
}

fn drawn(group: &Group, height: f64) -> GroupNode {
    let kind = if group.is_piece { "piece" } else { "sheet" };
    let mut node = GroupNode::new()
        .set("id", format!("{kind}-{}", clean(&group.name)))
        .set("class", kind);
    facts(&mut node, &group.facts);
    let mut pen = Pen {
        node,
        plot: Plot {
            dx: group.offset.x,
            dy: height - group.offset.y,
            down: true,
            places: PLACES,
        },
    };
    for item in &group.items {
        pen.mark(&item.mark, group);
    }
    pen.node
}

/// The style of a line with nothing inside.
fn open_line(stroke: Stroke) -> String {
    format!("fill:none;{}", line(stroke))
}

fn line(stroke: Stroke) -> String {
    format!("stroke:#000;{}", form(stroke))
}

/// The style of a line drawn with a pen of its own.
fn own_line(pen: sheet::Pen) -> String {
    let shade = ink::shade(pen.grey);
    let form = form(ink::own(pen));
    format!("fill:none;stroke:#{shade:02x}{shade:02x}{shade:02x};{form}")
}

/// Width and dashes.
fn form(stroke: Stroke) -> String {
    let mut text = format!("stroke-width:{}", number(stroke.width));
    for (index, part) in stroke.dash.iter().enumerate() {
        text += if index == 0 {
            ";stroke-dasharray:"
        } else {
            " "
        };
        text += &number(*part);
    }
    text
}

/// Draws the marks of one group.
struct Pen {
    node: GroupNode,
    plot: Plot,
}

impl Pen {
    fn mark(&mut self, mark: &Mark, group: &Group) {
        let plot = self.plot;
        match mark {
            Mark::Cut(ring) => {
                let path = path(&(open_line(ink::CUT) + ";stroke-linejoin:miter"), |out| {
                    plot.ring(out, ring)
                });
                // Only a piece's outline is to be cut; the key's sample is not.
                self.node.append(if group.is_piece {
                    path.set("id", format!("cut-{}", clean(&group.name)))
                        .set("class", "cut")
                } else {
                    path.set("class", "key")
                });
            }
            Mark::Net(curve) => self.line("net", ink::NET, curve),
            Mark::Sew(curve) => self.line("sew", ink::SEW, curve),
            Mark::Fold(curve) => self.line("fold", ink::FOLD, curve),
            Mark::Place(curve) => self.line("place", ink::PLACE, curve),
            Mark::Rule(curve) => self.line("rule", ink::RULE, curve),
            Mark::Stroke(curve, pen) => {
                self.path("stroke", &own_line(*pen), |out| plot.curve(out, curve));
            }
            Mark::Fill(corners, grey) => self.fill(corners, *grey),
            Mark::Grain { from, to } => self.grain(*from, *to),
            Mark::Notch {
                kind,
                at,
                inward,
                depth,
                width,
            } => self.notch(*kind, *at, *inward * *depth, *width),
            Mark::Drill(at) => self.drill(*at),
            Mark::Text(words) => self.words("text", words),
            Mark::Label(words) => self.words("label", words),
        }
    }

    fn line(&mut self, class: &str, stroke: Stroke, curve: &Curve) {
        let plot = self.plot;
        self.path(class, &open_line(stroke), |out| plot.curve(out, curve));
    }

    fn path(&mut self, class: &str, style: &str, data: impl FnOnce(&mut String)) {
        self.node.append(path(style, data).set("class", class));
    }

    fn fill(&mut self, corners: &[Point], grey: f64) {
        let shade = ink::shade(grey);
        let style = format!(
            "{};stroke-linejoin:round;fill:#{shade:02x}{shade:02x}{shade:02x}",
            line(ink::FILL)
        );
        let plot = self.plot;
        self.path("fill", &style, |out| plot.polygon(out, corners));
    }

    /// A line along the warp with a solid head, shortened on a short arrow.
    fn grain(&mut self, from: Point, to: Point) {
        let plot = self.plot;
        let style = format!("fill:#000;{};stroke-linejoin:round", line(ink::GRAIN));
        self.path("grain", &style, |out| {
            plot.stretch(out, from, to);
            if let Some(head) = ink::arrow_head(from, to) {
                plot.polygon(out, &head);
            }
        });
    }

    /// `reach` is the way from the outline to the foot of the notch.
    fn notch(&mut self, kind: NotchKind, at: Point, reach: Vec2, width: f64) {
        let plot = self.plot;
        let class = match kind {
            NotchKind::Slit => "notch slit",
            NotchKind::V => "notch v",
            NotchKind::T => "notch t",
        };
        self.path(class, &open_line(ink::NOTCH), |out| {
            for [from, to] in ink::notch(kind, at, reach, width) {
                plot.stretch(out, from, to);
            }
        });
    }

    fn drill(&mut self, at: Point) {
        let plot = self.plot;
        let centre = plot.map(at);
        let circle = Circle::new()
            .set("class", "drill")
            .set("style", open_line(ink::DRILL))
            .set("cx", number(centre.x))
            .set("cy", number(centre.y))
            .set("r", number(DRILL_RADIUS));
        self.node.append(circle);
        let (right, up) = (Vec2::new(DRILL_RADIUS, 0.0), Vec2::new(0.0, DRILL_RADIUS));
        self.path("drill-cross", &open_line(ink::DRILL), |out| {
            plot.stretch(out, at - right, at + right);
            plot.stretch(out, at - up, at + up);
        });
    }

    fn words(&mut self, class: &str, words: &Words) {
        let at = self.plot.map(words.at);
        let (x, y) = (number(at.x), number(at.y));
        let anchor = match words.align {
            Align::Start => "start",
            Align::Middle => "middle",
        };
        let size = number(words.height * FONT_SIZE);
        // A plain element: the library's own for text breaks the line inside, which readers keep.
        let mut node = Element::new("text");
        node.assign("class", class);
        node.assign(
            "style",
            format!("fill:#000;font-family:{FONTS};font-size:{size}px;text-anchor:{anchor}"),
        );
        if words.angle != 0.0 {
            let angle = number(-words.angle.to_degrees());
            node.assign("transform", format!("rotate({angle} {x} {y})"));
        }
        node.assign("x", x);
        node.assign("y", y);
        node.append(TextNode::new(clean(&words.text)));
        self.node.append(node);
    }
}

fn path(style: &str, data: impl FnOnce(&mut String)) -> Path {
    let mut text = String::new();
    data(&mut text);
    Path::new().set("style", style).set("d", text)
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
        // Two cloths on either side, and on the back the tack with its name.
        for (id, fills, words) in [("sheet-face", 2, "face"), ("sheet-back", 3, "tack")] {
            let view = document
                .descendants()
                .find(|n| n.attribute("id") == Some(id))
                .expect("a view");
            let filled = |n: &Node| n.attribute("class") == Some("fill");
            assert_eq!(view.children().filter(filled).count(), fills);
            assert!(view.children().any(|n| n.text() == Some(words)), "{words}");
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

    #[test]
    fn words_stay_on_one_line() {
        let text = svg(&pattern_sheet(&sample::draft()));
        assert!(text.contains(">caf\u{e9} &lt;label&gt; ^ here</text>\n"));
        assert!(text.contains("<title>club &amp; sons, size long</title>\n"));
        assert!(!text.contains("\n</text>") && !text.contains("\n</title>"));
    }

    #[test]
    fn attributes_are_in_the_order_of_their_names() {
        // The library keeps them in a map of random order; many elements would show it.
        let sheet = pattern_sheet(&sample::draft());
        assert_eq!(svg(&sheet), svg(&sheet));
        let text = svg(&sheet);
        let cut = text.find("<path class=\"cut\" d=\"M").expect("an outline");
        assert!(text[cut..].contains("Z\" id=\"cut-blade\" style=\"fill:none"));
    }
}
