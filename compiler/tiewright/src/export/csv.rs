//! What a style measures in all its sizes, as comma-separated values (RFC 4180) for spreadsheets: a
//! line a measure, a column a size.
//!
//! Lengths are millimetres, areas mm², angles degrees. Lines end with a line feed alone, as in every
//! text this program writes.

use super::json::unit;
use super::number::{Zeros, push_fixed};
use crate::sizes::SizeTable;

/// Decimals of every number: measures may be small ratios.
const PLACES: usize = 9;

/// `table` as CSV, with a line of headings.
pub fn csv(table: &SizeTable) -> String {
    let mut text = String::from("measure,unit");
    for size in &table.sizes {
        text.push(',');
        push_cell(&mut text, size);
    }
    text.push('\n');
    for row in &table.rows {
        push_cell(&mut text, &row.name);
        text.push(',');
        text.push_str(unit(row.unit));
        for value in &row.values {
            text.push(',');
            if let Some(value) = value {
                push_fixed(&mut text, *value, PLACES, Zeros::Dropped);
            }
        }
        text.push('\n');
    }
    text
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
