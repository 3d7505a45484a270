//! Numbers as people read them in messages. Files have their own number formats.

use crate::draft::Unit;
use crate::kind::{Dim, Kind};

/// The unit a quantity is printed in; plain for dimensions that have none.
pub fn unit(kind: Kind) -> Unit {
    match kind {
        Kind::LENGTH => Unit::Millimetre,
        Kind::AREA => Unit::SquareMillimetre,
        Kind::ANGLE => Unit::Degree,
        _ => Unit::Plain,
    }
}

/// A value in its printed unit: angles in degrees, all else as it is.
pub fn in_unit(value: f64, kind: Kind) -> f64 {
    if kind == Kind::Quantity(Dim::ANGLE) {
        value * (180.0 / std::f64::consts::PI)
    } else {
        value
    }
}

/// A value of this kind in words: `12.7 mm (1/2 in)`, `45 deg`, `0.35`.
pub fn quantity(value: f64, kind: Kind) -> String {
    in_words(in_unit(value, kind), unit(kind))
}

/// A value of this kind as it is read off a tape at the work bench: `13.5 mm (17/32 in)`, lengths to a
/// tenth of a millimetre and to the nearest 32nd of an inch; all else as [`quantity`].
pub fn tape(value: f64, kind: Kind) -> String {
    if kind != Kind::LENGTH || value.abs() >= MANY_DIGITS {
        return quantity(value, kind);
    }
    let nearest = nearest_mark(value);
    let millimetres = decimal(to_tenths(value), 1);
    if nearest == 0.0 {
        format!("{millimetres} mm")
    } else {
        format!("{millimetres} mm ({})", inches(nearest))
    }
}

/// A length at the nearest mark of a tape in inches; all in millimetres.
fn nearest_mark(millimetres: f64) -> f64 {
    (millimetres / INCH * TAPE).round() / TAPE * INCH
}

/// How lengths on papers are rounded, in words: by [`paper_mm`], [`paper_inches`] and [`tape`].
pub const PAPER_ROUNDING: &str =
    "Millimetres are rounded to 0.1 mm, inches to 1/32 in; work by the millimetres.";

/// A length as tables on papers say it, in millimetres with one decimal and no unit: `82.6`.
pub fn paper_mm(millimetres: f64) -> String {
    tenths(millimetres)
}

/// A length as tables on papers say it, in inches to the nearest 32nd: `3 1/4 in`.
pub fn paper_inches(millimetres: f64) -> String {
    inches(nearest_mark(millimetres))
}

/// An area as papers say it, to 0.1 cm²: `946.0 cm²`.
pub fn paper_area(square_millimetres: f64) -> String {
    format!("{} cm²", tenths(square_millimetres / 100.0))
}

/// One decimal, halves away from nought, and never `-0.0`.
fn tenths(value: f64) -> String {
    if value.abs() >= MANY_DIGITS {
        return decimal(value, 1);
    }
    format!("{:.1}", to_tenths(value) + 0.0)
}

/// At the nearest tenth, halves away from nought. Every 1/4 in is a half, which sums and differences
/// miss by their last digit; what is that near to one counts as one, so that a length looks the same
/// wherever it stands.
fn to_tenths(value: f64) -> f64 {
    let tenths = (value * 10.0 * STEPS_OF_A_TENTH).round() / STEPS_OF_A_TENTH;
    tenths.round() / 10.0
}

/// How finely a tenth is looked at before it is rounded: to 1e-7 mm, above what reckoning loses and far
/// below what anybody cuts.
const STEPS_OF_A_TENTH: f64 = 1e6;

/// A value in its printed unit, in words, lengths in both units: `12.7 mm (1/2 in)`.
pub fn in_words(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Millimetre => format!("{} mm ({})", decimal(value, 2), inches(value)),
        unit => with_unit(value, unit),
    }
}

/// A value in its printed unit, in words, lengths in millimetres alone: `12.7 mm`, `153.2 cm²`.
pub fn with_unit(value: f64, unit: Unit) -> String {
    match unit {
        Unit::Millimetre => format!("{} mm", decimal(value, 2)),
        Unit::SquareMillimetre => format!("{} cm²", decimal(value / 100.0, 2)),
        Unit::Degree => format!("{} deg", decimal(value, 2)),
        Unit::Plain => decimal(value, 4),
    }
}

