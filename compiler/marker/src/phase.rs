//! Pieces tied to the repeat of the cloth: where their origins may lie.
//!
//! In: a kind and its cloth, or a place a piece would like. Out: the nearest places on the repeat.
//! Never: whether a piece is clear there.

use crate::job::{Cloth, Kind};
use crate::tolerance::CLEAR;

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
            (Some(phase), Some(repeat)) if phase.is_finite() => Some(Axis::Tied { phase, repeat }),
            _ => None,
        }
    }

    /// The first place from `low` on. A place that rounding puts a hair before `low` counts.
    pub(crate) fn from(self, low: f64) -> f64 {
        match self {
            Axis::Free => low,
            Axis::Tied { phase, repeat } => {
                let number = libm::ceil((low - CLEAR / 2.0 - phase) / repeat);
                phase + number * repeat
            }
        }
    }

    /// The last place up to `high`, as [`Axis::from`].
    pub(crate) fn up_to(self, high: f64) -> f64 {
        match self {
            Axis::Free => high,
            Axis::Tied { phase, repeat } => {
                let number = libm::floor((high + CLEAR / 2.0 - phase) / repeat);
                phase + number * repeat
            }
        }
    }

    /// Whether there is a place from `low` to `high`.
    pub(crate) fn has(self, low: f64, high: f64) -> bool {
        self.from(low) <= high + CLEAR / 2.0
    }
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
