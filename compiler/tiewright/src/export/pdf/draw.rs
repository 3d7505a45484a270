//! Inks as the operators of a page: drawn in millimetres under one transform.

use std::collections::BTreeSet;

use pdf_writer::types::LineJoinStyle;
use pdf_writer::{Content, Name, Str};
use tiewright_core::sheet::{Align, Group, Mark, Sheet, Words};
use tiewright_geometry::{Affine, Curve, PathSeg, Point, Vec2};

use super::flow::{Ink, POINT, Page};
use super::font::{Face, Fonts};
use crate::export::ink::{self, DRILL_RADIUS, FONT_SIZE, Stroke};

/// One over the last decimal of a number: a tenth of a micrometre.
const SCALE: f64 = 1e4;
/// How far the handles of a cubic reach that stands for a quarter of a circle, radii (the middle
/// of the cubic lies on the circle).
const QUARTER: f64 = 0.552_284_75;

/// A number as this format writes it: rounded, never −0.
pub(super) fn number(value: f64) -> f32 {
    ((value * SCALE).round() / SCALE + 0.0) as f32
}

/// The characters of a face that `pages` use, in order, each once.
pub(super) fn letters(pages: &[Page], face: Face) -> Vec<char> {
    let mut used = BTreeSet::new();
    for ink in pages.iter().flat_map(|page| &page.inks) {
        match ink {
            Ink::Words { text, face: of, .. } if *of == face => used.extend(text.chars()),
            Ink::Drawing { sheet, .. } if face == Face::Regular => {
                used.extend(words_of(sheet).flat_map(|words| words.text.chars()));
            }
            _ => {}
        }
    }
    used.into_iter().collect()
}

fn words_of(sheet: &Sheet) -> impl Iterator<Item = &Words> {
    let items = sheet.groups.iter().flat_map(|group| &group.items);
    items.filter_map(|item| match &item.mark {
        Mark::Text(words) | Mark::Label(words) => Some(words),
        _ => None,
    })
}

/// The name of a face among the resources of a page.
pub(super) fn resource(face: Face) -> Name<'static> {
    match face {
        Face::Regular => Name(b"R"),
        Face::Bold => Name(b"B"),
    }
}

/// The codes of a face's characters: their place in `letters`, from 1.
pub(super) struct Codes {
    /// The characters, in order, each once.
    pub letters: Vec<char>,
}

impl Codes {
    /// `text` as the two bytes of each code.
    fn encoded(&self, text: &str) -> Vec<u8> {
        let place = |c: char| self.letters.binary_search(&c).map_or(0, |at| at + 1);
        text.chars()
            .flat_map(|c| u16::try_from(place(c)).unwrap_or(0).to_be_bytes())
            .collect()
    }
}

/// The operators of `page`.
pub(super) fn content(page: &Page, fonts: &Fonts, codes: &[Codes; 2]) -> Vec<u8> {
    let mut pen = Pen {
        content: Content::new(),
        fonts,
        codes,
    };
    let point = number(1.0 / POINT);
    pen.content.transform([point, 0.0, 0.0, point, 0.0, 0.0]);
    for ink in &page.inks {
        pen.ink(ink);
    }
    pen.content.finish().to_vec()
}

struct Pen<'p> {
    content: Content,
    fonts: &'p Fonts,
    codes: &'p [Codes; 2],
}

