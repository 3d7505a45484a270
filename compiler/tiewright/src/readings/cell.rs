//! One reading: a length as it is written on the form. Text in, millimetres out, or what is wrong.

use tiewright_core::diagnostic::Code;
use tiewright_core::format::INCH;
use tiewright_core::kind::Dim;
use tiewright_core::syntax::parse_amount;

/// A unit a reading may be in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Its name.
    pub name: &'static str,
    /// Millimetres in one of it.
    pub millimetres: f64,
    /// Decimals of a length shown in it.
    pub places: usize,
}

/// The units of readings.
pub const UNITS: [Unit; 4] = [
    Unit {
        name: "mm",
        millimetres: 1.0,
        places: 2,
    },
    Unit {
        name: "cm",
        millimetres: 10.0,
        places: 3,
    },
    Unit {
        name: "m",
        millimetres: 1000.0,
        places: 5,
    },
    Unit {
        name: "in",
        millimetres: INCH,
        places: 3,
    },
];

/// The unit of that name.
pub fn unit(name: &str) -> Option<Unit> {
    UNITS.into_iter().find(|unit| unit.name == name)
}

/// Why a cell is no reading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// The kind of mistake.
    pub code: Code,
    /// What is wrong.
    pub message: String,
    /// What to write.
    pub hint: String,
}

/// The length in a cell that is not blank, mm; `heading` is the unit of its column, which a unit in the
/// cell itself overrides.
///
/// # Errors
/// [`Unreadable`] where the cell holds no length above zero.
pub fn length(cell: &str, heading: Option<Unit>) -> Result<f64, Box<Unreadable>> {
    let (value, dim) = parse_amount(cell).map_err(|said| match said {
        Some(said) => Box::new(Unreadable {
            code: said.code,
            message: said.message,
            hint: if has_comma_inside(cell) {
                "write a decimal point in place of the comma, and nothing between thousands"
                    .to_owned()
            } else {
                said.hint
            },
        }),
        None => Box::new(no_length(cell)),
    })?;
    // A share of something is a plain number to the language.
    if (dim != Dim::PLAIN && dim != Dim::LENGTH) || cell.contains('%') {
        return Err(Box::new(no_length(cell)));
    }
    let millimetres = match (dim, heading) {
        (Dim::LENGTH, _) => value,
        (_, Some(unit)) => value * unit.millimetres,
        (_, None) => {
            return Err(Box::new(Unreadable {
                code: Code::NoUnit,
                message: format!("`{cell}` has no unit"),
                hint: format!(
                    "write `{cell} mm` or `{cell} in`, or the unit into the heading, as in `NAME (mm)`"
                ),
            }));
        }
    };
    if millimetres > 0.0 {
        Ok(millimetres)
    } else {
        Err(Box::new(no_length(cell)))
    }
}

/// Whether a comma stands between two digits.
fn has_comma_inside(cell: &str) -> bool {
    let is_digit = |c: u8| c.is_ascii_digit();
    let mut threes = cell.as_bytes().windows(3);
    threes.any(|three| matches!(three, &[a, b',', b] if is_digit(a) && is_digit(b)))
}

fn no_length(cell: &str) -> Unreadable {
    let inches = cell.ends_with(['"', '\u{201D}', '\u{2033}']);
    Unreadable {
        code: Code::NotALength,
        message: format!("`{cell}` is no length"),
        hint: if inches {
            "for inches write `in`"
        } else {
            "write it as in `1450 mm`, `145 cm` or `57 1/8 in`; leave the cell blank if it was not measured"
        }
        .to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_in_every_way_they_are_written() {
        let inch = unit("in");
        for (cell, heading, wanted) in [
            ("57 1/8 in", None, 57.125 * 25.4),
            ("1450 mm", None, 1450.0),
            ("145cm", None, 1450.0),
            ("1.45 m", None, 1450.0),
            ("1.45", unit("m"), 1450.0),
            ("57 1/8", inch, 57.125 * 25.4),
            ("3/8", inch, 0.375 * 25.4),
            ("1450 mm", inch, 1450.0),
            ("82.5", unit("mm"), 82.5),
        ] {
            let read = length(cell, heading).expect(cell);
            assert!((read - wanted).abs() < 1e-9, "{cell}");
        }
    }

    #[test]
    fn what_is_no_length_is_refused_with_its_reason() {
        let code = |cell: &str| length(cell, unit("mm")).map_err(|e| e.code);
        for (cell, wanted) in [
            ("long", Code::NotALength),
            ("-5", Code::NotALength),
            ("0", Code::NotALength),
            ("5 mm 6", Code::NotALength),
            ("5 deg", Code::NotALength),
            ("5 %", Code::NotALength),
            ("57 inches", Code::UnknownUnit),
            ("1 metre", Code::UnknownUnit),
            ("82,5", Code::Syntax),
            ("1/0", Code::ZeroFraction),
        ] {
            assert_eq!(code(cell), Err(wanted), "{cell}");
        }
        let bare = length("82.5", None).map_err(|e| e.code);
        assert_eq!(bare, Err(Code::NoUnit));
        let inches = length("57\"", None).expect_err("no length");
        assert_eq!(inches.hint, "for inches write `in`");
        let comma = length("62,25 in", None).expect_err("no length");
        assert!(
            comma.hint.starts_with("write a decimal point"),
            "{}",
            comma.hint
        );
        assert!(!comma.hint.contains("blank"), "{}", comma.hint);
    }
}
