//! Single fields of job and laid files: numbers within what cloth and tables can be, lines as path
//! data. Each refusal is the reader's own, so that it tells the line of the file.
//! Nothing here knows what a field is for.

use serde::de::{Deserialize, Deserializer, Error};
use serde::ser::{Serialize, Serializer};
use tiewright_core::cloth::{Bias, Direction};
use tiewright_core::draft::NotchKind;
use tiewright_geometry::{Curve, Point, Ring, Vec2};

use super::path;

/// The longest and widest cloth, mm: a hundred metres.
pub const LONGEST: f64 = 1e5;
/// The least length of a flaw, of a repeat and of what a tie may lie along, mm: nobody measures less.
pub const LEAST: f64 = 0.1;
/// The most of one style and size in one marker.
pub const MOST_TIES: u32 = 10_000;
/// The most of one piece in one tie.
pub const MOST_OF_A_PIECE: u32 = 100;
/// The longest search, seconds: a week.
pub const LONGEST_SEARCH: f64 = 7.0 * 24.0 * 3600.0;
/// One over the last decimal of a number that is no coordinate of a path: places of pieces must
/// not lose the gap by rounding.
const SCALE: f64 = 1e9;

/// The length of a direction is nought, or one, when it is off that by less than this: far more than
/// rounding takes of it, far less than shows on a notch.
const NO_LENGTH: f64 = 1e-6;

/// A number as these files write it: rounded, never −0.
pub fn number(value: f64) -> f64 {
    (value * SCALE).round() / SCALE + 0.0
}

fn within<E: Error>(value: f64, least: f64, most: f64) -> Result<f64, E> {
    if (least..=most).contains(&value) {
        Ok(value)
    } else {
        Err(E::custom(format_args!(
            "{value} is out of range: from {least} to {most} is possible"
        )))
    }
}

/// A number as it is rounded in files.
pub fn rounded<S: Serializer>(value: &f64, to: S) -> Result<S::Ok, S::Error> {
    number(*value).serialize(to)
}

/// Several of them.
pub fn rounded_all<S: Serializer>(values: &[[f64; 4]], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(values.iter().map(|four| four.map(number)))
}

/// One that may be left out.
pub fn rounded_if<S: Serializer>(value: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
    value.map(number).serialize(to)
}

/// A width of cloth, mm.
pub fn width<'d, D: Deserializer<'d>>(from: D) -> Result<f64, D::Error> {
    within(f64::deserialize(from)?, 1.0, LONGEST)
}

/// A distance, mm, or none.
pub fn distance<'d, D: Deserializer<'d>>(from: D) -> Result<f64, D::Error> {
    within(f64::deserialize(from)?, 0.0, LONGEST)
}

/// A distance above nothing, or no word of it.
pub fn span<'d, D: Deserializer<'d>>(from: D) -> Result<Option<f64>, D::Error> {
    let value = Option::<f64>::deserialize(from)?;
    value.map(|v| within(v, LEAST, LONGEST)).transpose()
}

/// Rectangles, each `[x, y, width, height]`, mm.
pub fn rectangles<'d, D: Deserializer<'d>>(from: D) -> Result<Vec<[f64; 4]>, D::Error> {
    let all = Vec::<[f64; 4]>::deserialize(from)?;
    for [x, y, wide, high] in &all {
        within::<D::Error>(*x, -LONGEST, LONGEST)?;
        within::<D::Error>(*y, -LONGEST, LONGEST)?;
        within::<D::Error>(*wide, LEAST, LONGEST)?;
        within::<D::Error>(*high, LEAST, LONGEST)?;
    }
    Ok(all)
}

/// How many ties.
pub fn ties<'d, D: Deserializer<'d>>(from: D) -> Result<u32, D::Error> {
    within(
        f64::from(u32::deserialize(from)?),
        0.0,
        f64::from(MOST_TIES),
    )
    .map(|n| n as u32)
}

/// How many of a piece.
pub fn quantity<'d, D: Deserializer<'d>>(from: D) -> Result<u32, D::Error> {
    within(
        f64::from(u32::deserialize(from)?),
        1.0,
        f64::from(MOST_OF_A_PIECE),
    )
    .map(|n| n as u32)
}

/// Seconds of a search, or no word of it.
pub fn seconds<'d, D: Deserializer<'d>>(from: D) -> Result<Option<f64>, D::Error> {
    let value = Option::<f64>::deserialize(from)?;
    value.map(|v| within(v, 0.0, LONGEST_SEARCH)).transpose()
}

