//! Numbers as text with a fixed count of decimals: the same text on every machine, never `-0`.

/// The most decimals [`push_fixed`] writes.
pub const MOST_PLACES: usize = 9;

/// Powers of ten up to [`MOST_PLACES`].
const SCALES: [f64; MOST_PLACES + 1] = [1.0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
/// Whole numbers below this are exact in an `f64`.
const EXACT: f64 = 9e15;

/// What happens to zeros at the end of the decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zeros {
    /// `1.500`: columns line up.
    Kept,
    /// `1.5`: the shortest text.
    Dropped,
}

/// Appends `value`, rounded to `places` decimals (at most [`MOST_PLACES`]), half away from zero.
/// A value that is no number is written as 0.
pub fn push_fixed(out: &mut String, value: f64, places: usize, zeros: Zeros) {
    let places = places.min(MOST_PLACES);
    let scaled = (value * SCALES.get(places).copied().unwrap_or(1.0)).round();
    if scaled.abs() >= EXACT {
        return push_huge(out, value, places, zeros);
    }
    // NaN becomes 0 here, and so does −0.
    let units = scaled as i64;
    if units < 0 {
        out.push('-');
    }
    push_units(out, units.unsigned_abs(), places, zeros);
}

/// `value` as [`push_fixed`] writes it.
pub fn fixed(value: f64, places: usize, zeros: Zeros) -> String {
    let mut out = String::new();
    push_fixed(&mut out, value, places, zeros);
    out
}

/// `units` of the last decimal place.
fn push_units(out: &mut String, mut units: u64, mut places: usize, zeros: Zeros) {
    if zeros == Zeros::Dropped {
        while places > 0 && units.is_multiple_of(10) {
            units /= 10;
            places -= 1;
        }
    }
    // Twenty digits hold every u64; nine more for zeros after the point, and the point itself.
    let mut text = [b'0'; 32];
    let mut start = text.len();
    let mut written = 0;
    while units > 0 || written <= places {
        if written == places && places > 0 {
            start -= 1;
            text[start] = b'.';
        }
        start -= 1;
        text[start] = b'0' + (units % 10) as u8;
        units /= 10;
        written += 1;
    }
    out.extend(text[start..].iter().map(|&digit| char::from(digit)));
}

/// Numbers too large for the quick way; no drawing has them, but every input has an output.
fn push_huge(out: &mut String, value: f64, places: usize, zeros: Zeros) {
    let text = format!("{value:.places$}");
    let shown = match zeros {
        Zeros::Dropped if text.contains('.') => text.trim_end_matches('0').trim_end_matches('.'),
        _ => &text,
    };
    out.push_str(shown);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn known_values() {
        assert_eq!(fixed(1.5, 3, Zeros::Kept), "1.500");
        assert_eq!(fixed(1.5, 3, Zeros::Dropped), "1.5");
        assert_eq!(fixed(-0.0004, 3, Zeros::Kept), "0.000");
        assert_eq!(fixed(-0.0, 2, Zeros::Dropped), "0");
        assert_eq!(fixed(-12.345_678, 4, Zeros::Kept), "-12.3457");
        assert_eq!(fixed(0.05, 2, Zeros::Dropped), "0.05");
        assert_eq!(fixed(100.0, 0, Zeros::Dropped), "100");
        assert_eq!(fixed(100.0, 2, Zeros::Dropped), "100");
        assert_eq!(fixed(f64::NAN, 2, Zeros::Kept), "0.00");
        assert_eq!(fixed(1e18, 1, Zeros::Dropped), "1000000000000000000");
    }

    proptest! {
        #[test]
        fn reads_back_to_within_half_a_unit(value in -1e6..1e6f64, places in 0..=6usize) {
            let back: f64 = fixed(value, places, Zeros::Kept).parse().expect("a number");
            prop_assert!((back - value).abs() <= 0.5 / SCALES[places] + 1e-9);
            prop_assert_eq!(fixed(value, places, Zeros::Dropped).parse::<f64>().expect("a number"), back);
        }
    }
}
