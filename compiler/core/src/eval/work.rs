//! Keeps the time and memory of one draft bounded: every operation on lines is paid for in pairs of
//! segments, out of one purse. Nothing here is measured by a clock, so that the same file is always
//! taken or always refused.

use std::cell::Cell;

use tiewright_geometry::{Curve, PathSeg, Ring, Track};

use super::{Result, fail};
use crate::diagnostic::Code;
use crate::source::Span;

/// What one draft may cost, in pairs of straight segments looked at. A tie costs some ten thousand,
/// and some millions where a parameter is left open; this many take ten seconds at most.
const PURSE: u64 = 200_000_000;

/// Segments of one line. A tie's longest has some forty.
const MOST_SEGMENTS: u64 = 10_000;

/// What is left to spend on a draft.
#[derive(Debug)]
pub struct Work {
    left: Cell<u64>,
    told: Cell<bool>,
}

impl Default for Work {
    fn default() -> Self {
        Work {
            left: Cell::new(PURSE),
            told: Cell::new(false),
        }
    }
}

impl Work {
    /// Pays for an operation at `span`; fails once nothing is left, and says so once.
    pub fn pay(&self, pairs: u64, span: Span) -> Result<()> {
        let left = self.left.get();
        self.left.set(left.saturating_sub(pairs));
        if pairs < left {
            return Ok(());
        }
        if self.told.replace(true) {
            return Err(super::Fault::Silent);
        }
        too_much(span)
    }

    /// Whether nothing is left.
    pub fn is_spent(&self) -> bool {
        self.left.get() == 0
    }
}

/// Fails at `span` for want of time.
pub fn too_much<T>(span: Span) -> Result<T> {
    fail(
        Code::TooMuchWork,
        span,
        "this draft would take too long to work out",
        "draw its lines with fewer steps, or ask less of `find`",
    )
}

/// Fails where a line would have more segments than can be worked with.
pub fn short_enough(segments: u64, span: Span) -> Result<()> {
    if segments <= MOST_SEGMENTS {
        return Ok(());
    }
    fail(
        Code::TooMuchWork,
        span,
        format!("this line has more than {MOST_SEGMENTS} parts"),
        "draw it with fewer steps",
    )
}

/// What an operation costs for each pair of segments it looks at, by how long it took with the most
/// tangled curves that could be drawn.
#[derive(Debug, Clone, Copy)]
pub struct Price {
    /// For any pair.
    pub pair: u64,
    /// More for a pair that is curved on both sides.
    pub curved: u64,
}

impl Price {
    /// The cost of looking at every pair of segments of two curves.
    pub fn of(self, a: &Curve, b: &Curve) -> u64 {
        let all = curve_weight(a).saturating_mul(curve_weight(b));
        let curved = bends(a).saturating_mul(bends(b));
        let more = self.curved.saturating_mul(curved);
        self.pair.saturating_mul(all).saturating_add(more)
    }
}

/// Segments of a curve that are not straight.
fn bends(curve: &Curve) -> u64 {
    let straight = |segment: &&PathSeg| matches!(segment, PathSeg::Line(_));
    let bends = curve.segments().iter().filter(|s| !straight(s)).count();
    u64::try_from(bends).unwrap_or(u64::MAX)
}

/// Segments of a curve.
pub fn curve_weight(curve: &Curve) -> u64 {
    u64::try_from(curve.segments().len())
        .unwrap_or(u64::MAX)
        .max(1)
}

/// Segments of a ring.
pub fn ring_weight(ring: &Ring) -> u64 {
    let edges = ring.edges().iter();
    edges.map(|edge| curve_weight(&edge.curve)).sum()
}

/// Segments of a track.
pub fn track_weight(track: &Track) -> u64 {
    match track {
        Track::Line(_) => 1,
        Track::Curve(curve) => curve_weight(curve),
    }
}
