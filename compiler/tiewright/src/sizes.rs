//! What a style measures in all its sizes, side by side: for people, a column a size.
//!
//! Shown are the parameters that differ from size to size, and all measures; inches as they are read off
//! a tape, to the nearest 32nd.

use std::fmt::Write;
use std::sync::Arc;

use tiewright_core::draft::{Draft, Measure, Unit};
use tiewright_core::format::{decimal, paper_inches, paper_mm};

use crate::export::number::{self, Zeros};

/// What the column of a style without a size is called.
const AS_IT_STANDS: &str = "as it stands";
/// Before every line of the table.
const INDENT: &str = "    ";
/// Between two columns.
const GAP: &str = "  ";

/// The measures of one style, size by size.
#[derive(Debug)]
pub struct SizeTable {
    /// The style.
    pub style: Arc<str>,
    /// What each column is of.
    pub sizes: Vec<Arc<str>>,
    /// The rows, in order.
    pub rows: Vec<Row>,
}

/// One measure in all sizes.
#[derive(Debug)]
pub struct Row {
    /// Its name.
    pub name: Arc<str>,
    /// What the values count.
    pub unit: Unit,
    /// Its value in each size; none where the size lacks it.
    pub values: Vec<Option<f64>>,
}

/// The table of `drafts`, all of one style; `None` without drafts.
pub fn size_table(drafts: &[&Draft]) -> Option<SizeTable> {
    let first = drafts.first()?;
    let sizes = drafts
        .iter()
        .map(|draft| draft.size.clone().unwrap_or_else(|| AS_IT_STANDS.into()));
    let mut all = rows(drafts, |draft| &draft.parameters);
    all.retain(|row| row.values.iter().any(|v| Some(v) != row.values.first()));
    let mut measures = rows(drafts, |draft| &draft.measures);
    measures.retain(|measure| !all.iter().any(|row| row.name == measure.name));
    all.extend(measures);
    Some(SizeTable {
        style: first.style.clone(),
        sizes: sizes.collect(),
        rows: all,
    })
}

/// A row for every name among the numbers of the drafts, in the order in which they first come up.
fn rows<'d>(drafts: &[&'d Draft], numbers: impl Fn(&'d Draft) -> &'d [Measure]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (column, draft) in drafts.iter().enumerate() {
        for (place, measure) in numbers(draft).iter().enumerate() {
            // All sizes are of one shape, so that a name mostly stands in the same place.
            let same = |row: &Row| row.name == measure.name;
            let known = rows
                .get(place)
                .is_some_and(same)
                .then_some(place)
                .or_else(|| rows.iter().position(same));
            let index = known.unwrap_or_else(|| {
                rows.push(Row {
                    name: measure.name.clone(),
                    unit: measure.unit,
                    values: vec![None; drafts.len()],
                });
                rows.len() - 1
            });
            let cell = rows
                .get_mut(index)
                .and_then(|row| row.values.get_mut(column));
            if let Some(cell) = cell {
                *cell = Some(measure.value);
            }
        }
    }
    rows
}

impl SizeTable {
    /// The table as text, lengths in millimetres and below that in inches, in as many blocks as it
    /// takes to keep within `columns` characters.
    pub fn text(&self, columns: usize) -> String {
        let lines: Vec<Line> = self.rows.iter().flat_map(lines).collect();
        let widest = |of: fn(&Line) -> &str| {
            let each = lines.iter().map(|line| of(line).chars().count());
            each.max().unwrap_or(0)
        };
        let (name, unit) = (widest(|line| &line.name), widest(|line| line.unit));
        let head = |line: &Line| format!("{:name$}{GAP}{:unit$}", line.name, line.unit);
        let width = |size: usize| {
            let cells = lines.iter().filter_map(|line| line.cells.get(size));
            let name = self.sizes.get(size).map_or(0, |name| name.chars().count());
            cells
                .map(|cell| cell.chars().count())
                .fold(name, usize::max)
        };
        let widths: Vec<usize> = (0..self.sizes.len()).map(width).collect();
        let room = columns.saturating_sub(INDENT.len() + name + GAP.len() + unit);
        let names: Vec<String> = self.sizes.iter().map(ToString::to_string).collect();
        let above = " ".repeat(name + GAP.len() + unit);
        let mut out = format!("{}\n  measures in each size\n", self.style);
        let mut from = 0;
        while from < widths.len() {
            let to = fitting(&widths, from, room);
            if from > 0 {
                out.push('\n');
            }
            row(&mut out, &above, &names, &widths, from..to);
            for line in &lines {
                row(&mut out, &head(line), &line.cells, &widths, from..to);
            }
            from = to;
        }
        out
    }
}

/// The end of the columns that fit beside each other from `from` on: one at least.
fn fitting(widths: &[usize], from: usize, room: usize) -> usize {
    let mut used = 0;
    let fits = |width: &&usize| {
        used += GAP.len() + **width;
        used <= room
    };
    let count = widths.iter().skip(from).take_while(fits).count();
    from + count.max(1)
}

/// A line of the table.
struct Line {
    name: String,
    unit: &'static str,
    cells: Vec<String>,
}

/// The lines of a row: two for a length.
fn lines(row: &Row) -> Vec<Line> {
    let line = |name: &str, unit: &'static str, show: fn(f64) -> String| Line {
        name: name.to_owned(),
        unit,
        cells: row
            .values
            .iter()
            .map(|value| value.map_or_else(String::new, show))
            .collect(),
    };
    match row.unit {
        Unit::Millimetre => vec![
            line(&row.name, "mm", paper_mm),
            line("", "in", |value| {
                paper_inches(value).trim_end_matches(" in").to_owned()
            }),
        ],
        Unit::SquareMillimetre => vec![line(&row.name, "cm²", |value| fixed(value / 100.0, 1))],
        Unit::Degree => vec![line(&row.name, "deg", |value| fixed(value, 2))],
        Unit::Plain => vec![line(&row.name, "", |value| decimal(value, 4))],
    }
}

/// A number with so many decimals, so that points stand below each other.
fn fixed(value: f64, places: usize) -> String {
    number::fixed(value, places, Zeros::Kept)
}

/// Writes the cells of some columns, each flush right below its size.
fn row(
    out: &mut String,
    head: &str,
    cells: &[String],
    widths: &[usize],
    columns: std::ops::Range<usize>,
) {
    let mut line = format!("{INDENT}{head}");
    for column in columns {
        let cell = cells.get(column).map_or("", String::as_str);
        let width = widths.get(column).copied().unwrap_or(0);
        // Writing to a string cannot fail.
        let _ = write!(line, "{GAP}{cell:>width$}");
    }
    out.push_str(line.trim_end());
    out.push('\n');
}
