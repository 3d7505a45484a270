//! A plot of readings: for every point a strip with its readings counted along a scale of tolerances, so
//! that all points are seen at one scale. A few readings are drawn one by one, many as bars.
//!
//! Input: what readings come to; output: a sheet. It reads as well in grey.

use std::sync::Arc;

use tiewright_core::format::decimal;
use tiewright_core::layout::text_width;
use tiewright_core::sheet::{Align, Group, Item, Mark, Sheet, Words};
use tiewright_core::source::Span;
use tiewright_geometry::{Curve, Point as Place, Vec2};

use super::cell::Unit;
use super::judge::Judged;
use super::subject::{Point, Subject};
use super::tally::{BINS, PARTS, SPAN};
use super::text::{signed, wanted};

/// Round the sheet, mm.
const MARGIN: f64 = 12.0;
/// Height of a capital, mm.
const CAPITAL: f64 = 3.0;
/// Height of a capital in headings, mm.
const HEADING: f64 = 5.0;
/// From one baseline to the next, in heights of a capital.
const LEADING: f64 = 1.7;
/// Length of the scale, mm.
const SCALE: f64 = 120.0;
/// Width of one part of the scale, mm.
const PART: f64 = SCALE / BINS as f64;
/// How many readings of one part are drawn one by one, above each other.
const MOST_DRAWN: u64 = 8;
/// Height of a strip, mm: as many squares as are drawn one by one.
const STRIP: f64 = MOST_DRAWN as f64 * PART;
/// Between strips, mm.
const GAP: f64 = 5.0;
/// Between a strip and the words beside it, mm.
const BESIDE: f64 = 4.0;
/// Grey of the tolerance, of readings within it, and of those outside.
const BAND: f64 = 0.88;
const WITHIN: f64 = 0.5;
const OUTSIDE: f64 = 0.0;

/// The plot of all styles and sizes judged.
pub fn plot(judged: &Judged, title: &str, unit: Unit) -> Sheet {
    let named = |subject: &Subject| {
        let points = subject.points.iter();
        let widths = points.flat_map(|p| {
            [
                text_width(&p.name, CAPITAL),
                text_width(&wanted(p, unit), CAPITAL),
            ]
        });
        widths.fold(0.0, f64::max)
    };
    let names = judged.subjects.iter().map(named).fold(0.0, f64::max);
    let mut page = Page {
        left: MARGIN + names + BESIDE,
        right: MARGIN + text_width(title, HEADING),
        depth: MARGIN,
        unit,
        items: Vec::new(),
    };
    page.words(title, MARGIN, HEADING);
    page.depth += GAP / 2.0;
    for line in [
        "The grey band is the tolerance; the line in it is what the readings should be, the cross their mean.",
        "All points are drawn at the scale of their own tolerance. Black is outside.",
    ] {
        page.words(line, MARGIN, CAPITAL);
    }
    for subject in judged.subjects.iter().filter(|s| s.is_read()) {
        page.subject(subject);
    }
    page.into_sheet(title)
}

/// The sheet while it is filled from the top; until its height is known the top is at `y` = 0.
struct Page {
    /// Where the scale starts.
    left: f64,
    /// How far right words reach.
    right: f64,
    /// Down from the upper edge, mm.
    depth: f64,
    unit: Unit,
    items: Vec<Item>,
}

impl Page {
    fn subject(&mut self, subject: &Subject) {
        let read = || subject.points.iter().filter(|p| p.tally.count > 0);
        if read().next().is_none() {
            return;
        }
        self.depth += GAP;
        self.words(&subject.title, MARGIN, CAPITAL * 1.3);
        self.scale();
        for point in read() {
            self.strip(point);
        }
    }

    /// The tolerances along the scale, in words.
    fn scale(&mut self) {
        self.depth += CAPITAL;
        let span = SPAN as i32;
        for tolerances in -span..=span {
            let words = match tolerances {
                0 => "should be".to_owned(),
                t => format!("{}{}", if t > 0 { "+" } else { "\u{2212}" }, t.abs()),
            };
            self.label(
                &words,
                self.at(f64::from(tolerances)),
                Align::Middle,
                CAPITAL,
            );
        }
        let unit = "tolerances";
        self.label(unit, self.left + SCALE + BESIDE, Align::Start, CAPITAL);
        self.right = self
            .right
            .max(self.left + SCALE + BESIDE + text_width(unit, CAPITAL));
        self.depth += GAP;
    }

    /// Where so many tolerances above the value are, from the left.
    fn at(&self, tolerances: f64) -> f64 {
        self.left + (tolerances + SPAN) / (2.0 * SPAN) * SCALE
    }

