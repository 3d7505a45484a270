//! What is to be laid: kinds of pieces, how many of each, which of them make a tie, and the cloth.
//!
//! x runs along the warp, the length of the cloth; y across it, from 0 to the usable width.
//! Never: where anything lies.

use std::fmt;

use kurbo::Rect;

use crate::outline::Outline;
use crate::phase::Tie;
use crate::tolerance::LEAST_REPEAT;
use crate::turn::Turn;

/// One kind of piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// The outline to keep clear, as it lies when not turned.
    pub outline: Outline,
    /// The turns it may take; at least one.
    pub turns: Vec<Turn>,
    /// The net area it counts for, square millimetres.
    pub area: f64,
    /// How many are to be laid.
    pub count: usize,
    /// Where on the repeat of the cloth the piece must lie; `None`: anywhere.
    pub phase: Option<Phase>,
}

/// Where on the repeat of the cloth the origin of a piece, which no turn moves, must lie: at these
/// places, and as often as the repeat goes beyond or before them.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Phase {
    /// Along the warp, millimetres from x = 0; `None`: anywhere.
    pub x: Option<f64>,
    /// Across, millimetres from y = 0; `None`: anywhere.
    pub y: Option<f64>,
}

/// How far the design of the cloth goes before it comes again.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Repeat {
    /// Along the warp, millimetres; `None`: the design has no repeat that way.
    pub warp: Option<f64>,
    /// Along the weft, across the cloth, millimetres.
    pub weft: Option<f64>,
}

/// One style in one size: the pieces of a tie, and how many ties.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Article {
    /// Which kinds make one tie, and how many pieces of each.
    pub pieces: Vec<(usize, usize)>,
    /// How many ties.
    pub count: usize,
}

/// The cloth.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cloth {
    /// Usable width between the selvedges, millimetres.
    pub width: f64,
    /// Least distance between pieces, millimetres; pieces may touch the edge of the usable width.
    pub gap: f64,
    /// Upright rectangles no piece may lie on, millimetres.
    pub flaws: Vec<Rect>,
    /// The repeat of its design.
    pub repeat: Repeat,
}

/// Everything to be laid on one cloth.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Job {
    /// The pieces.
    pub kinds: Vec<Kind>,
    /// The cloth.
    pub cloth: Cloth,
    /// Which pieces make a tie; may be empty, else it must account for every piece.
    pub articles: Vec<Article>,
}

/// Why a job cannot be laid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum JobError {
    /// The width, the gap, a flaw or a repeat is no sound measure.
    Cloth,
    /// The kind of this number has no turn.
    NoTurn(usize),
    /// The kind of this number is wider than the cloth in all its turns.
    TooWide(usize),
    /// The kind of this number is tied to a repeat that the cloth does not have, or to no number.
    Phase(usize),
    /// The kind of this number fits between the selvedges in some turn, but not where the repeat
    /// would have it.
    OffRepeat(usize),
    /// The articles need another count of the kind of this number than the job has.
    Articles(usize),
    /// The pieces of a tie cannot lie as near one another as asked: a tie alone takes this length
    /// of cloth, millimetres, the least that was found.
    Near(f64),
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JobError::Cloth => f.write_str("the measures of the cloth are not sound"),
            JobError::NoTurn(kind) => write!(f, "piece {} may lie in no turn", kind + 1),
            JobError::TooWide(kind) => write!(f, "piece {} is wider than the cloth", kind + 1),
            JobError::Phase(kind) => {
                write!(
                    f,
                    "piece {} is tied to a repeat the cloth does not have",
                    kind + 1
                )
            }
            JobError::OffRepeat(kind) => {
                write!(f, "piece {} fits the width nowhere on the repeat", kind + 1)
            }
            JobError::Articles(kind) => {
                write!(f, "the ties need another count of piece {}", kind + 1)
            }
            JobError::Near(least) => {
                write!(
                    f,
                    "the pieces of one tie alone take {least:.1} mm of the cloth"
                )
            }
        }
    }
}

impl std::error::Error for JobError {}

