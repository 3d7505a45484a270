//! What is kept of the text the DXF library writes.
//!
//! Input is a whole R12 file of the library, output the same without what trips simple readers. A
//! pair of lines, a group code and a value, is looked at once and copied or left. Left are
//!
//! - all of the header but the version, and the tables: readers of pieces want neither, and the
//!   header tells the hour and has random ids;
//! - groups 100, subclass markers that R12 does not know and strict readers refuse;
//! - groups 30 and 31, since everything lies in one plane;
//! - the empty path of a block and the flags and tangents of vertices, which are never set.
//!
//! Vertices and ends of polylines are put on the layer of their polyline: the library leaves
//! vertices on layer 0 and their end on none. A number with more decimals than it was given shows
//! rounding of the binary number, and is rounded again.

use super::PLACES;
use crate::export::number::{Zeros, push_fixed};

const END: &str = "\r\n";
/// The one variable of the header that is kept.
const VERSION: &str = "$ACADVER";
/// Group codes of numbers with decimals.
const NUMBERS: std::ops::RangeInclusive<u16> = 10..=59;

/// Where in the file the sieve is.
#[derive(Default)]
struct Sieve<'a> {
    out: String,
    section: &'a str,
    /// The entity, or other thing named by a group 0.
    thing: &'a str,
    /// The layer of the last polyline.
    layer: &'a str,
    /// The variable of the header.
    variable: &'a str,
}

/// The pairs of `text` that simple readers want.
pub(super) fn sifted(text: &str) -> String {
    let mut sieve = Sieve {
        out: String::with_capacity(text.len() / 2),
        ..Sieve::default()
    };
    let mut lines = text.split('\n').map(|line| line.trim_end_matches('\r'));
    while let (Some(code), Some(value)) = (lines.next(), lines.next()) {
        sieve.pair(code, value);
    }
    sieve.out
}

impl<'a> Sieve<'a> {
    fn pair(&mut self, code: &'a str, value: &'a str) {
        let number: u16 = code.trim_start().parse().unwrap_or_default();
        match (number, self.thing) {
            (0, _) => self.thing = value,
            (2, "SECTION") => return self.enter(code, value),
            (8, "POLYLINE") => self.layer = value,
            (9, _) => self.variable = value,
            _ => {}
        }
        match (number, self.thing) {
            // Written together with its name.
            (0, "SECTION") => {}
            _ if self.is_left(number) => {}
            (0, "SEQEND") => {
                self.push(code, value);
                self.push("  8", self.layer);
            }
            (8, "VERTEX") => self.push(code, self.layer),
            _ if NUMBERS.contains(&number) && decimals(value) > PLACES => self.number(code, value),
            _ => self.push(code, value),
        }
    }

    fn enter(&mut self, code: &'a str, section: &'a str) {
        self.section = section;
        // Variables of the header have names too.
        self.thing = "";
        if section != "TABLES" {
            self.push("  0", "SECTION");
            self.push(code, section);
        }
    }

    fn is_left(&self, code: u16) -> bool {
        match self.section {
            "TABLES" => self.thing != "EOF",
            "HEADER" if code != 0 => self.variable != VERSION,
            _ => matches!(
                (code, self.thing),
                (30 | 31 | 100, _) | (1, "BLOCK") | (50 | 70, "VERTEX")
            ),
        }
    }

    fn push(&mut self, code: &str, value: &str) {
        for part in [code, END, value, END] {
            self.out.push_str(part);
        }
    }

    fn number(&mut self, code: &str, value: &str) {
        self.out.push_str(code);
        self.out.push_str(END);
        let value = value.parse().unwrap_or_default();
        push_fixed(&mut self.out, value, PLACES, Zeros::Dropped);
        self.out.push_str(END);
    }
}

/// How many digits follow the point.
fn decimals(value: &str) -> usize {
    value
        .split_once('.')
        .map_or(0, |(_, decimals)| decimals.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lines of a DXF file.
    fn lines(words: &str) -> String {
        words.split(' ').flat_map(|word| [word, END]).collect()
    }

    #[test]
    fn of_the_header_the_version_is_kept_and_of_the_tables_nothing() {
        let raw = lines(
            "0 SECTION 2 HEADER 9 $TDCREATE 40 2460000.5 9 $ACADVER 1 AC1009 9 $UCSNAME 2 none 0 ENDSEC \
             0 SECTION 2 TABLES 0 TABLE 2 LAYER 0 ENDTAB 0 ENDSEC \
             0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF",
        );
        let kept = sifted(&raw);
        let words: Vec<&str> = kept.split_whitespace().collect();
        assert_eq!(
            words.join(" "),
            "0 SECTION 2 HEADER 9 $ACADVER 1 AC1009 0 ENDSEC 0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF"
        );
    }

    #[test]
    fn vertices_are_on_the_layer_of_their_polyline() {
        let raw = lines(
            "0 SECTION 2 ENTITIES 0 POLYLINE 8 14 66 1 0 VERTEX 8 0 100 AcDbVertex 10 1.5 20 2.0 30 \
             0.0 70 0 50 0.0 0 SEQEND 0 POINT 8 4 10 1.0 50 45.0 0 ENDSEC",
        );
        let kept = sifted(&raw);
        let words: Vec<&str> = kept.split_whitespace().collect();
        assert_eq!(
            words.join(" "),
            "0 SECTION 2 ENTITIES 0 POLYLINE 8 14 66 1 0 VERTEX 8 14 10 1.5 20 2.0 0 SEQEND 8 14 \
             0 POINT 8 4 10 1.0 50 45.0 0 ENDSEC"
        );
    }

    #[test]
    fn numbers_too_long_are_rounded_and_texts_are_not() {
        let raw = lines("0 SECTION 2 ENTITIES 0 TEXT 10 12345.678900000001 1 1.23456789");
        let kept = sifted(&raw);
        let words: Vec<&str> = kept.split_whitespace().collect();
        assert_eq!(
            words[4..],
            ["0", "TEXT", "10", "12345.6789", "1", "1.23456789"]
        );
    }
}
