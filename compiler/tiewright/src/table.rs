//! What a draft measures and what its proof found, as a table for people: mm and inches.

use std::fmt::Write;

use tiewright_core::cloth::Property;
use tiewright_core::draft::{Cloth, Draft, Measure, ProofRow, Relation, Unit};
use tiewright_core::format::{decimal, inches, with_unit};

/// The pieces, the measures and the proof, all of it.
pub fn full(draft: &Draft) -> String {
    let mut out = draft.title() + "\n";
    section(&mut out, "cut", &draft.pieces, |piece| {
        vec![
            piece.name.to_string(),
            format!("{} x {}", piece.quantity, piece.cloth),
        ]
    });
    let told: Vec<&Cloth> = draft.cloths.iter().filter(|cloth| is_told(cloth)).collect();
    section(&mut out, "cloths", &told, |cloth| cloth_row(cloth));
    section(&mut out, "measures", &draft.measures, measure_row);
    section(&mut out, "proof", &draft.proof, proof_row);
    out
}

/// One line: whether the proof holds.
pub fn short(draft: &Draft) -> String {
    let (rows, failing) = (
        draft.proof.len(),
        draft.proof.iter().filter(|r| !r.holds).count(),
    );
    let verdict = match (rows, failing) {
        (0, _) => "nothing to prove".to_owned(),
        (_, 0) => format!("proof holds ({rows} rows)"),
        _ => format!("{failing} of {rows} rows of the proof fail"),
    };
    format!("{}: {verdict}\n", draft.title())
}

/// `at most 5 mm`.
pub fn bound(row: &ProofRow) -> String {
    let relation = match row.relation {
        Relation::AtMost => "at most",
        Relation::AtLeast => "at least",
    };
    format!("{relation} {}", with_unit(row.limit, row.unit))
}

/// `1 style`, `2 styles`.
pub fn counted(count: usize, what: &str) -> String {
    format!("{count} {what}{}", if count == 1 { "" } else { "s" })
}

/// Whether there is more to tell of a cloth than its role.
fn is_told(cloth: &Cloth) -> bool {
    cloth.name.is_some() || gives(cloth).is_some()
}

/// How much the cloth gives, if it does.
fn gives(cloth: &Cloth) -> Option<f64> {
    cloth
        .properties
        .get(Property::Give)
        .filter(|give| *give > 0.0)
}

fn cloth_row(cloth: &Cloth) -> Vec<String> {
    let give = gives(cloth).map(|give| format!("gives {} %", decimal(give * 100.0, 2)));
    vec![
        cloth.role.to_string(),
        cloth.name.as_deref().unwrap_or_default().to_owned(),
        give.unwrap_or_default(),
        cloth.doc.to_string(),
    ]
}

/// Name, value, the same in inches if it is a length, and note.
pub fn measure_row(measure: &Measure) -> Vec<String> {
    let in_inches = if measure.unit == Unit::Millimetre {
        inches(measure.value)
    } else {
        String::new()
    };
    vec![
        measure.name.to_string(),
        with_unit(measure.value, measure.unit),
        in_inches,
        measure.doc.to_string(),
    ]
}

fn proof_row(row: &ProofRow) -> Vec<String> {
    let verdict = match (row.holds, row.advisory) {
        (true, _) => "holds",
        (false, true) => "warns",
        (false, false) => "FAILS",
    };
    vec![
        verdict.to_owned(),
        row.name.to_string(),
        with_unit(row.value, row.unit),
        bound(row),
    ]
}

/// A heading and rows with their columns in line; nothing without rows.
pub fn section<T>(out: &mut String, heading: &str, items: &[T], row: impl Fn(&T) -> Vec<String>) {
    if items.is_empty() {
        return;
    }
    // Writing to a string cannot fail.
    let _ = writeln!(out, "  {heading}");
    // What a file says must not steer the terminal.
    let plain = |cell: String| cell.replace(char::is_control, " ");
    let rows: Vec<Vec<String>> = items
        .iter()
        .map(|item| row(item).into_iter().map(plain).collect())
        .collect();
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let width = |column: usize| {
        rows.iter()
            .filter_map(|r| r.get(column))
            .map(|c| c.chars().count())
            .max()
            .unwrap_or(0)
    };
    let widths: Vec<usize> = (0..columns).map(width).collect();
    for row in &rows {
        let mut line = String::from("   ");
        for (cell, width) in row.iter().zip(&widths) {
            let _ = write!(line, " {cell:<width$} ");
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}
