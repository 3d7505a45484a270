//! Words on a piece: those the draft asks for and the name, quantity and cloth every piece bears.
//!
//! Words stay inside the piece and off its lines where there is room. Words that belong to a place run
//! over a line rather than leave it; all others, and those with no room at all, stand below the piece
//! with a leader. No word is made smaller than [`CAPITAL`], none is left out and none covers another.

use std::sync::Arc;

use libm::{cos, sin};
use tiewright_geometry::{Point, Rect, Vec2};

use super::field::{Block, Field};
use super::text::{text_width, wrapped};
use super::{CAPITAL, LEADING, NAME_CAPITAL, rule};
use crate::sheet::{Align, Item, Mark, Words};
use crate::source::Span;

/// Gap between a piece and words that stand below it, mm.
const BELOW: f64 = 4.0;
/// Gap between a placed line and its name, mm; more than the clear room round words.
const BESIDE: f64 = 1.5;
/// Where to try first, as shares of the width from the left: the middle, then outwards.
const ACROSS: [f64; 11] = [
    0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9,
];
/// The same for the height.
const UP: [f64; 9] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.14, 0.86];
/// How far declared words may be moved to clear a line, mm, nearest first.
const NUDGES: [f64; 7] = [0.0, 3.0, -3.0, 6.0, -6.0, 10.0, -10.0];
/// Words wider than this are broken into lines when they do not fit on one, mm.
const BROKEN: f64 = 60.0;

/// Some lines of words that stay together.
#[derive(Debug, Clone)]
pub(super) struct Lines {
    /// Each line and the height of its capitals, mm.
    pub lines: Vec<(Arc<str>, f64)>,
    /// Whether the draft asks for them.
    pub declared: bool,
    /// What they come from.
    pub span: Span,
}

/// Places words on one piece.
pub(super) struct Writer<'a> {
    /// The room on the piece; words placed are added.
    pub field: &'a mut Field,
    /// Bounds of the cut outline.
    pub bounds: Rect,
    /// Bounds of everything, words below included.
    pub footprint: Rect,
    /// What has been written.
    pub items: Vec<Item>,
}

impl Writer<'_> {
    /// Writes declared words at their place; moved a little, broken into lines or put below the
    /// piece if they would leave it or run over a line.
    pub fn declared(&mut self, text: &str, at: Point, angle: f64, span: Span) {
        let along = Vec2::new(cos(angle), sin(angle));
        let one = Lines::new(vec![(text.into(), CAPITAL)], true, span);
        let broken = wrapped(text, CAPITAL, BROKEN)
            .into_iter()
            .map(|l| (l.into(), CAPITAL));
        let broken = Lines::new(broken.collect(), true, span);
        let choices = if broken.lines.len() > 1 {
            vec![one, broken]
        } else {
            vec![one]
        };
        for lines in &choices {
            if let Some(block) = self.near(lines, at, along) {
                return self.write(lines, block);
            }
        }
        // Over a line of the piece is better than away from the place meant.
        for lines in &choices {
            let block = lines.hung_at(at, along);
            if self.field.holds(&block) {
                return self.write(lines, block);
            }
        }
        self.anywhere(&choices);
    }

    /// Writes the name of a placed line inside or beside its `bounds`, level or upright; across
    /// other lines of the piece rather than not at all.
    pub fn beside(&mut self, name: &str, bounds: Rect, span: Span) {
        let lines = Lines::new(vec![(name.into(), CAPITAL)], false, span);
        let (width, height) = lines.size();
        let block = |centre, upright| Block {
            centre,
            width,
            height,
            along: if upright {
                Vec2::new(0.0, 1.0)
            } else {
                Vec2::new(1.0, 0.0)
            },
        };
        let places = [false, true].into_iter().flat_map(|upright| {
            let (w, h) = if upright {
                (height, width)
            } else {
                (width, height)
            };
            let away = Vec2::new(
                (bounds.width() + w) / 2.0 + BESIDE,
                (bounds.height() + h) / 2.0 + BESIDE,
            );
            [(0.0, 0.0), (1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)].map(|(dx, dy)| {
                block(
                    bounds.center() + Vec2::new(dx * away.x, dy * away.y),
                    upright,
                )
            })
        });
        let places: Vec<Block> = places.collect();
        let free = places.iter().find(|block| self.field.is_free(block));
        let held = || places.iter().find(|block| self.field.holds(block));
        match free.or_else(held) {
            Some(block) => self.write(&lines, *block),
            None => self.below(&lines),
        }
    }

    /// Writes the first of `choices` that has room on the piece, level or upright; else the second
    /// (there is no need for large letters beside a small piece) below it.
    pub fn anywhere(&mut self, choices: &[Lines]) {
        for along in [Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0)] {
            for lines in choices {
                if let Some(block) = self.room_for(lines, along) {
                    return self.write(lines, block);
                }
            }
        }
        if let Some(lines) = choices.get(1).or(choices.first()) {
            self.below(lines);
        }
    }

    fn near(&self, lines: &Lines, at: Point, along: Vec2) -> Option<Block> {
        let across = Vec2::new(-along.y, along.x);
        NUDGES
            .iter()
            .flat_map(|&dy| NUDGES.iter().map(move |&dx| at + along * dx + across * dy))
            .map(|place| lines.hung_at(place, along))
            .find(|block| self.field.is_free(block))
    }

    fn room_for(&self, lines: &Lines, along: Vec2) -> Option<Block> {
        let (width, height) = lines.size();
        let bounds = self.bounds;
        let (w, h) = if along.x > 0.5 {
            (width, height)
        } else {
            (height, width)
        };
        if w > bounds.width() || h > bounds.height() {
            return None;
        }
        UP.iter()
            .flat_map(|&v| ACROSS.iter().map(move |&u| (u, v)))
            .map(|(u, v)| bounds.origin() + Vec2::new(u * bounds.width(), v * bounds.height()))
            .map(|centre| Block {
                centre,
                width,
                height,
                along,
            })
            .find(|block| self.field.is_free(block))
    }

    /// Below everything written so far, with a leader up to the lowest part of the outline.
    fn below(&mut self, lines: &Lines) {
        let (width, height) = lines.size();
        let lowest = self.field.lowest().unwrap_or(self.bounds.origin());
        let top = self.footprint.y0 - BELOW;
        let block = Block::level(Point::new(lowest.x, top - height / 2.0), width, height);
        if self.footprint.y0 >= self.bounds.y0 {
            self.items
                .extend(rule(lowest, Point::new(lowest.x, top + 1.0)));
        }
        self.write(lines, block);
    }

    fn write(&mut self, lines: &Lines, block: Block) {
        self.field.add_block(&block);
        self.footprint = self.footprint.union(block.bounds());
        let down = Vec2::new(block.along.y, -block.along.x);
        let mut top = block.centre - down * (block.height / 2.0);
        let angle = libm::atan2(block.along.y, block.along.x);
        for (text, height) in &lines.lines {
            let at = top + down * *height;
            let words = Words {
                text: text.clone(),
                at,
                align: Align::Middle,
                height: *height,
                angle,
            };
            let mark = if lines.declared {
                Mark::Text(words)
            } else {
                Mark::Label(words)
            };
            self.items.push(Item {
                mark,
                span: lines.span,
            });
            top += down * (height * LEADING);
        }
    }
}

