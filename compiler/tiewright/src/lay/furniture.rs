//! What a marker bears beside its pieces: the edges of the cloth, flaws, rulers, the title.
//!
//! Never: a file format.

use tiewright_core::format::decimal;
use tiewright_core::layout::{LEADING, text_width};
use tiewright_core::sheet::{Align, Group, Item, Mark, Pen, Words};
use tiewright_core::source::Span;
use tiewright_geometry::{Curve, Point, Rect, Vec2};

use super::job::LayJob;
use super::sheet::{Fact, Ground};
use super::solve::rectangle;

/// The name of the group that holds the edges of the cloth.
pub const CLOTH: &str = "cloth";
/// The name of the group that holds the flaws.
pub const FLAWS: &str = "flaws";
/// The name of the group that holds the rulers.
pub const RULERS: &str = "rulers";
/// The name of the group that holds the title.
const TITLE: &str = "title";

/// The edge of the cloth.
const EDGE: Pen = pen(0.6, 0.0, &[]);
/// A line to cut, to a smaller scale.
const THIN: Pen = pen(0.3, 0.0, &[]);
/// Where pieces may lie.
const USABLE: Pen = pen(0.25, 0.35, &[6.0, 3.0]);
/// Round a flaw.
const FLAW: Pen = pen(0.5, 0.0, &[2.0, 1.5]);
/// The ground of a flaw, between black and white.
const FLAW_GREY: f64 = 0.8;
/// Side of the test square, mm; its words say so.
const TEST_SQUARE: f64 = 50.0;
/// Least and greatest height of a capital in the title, mm: read at arm's length, and across a
/// table.
const CAPITALS: (f64, f64) = (2.6, 14.0);
/// A capital over the width of the cloth as it is drawn.
const CAPITAL: f64 = 0.01;
/// Least height of words on pieces, mm: at full size, and to a smaller scale.
const LEAST: (f64, f64) = (2.5, 1.2);
/// The title is broken into lines of so many capitals.
const LINE: f64 = 46.0;
/// From the left of the title to its values, capitals.
const INDENT: f64 = 10.0;
/// Steps of a ruler, mm of cloth: those that are drawn are so far apart that words fit.
const STEPS: [f64; 6] = [50.0, 100.0, 200.0, 500.0, 1000.0, 5000.0];

/// A ruler that is shorter than a whole step by less than this share of it ends in a number: rounding.
const WHOLE: f64 = 1e-9;

const fn pen(width: f64, grey: f64, dashes: &'static [f64]) -> Pen {
    Pen {
        width,
        grey,
        dashes,
    }
}

/// How large the words of a sheet are.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    /// Height of a capital in the title, mm.
    capital: f64,
    /// Whether it is drawn at full size.
    full: bool,
}

impl Look {
    /// For cloth that is `width` mm wide on the sheet.
    pub fn new(width: f64, scale: f64) -> Self {
        Look {
            capital: (width * CAPITAL).clamp(CAPITALS.0, CAPITALS.1),
            full: scale >= 1.0,
        }
    }

    /// Greatest and least height of words on pieces, mm.
    pub fn words(self) -> (f64, f64) {
        (self.capital, if self.full { LEAST.0 } else { LEAST.1 })
    }

    /// `mark` of a piece as items. To a smaller scale the lines to cut are thin, so that neighbours
    /// can be told apart, and notches and holes are left out.
    pub fn inked(self, mark: Mark) -> Vec<Item> {
        match mark {
            Mark::Cut(ring) if !self.full => {
                let edges = ring.edges().iter();
                let curves: Vec<Curve> = edges.map(|edge| edge.curve.clone()).collect();
                let line = Curve::chain(&curves).ok();
                let stroke = line.map(|line| item(Mark::Stroke(line, THIN)));
                stroke.into_iter().collect()
            }
            // Too small to be told from blots.
            Mark::Notch { .. } | Mark::Drill(_) if !self.full => Vec::new(),
            mark => vec![item(mark)],
        }
    }

    /// Room for a ruler, mm.
    pub fn ruler_room(self) -> f64 {
        self.ruler() * 4.5
    }

