//! Tables of comma-separated values that people and spreadsheets write, read row by row: what stands
//! between the cells is found out, every place in the table is known, and what is wrong with its form
//! is said of the row that has it.
//!
//! Input: the bytes of a table; output: rows of cells and their places. Nothing here knows what the
//! columns mean, and nothing reads a file.

pub mod findings;

use csv::{ByteRecord, Reader, ReaderBuilder};
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::source::{FileId, Span};

use crate::table::counted;

/// What editors and spreadsheets put before a UTF-8 text.
const BYTE_ORDER_MARK: &[u8] = b"\xEF\xBB\xBF";
/// What begins a UTF-16 text, in either order of its bytes.
const UTF_16_MARKS: [&[u8]; 2] = [b"\xFF\xFE", b"\xFE\xFF"];

/// What to do with a table in another writing.
const AS_UTF_8: &str = "save the table as UTF-8 text; spreadsheets call that \"CSV UTF-8\"";

/// The rows of a table, one after another. Empty lines are passed over.
#[derive(Debug)]
pub struct Rows<'a> {
    bytes: &'a [u8],
    file: FileId,
    delimiter: u8,
    skipped: usize,
    reader: Reader<&'a [u8]>,
    record: ByteRecord,
}

impl<'a> Rows<'a> {
    /// The rows of `bytes`, which diagnostics call `file`.
    pub fn new(bytes: &'a [u8], file: FileId) -> Self {
        let table = bytes.strip_prefix(BYTE_ORDER_MARK).unwrap_or(bytes);
        let delimiter = delimiter(table);
        let reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .from_reader(table);
        Rows {
            bytes,
            file,
            delimiter,
            skipped: bytes.len() - table.len(),
            reader,
            record: ByteRecord::new(),
        }
    }

    /// The next row, its heading first.
    pub fn next_row(&mut self) -> Option<(&ByteRecord, Row<'a>)> {
        // Reading from memory cannot fail, and any bytes are a record.
        let found = self.reader.read_byte_record(&mut self.record);
        if !found.unwrap_or(false) {
            return None;
        }
        let at = self.record.position().map_or(0, csv::Position::byte);
        let start = self.skipped + usize::try_from(at).unwrap_or(0);
        Some((&self.record, self.row(start)))
    }

    /// The row that starts at the byte `start`.
    pub fn row(&self, start: usize) -> Row<'a> {
        Row {
            bytes: self.bytes,
            file: self.file,
            delimiter: self.delimiter,
            start,
        }
    }
}

/// Whether a row has nothing in any cell, as spreadsheets leave rows below a table.
pub fn is_blank(record: &ByteRecord) -> bool {
    record.iter().all(|cell| cell.trim_ascii().is_empty())
}

/// What is wrong with a row that has not `wanted` cells on one line, and how many rows are lost in it.
pub fn misshapen(record: &ByteRecord, row: &Row<'_>, wanted: usize) -> Option<(Diagnostic, u64)> {
    let broken = |cell: &[u8]| cell.contains(&b'\n');
    if let Some(column) = record.iter().position(broken) {
        let swallowed = swallowed(record);
        let message = format!(
            "a quote is opened here and not closed on its line; {} lost to it",
            was(swallowed)
        );
        let error = row.error_at(column, Code::CellCount, message);
        return Some((error.hint("close the quote, or take it out"), swallowed));
    }
    (record.len() != wanted).then(|| {
        let message = format!(
            "this row has {}, and the heading {wanted}",
            counted(record.len(), "cell")
        );
        let hint = "look for a comma too many or too few; a cell that holds one stands in quotes";
        (row.error(Code::CellCount, message).hint(hint), 0)
    })
}

/// The cells of a row as text, without the blanks round them; what is no text goes to `errors`.
pub fn texts<'r>(
    record: &'r ByteRecord,
    row: &Row<'_>,
    errors: &mut Vec<Diagnostic>,
) -> Option<Vec<&'r str>> {
    let mut cells: Vec<&str> = Vec::with_capacity(record.len());
    for (column, cell) in record.iter().enumerate() {
        match std::str::from_utf8(cell) {
            Ok(cell) => cells.push(cell.trim()),
            Err(_) => {
                let message = "this cell is not UTF-8 text";
                errors.push(row.error_at(column, Code::NotText, message).hint(AS_UTF_8));
            }
        }
    }
    (cells.len() == record.len()).then_some(cells)
}

/// The error about a table that is UTF-16 text, which has no cells to speak of.
pub fn wide_text(bytes: &[u8], file: FileId) -> Option<Diagnostic> {
    let marked = UTF_16_MARKS.iter().any(|mark| bytes.starts_with(mark));
    // Without a mark half of a letter of a heading is nought.
    let wide = marked || bytes.iter().take(2).any(|byte| *byte == 0);
    wide.then(|| {
        let message = "the table is UTF-16 text, and cannot be read";
        of_table(file, Code::NotText, message).hint(AS_UTF_8)
    })
}

/// An error about a table as a whole.
pub fn of_table(file: FileId, code: Code, message: &str) -> Diagnostic {
    Diagnostic::error(code, Span::new(file, 0, 0), message)
}

/// Rows that stand inside the quotes of another one.
fn swallowed(record: &ByteRecord) -> u64 {
    let rows = record
        .iter()
        .flat_map(|cell| cell.split(|b| *b == b'\n').skip(1));
    let rows = rows.filter(|row| row.iter().any(|b| !b.is_ascii_whitespace()));
    rows.map(|_| 1).sum()
}

/// `1 row is`, `2 rows are`.
fn was(rows: u64) -> String {
    match rows {
        1 => "1 row is".to_owned(),
        more => format!("{more} rows are"),
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

/// What stands between the cells of a heading: what a spreadsheet puts there in any country.
fn delimiter(bytes: &[u8]) -> u8 {
    let heading = bytes.split(|b| matches!(b, b'\r' | b'\n')).next();
    let count = |sign: u8| {
        let cells = heading.unwrap_or_default().iter();
        cells.filter(|b| **b == sign).count()
    };
    // The comma where there is no telling.
    [b';', b'\t', b',']
        .into_iter()
        .max_by_key(|sign| count(*sign))
        .unwrap_or(b',')
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
    fn the_delimiter_is_the_one_used() {
        assert_eq!(delimiter(b"tie,length (mm),width"), b',');
        assert_eq!(delimiter(b"tie;length (mm);width\na,b,c,d,e"), b';');
        assert_eq!(delimiter(b"tie\tlength"), b'\t');
        assert_eq!(delimiter(b"tie"), b',');
        assert_eq!(delimiter(b""), b',');
    }
}
