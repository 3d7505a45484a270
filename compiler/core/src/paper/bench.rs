//! The bench sheet: the order of work, and where things are sewn to the finished work.

use tiewright_geometry::{Point, Rect, Vec2};

use super::numbered::Board;
use super::picture::{Canvas, RADIUS, View};
use super::{
    Align, Block, Caution, Cell, Paper, Picture, Step, Table, WIDEST, column, facts, lengths,
    tools, unbroken,
};
use crate::draft::{Draft, Folded, FoldedMark, Layer, Side, Tool, WorkStep};
use crate::format::{PAPER_ROUNDING, paper_mm};
use crate::layout::folded::{View as FoldedView, cloths_of};
use crate::sheet::Mark;

/// How high the folded work gets to be, mm.
const HIGHEST_WORK: f64 = 55.0;
/// Room at both sides of the work for numbers, mm.
const SIDE: f64 = 2.0 * RADIUS + 1.0;
/// Room beyond the end of an end for words, mm.
const WORDS: f64 = 20.0;
/// What is longer than this part of the work runs along it.
const RUN: f64 = 0.5;
/// Past the last mark an end is shown this many widths of the work further.
const PAST: f64 = 0.4;
/// Ends are shown larger when they are shorter than this part of the work.
const END: f64 = 0.5;
/// How much paler the work is than in its own picture, so that marks stand out: on the way to white.
const PALER: f64 = 0.5;
/// What is thinner than this is a line, mm: it would be rounded to nought.
const LINE: f64 = 0.05;
/// Stands for a length there is none of.
const NONE: &str = "–";

/// The bench sheet of `draft`; none when it tells of no work and shows nothing folded.
pub(super) fn sheet(draft: &Draft) -> Option<Paper> {
    let mut blocks = Vec::new();
    if !draft.steps.is_empty() {
        blocks.push(Block::Heading("Order of work".to_owned()));
        blocks.push(Block::Steps(steps(&draft.steps)));
    }
    if let Some(folded) = &draft.folded {
        blocks.extend(places(folded));
    }
    if blocks.is_empty() {
        return None;
    }
    let opening = [
        facts(&["order", "how many", "made by", "date"]),
        Block::Paragraph(PAPER_ROUNDING.to_owned()),
    ];
    blocks.splice(0..0, opening);
    Some(Paper {
        title: "Bench sheet".to_owned(),
        blocks,
    })
}

/// The steps, the caution of a tool in full where it is first used.
fn steps(work: &[WorkStep]) -> Vec<Step> {
    let mut told: Vec<(Tool, usize)> = Vec::new();
    let mut caution = |tool: Tool, number: usize| {
        let full = tools::caution(tool);
        match told.iter().find(|(known, _)| *known == tool) {
            Some((_, first)) => Caution {
                title: format!("{}, see step {first}", full.title),
                text: String::new(),
            },
            None => {
                told.push((tool, number));
                full
            }
        }
    };
    let step = |(index, step): (usize, &WorkStep)| Step {
        title: step.title.to_string(),
        text: unbroken(&step.text),
        caution: step.tool.map(|tool| caution(tool, index + 1)),
    };
    work.iter().enumerate().map(step).collect()
}

/// A mark with its number, and where it is.
struct Place<'a> {
    number: usize,
    mark: &'a FoldedMark,
    room: Rect,
    /// Whether it runs from end to end of the work, and is placed by where it starts and ends.
    runs_along: bool,
    /// Whether it is measured from the left end.
    from_left: bool,
    /// From that end to its nearer side, mm.
    near: f64,
}

impl<'a> Place<'a> {
    fn of(number: usize, mark: &'a FoldedMark, work: Rect) -> Self {
        let room = mark.curve.bounds();
        let (left, right) = (room.x0 - work.x0, work.x1 - room.x1);
        let runs_along = room.width() > RUN * work.width();
        let from_left = runs_along || left <= right;
        Place {
            number,
            mark,
            room,
            runs_along,
            from_left,
            near: if from_left { left } else { right },
        }
    }

