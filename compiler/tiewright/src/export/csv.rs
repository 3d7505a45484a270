//! Tables as comma-separated values (RFC 4180) for spreadsheets. Lines end with a line feed alone, as in
//! every text this program writes.
//!
//! Every table of the program is written row by row through [`push_row`]; [`csv()`] is the one of what a
//! style measures in all its sizes: a line a measure, a column a size, lengths in millimetres, areas in
//! mm², angles in degrees.

use super::json::unit;
use super::number::{Zeros, fixed};
use crate::sizes::SizeTable;

/// Decimals of every number: measures may be small ratios.
const PLACES: usize = 9;

/// `table` as CSV, with a line of headings.
pub fn csv(table: &SizeTable) -> String {
    let mut text = String::new();
    let sizes = table.sizes.iter().map(|size| &**size);
    push_row(&mut text, ["measure", "unit"].into_iter().chain(sizes));
    for row in &table.rows {
        let values = row.values.iter().map(|value| match value {
            Some(value) => fixed(*value, PLACES, Zeros::Dropped),
            None => String::new(),
        });
        let heads = [row.name.to_string(), unit(row.unit).to_owned()];
        push_row(&mut text, heads.into_iter().chain(values));
    }
    text
}

/// Appends a row of cells and ends its line.
pub fn push_row(text: &mut String, cells: impl IntoIterator<Item = impl AsRef<str>>) {
    for (index, cell) in cells.into_iter().enumerate() {
        if index > 0 {
            text.push(',');
        }
        push_cell(text, cell.as_ref());
    }
    text.push('\n');
}

/// Appends words; between quotes, those inside doubled, where they hold what divides cells.
fn push_cell(text: &mut String, words: &str) {
    if words.contains([',', '"', '\n', '\r']) {
        text.push('"');
        text.push_str(&words.replace('"', "\"\""));
        text.push('"');
    } else {
        text.push_str(words);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;
    use crate::sizes::size_table;

    #[test]
    fn each_size_has_a_column_and_each_measure_a_line() {
        let long = sample::draft();
        let mut short = sample::draft();
        short.size = Some("short, \"slim\"".into());
        short.measures[0].value = -0.5;
        short.measures.truncate(1);
        let table = size_table(&[&long, &short]).expect("drafts");
        let text = csv(&table);
        let mut lines = text.lines();
        assert_eq!(
            lines.next(),
            Some("measure,unit,long,\"short, \"\"slim\"\"\"")
        );
        let first = &long.measures[0];
        let line = lines.next().expect("a measure");
        assert!(line.starts_with(&format!("{},mm,", first.name)), "{line}");
        assert!(line.ends_with(",-0.5"), "{line}");
        // What a size lacks is an empty cell.
        assert!(lines.next().is_some_and(|line| line.ends_with(',')));
        assert_eq!(text.lines().count(), 1 + long.measures.len());
    }
}