impl Cloth {
    /// Whether all its measures are sound.
    fn is_sound(&self) -> bool {
        let above = |v: f64| v.is_finite() && v > 0.0;
        let flaw = |f: &Rect| f.is_finite() && f.x1 > f.x0 && f.y1 > f.y0;
        let repeat = |r: Option<f64>| r.is_none_or(|r| r.is_finite() && r >= LEAST_REPEAT);
        above(self.width)
            && self.gap.is_finite()
            && self.gap >= 0.0
            && self.flaws.iter().all(flaw)
            && repeat(self.repeat.warp)
            && repeat(self.repeat.weft)
    }
}

#[cfg(test)]
impl Job {
    /// Polygons, each by its corners and how often, that never turn.
    pub(crate) fn of_polygons(polygons: &[(&[(f64, f64)], usize)], width: f64) -> Job {
        let kind = |(corners, count): &(&[(f64, f64)], usize)| {
            let corners: Vec<kurbo::Point> = corners.iter().map(|&p| p.into()).collect();
            let outline = Outline::new(&corners).expect("an outline");
            Kind {
                area: outline.area(),
                outline,
                turns: vec![Turn::NONE],
                count: *count,
                phase: None,
            }
        };
        Job {
            kinds: polygons.iter().map(kind).collect(),
            cloth: Cloth {
                width,
                ..Cloth::default()
            },
            ..Job::default()
        }
    }

    /// A dozen rectangles that leave something to gain when they are dropped one by one.
    pub(crate) fn of_rectangles() -> Job {
        let sides = [(30.0, 20.0, 4), (20.0, 50.0, 3), (10.0, 10.0, 5)];
        let corners = sides.map(|(w, h, _)| [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]);
        let polygons = [0, 1, 2].map(|i| (&corners[i][..], sides[i].2));
        Job::of_polygons(&polygons, 70.0)
    }
}

impl Job {
    /// Whether the job can be laid at all.
    ///
    /// # Errors
    /// The first reason why not.
    pub fn check(&self) -> Result<(), JobError> {
        if !self.cloth.is_sound() {
            return Err(JobError::Cloth);
        }
        for (number, kind) in self.kinds.iter().enumerate() {
            self.check_kind(number, kind)?;
        }
        self.check_articles()
    }

    fn check_kind(&self, number: usize, kind: &Kind) -> Result<(), JobError> {
        if kind.turns.is_empty() {
            return Err(JobError::NoTurn(number));
        }
        let tie = Tie::of(kind, &self.cloth).ok_or(JobError::Phase(number))?;
        if kind.count == 0 {
            return Ok(());
        }
        let width = self.cloth.width;
        let turned = kind.turns.iter().map(|t| kind.outline.turned(*t).bounds());
        let mut fitting = turned.filter(|b| b.height() <= width).peekable();
        if fitting.peek().is_none() {
            return Err(JobError::TooWide(number));
        }
        if !fitting.any(|b| tie.y.has(-b.y0, width - b.y1)) {
            return Err(JobError::OffRepeat(number));
        }
        Ok(())
    }

    fn check_articles(&self) -> Result<(), JobError> {
        if self.articles.is_empty() {
            return Ok(());
        }
        let mut wanted = vec![0_usize; self.kinds.len()];
        for article in &self.articles {
            for &(kind, quantity) in &article.pieces {
                let sum = wanted.get_mut(kind).ok_or(JobError::Articles(kind))?;
                *sum = sum.saturating_add(quantity.saturating_mul(article.count));
            }
        }
        let wrong = |&k: &usize| wanted[k] != self.kinds[k].count;
        (0..wanted.len())
            .find(wrong)
            .map_or(Ok(()), |kind| Err(JobError::Articles(kind)))
    }

    /// The net area of all pieces, square millimetres.
    pub fn area(&self) -> f64 {
        self.kinds.iter().map(|k| k.area * k.count as f64).sum()
    }

    /// How many of each kind there are.
    pub(crate) fn counts(&self) -> Vec<usize> {
        self.kinds.iter().map(|k| k.count).collect()
    }

    /// How many pieces there are.
    pub fn pieces(&self) -> usize {
        self.kinds.iter().map(|k| k.count).sum()
    }
}