    /// From its end to its middle, mm.
    fn middle(&self) -> f64 {
        self.near + self.room.width() / 2.0
    }

    /// How far it is placed from the left or the right end of the work; none when it is placed
    /// from the other end.
    fn distance(&self, work: Rect, left: bool) -> Option<f64> {
        match (self.runs_along, self.from_left == left) {
            (true, true) => Some(self.near),
            (true, false) => Some(work.x1 - self.room.x1),
            (false, true) => Some(self.middle()),
            (false, false) => None,
        }
    }
}

/// The folded work on both sides, and a table of what is marked on it.
fn places(folded: &Folded) -> Vec<Block> {
    let work = folded.outline.bounds();
    let numbered = folded.marks.iter().enumerate();
    let places: Vec<Place> = numbered
        .map(|(index, mark)| Place::of(index + 1, mark, work))
        .collect();
    let heading = if places.is_empty() {
        "The finished work"
    } else {
        "Where things go"
    };
    let mut blocks = vec![Block::Heading(heading.to_owned())];
    if !places.is_empty() {
        blocks.push(Block::Paragraph(
            "Distances are along the middle, from the left or the right end of the work as it lies in \
             the picture."
                .to_owned(),
        ));
    }
    blocks.extend(pictures(folded, &places));
    if !places.is_empty() {
        blocks.push(Block::Table(table(&places)));
    }
    blocks
}

fn table(places: &[Place]) -> Table {
    Table {
        name: "places on the finished work".to_owned(),
        columns: vec![
            column("no.", Align::Middle, 10.0),
            column("what", Align::Start, 34.0),
            column("side", Align::Start, 14.0),
            column("from the", Align::Start, 22.0),
            column("to start", Align::End, 25.0),
            column("to middle", Align::End, 25.0),
            column("long", Align::End, 26.0),
            column("wide", Align::End, 24.0),
        ],
        rows: places.iter().map(row).collect(),
    }
}

fn row(place: &Place) -> Vec<Cell> {
    let end = if place.from_left { "left" } else { "right" };
    let middle = if place.runs_along {
        Cell::Words(NONE.to_owned())
    } else {
        lengths(place.middle())
    };
    vec![
        Cell::Words(place.number.to_string()),
        Cell::Named {
            name: place.mark.name.replace('-', " "),
            note: String::new(),
        },
        Cell::Words(name_of(place.mark.side).to_owned()),
        Cell::Words(format!("{end} end")),
        lengths(place.near),
        middle,
        extent(place.room.width()),
        extent(place.room.height()),
    ]
}

/// How long or wide a mark is; a line has no width.
fn extent(value: f64) -> Cell {
    if value < LINE {
        Cell::Words(NONE.to_owned())
    } else {
        lengths(value)
    }
}

fn name_of(side: Side) -> &'static str {
    match side {
        Side::Face => "face",
        Side::Back => "back",
    }
}

/// Each side, and the ends of a side larger where something is marked there.
fn pictures(folded: &Folded, places: &[Place]) -> Vec<Block> {
    let layers = folded.layers();
    let work = folded.outline.bounds();
    let look = |side: Side, stretch: (f64, f64), beyond: (f64, f64)| {
        let room = WIDEST - beyond.0 - beyond.1;
        let scale = (room / (stretch.1 - stretch.0)).min(HIGHEST_WORK / work.height());
        Look {
            folded,
            layers: &layers,
            side,
            stretch,
            scale,
            beyond,
        }
    };
    let mut blocks = Vec::new();
    let mut add = |caption: String, drawn: Canvas| {
        let name = format!("folded-{}", blocks.len() + 1);
        blocks.push(Block::Picture(Picture {
            drawing: drawn.into_sheet(&name, &caption),
            caption,
        }));
    };
    for side in [Side::Face, Side::Back] {
        let marked: Vec<&Place> = places.iter().filter(|p| p.mark.side == side).collect();
        let ends = ends_of(&marked, work);
        let distances: &[bool] = if ends.is_empty() { &[true, false] } else { &[] };
        let whole = look(side, (work.x0, work.x1), (SIDE, SIDE)).drawn(&marked, distances);
        let caption = match side {
            Side::Face => "Face.",
            Side::Back => "Back: the work is turned over its long side.",
        };
        add(caption.to_owned(), whole);
        for (left, stretch) in ends {
            let of_end = |place: &&&Place| place.distance(work, left).is_some();
            let near: Vec<&Place> = marked.iter().filter(of_end).copied().collect();
            let which = if left { "Left" } else { "Right" };
            let beyond = if left { (WORDS, 1.0) } else { (1.0, WORDS) };
            let drawn = look(side, stretch, beyond).drawn(&near, &[left]);
            add(
                format!("{which} end of the {}, larger.", name_of(side)),
                drawn,
            );
        }
    }
    blocks
}