    /// Height of the numbers of a ruler, mm.
    fn ruler(self) -> f64 {
        (self.capital * 0.6).max(1.8)
    }
}

/// The title, its top left corner at the origin.
#[derive(Debug)]
pub(super) struct Title {
    pub group: Group,
    pub width: f64,
    pub height: f64,
}

fn item(mark: Mark) -> Item {
    Item {
        mark,
        span: Span::default(),
    }
}

fn words(text: &str, at: Point, align: Align, height: f64, angle: f64) -> Item {
    item(Mark::Label(Words {
        text: text.into(),
        at,
        align,
        height,
        angle,
    }))
}

fn group(name: &str, items: Vec<Item>) -> Group {
    Group {
        name: name.into(),
        is_piece: false,
        facts: Vec::new(),
        offset: Vec2::ZERO,
        items,
    }
}

fn stroke(from: Point, to: Point, pen: Pen) -> Option<Item> {
    let curve = Curve::line(from, to).ok()?;
    Some(item(Mark::Stroke(curve, pen)))
}

fn rule(from: Point, to: Point) -> Option<Item> {
    Some(item(Mark::Rule(Curve::line(from, to).ok()?)))
}

fn corners(rect: Rect) -> [Point; 4] {
    [
        Point::new(rect.x0, rect.y0),
        Point::new(rect.x1, rect.y0),
        Point::new(rect.x1, rect.y1),
        Point::new(rect.x0, rect.y1),
    ]
}

/// A rectangle as one line.
fn frame(rect: Rect, pen: Pen) -> Option<Item> {
    let corners = corners(rect);
    let next = corners.iter().cycle().skip(1);
    let sides = corners.iter().zip(next).map(|(&a, &b)| Curve::line(a, b));
    let sides: Result<Vec<Curve>, _> = sides.collect();
    let curve = Curve::chain(&sides.ok()?).ok()?;
    Some(item(Mark::Stroke(curve, pen)))
}

/// The edges of the cloth, and inside them where pieces may lie.
pub(super) fn cloth(ground: &Ground, job: &LayJob, length: f64) -> Group {
    let edge = Rect::from_points(
        ground.of_cloth(Point::ZERO),
        ground.of_cloth(Point::new(ground.length, ground.width)),
    );
    let mut items: Vec<Item> = frame(edge, EDGE).into_iter().collect();
    let (low, high) = (
        ground.at(Point::ZERO),
        ground.at(Point::new(length, job.cloth.usable_width)),
    );
    // Where nothing is lost the edge of the cloth says it all.
    if job.cloth.usable_width < job.cloth.width {
        for y in [low.y, high.y] {
            items.extend(stroke(
                Point::new(edge.x0, y),
                Point::new(edge.x1, y),
                USABLE,
            ));
        }
    }
    if job.table.end_loss > 0.0 {
        for x in [low.x, high.x] {
            items.extend(stroke(
                Point::new(x, edge.y0),
                Point::new(x, edge.y1),
                USABLE,
            ));
        }
    }
    group(CLOTH, items)
}

/// The flaws, as far as they lie on this length of cloth.
pub(super) fn flaws(ground: &Ground, job: &LayJob, look: Look) -> Option<Group> {
    let cloth = Rect::from_points(
        ground.of_cloth(Point::ZERO),
        ground.of_cloth(Point::new(ground.length, ground.width)),
    );
    let mut items = Vec::new();
    for rect in job.flaws.iter().map(rectangle) {
        let drawn = Rect::from_points(
            ground.at(rect.origin()),
            ground.at(Point::new(rect.x1, rect.y1)),
        );
        let drawn = drawn.intersect(cloth);
        if drawn.width() <= 0.0 || drawn.height() <= 0.0 {
            continue;
        }
        items.push(item(Mark::Fill(corners(drawn).to_vec(), FLAW_GREY)));
        items.extend(frame(drawn, FLAW));
        let height = look.ruler().min(drawn.height() / 2.0);
        let at = drawn.center() - Vec2::new(0.0, height / 2.0);
        if text_width("flaw", height) < drawn.width() {
            items.push(words("flaw", at, Align::Middle, height, 0.0));
        }
    }
    (!items.is_empty()).then(|| group(FLAWS, items))
}

