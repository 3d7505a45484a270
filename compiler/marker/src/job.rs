//! What is to be laid: kinds of pieces, how many of each, and the cloth.
//!
//! x runs along the warp, the length of the cloth; y across it, from 0 to the usable width.

use std::fmt;

use kurbo::Rect;

use crate::outline::Outline;
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
}

/// The cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloth {
    /// Usable width between the selvedges, millimetres.
    pub width: f64,
    /// Least distance between pieces, millimetres; pieces may touch the edge of the usable width.
    pub gap: f64,
    /// Upright rectangles no piece may lie on, millimetres.
    pub flaws: Vec<Rect>,
}

/// Everything to be laid on one cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// The pieces.
    pub kinds: Vec<Kind>,
    /// The cloth.
    pub cloth: Cloth,
}

/// Why a job cannot be laid.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JobError {
    /// The width, the gap or a flaw is no sound measure.
    Cloth,
    /// The kind of this number has no turn.
    NoTurn(usize),
    /// The kind of this number is wider than the cloth in all its turns.
    TooWide(usize),
}

impl fmt::Display for JobError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            JobError::Cloth => f.write_str("the measures of the cloth are not sound"),
            JobError::NoTurn(kind) => write!(f, "piece {} may lie in no turn", kind + 1),
            JobError::TooWide(kind) => write!(f, "piece {} is wider than the cloth", kind + 1),
        }
    }
}

impl std::error::Error for JobError {}

impl Job {
    /// Whether the job can be laid at all.
    ///
    /// # Errors
    /// The first reason why not.
    pub fn check(&self) -> Result<(), JobError> {
        let Cloth { width, gap, flaws } = &self.cloth;
        let sound = width.is_finite() && *width > 0.0 && gap.is_finite() && *gap >= 0.0;
        let flaw = |f: &Rect| f.is_finite() && f.x1 > f.x0 && f.y1 > f.y0;
        if !sound || !flaws.iter().all(flaw) {
            return Err(JobError::Cloth);
        }
        for (number, kind) in self.kinds.iter().enumerate() {
            if kind.turns.is_empty() {
                return Err(JobError::NoTurn(number));
            }
            let fits = |t: &Turn| kind.outline.turned(*t).bounds().height() <= *width;
            if kind.count > 0 && !kind.turns.iter().any(fits) {
                return Err(JobError::TooWide(number));
            }
        }
        Ok(())
    }

    /// The net area of all pieces, square millimetres.
    pub fn area(&self) -> f64 {
        self.kinds.iter().map(|k| k.area * k.count as f64).sum()
    }

    /// How many pieces there are.
    pub fn pieces(&self) -> usize {
        self.kinds.iter().map(|k| k.count).sum()
    }
}