/// The stretch at the left end and at the right that show every place measured from there; none
/// when the whole work shows as much.
fn ends_of(places: &[&Place], work: Rect) -> Vec<(bool, (f64, f64))> {
    let stretch = |left: bool| {
        let reach = |place: &&Place| {
            let distance = place.distance(work, left)?;
            let half = if place.runs_along {
                0.0
            } else {
                place.room.width() / 2.0
            };
            Some(distance + half)
        };
        let far = places.iter().filter_map(reach).reduce(f64::max)?;
        let length = far + PAST * work.height();
        let stretch = if left {
            (work.x0, work.x0 + length)
        } else {
            (work.x1 - length, work.x1)
        };
        Some((left, stretch))
    };
    let ends: Vec<_> = [true, false].into_iter().filter_map(stretch).collect();
    let are_short = ends
        .iter()
        .all(|(_, (from, to))| to - from < END * work.width());
    if are_short { ends } else { Vec::new() }
}

/// A stretch of one side of the work.
struct Look<'a> {
    folded: &'a Folded,
    layers: &'a [Layer],
    side: Side,
    stretch: (f64, f64),
    scale: f64,
    /// Room at its left and its right, mm on paper.
    beyond: (f64, f64),
}

impl Look<'_> {
    /// The work, what is marked on it, and how far that is from the left end (`true`), from the
    /// right, or both.
    fn drawn(&self, places: &[&Place], distances: &[bool]) -> Canvas {
        let work = self.folded.outline.bounds();
        let view = View {
            scale: self.scale,
            turned: self.side == Side::Back,
        };
        let canvas = self.painted();
        let floor = canvas.bounds().y0;
        let is_whole = self.stretch == (work.x0, work.x1);
        let mut board = Board::over(canvas, self.beyond);
        // What runs along is drawn only where all of it is seen.
        for place in places.iter().filter(|place| is_whole || !place.runs_along) {
            board.shape(place.number, view.curve(&place.mark.curve));
        }
        for &left in distances {
            let (end, way) = if left {
                (work.x0, 1.0)
            } else {
                (work.x1, -1.0)
            };
            let at = |distance: f64| Point::new((end + way * distance) * self.scale, floor);
            for place in places {
                if let Some(distance) = place.distance(work, left) {
                    let words = format!("{} mm", paper_mm(distance));
                    board.below(place.number, at(0.0), at(distance), words);
                }
            }
        }
        board.finished()
    }

    /// The work alone, in pale greys.
    fn painted(&self) -> Canvas {
        let painted = FoldedView {
            scale: self.scale,
            face: self.side == Side::Face,
            stretch: self.stretch,
            origin: Vec2::ZERO,
        };
        let mut canvas = Canvas::default();
        let outline = &self.folded.outline;
        for item in painted.items(outline, self.layers, &cloths_of(self.layers)) {
            match item.mark {
                Mark::Fill(corners, grey) => canvas.fill(corners, grey + (1.0 - grey) * PALER),
                Mark::Rule(curve) => canvas.curve(curve),
                _ => {}
            }
        }
        canvas
    }
}