/// Rulers along the cloth and across it, from its corner.
pub(super) fn rulers(ground: &Ground, look: Look) -> Group {
    let height = look.ruler();
    // Words of five figures and a gap.
    let least = text_width("00000 ", height) * 1.2;
    let step = STEPS.into_iter().find(|step| step * ground.scale >= least);
    let step = step.unwrap_or(least / ground.scale);
    let mut items = Vec::new();
    let tick = height * 0.8;
    let ticks = |most: f64| (0..=(most / step + WHOLE) as u32).map(|k| f64::from(k) * step);
    for along in ticks(ground.length) {
        let at = ground.of_cloth(Point::new(along, 0.0));
        items.extend(rule(at, at - Vec2::new(0.0, tick)));
        let below = at - Vec2::new(0.0, tick + 1.5 * height);
        items.push(words(&decimal(along, 0), below, Align::Middle, height, 0.0));
    }
    for across in ticks(ground.width) {
        let at = ground.of_cloth(Point::new(0.0, across));
        items.extend(rule(at, at - Vec2::new(tick, 0.0)));
        let left = at - Vec2::new(tick + 0.5 * height, 0.0);
        let upright = std::f64::consts::FRAC_PI_2;
        items.push(words(
            &decimal(across, 0),
            left,
            Align::Middle,
            height,
            upright,
        ));
    }
    group(RULERS, items)
}

/// The title: what the marker is called, what is to be known of it, and what to beware of.
pub(super) fn title(rows: &[Fact], look: Look, caution: &str) -> Title {
    let capital = look.capital;
    let mut column = Column {
        capital,
        items: Vec::new(),
        width: 0.0,
        height: 0.0,
    };
    for (name, value) in rows {
        if name.is_empty() && column.height == 0.0 {
            column.line(value, 0.0, capital * 1.5);
        } else {
            column.fact(name, value);
        }
    }
    column.height += capital;
    for line in wrapped(caution, capital * 0.8, LINE * capital) {
        column.line(&line, 0.0, capital * 0.8);
    }
    if look.full {
        column.test_square();
    }
    Title {
        width: column.width,
        height: column.height,
        group: group(TITLE, column.items),
    }
}

/// Lines of words below the origin.
struct Column {
    capital: f64,
    items: Vec<Item>,
    width: f64,
    height: f64,
}

impl Column {
    fn line(&mut self, text: &str, left: f64, height: f64) {
        let at = Point::new(left, -self.height - height);
        self.items.push(words(text, at, Align::Start, height, 0.0));
        self.width = self.width.max(left + text_width(text, height));
        self.height += height * LEADING;
    }

    fn fact(&mut self, name: &str, value: &str) {
        let left = INDENT * self.capital;
        if !name.is_empty() {
            let at = Point::new(0.0, -self.height - self.capital);
            self.items
                .push(words(name, at, Align::Start, self.capital, 0.0));
        }
        let lines = wrapped(value, self.capital, LINE * self.capital - left);
        for line in &lines {
            self.line(line, left, self.capital);
        }
    }

    fn test_square(&mut self) {
        let top = -self.height - self.capital;
        let rect = Rect::new(0.0, top - TEST_SQUARE, TEST_SQUARE, top);
        let corners = corners(rect);
        for (&from, &to) in corners.iter().zip(corners.iter().cycle().skip(1)) {
            self.items.extend(rule(from, to));
        }
        let height = self.capital.min(7.0);
        let at = Point::new(rect.center().x, rect.center().y - height / 2.0);
        self.items
            .push(words("50 mm", at, Align::Middle, height, 0.0));
        self.height = -top + TEST_SQUARE;
        self.width = self.width.max(TEST_SQUARE);
    }
}

/// `text` in lines no wider than `width`, broken between words; a longer word stays whole.
fn wrapped(text: &str, height: f64, width: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if text_width(&format!("{line} {word}"), height) <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