/// Which ways pieces may be turned, by its word.
pub mod direction {
    use super::*;

    /// The word.
    pub fn serialize<S: Serializer>(value: &Direction, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(value.as_str())
    }

    /// From the word.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Direction, D::Error> {
        let word = String::deserialize(from)?;
        let known = Direction::WORDS.iter().find(|(known, _)| *known == word);
        known.map(|(_, value)| *value).ok_or_else(|| {
            let known: Vec<&str> = Direction::WORDS.iter().map(|(word, _)| *word).collect();
            let known = known.join(", ");
            D::Error::custom(format_args!("`{word}` is no direction; there is {known}"))
        })
    }
}

/// Which way the warp runs, by its word, or no word of it.
pub mod bias {
    use super::*;

    /// The word.
    pub fn serialize<S: Serializer>(value: &Option<Bias>, to: S) -> Result<S::Ok, S::Error> {
        value.map(Bias::as_str).serialize(to)
    }

    /// From the word.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Option<Bias>, D::Error> {
        let Some(word) = Option::<String>::deserialize(from)? else {
            return Ok(None);
        };
        let known = Bias::WORDS.iter().find(|(known, _)| *known == word);
        known.map(|(_, value)| Some(*value)).ok_or_else(|| {
            D::Error::custom(format_args!("`{word}` is no bias; there is left, right"))
        })
    }
}

/// An outline as path data.
pub mod ring {
    use super::*;

    /// The path.
    pub fn serialize<S: Serializer>(value: &Ring, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&path::of_ring(value))
    }

    /// From the path.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Ring, D::Error> {
        path::ring(&String::deserialize(from)?).map_err(D::Error::custom)
    }
}

/// A line as path data.
pub mod curve {
    use super::*;

    /// The path.
    pub fn serialize<S: Serializer>(value: &Curve, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&path::of_curve(value))
    }

    /// From the path.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Curve, D::Error> {
        path::curve(&String::deserialize(from)?).map_err(D::Error::custom)
    }
}

/// A point as two numbers, mm.
pub mod point {
    use super::*;

    /// The numbers.
    pub fn serialize<S: Serializer>(value: &Point, to: S) -> Result<S::Ok, S::Error> {
        [number(value.x), number(value.y)].serialize(to)
    }

    /// From the numbers.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Point, D::Error> {
        let [x, y] = <[f64; 2]>::deserialize(from)?;
        let far = path::FARTHEST;
        Ok(Point::new(within(x, -far, far)?, within(y, -far, far)?))
    }
}

/// A direction as two numbers, not both nought.
pub mod vector {
    use super::*;

    /// The numbers.
    pub fn serialize<S: Serializer>(value: &Vec2, to: S) -> Result<S::Ok, S::Error> {
        point::serialize(&value.to_point(), to)
    }

    /// From the numbers, made one long.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<Vec2, D::Error> {
        let read = point::deserialize(from)?.to_vec2();
        let length = read.hypot2().sqrt();
        if length > NO_LENGTH {
            // What is one long stays as it is written, so that it is written so again.
            let whole = (length - 1.0).abs() < NO_LENGTH;
            Ok(if whole { read } else { read / length })
        } else {
            Err(D::Error::custom("a direction must not be nought"))
        }
    }
}

/// The form of a notch, by its word.
pub mod notch {
    use super::*;

    const WORDS: [(&str, NotchKind); 3] = [
        ("slit", NotchKind::Slit),
        ("v", NotchKind::V),
        ("t", NotchKind::T),
    ];

    /// The word.
    pub fn serialize<S: Serializer>(value: &NotchKind, to: S) -> Result<S::Ok, S::Error> {
        let word = WORDS.iter().find(|(_, kind)| kind == value);
        to.serialize_str(word.map_or("slit", |(word, _)| word))
    }

    /// From the word.
    pub fn deserialize<'d, D: Deserializer<'d>>(from: D) -> Result<NotchKind, D::Error> {
        let word = String::deserialize(from)?;
        let known = WORDS.iter().find(|(known, _)| *known == word);
        known.map(|(_, kind)| *kind).ok_or_else(|| {
            D::Error::custom(format_args!("`{word}` is no notch; there is slit, v, t"))
        })
    }
}
