//! From the library's binary R12 file to lines of text, and what is left out on the way.
//!
//! Both forms hold the same pairs of a group code and a value; the binary one has numbers as they
//! are, so that they can be written through the one function of all formats. (The library's text
//! has twelve decimals, which show the rounding of binary numbers beyond some metres, and takes
//! four times as long.) Left out are
//!
//! - all of the header but the version, and the tables: readers of pieces want neither, and the
//!   header tells the hour and has random ids;
//! - groups 100, subclass markers that R12 does not know and strict readers refuse;
//! - groups 30 and 31, since everything lies in one plane;
//! - the empty path of a block and the flags and tangents of vertices, which are never set.
//!
//! Vertices and ends of polylines are put on the layer of their polyline: the library leaves
//! vertices on layer 0 and their end on none.

use ::dxf::DxfError;

use super::PLACES;
use crate::export::number::{Zeros, push_fixed};

const END: &str = "\r\n";
/// Bytes of the fixed text that a binary file starts with (DXF reference, "Binary DXF files").
const SIGN: usize = 22;
/// The one variable of the header that is kept.
const VERSION: &str = "$ACADVER";
/// The longest text of a group in R12, characters.
const LONGEST: usize = 255;

/// A value as the binary form has it.
#[derive(Clone, Copy)]
enum Value<'a> {
    Text(&'a str),
    Real(f64),
    Whole(i16),
}

/// The pairs of a binary file still to be read.
struct Pairs<'a> {
    file: &'a [u8],
    at: usize,
}

/// The text being written, and where in the file it is.
#[derive(Default)]
struct Lines<'a> {
    out: String,
    section: &'a str,
    /// The entity, or other thing named by a group 0.
    thing: &'a str,
    /// The layer of the last polyline.
    layer: &'a str,
    /// The variable of the header.
    variable: &'a str,
}

/// The pairs of `binary`, a whole R12 file, that simple readers want, as 7-bit text.
///
/// # Errors
/// What the library says of a file that is no R12, which it does not write.
pub(super) fn lines(binary: &[u8]) -> Result<String, DxfError> {
    let start = binary.get(SIGN..).ok_or(DxfError::InvalidBinaryFile)?;
    let mut pairs = Pairs { file: start, at: 0 };
    let mut lines = Lines {
        // Text is longer than binary by about as much as is left out.
        out: String::with_capacity(binary.len()),
        ..Lines::default()
    };
    while !pairs.is_done() {
        let (code, value) = pairs.next()?;
        lines.pair(code, value);
    }
    Ok(lines.out)
}

impl<'a> Pairs<'a> {
    fn is_done(&self) -> bool {
        self.at >= self.file.len()
    }

    /// The next pair. The code tells the form of the value (DXF reference, "Group codes").
    fn next(&mut self) -> Result<(u8, Value<'a>), DxfError> {
        let [code] = self.bytes()?;
        let value = match code {
            0..=9 | 100..=102 | 105 => Value::Text(self.text()?),
            10..=59 | 140..=149 | 210..=239 => Value::Real(f64::from_le_bytes(self.bytes()?)),
            60..=79 | 170..=179 => Value::Whole(i16::from_le_bytes(self.bytes()?)),
            _ => return Err(DxfError::UnexpectedCode(code.into(), self.at)),
        };
        Ok((code, value))
    }

    fn bytes<const N: usize>(&mut self) -> Result<[u8; N], DxfError> {
        let rest = self.file.get(self.at..).unwrap_or_default();
        let bytes = rest.first_chunk().ok_or(DxfError::UnexpectedEndOfInput)?;
        self.at += N;
        Ok(*bytes)
    }

    /// Up to the next zero byte.
    fn text(&mut self) -> Result<&'a str, DxfError> {
        let rest = self.file.get(self.at..).unwrap_or_default();
        let length = rest.iter().position(|&byte| byte == 0);
        let length = length.ok_or(DxfError::UnexpectedEndOfInput)?;
        self.at += length + 1;
        let bytes = rest.get(..length).unwrap_or_default();
        std::str::from_utf8(bytes).map_err(|_| DxfError::MalformedString)
    }
}

impl<'a> Lines<'a> {
    fn pair(&mut self, code: u8, value: Value<'a>) {
        if let Value::Text(text) = value {
            match (code, self.thing) {
                (0, _) => self.thing = text,
                (2, "SECTION") => return self.enter(text),
                (8, "POLYLINE") => self.layer = text,
                (9, _) => self.variable = text,
                _ => {}
            }
        }
        if self.is_left(code) {
            return;
        }
        match (code, self.thing) {
            (8, "VERTEX") => self.push(code, Value::Text(self.layer)),
            (0, "SEQEND") => {
                self.push(code, value);
                self.push(8, Value::Text(self.layer));
            }
            _ => self.push(code, value),
        }
    }

    fn enter(&mut self, section: &'a str) {
        self.section = section;
        // Variables of the header have names too.
        self.thing = "";
        if section != "TABLES" {
            self.push(0, Value::Text("SECTION"));
            self.push(2, Value::Text(section));
        }
    }

    fn is_left(&self, code: u8) -> bool {
        match (self.section, code) {
            // Written together with its name.
            (_, 0) if self.thing == "SECTION" => true,
            ("TABLES", _) => self.thing != "EOF",
            ("HEADER", 1..) => self.variable != VERSION,
            _ => matches!(
                (code, self.thing),
                (30 | 31 | 100, _) | (1, "BLOCK") | (50 | 70, "VERTEX")
            ),
        }
    }