impl Pen<'_> {
    fn ink(&mut self, ink: &Ink) {
        match ink {
            Ink::Words {
                at,
                text,
                face,
                size,
            } => self.words(*at, text, *face, *size, 0.0),
            Ink::Line { from, to, width } => {
                let stroke = Stroke {
                    width: *width,
                    dash: &[],
                };
                self.stroke(stroke);
                self.stretch(*from, *to);
                self.content.stroke();
            }
            Ink::Panel { low, high, grey } => {
                self.content.set_fill_gray(number(*grey));
                self.content.rect(
                    number(low.x),
                    number(low.y),
                    number(high.x - low.x),
                    number(high.y - low.y),
                );
                self.content.fill_nonzero();
            }
            Ink::Drawing { corner, sheet } => {
                for group in &sheet.groups {
                    self.group(group, corner.to_vec2() + group.offset);
                }
            }
        }
    }

    fn group(&mut self, group: &Group, by: Vec2) {
        for item in &group.items {
            if let Some(stroke) = ink::pen(&item.mark) {
                self.stroke(stroke);
            }
            self.mark(&item.mark, by);
        }
    }

    fn mark(&mut self, mark: &Mark, by: Vec2) {
        match mark {
            Mark::Cut(ring) => {
                let mut start = true;
                for edge in ring.edges() {
                    self.curve(&edge.curve, by, start);
                    start = false;
                }
                self.content.close_path().stroke();
            }
            Mark::Net(curve)
            | Mark::Sew(curve)
            | Mark::Fold(curve)
            | Mark::Place(curve)
            | Mark::Rule(curve) => {
                self.curve(curve, by, true);
                self.content.stroke();
            }
            Mark::Stroke(curve, pen) => {
                let shade = f64::from(ink::shade(pen.grey)) / 255.0;
                self.content.set_stroke_gray(number(shade));
                self.curve(curve, by, true);
                self.content.stroke().set_stroke_gray(0.0);
            }
            Mark::Fill(corners, grey) => {
                let shade = f64::from(ink::shade(*grey)) / 255.0;
                self.content.set_fill_gray(number(shade));
                self.polygon(corners, by);
                self.content.close_fill_nonzero_and_stroke();
            }
            Mark::Grain { from, to } => {
                self.stretch(*from + by, *to + by);
                self.content.stroke();
                if let Some(head) = ink::arrow_head(*from, *to) {
                    self.content.set_fill_gray(0.0);
                    self.polygon(&head, by);
                    self.content.close_fill_nonzero_and_stroke();
                }
            }
            Mark::Notch {
                kind,
                at,
                inward,
                depth,
                width,
            } => {
                for [from, to] in ink::notch(*kind, *at, *inward * *depth, *width) {
                    self.stretch(from + by, to + by);
                }
                self.content.stroke();
            }
            Mark::Drill(at) => self.drill(*at + by),
            Mark::Text(words) | Mark::Label(words) => self.label(words, by),
        }
    }

    fn stroke(&mut self, stroke: Stroke) {
        let dash = stroke.dash.iter().map(|part| number(*part));
        self.content
            .set_line_width(number(stroke.width))
            .set_line_join(LineJoinStyle::RoundJoin)
            .set_dash_pattern(dash, 0.0);
    }

    fn move_to(&mut self, p: Point) {
        self.content.move_to(number(p.x), number(p.y));
    }

    fn line_to(&mut self, p: Point) {
        self.content.line_to(number(p.x), number(p.y));
    }

    fn cubic_to(&mut self, [a, b, c]: [Point; 3]) {
        self.content.cubic_to(
            number(a.x),
            number(a.y),
            number(b.x),
            number(b.y),
            number(c.x),
            number(c.y),
        );
    }

    fn stretch(&mut self, from: Point, to: Point) {
        self.move_to(from);
        self.line_to(to);
    }

    fn polygon(&mut self, corners: &[Point], by: Vec2) {
        for (index, corner) in corners.iter().enumerate() {
            if index == 0 {
                self.move_to(*corner + by);
            } else {
                self.line_to(*corner + by);
            }
        }
    }

    fn curve(&mut self, curve: &Curve, by: Vec2, start: bool) {
        if start {
            self.move_to(curve.start() + by);
        }
        for segment in curve.segments() {
            match segment {
                PathSeg::Line(line) => self.line_to(line.p1 + by),
                PathSeg::Quad(_) | PathSeg::Cubic(_) => {
                    let cubic = segment.to_cubic();
                    self.cubic_to([cubic.p1, cubic.p2, cubic.p3].map(|p| p + by));
                }
            }
        }
    }

    /// A circle and a cross.
    fn drill(&mut self, at: Point) {
        let (x, y) = (Vec2::new(DRILL_RADIUS, 0.0), Vec2::new(0.0, DRILL_RADIUS));
        self.move_to(at + x);
        for (from, to) in [(x, y), (y, -x), (-x, -y), (-y, x)] {
            let corner = [from + to * QUARTER, to + from * QUARTER, to];
            self.cubic_to(corner.map(|v| at + v));
        }
        self.content.close_path();
        self.stretch(at - x, at + x);
        self.stretch(at - y, at + y);
        self.content.stroke();
    }

    fn label(&mut self, words: &Words, by: Vec2) {
        let size = words.height * FONT_SIZE;
        let wide = self.fonts.width(&words.text, Face::Regular, size);
        let along = match words.align {
            Align::Start => 0.0,
            Align::Middle => -wide / 2.0,
        };
        let start = Affine::rotate(words.angle) * Point::new(along, 0.0);
        let at = words.at + by + start.to_vec2();
        self.words(at, &words.text, Face::Regular, size, words.angle);
    }

    fn words(&mut self, at: Point, text: &str, face: Face, size: f64, angle: f64) {
        let Some(codes) = self.codes.get(face as usize) else {
            return;
        };
        let bytes = codes.encoded(text);
        let (sin, cos) = (number(libm::sin(angle)), number(libm::cos(angle)));
        self.content
            .set_fill_gray(0.0)
            .begin_text()
            .set_font(resource(face), number(size))
            .set_text_matrix([cos, sin, -sin, cos, number(at.x), number(at.y)])
            .show(Str(&bytes))
            .end_text();
    }
}
