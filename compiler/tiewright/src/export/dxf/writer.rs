//! Group codes and values as R12 text: a code on one line, its value on the next, 7-bit only.

use tiewright_geometry::Point;

use crate::export::number::{Zeros, push_fixed};

/// Decimals of a coordinate, mm: a tenth of a micrometre.
const PLACES: usize = 4;
/// The longest text of a group in R12, characters.
const LONGEST: usize = 255;
const END: &str = "\r\n";

/// A drawing being written.
#[derive(Debug, Default)]
pub(super) struct Writer {
    out: String,
}

impl Writer {
    /// An empty drawing with room for `bytes`.
    pub fn with_capacity(bytes: usize) -> Self {
        Writer {
            out: String::with_capacity(bytes),
        }
    }

    /// A group with text that is known to be printable ASCII.
    pub fn pair(&mut self, code: &str, value: &str) {
        self.out.push_str(code);
        self.out.push_str(END);
        self.out.push_str(value);
        self.out.push_str(END);
    }

    /// A group with any text: made 7-bit, cut to what R12 allows.
    pub fn text(&mut self, code: &str, value: &str) {
        self.pair(code, &seven_bit(value));
    }

    /// A group with a number.
    pub fn number(&mut self, code: &str, value: f64) {
        self.out.push_str(code);
        self.out.push_str(END);
        push_fixed(&mut self.out, value, PLACES, Zeros::Dropped);
        self.out.push_str(END);
    }

    /// Groups 10 and 20.
    pub fn point(&mut self, p: Point) {
        self.number(" 10", p.x);
        self.number(" 20", p.y);
    }

    /// Starts an entity on `layer`.
    pub fn entity(&mut self, kind: &str, layer: &str) {
        self.pair("  0", kind);
        self.pair("  8", layer);
    }

    /// The whole text.
    pub fn finish(self) -> String {
        self.out
    }
}

/// `text` in printable ASCII: others as `\U+XXXX` where that can say them, line ends and other
/// controls as spaces, carets in the form that stands for themselves.
fn seven_bit(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let start = out.len();
        match c {
            '^' => out.push_str("^ "),
            ' '..='~' => out.push(c),
            c if c.is_control() => out.push(' '),
            c if u32::from(c) <= 0xFFFF => {
                out.push_str("\\U+");
                for shift in [12, 8, 4, 0] {
                    let digit = (u32::from(c) >> shift) & 0xF;
                    out.push(
                        char::from_digit(digit, 16)
                            .unwrap_or('0')
                            .to_ascii_uppercase(),
                    );
                }
            }
            _ => out.push('?'),
        }
        if out.len() > LONGEST {
            out.truncate(start);
            break;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_is_seven_bit_and_short_enough() {
        assert_eq!(seven_bit("caf\u{e9} ^ 1\n2"), "caf\\U+00E9 ^  1 2");
        assert_eq!(seven_bit("\u{1F454}"), "?");
        let long = seven_bit(&"\u{e9}".repeat(100));
        assert_eq!(long.len(), 252);
        assert!(long.is_ascii() && long.ends_with("\\U+00E9"));
    }

    #[test]
    fn a_point_is_two_groups() {
        let mut writer = Writer::default();
        writer.point(Point::new(1.5, -0.00001));
        assert_eq!(writer.finish(), " 10\r\n1.5\r\n 20\r\n0\r\n");
    }
}
