//! Words on the pieces of a marker: which piece it is, of which style and size, and of which tie.
//!
//! In: a piece as it lies and the lines to write, best first. Out: the largest words that fit inside
//! it, clear of grain, notches and holes, along whichever way gives most room. Where nothing fits,
//! the last choice stands across the piece, as small as words get.

use tiewright_core::draft::NotchKind;
use tiewright_core::layout::{Block, Field, LEADING, text_width};
use tiewright_core::sheet::{Align, Item, Mark, Words};
use tiewright_core::source::Span;
use tiewright_geometry::{Affine, Point, Ring, Vec2};

use crate::export::ink::arrow_head;

/// Heights that are tried, as shares of the greatest.
const HEIGHTS: [f64; 10] = [1.0, 0.85, 0.7, 0.6, 0.5, 0.42, 0.35, 0.28, 0.2, 0.15];
/// Ways words may run before the piece is turned: along the warp, along the bias, along the weft.
const ALONG: [(f64, f64); 4] = [
    (1.0, 0.0),
    (
        std::f64::consts::FRAC_1_SQRT_2,
        std::f64::consts::FRAC_1_SQRT_2,
    ),
    (
        std::f64::consts::FRAC_1_SQRT_2,
        -std::f64::consts::FRAC_1_SQRT_2,
    ),
    (0.0, 1.0),
];
/// Places tried across and up the piece.
const PLACES: i32 = 17;
/// Side of the square kept clear round a drill hole, mm.
const DRILL_ROOM: f64 = 5.0;

/// Words that lean less than this stand upright, as the cosine of the angle: rounding, no more.
const UPRIGHT: f64 = 1e-9;

/// Where words stand on a piece that is not turned.
#[derive(Debug, Clone)]
pub struct Place {
    centre: Point,
    along: Vec2,
    height: f64,
    /// Which of the choices stands there.
    pub choice: usize,
    /// Whether it is clear of the outline and of what is drawn.
    pub fits: bool,
}

/// The room of a piece: its outline and what is drawn in it.
pub fn room(cut: &Ring, marks: &[Mark]) -> Field {
    let mut field = Field::new(cut);
    for mark in marks {
        match mark {
            Mark::Grain { from, to } => {
                field.add_line(*from, *to);
                if let Some([tip, left, right]) = arrow_head(*from, *to) {
                    for (from, to) in [(tip, left), (left, right), (right, tip)] {
                        field.add_line(from, to);
                    }
                }
            }
            Mark::Notch {
                kind,
                at,
                inward,
                depth,
                width,
            } => {
                let half = match kind {
                    NotchKind::Slit => 0.0,
                    NotchKind::V | NotchKind::T => width / 2.0,
                };
                let across = Vec2::new(-inward.y, inward.x) * half;
                let foot = *at + *inward * *depth;
                field.add_line(*at, foot);
                field.add_line(foot - across, foot + across);
            }
            Mark::Drill(at) => field.add_block(&Block::level(*at, DRILL_ROOM, DRILL_ROOM)),
            _ => {}
        }
    }
    field
}

/// Where the first of `choices` that fits stands best; between the greatest and the least height of
/// a capital, mm.
pub fn placed(cut: &Ring, field: &Field, choices: &[Vec<String>], heights: (f64, f64)) -> Place {
    for (choice, lines) in choices.iter().enumerate() {
        let tried = HEIGHTS.iter().map(|share| heights.0 * share);
        for height in tried.filter(|height| *height >= heights.1) {
            if let Some(block) = fitting(cut, field, size(lines, height)) {
                return Place {
                    centre: block.centre,
                    along: block.along,
                    height,
                    choice,
                    fits: true,
                };
            }
        }
    }
    Place {
        centre: cut.centroid(),
        along: Vec2::new(1.0, 0.0),
        height: heights.1,
        choice: choices.len().saturating_sub(1),
        fits: false,
    }
}

/// A free block of this size, the one nearest the middle of the piece.
fn fitting(cut: &Ring, field: &Field, (width, height): (f64, f64)) -> Option<Block> {
    let (bounds, middle) = (cut.bounds(), cut.centroid());
    let share = |k: i32| f64::from(2 * k + 1) / f64::from(2 * PLACES);
    let spot = |(i, j): (i32, i32)| {
        bounds.origin() + Vec2::new(share(i) * bounds.width(), share(j) * bounds.height())
    };
    let grid = (0..PLACES).flat_map(|i| (0..PLACES).map(move |j| (i, j)));
    let mut spots: Vec<Point> = grid.map(spot).collect();
    spots.sort_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    let block = |centre: &Point, (x, y): (f64, f64)| Block {
        centre: *centre,
        width,
        height,
        along: Vec2::new(x, y),
    };
    let mut all = spots
        .iter()
        .flat_map(|centre| ALONG.iter().map(move |along| block(centre, *along)));
    all.find(|block| field.is_free(block))
}

/// Width and height of lines, mm.
fn size(lines: &[String], height: f64) -> (f64, f64) {
    let widths = lines.iter().map(|line| text_width(line, height));
    let leading = height * LEADING * (lines.len().saturating_sub(1)) as f64;
    (widths.fold(0.0, f64::max), height + leading)
}

/// The words of `lines` at `place` on a piece turned by `turn`, never upside down.
pub fn written(lines: &[String], place: &Place, turn: Affine) -> Vec<Item> {
    let mut along = (turn * place.along.to_point()).to_vec2();
    // What stands upright reads from below however it was turned.
    if along.x < -UPRIGHT || (along.x < UPRIGHT && along.y < 0.0) {
        along = -along;
    }
    let (centre, height) = (turn * place.centre, place.height);
    let up = Vec2::new(-along.y, along.x);
    let top = size(lines, height).1 / 2.0 - height;
    let word = |(row, line): (usize, &String)| Item {
        mark: Mark::Label(Words {
            text: line.as_str().into(),
            at: centre + up * (top - row as f64 * LEADING * height),
            align: Align::Middle,
            height,
            angle: libm::atan2(along.y, along.x),
        }),
        span: Span::default(),
    };
    lines.iter().enumerate().map(word).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::path;

    #[test]
    fn words_keep_clear_of_the_head_of_the_arrow() {
        let cut = path::ring("M0 0L0 80L80 80L80 0Z").expect("a square");
        let (from, to) = (Point::new(10.0, 40.0), Point::new(70.0, 40.0));
        let field = room(&cut, &[Mark::Grain { from, to }]);
        // As far from the shaft, one beside the head and one not.
        let block = |x: f64| Block::level(Point::new(x, 42.5), 2.0, 2.0);
        assert!(field.is_free(&block(40.0)));
        assert!(!field.is_free(&block(62.0)));
    }
}