impl Lines {
    /// Lines with the heights of their capitals.
    pub fn new(lines: Vec<(Arc<str>, f64)>, declared: bool, span: Span) -> Self {
        Lines {
            lines,
            declared,
            span,
        }
    }

    /// The name on top, `details` under it.
    pub fn titled(name: &str, name_height: f64, details: &[String], span: Span) -> Self {
        let mut lines: Vec<(Arc<str>, f64)> = vec![(name.into(), name_height)];
        lines.extend(details.iter().map(|d| (Arc::from(d.as_str()), CAPITAL)));
        Lines::new(lines, false, span)
    }

    /// Width and height, mm, from the first line's capitals to the last line's descenders.
    fn size(&self) -> (f64, f64) {
        let width = self
            .lines
            .iter()
            .map(|(t, h)| text_width(t, *h))
            .fold(0.0, f64::max);
        let rows: f64 = self.lines.iter().map(|(_, h)| h * LEADING).sum();
        let last = self.lines.last().map_or(0.0, |(_, h)| *h);
        // The last line needs no leading, only room for its descenders.
        (width, rows - last * (LEADING - 1.0 - DESCENDER))
    }

    /// The block whose first line has its middle at `at`.
    fn hung_at(&self, at: Point, along: Vec2) -> Block {
        let (width, height) = self.size();
        let first = self.lines.first().map_or(CAPITAL, |(_, h)| *h);
        let down = Vec2::new(along.y, -along.x);
        Block {
            centre: at + down * (height / 2.0 - first / 2.0),
            width,
            height,
            along,
        }
    }
}

/// How far letters hang below the line, in heights of a capital.
const DESCENDER: f64 = 0.35;

/// The ways to write what every piece bears, best first: name, quantity, cloth, style and size.
pub(super) fn piece_labels(name: &str, cut: &str, style: &str, span: Span) -> Vec<Lines> {
    let all = [cut.to_owned(), style.to_owned()];
    let some = &all[..1];
    vec![
        Lines::titled(name, NAME_CAPITAL, &all, span),
        Lines::titled(name, CAPITAL, &all, span),
        Lines::titled(name, CAPITAL, some, span),
        Lines::titled(&format!("{name}, {cut}"), CAPITAL, &[], span),
    ]
}
