//! The cells of an order that are no names: how many, and when they are due. Text in, a value out, or
//! what is wrong.

use std::fmt;

use tiewright_core::diagnostic::Code;

/// The most of one article on a line: more than any workshop of neckwear makes for one order.
pub const MOST: u32 = 100_000;

/// Why a cell cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unreadable {
    /// The kind of mistake.
    pub code: Code,
    /// What is wrong.
    pub message: String,
    /// What to write.
    pub hint: String,
}

/// A day of the Gregorian calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day {
    year: u16,
    month: u8,
    day: u8,
}

impl fmt::Display for Day {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// The number of articles in a cell, from 1 to [`MOST`].
///
/// # Errors
/// [`Unreadable`] where it is anything else.
pub fn quantity(cell: &str) -> Result<u32, Box<Unreadable>> {
    let wrong = |message: String, hint: &str| {
        Err(Box::new(Unreadable {
            code: Code::BadCount,
            message,
            hint: hint.to_owned(),
        }))
    };
    if cell.is_empty() {
        let message = "this row does not say how many are ordered".to_owned();
        return wrong(message, "write a whole number");
    }
    if !cell.bytes().all(|b| b.is_ascii_digit()) {
        let (message, hint) = no_whole_number(cell);
        return wrong(message, hint);
    }
    match cell.parse::<u32>() {
        Ok(0) => wrong(
            "an order for 0 is none".to_owned(),
            "write how many are ordered, or take the row out",
        ),
        Ok(count) if count <= MOST => Ok(count),
        _ => wrong(
            format!("an order for {cell} is more than {MOST}, the most on one row"),
            "look for a digit too many; if it is meant, split the order up",
        ),
    }
}

/// What is said of a quantity that is not digits alone.
fn no_whole_number(cell: &str) -> (String, &'static str) {
    // A comma stands for the decimal point in many countries.
    let number = cell.replace(',', ".").parse::<f64>();
    match number {
        Ok(value) if value < 0.0 => (
            format!("an order for {cell} is less than none"),
            "take a return out of the book: it is not cut",
        ),
        Ok(value) if value.is_finite() => (
            format!("`{cell}` is no whole number written in digits alone"),
            "write digits alone, without a point, a comma or a space: `12`",
        ),
        _ => (
            format!("`{cell}` is no number"),
            "write a whole number in digits, without a unit: `12`",
        ),
    }
}

/// The day in a cell, as ISO 8601 writes it in full: `2027-03-31`.
///
/// # Errors
/// [`Unreadable`] where it is anything else, or there is no such day.
pub fn day(cell: &str) -> Result<Day, Box<Unreadable>> {
    let wrong = |message: String| {
        Box::new(Unreadable {
            code: Code::BadDate,
            message,
            hint: "write year, month and day, as in `2027-03-31`, or leave the cell blank"
                .to_owned(),
        })
    };
    let Some((year, month, day)) = parts(cell) else {
        return Err(wrong(format!("`{cell}` is no date")));
    };
    if year == 0 || !(1..=12).contains(&month) || !(1..=days(year, month)).contains(&day) {
        return Err(wrong(format!("there is no day {cell}")));
    }
    Ok(Day { year, month, day })
}

/// Year, month and day of `YYYY-MM-DD`.
fn parts(cell: &str) -> Option<(u16, u8, u8)> {
    let mut parts = cell.split('-');
    let mut digits = |count: usize| {
        let part = parts.next()?;
        let plain = part.len() == count && part.bytes().all(|b| b.is_ascii_digit());
        plain.then_some(part)
    };
    let year = digits(4)?.parse().ok()?;
    let month = digits(2)?.parse().ok()?;
    let day = digits(2)?.parse().ok()?;
    parts.next().is_none().then_some((year, month, day))
}

/// Days in a month.
fn days(year: u16, month: u8) -> u8 {
    let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_are_whole_and_above_zero() {
        assert_eq!(quantity("1"), Ok(1));
        assert_eq!(quantity("0012"), Ok(12));
        assert_eq!(quantity("100000"), Ok(MOST));
        for (wrong, said) in [
            ("", "does not say how many"),
            ("0", "for 0 is none"),
            ("-3", "less than none"),
            ("2.5", "no whole number"),
            ("2,5", "no whole number"),
            ("12.0", "no whole number"),
            ("1e3", "no whole number"),
            ("1 200", "is no number"),
            ("a dozen", "is no number"),
            ("nan", "is no number"),
            ("100001", "the most on one row"),
            ("99999999999999999999", "the most on one row"),
        ] {
            let error = quantity(wrong).expect_err(wrong);
            assert_eq!(error.code, Code::BadCount, "{wrong}");
            assert!(error.message.contains(said), "{wrong}: {}", error.message);
        }
    }

    #[test]
    fn days_are_those_of_the_calendar() {
        for good in ["2027-03-31", "2028-02-29", "2000-02-29", "0001-01-01"] {
            assert_eq!(day(good).map(|day| day.to_string()), Ok(good.to_owned()));
        }
        for wrong in [
            "2027-02-29",
            "1900-02-29",
            "2027-13-01",
            "2027-00-10",
            "2027-04-31",
            "2027-01-00",
            "0000-01-01",
            "27-03-31",
            "2027-3-31",
            "31.3.2027",
            "2027/03/31",
            "2027-03-31T10:00",
            "tomorrow",
            "20270331",
        ] {
            assert_eq!(
                day(wrong).map_err(|e| e.code),
                Err(Code::BadDate),
                "{wrong}"
            );
        }
        assert!(day("2027-03-31").ok() < day("2027-04-01").ok());
    }
}
