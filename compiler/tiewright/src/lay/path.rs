//! Path data of job files: `M`, `L`, `C` and `Z` with absolute coordinates, as every format here
//! writes it. Text in, curves and outlines out, or what is wrong with the text; and back.
//! Never: arcs or relative coordinates.

use std::sync::Arc;

use tiewright_geometry::{Curve, Edge, GeometryError, Point, Ring, RingError};

use crate::export::path::Plot;

/// Decimals of a coordinate, mm: what a draft is rounded to in a job.
pub const PLACES: usize = 6;
/// The most segments of one path: a drafted piece has some dozens, and whether an outline crosses
/// itself takes time that grows with their square.
pub const MOST_SEGMENTS: usize = 2_000;
/// No coordinate lies farther from the origin, mm: far beyond the longest piece of a garment.
pub const FARTHEST: f64 = 1e5;

/// The path of `ring`.
pub fn of_ring(ring: &Ring) -> String {
    let mut out = String::new();
    Plot::plain(PLACES).ring(&mut out, ring);
    out
}

/// The path of `curve`.
pub fn of_curve(curve: &Curve) -> String {
    let mut out = String::new();
    Plot::plain(PLACES).curve(&mut out, curve);
    out
}

/// The outline that `text` draws; it must be closed and must not cross itself.
///
/// # Errors
/// What is wrong with it, in words.
pub fn ring(text: &str) -> Result<Ring, String> {
    let mut drawn = read(text)?;
    if !drawn.closed {
        return Err("the outline is not closed: end it with `Z`".to_owned());
    }
    drawn.line_to(drawn.start)?;
    let name: Arc<str> = "cut".into();
    let edge = |curve| Edge {
        name: name.clone(),
        curve,
    };
    let edges = drawn.curves.into_iter().map(edge).collect();
    Ring::from_edges(edges).map_err(|why| match why {
        RingError::CrossesItself { at, .. } => {
            let (x, y) = (at.x, at.y);
            format!("the outline crosses or touches itself near {x:.1} {y:.1}")
        }
        _ => "the outline has no area".to_owned(),
    })
}

/// The open line that `text` draws.
///
/// # Errors
/// What is wrong with it, in words.
pub fn curve(text: &str) -> Result<Curve, String> {
    let drawn = read(text)?;
    if drawn.closed {
        return Err("the line is closed: leave `Z` out".to_owned());
    }
    Curve::chain(&drawn.curves).map_err(|_| "the line has no length".to_owned())
}

/// A path as far as it is read.
struct Drawn {
    start: Point,
    at: Point,
    curves: Vec<Curve>,
    closed: bool,
}

impl Drawn {
    fn line_to(&mut self, to: Point) -> Result<(), String> {
        self.add(Curve::line(self.at, to), to)
    }

    /// Adds a segment that ends at `to`; one without length is left out, and the next starts
    /// where it started.
    fn add(&mut self, curve: Result<Curve, GeometryError>, to: Point) -> Result<(), String> {
        if self.curves.len() >= MOST_SEGMENTS {
            return Err(format!("the path has more than {MOST_SEGMENTS} segments"));
        }
        if let Ok(curve) = curve {
            self.curves.push(curve);
            self.at = to;
        }
        Ok(())
    }
}

fn read(text: &str) -> Result<Drawn, String> {
    let mut words = Words { rest: text };
    if words.letter() != Some('M') {
        return Err("a path starts with `M` and two numbers".to_owned());
    }
    let start = words.point()?;
    let mut drawn = Drawn {
        start,
        at: start,
        curves: Vec::new(),
        closed: false,
    };
    while let Some(letter) = words.letter() {
        if drawn.closed {
            return Err("nothing may follow `Z`: one path is one outline".to_owned());
        }
        match letter {
            'L' => {
                let to = words.point()?;
                drawn.line_to(to)?;
            }
            'C' => {
                let [a, b, to] = [words.point()?, words.point()?, words.point()?];
                drawn.add(Curve::cubic(drawn.at, a, b, to), to)?;
            }
            'Z' => drawn.closed = true,
            'M' => return Err("a second `M`: one path is one line".to_owned()),
            other => {
                return Err(format!(
                    "`{other}` is not known in a path; write absolute `M`, `L`, `C` and `Z`"
                ));
            }
        }
    }
    if words.rest.is_empty() {
        Ok(drawn)
    } else {
        Err("a number too many in the path: a letter stands before every point".to_owned())
    }
}