    fn push(&mut self, code: u8, value: Value<'_>) {
        // Codes stand in three columns.
        for (place, least) in [(100, 100), (10, 10), (1, 0)] {
            self.out.push(if code < least {
                ' '
            } else {
                char::from(b'0' + code / place % 10)
            });
        }
        self.out.push_str(END);
        match value {
            Value::Text(text) => push_plain(&mut self.out, text),
            Value::Real(real) => push_fixed(&mut self.out, real, PLACES, Zeros::Dropped),
            Value::Whole(whole) => push_fixed(&mut self.out, whole.into(), 0, Zeros::Kept),
        }
        self.out.push_str(END);
    }
}

/// Appends `text` in printable ASCII: others as `\U+XXXX` where four digits can say them, else as
/// `?`; cut to what R12 allows. Controls and carets have been seen to before.
fn push_plain(out: &mut String, text: &str) {
    let start = out.len();
    for c in text.chars() {
        let before = out.len();
        match c {
            ' '..='~' => out.push(c),
            c if u32::from(c) > 0xFFFF => out.push('?'),
            c => {
                out.push_str("\\U+");
                for shift in [12, 8, 4, 0] {
                    let digit = char::from_digit((u32::from(c) >> shift) & 0xF, 16);
                    out.push(digit.unwrap_or('0').to_ascii_uppercase());
                }
            }
        }
        // The library writes a caret as two characters; half of it would change what follows.
        let is_half = out.len() - start == LONGEST && c == '^';
        if out.len() - start > LONGEST || is_half {
            out.truncate(before);
            break;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A binary file of texts, and of reals and whole numbers where the code says so.
    fn binary(words: &str) -> Vec<u8> {
        let mut file = vec![0; SIGN];
        let mut words = words.split(' ');
        while let (Some(code), Some(value)) = (words.next(), words.next()) {
            let code: u8 = code.parse().expect("a code");
            file.push(code);
            match code {
                10..=59 => file.extend(value.parse::<f64>().expect("a number").to_le_bytes()),
                60..=79 => file.extend(value.parse::<i16>().expect("a number").to_le_bytes()),
                _ => file.extend([value.as_bytes(), &[0]].concat()),
            }
        }
        file
    }

    fn kept(words: &str) -> String {
        let text = lines(&binary(words)).expect("a file");
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn of_the_header_the_version_is_kept_and_of_the_tables_nothing() {
        let text = kept(
            "0 SECTION 2 HEADER 9 $TDCREATE 40 2460000.5 9 $ACADVER 1 AC1009 9 $UCSNAME 2 none \
             0 ENDSEC 0 SECTION 2 TABLES 0 TABLE 2 LAYER 0 ENDTAB 0 ENDSEC \
             0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF",
        );
        assert_eq!(
            text,
            "0 SECTION 2 HEADER 9 $ACADVER 1 AC1009 0 ENDSEC 0 SECTION 2 ENTITIES 0 ENDSEC 0 EOF"
        );
    }

    #[test]
    fn vertices_are_on_the_layer_of_their_polyline() {
        let text = kept(
            "0 SECTION 2 ENTITIES 0 POLYLINE 8 14 66 1 0 VERTEX 8 0 100 AcDbVertex 10 1.5 20 2.0 \
             30 0.0 70 0 50 0.0 0 SEQEND 0 POINT 8 4 10 1.0 50 45.0 0 ENDSEC",
        );
        assert_eq!(
            text,
            "0 SECTION 2 ENTITIES 0 POLYLINE 8 14 66 1 0 VERTEX 8 14 10 1.5 20 2 0 SEQEND 8 14 \
             0 POINT 8 4 10 1 50 45 0 ENDSEC"
        );
    }

    #[test]
    fn numbers_are_rounded_and_codes_stand_in_three_columns() {
        let text = lines(&binary("0 TEXT 10 12345.67890000001 20 -0.00001 70 -2")).expect("a file");
        assert_eq!(
            text,
            "  0\r\nTEXT\r\n 10\r\n12345.6789\r\n 20\r\n0\r\n 70\r\n-2\r\n"
        );
    }

    #[test]
    fn text_is_seven_bit_and_short_enough() {
        let plain = |text: &str| {
            let mut out = "before".to_owned();
            push_plain(&mut out, text);
            out.split_off(6)
        };
        assert_eq!(plain("caf\u{e9} ^ 1"), "caf\\U+00E9 ^ 1");
        assert_eq!(plain("\u{1F454}"), "?");
        assert_eq!(plain(&"a".repeat(300)).len(), 255);
        assert_eq!(plain(&"^ ".repeat(300)).len(), 254);
        let long = plain(&"\u{e9}".repeat(100));
        assert_eq!(long.len(), 252);
        assert!(long.is_ascii() && long.ends_with("\\U+00E9"));
    }

    #[test]
    fn what_is_no_file_of_the_library_is_refused() {
        assert!(matches!(lines(b""), Err(DxfError::InvalidBinaryFile)));
        let mut file = binary("0 SECTION 2 ENTITIES 10 1.0");
        file.pop();
        assert!(matches!(lines(&file), Err(DxfError::UnexpectedEndOfInput)));
        let unknown = [vec![0; SIGN], vec![90, 0, 0, 0, 0]].concat();
        assert!(matches!(
            lines(&unknown),
            Err(DxfError::UnexpectedCode(90, _))
        ));
    }
}
