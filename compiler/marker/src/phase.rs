//! Pieces tied to the repeat of the cloth: where their origins may lie.
//!
//! In: a kind and its cloth, or a place a piece would like. Out: the nearest places on the repeat.
//! Never: whether a piece is clear there.

use crate::job::{Cloth, Kind};
use crate::tolerance::{CLEAR, MOST_PHASE};

/// A place that rounding puts so little outside a range counts as inside, millimetres: a piece there
/// is still clear of what it touches.
const HAIR: f64 = CLEAR / 4.0;

/// The places one measure of an origin may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Axis {
    /// All.
    Free,
    /// Those at `phase` and any number of repeats from it, millimetres.
    Tied { phase: f64, repeat: f64 },
}

/// The places the origin of a piece may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tie {
    /// Along the cloth.
    pub(crate) x: Axis,
    /// Across it.
    pub(crate) y: Axis,
}

impl Tie {
    /// No tie.
    pub(crate) const FREE: Tie = Tie {
        x: Axis::Free,
        y: Axis::Free,
    };

    /// The tie of a kind; `None` if it is tied to a repeat that the cloth does not have, or to what
    /// is no number.
    pub(crate) fn of(kind: &Kind, cloth: &Cloth) -> Option<Tie> {
        let Some(phase) = kind.phase else {
            return Some(Tie::FREE);
        };
        Some(Tie {
            x: Axis::new(phase.x, cloth.repeat.warp)?,
            y: Axis::new(phase.y, cloth.repeat.weft)?,
        })
    }
}

impl Axis {
    fn new(phase: Option<f64>, repeat: Option<f64>) -> Option<Axis> {
        match (phase, repeat) {
            (None, _) => Some(Axis::Free),
            (Some(phase), Some(repeat)) if phase.abs() <= MOST_PHASE => {
                Some(Axis::Tied { phase, repeat })
            }
            _ => None,
        }
    }

    /// The first place from `low` on. A place that rounding puts a hair before `low` counts.
    pub(crate) fn from(self, low: f64) -> f64 {
        match self {
            Axis::Free => low,
            Axis::Tied { phase, repeat } => phase + first(phase, repeat, low) * repeat,
        }
    }

    /// The last place up to `high`, as [`Axis::from`].
    pub(crate) fn up_to(self, high: f64) -> f64 {
        match self {
            Axis::Free => high,
            Axis::Tied { phase, repeat } => phase + last(phase, repeat, high) * repeat,
        }
    }

    /// Whether there is a place from `low` to `high`.
    pub(crate) fn has(self, low: f64, high: f64) -> bool {
        match self {
            Axis::Free => low <= high + HAIR,
            Axis::Tied { phase, repeat } => first(phase, repeat, low) <= last(phase, repeat, high),
        }
    }

    /// The place from `low` to `high` nearest to `wish`; if there is none the first from `low` on.
    pub(crate) fn nearest(self, wish: f64, low: f64, high: f64) -> f64 {
        let wish = wish.min(high).max(low);
        let (before, after) = (self.up_to(wish), self.from(wish));
        let fits_before = self.has(low, wish);
        let fits_after = self.has(wish, high);
        if fits_before && (!fits_after || wish - before <= after - wish) {
            before
        } else {
            after
        }
    }

    /// How many places there are from `low` to `high`; `None`: no end of them.
    pub(crate) fn count(self, low: f64, high: f64) -> Option<usize> {
        match self {
            Axis::Free => None,
            Axis::Tied { phase, repeat } => {
                let steps = last(phase, repeat, high) - first(phase, repeat, low);
                Some((steps + 1.0) as usize)
            }
        }
    }

    /// All places from `low` to `high`, those next to the middle first; once `None` for no tie.
    pub(crate) fn places(self, low: f64, high: f64) -> impl Iterator<Item = Option<f64>> {
        let count = self.count(low, high);
        let middle = count.unwrap_or(0) / 2;
        (0..count.unwrap_or(1)).map(move |k| match self {
            Axis::Free => None,
            Axis::Tied { phase, repeat } => {
                let off = k.div_ceil(2);
                let at = if k % 2 == 1 {
                    middle - off
                } else {
                    middle + off
                };
                Some(phase + (first(phase, repeat, low) + at as f64) * repeat)
            }
        })
    }

    /// How far it may be to a place, millimetres.
    pub(crate) fn step(self) -> f64 {
        match self {
            Axis::Free => 0.0,
            Axis::Tied { repeat, .. } => repeat,
        }
    }
}

/// The number of the first place from `low` on.
fn first(phase: f64, repeat: f64, low: f64) -> f64 {
    libm::ceil((low - HAIR - phase) / repeat)
}

/// The number of the last place up to `high`.
fn last(phase: f64, repeat: f64, high: f64) -> f64 {
    libm::floor((high + HAIR - phase) / repeat)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_at_the_phase_and_repeats_from_it() {
        let axis = Axis::Tied {
            phase: 7.0,
            repeat: 30.0,
        };
        assert_eq!(axis.from(-60.0), -53.0);
        assert_eq!(axis.from(7.0), 7.0);
        assert_eq!(axis.from(7.1), 37.0);
        assert_eq!(axis.up_to(36.9), 7.0);
        assert!(axis.has(37.0, 37.0));
        assert!(!axis.has(8.0, 36.0));
        assert_eq!(Axis::Free.from(3.5), 3.5);
        assert_eq!(axis.nearest(20.0, 0.0, 100.0), 7.0);
        assert_eq!(axis.nearest(20.0, 10.0, 100.0), 37.0);
        assert_eq!(axis.nearest(35.0, 0.0, 36.0), 7.0);
        assert_eq!(axis.nearest(35.0, 10.0, 36.0), 37.0);
    }

    #[test]
    fn places_are_counted_and_all_come_from_the_middle_out() {
        let axis = Axis::Tied {
            phase: 7.0,
            repeat: 30.0,
        };
        let all = |low, high| -> Vec<f64> { axis.places(low, high).flatten().collect() };
        assert_eq!(all(0.0, 100.0), [67.0, 37.0, 97.0, 7.0]);
        assert_eq!(all(7.0, 67.0), [37.0, 7.0, 67.0]);
        assert_eq!(all(8.0, 36.0), [0.0; 0]);
        assert_eq!(axis.count(8.0, 36.0), Some(0));
        assert_eq!(axis.count(200.0, 36.0), Some(0));
        assert_eq!(Axis::Free.places(0.0, 9.0).collect::<Vec<_>>(), [None]);
    }

    #[test]
    fn a_repeat_that_does_not_divide_still_finds_its_own_places() {
        let axis = Axis::Tied {
            phase: 0.1,
            repeat: 0.7,
        };
        for number in 0..1000 {
            let place = 0.1 + f64::from(number) * 0.7;
            assert_eq!(axis.from(place), place);
            assert_eq!(axis.up_to(place), place);
        }
    }
}