/// The letters and numbers of a path still to be read.
struct Words<'a> {
    rest: &'a str,
}

impl Words<'_> {
    fn letter(&mut self) -> Option<char> {
        self.rest = self.rest.trim_start();
        let letter = self.rest.chars().next().filter(|c| c.is_alphabetic())?;
        self.rest = self.rest.get(letter.len_utf8()..).unwrap_or_default();
        Some(letter)
    }

    fn point(&mut self) -> Result<Point, String> {
        Ok(Point::new(self.number()?, self.number()?))
    }

    fn number(&mut self) -> Result<f64, String> {
        let from = self
            .rest
            .trim_start_matches(|c: char| c == ',' || c.is_whitespace());
        let is_part = |c: char| c.is_ascii_digit() || "+-.eE".contains(c);
        let end = from.find(|c| !is_part(c)).unwrap_or(from.len());
        let (number, rest) = from.split_at(end);
        self.rest = rest;
        match number.parse::<f64>() {
            Ok(value) if value.abs() <= FARTHEST => Ok(value),
            Ok(_) => Err(format!("a coordinate is farther off than {FARTHEST} mm")),
            Err(_) if number.is_empty() => Err("a number is missing in the path".to_owned()),
            Err(_) => Err(format!("`{number}` is no number")),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back_alike() {
        for text in ["M0 0L0 100C20 120 60 120 100 100L100 0Z", "M0 0L0 9.5L7 0Z"] {
            assert_eq!(of_ring(&ring(text).expect(text)), closed(text));
        }
        let line = "M1 2C3 4 5 6 7.25 8L9 10";
        assert_eq!(of_curve(&curve(line).expect("a line")), line);
    }

    /// As it is written with its last side.
    fn closed(text: &str) -> String {
        let start = text[1..].split(['L', 'C']).next().expect("a start");
        text.replace('Z', &format!("L{start}Z"))
    }

    #[test]
    fn spaces_commas_and_a_side_without_length_do_no_harm() {
        let plain = ring("M0 0L0 10L10 10Z").expect("plain");
        for text in [
            " M 0,0 L 0 10\nL10,10 Z ",
            "M0 0L0 10L0 10L10 10L0 0Z",
            "M0 0L0 1e1L10 10.0Z",
        ] {
            let area = ring(text).expect(text).area();
            assert!((area - plain.area()).abs() < 1e-9, "{text}");
        }
    }

    #[test]
    fn what_is_no_outline_is_told() {
        for (text, why) in [
            ("", "starts with `M`"),
            ("L0 0", "starts with `M`"),
            ("M0", "a number is missing"),
            ("M0 0L5 5", "not closed"),
            ("M0 0L10 0L10 10L0 10Q1 1 2 2Z", "`Q` is not known"),
            ("M0 0l10 0Z", "`l` is not known"),
            ("M0 0L10 0L10 10ZM1 1", "nothing may follow"),
            ("M0 0L10 0 10 10Z", "a letter stands before"),
            ("M0 0L1e9 0L10 10Z", "farther off"),
            ("M0 0L1e999 0L10 10Z", "farther off"),
            ("M0 0L1-1 0L10 10Z", "`1-1` is no number"),
            ("M0 0LNaN 0Z", "a number is missing"),
            ("M0 0L10 10L10 0L0 10Z", "crosses or touches itself"),
            ("M0 0L10 0L10 10L0 10L0 0L5 5L0 9Z", "crosses or touches"),
            ("M0 0Z", "no area"),
            ("M0 0L10 0Z", "crosses or touches"),
        ] {
            let said = ring(text).expect_err(text);
            assert!(said.contains(why), "{text}: {said}");
        }
        assert!(curve("M0 0L1 1Z").is_err() && curve("M0 0").is_err());
        let many = format!("M0 0{}Z", "L0 1L1 1".repeat(MOST_SEGMENTS));
        assert!(ring(&many).expect_err("many").contains("more than"));
    }
}