/// A place on the table in words: `254 mm (10 in) along, 25.4 mm (1 in) across`.
pub fn place(p: tiewright_geometry::Point) -> String {
    let length = |v| quantity(v, Kind::LENGTH);
    format!("{} along, {} across", length(p.x), length(p.y))
}

/// Millimetres in an inch, exactly.
pub const INCH: f64 = 25.4;

/// The finest marks of a tape, to the inch.
const TAPE: f64 = 32.0;

/// From here on a number is written with a power of ten; nobody reads so many digits.
const MANY_DIGITS: f64 = 1e9;

/// A decimal without trailing noughts and without `-0`.
pub fn decimal(value: f64, places: usize) -> String {
    if value.abs() >= MANY_DIGITS {
        return format!("{value:.2e}");
    }
    let text = format!("{value:.places$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

/// Millimetres as inches: a mixed fraction where one of 64ths is within 0.005 mm, else decimals.
pub fn inches(millimetres: f64) -> String {
    let inches = millimetres / INCH;
    let parts = (inches.abs() * 64.0).round();
    let near = (parts / 64.0 * INCH - millimetres.abs()).abs() < 0.005;
    if !near || parts > 1e9 {
        return format!("{} in", decimal(inches, 3));
    }
    let sign = if inches < 0.0 && parts > 0.0 { "-" } else { "" };
    let (whole, mut top, mut bottom) = ((parts / 64.0).floor(), parts % 64.0, 64.0);
    while top > 0.0 && top % 2.0 == 0.0 {
        top /= 2.0;
        bottom /= 2.0;
    }
    match (whole > 0.0, top > 0.0) {
        (_, false) => format!("{sign}{whole} in"),
        (true, true) => format!("{sign}{whole} {top}/{bottom} in"),
        (false, true) => format!("{sign}{top}/{bottom} in"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_show_both_units() {
        assert_eq!(quantity(82.55, Kind::LENGTH), "82.55 mm (3 1/4 in)");
        assert_eq!(quantity(-6.35, Kind::LENGTH), "-6.35 mm (-1/4 in)");
        assert_eq!(quantity(10.0, Kind::LENGTH), "10 mm (0.394 in)");
        assert_eq!(quantity(-0.0001, Kind::LENGTH), "0 mm (0 in)");
    }

    #[test]
    fn a_tape_is_read_to_its_marks() {
        let cases = [
            (13.4704, "13.5 mm (17/32 in)"),
            (6.35, "6.4 mm (1/4 in)"),
            (1447.8 - 1441.45, "6.4 mm (1/4 in)"),
            (44.45, "44.5 mm (1 3/4 in)"),
            (-19.05, "-19.1 mm (-3/4 in)"),
            (44.449, "44.4 mm (1 3/4 in)"),
            (1447.8, "1447.8 mm (57 in)"),
            (0.8, "0.8 mm (1/32 in)"),
            (0.3, "0.3 mm"),
            (0.0, "0 mm"),
            (-2.0, "-2 mm (-3/32 in)"),
        ];
        for (value, shown) in cases {
            assert_eq!(tape(value, Kind::LENGTH), shown);
        }
        assert_eq!(tape(4.0, Kind::NUMBER), "4");
    }

    #[test]
    fn papers_round_as_they_say() {
        assert_eq!(paper_mm(82.55), "82.6");
        assert_eq!(paper_mm(44.45), "44.5");
        assert_eq!(paper_mm(44.45 - 1e-12), "44.5");
        assert_eq!(paper_mm(44.449), "44.4");
        assert_eq!(paper_mm(-19.05 + 1e-12), "-19.1");
        assert_eq!(paper_mm(-0.04), "0.0");
        assert_eq!(paper_mm(1447.8), "1447.8");
        assert_eq!(paper_inches(82.55), "3 1/4 in");
        assert_eq!(paper_inches(10.0), "13/32 in");
        assert_eq!(paper_inches(-10.0), "-13/32 in");
        assert_eq!(paper_inches(0.1), "0 in");
        assert_eq!(paper_inches(-0.1), "0 in");
        assert_eq!(paper_area(94_600.83), "946.0 cm²");
    }

    #[test]
    fn huge_numbers_stay_short() {
        assert_eq!(quantity(2.54e21, Kind::LENGTH), "2.54e21 mm (1.00e20 in)");
    }

    #[test]
    fn angles_are_in_degrees() {
        assert_eq!(quantity(std::f64::consts::FRAC_PI_4, Kind::ANGLE), "45 deg");
    }
}