    fn strip(&mut self, point: &Point) {
        self.depth += STRIP;
        let foot = -self.depth;
        let (low, high) = (self.at(-1.0), self.at(1.0));
        self.fill((low, high), foot, STRIP, BAND);
        self.bars(point, foot);
        self.rule((self.left, foot), (self.left + SCALE, foot));
        self.rule((self.at(0.0), foot), (self.at(0.0), foot + STRIP));
        self.mean(point, foot);
        self.names(point, foot);
        self.depth += GAP;
    }

    fn bars(&mut self, point: &Point, foot: f64) {
        let bins = point.tally.bins();
        let most = bins.iter().copied().max().unwrap_or(0);
        let (first, last) = ((SPAN as usize - 1) * PARTS, (SPAN as usize + 1) * PARTS);
        for (index, count) in bins.iter().enumerate().filter(|(_, count)| **count > 0) {
            let from = self.left + index as f64 * PART;
            let grey = if (first..last).contains(&index) {
                WITHIN
            } else {
                OUTSIDE
            };
            let across = (from, from + PART);
            if most <= MOST_DRAWN {
                for n in 0..*count {
                    self.fill(across, foot + n as f64 * PART, PART, grey);
                }
            } else {
                self.fill(across, foot, STRIP * *count as f64 / most as f64, grey);
            }
        }
    }

    /// A cross where the mean is, if it is on the scale.
    fn mean(&mut self, point: &Point, foot: f64) {
        let Some(off) = point.tally.mean_off() else {
            return;
        };
        let share = off / point.tally.wanted().1;
        if share.abs() > SPAN {
            return;
        }
        let (x, y, arm) = (self.at(share), foot + STRIP + PART, PART);
        self.rule((x - arm, y - arm), (x + arm, y + arm));
        self.rule((x - arm, y + arm), (x + arm, y - arm));
    }

    fn names(&mut self, point: &Point, foot: f64) {
        let tally = &point.tally;
        let upper = foot + STRIP / 2.0 + CAPITAL * (LEADING - 1.0) / 2.0;
        let lower = upper - CAPITAL * LEADING;
        let mut put = |words: String, x: f64, y: f64| {
            self.items
                .push(words_at(&words, Place::new(x, y), Align::Start, CAPITAL));
            self.right = self.right.max(x + text_width(&words, CAPITAL));
        };
        put(point.name.to_string(), MARGIN, upper);
        put(wanted(point, self.unit), MARGIN, lower);
        let beside = self.left + SCALE + BESIDE;
        let off = tally
            .mean_off()
            .map_or_else(String::new, |off| signed(off, self.unit));
        put(
            format!("{} read, mean off {off}", tally.count),
            beside,
            upper,
        );
        let share = tally.share_outside().unwrap_or(0.0) * 100.0;
        let mut said = format!("{} outside ({} %)", tally.outside, decimal(share, 1));
        let (below, above) = tally.beyond();
        if below + above > 0 {
            said += &format!(", {} off the scale", below + above);
        }
        put(said, beside, lower);
    }

    /// A line of words at the left, and on to the next.
    fn words(&mut self, words: &str, x: f64, height: f64) {
        self.depth += height;
        self.label(words, x, Align::Start, height);
        self.right = self.right.max(x + text_width(words, height));
        self.depth += height * (LEADING - 1.0);
    }

    fn label(&mut self, words: &str, x: f64, align: Align, height: f64) {
        let at = Place::new(x, -self.depth);
        self.items.push(words_at(words, at, align, height));
    }

    fn fill(&mut self, (from, to): (f64, f64), foot: f64, height: f64, grey: f64) {
        let corners = [
            (from, foot),
            (to, foot),
            (to, foot + height),
            (from, foot + height),
        ];
        let mark = Mark::Fill(corners.map(Place::from).to_vec(), grey);
        self.items.push(Item {
            mark,
            span: Span::default(),
        });
    }

    fn rule(&mut self, from: (f64, f64), to: (f64, f64)) {
        if let Ok(curve) = Curve::line(from.into(), to.into()) {
            let mark = Mark::Rule(curve);
            self.items.push(Item {
                mark,
                span: Span::default(),
            });
        }
    }

    fn into_sheet(self, title: &str) -> Sheet {
        let height = self.depth + MARGIN;
        let group = Group {
            name: Arc::from("readings"),
            is_piece: false,
            facts: Vec::new(),
            offset: Vec2::new(0.0, height),
            items: self.items,
        };
        Sheet {
            title: title.into(),
            facts: Vec::new(),
            width: self.right.max(self.left + SCALE) + MARGIN,
            height,
            groups: vec![group],
        }
    }
}

fn words_at(words: &str, at: Place, align: Align, height: f64) -> Item {
    Item {
        mark: Mark::Label(Words {
            text: words.into(),
            at,
            align,
            height,
            angle: 0.0,
        }),
        span: Span::default(),
    }
}
