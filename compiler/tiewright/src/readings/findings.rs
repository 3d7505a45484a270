//! What is wrong with a table, without holding more of it than is shown.

use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::source::{FileId, Span};

use crate::report::MOST_SHOWN;

/// Diagnostics, of each severity only as many as are shown; the others are counted.
#[derive(Debug, Default)]
pub struct Findings {
    errors: Vec<Diagnostic>,
    warnings: Vec<Diagnostic>,
    total: usize,
}

impl Findings {
    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.total += 1;
        let list = if diagnostic.is_error() {
            &mut self.errors
        } else {
            &mut self.warnings
        };
        if list.len() < MOST_SHOWN {
            list.push(diagnostic);
        }
    }

    /// The ones to show, errors first, and how many there are beside them.
    pub fn into_shown(self) -> (Vec<Diagnostic>, usize) {
        let mut shown = self.errors;
        shown.extend(self.warnings);
        shown.truncate(MOST_SHOWN);
        let more = self.total - shown.len();
        (shown, more)
    }
}

/// The table as text, with a sign of one byte in the place of every byte that is none, so that places
/// in it are those of the table.
pub fn as_text(bytes: &[u8]) -> String {
    let mut out = String::with_capacity(bytes.len());
    for chunk in bytes.utf8_chunks() {
        out.push_str(chunk.valid());
        out.extend(chunk.invalid().iter().map(|_| '?'));
    }
    out
}

/// The place of one row in the table.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    /// The table.
    pub bytes: &'a [u8],
    /// What it is called in diagnostics.
    pub file: FileId,
    /// What stands between cells.
    pub delimiter: u8,
    /// The first byte of the row.
    pub start: usize,
}

impl Row<'_> {
    /// An error about a whole row.
    pub fn error(&self, code: Code, message: impl Into<String>) -> Diagnostic {
        let cells = self.cells().last();
        let end = cells.map_or(self.first(), |cell| cell.1);
        Diagnostic::error(code, Span::new(self.file, self.first(), end), message)
    }

    /// An error about one cell.
    pub fn error_at(&self, column: usize, code: Code, message: impl Into<String>) -> Diagnostic {
        Diagnostic::error(code, self.cell(column), message)
    }

    /// A warning about one cell.
    pub fn warning_at(&self, column: usize, code: Code, message: impl Into<String>) -> Diagnostic {
        Diagnostic::warning(code, self.cell(column), message)
    }

    /// The place of a cell, blanks and quotes included; the end of the row where there is none.
    pub fn cell(&self, column: usize) -> Span {
        let mut place = (self.first(), self.first());
        for (index, cell) in self.cells().enumerate() {
            place = (cell.1, cell.1);
            if index == column {
                place = trimmed(self.bytes, cell);
                break;
            }
        }
        Span::new(self.file, place.0, place.1)
    }

    /// The places of all cells, as [`Row::cell`] gives each: in one walk along the row.
    pub fn places(&self) -> Vec<Span> {
        let place = |cell| {
            let (start, end) = trimmed(self.bytes, cell);
            Span::new(self.file, start, end)
        };
        self.cells().map(place).collect()
    }

    /// The first byte that belongs to the row itself.
    fn first(&self) -> usize {
        let rest = self.bytes.get(self.start..).unwrap_or_default();
        let ends = rest.iter().take_while(|b| matches!(b, b'\r' | b'\n'));
        self.start + ends.count()
    }

    /// First byte and end of each cell. Inside quotes nothing ends a cell.
    fn cells(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        let mut at = Some(self.first());
        std::iter::from_fn(move || {
            let start = at?;
            let mut quoted = false;
            let mut end = start;
            while let Some(&byte) = self.bytes.get(end) {
                match byte {
                    // Quotes count only where a cell begins with one.
                    b'"' if end == start || quoted => quoted = !quoted,
                    b'"' if self.bytes.get(end - 1) == Some(&b'"') => quoted = true,
                    b'\r' | b'\n' if !quoted => break,
                    byte if byte == self.delimiter && !quoted => break,
                    _ => {}
                }
                end += 1;
            }
            let goes_on = self.bytes.get(end) == Some(&self.delimiter);
            at = goes_on.then_some(end + 1);
            Some((start, end))
        })
    }
}

fn trimmed(bytes: &[u8], (start, end): (usize, usize)) -> (usize, usize) {
    let cell = bytes.get(start..end).unwrap_or_default();
    let before = cell.iter().take_while(|b| b.is_ascii_whitespace()).count();
    if before == cell.len() {
        return (start, end);
    }
    let after = cell.iter().rev().take_while(|b| b.is_ascii_whitespace());
    (start + before, end - after.count())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_found_where_they_stand() {
        let bytes = b"a,b\r\n 12 ,\"x, \"\"y\"\"\",,z\n";
        let row = Row {
            bytes,
            file: FileId(0),
            delimiter: b',',
            start: 4,
        };
        let text = |column: usize| {
            let range = row.cell(column).range();
            String::from_utf8_lossy(&bytes[range]).into_owned()
        };
        assert_eq!(text(0), "12");
        assert_eq!(text(1), "\"x, \"\"y\"\"\"");
        assert_eq!(text(2), "");
        assert_eq!(text(3), "z");
        assert_eq!(text(9), "");
        let whole = row.error(Code::BlankRow, "all of it").primary;
        let range = whole.expect("a place").span.range();
        assert_eq!(range, 5..bytes.len() - 1);
    }

    #[test]
    fn bytes_that_are_no_text_keep_the_places() {
        let bytes = b"H\xFFn,\xE2\x82 1";
        assert_eq!(as_text(bytes), "H?n,?? 1");
        assert_eq!(as_text(bytes).len(), bytes.len());
    }

    #[test]
    fn only_so_many_are_kept() {
        let mut findings = Findings::default();
        for n in 0..30 {
            let error = Diagnostic::general(Code::BlankRow, format!("row {n}"));
            let warning = Diagnostic::general_warning(Code::WildReading, format!("row {n}"));
            findings.push(warning);
            findings.push(error);
        }
        let (shown, more) = findings.into_shown();
        assert_eq!((shown.len(), more), (MOST_SHOWN, 40));
        assert!(shown.iter().all(Diagnostic::is_error));
    }
}
