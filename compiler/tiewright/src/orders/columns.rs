//! The heading of an order book: which column is what. Cells in, columns out, or what is wrong.
//!
//! Never: what a cell means.

use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::names::nearest;

use crate::rows::Row;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// The number or name of the order.
    Order,
    /// Who ordered.
    Customer,
    /// The style.
    Style,
    /// The size.
    Size,
    /// The cloth that stands for the first role of the style.
    Cloth,
    /// How many.
    Quantity,
    /// When they are wanted.
    Due,
    /// A remark, which is not read.
    Note,
}

/// Every column by its heading, and whether a book must have it.
const COLUMNS: [(&str, Column, bool); 8] = [
    ("order", Column::Order, true),
    ("customer", Column::Customer, true),
    ("style", Column::Style, true),
    ("size", Column::Size, false),
    ("cloth", Column::Cloth, false),
    ("quantity", Column::Quantity, true),
    ("due", Column::Due, false),
    ("note", Column::Note, false),
];

/// A heading with every column but remarks.
pub const HEADING: &str = "order,customer,style,size,cloth,quantity,due";

/// The columns named by the cells of a heading; what is wrong goes to `errors`.
pub fn columns(cells: &[&str], row: &Row<'_>, errors: &mut Vec<Diagnostic>) -> Vec<Column> {
    let mut out: Vec<Column> = Vec::with_capacity(cells.len());
    let known = |cell: &&str| {
        COLUMNS
            .iter()
            .any(|(name, ..)| *name == cell.to_lowercase())
    };
    if !cells.iter().any(known) {
        let message = "this is no row of headings, and the first row must be one";
        let hint = format!("begin with `{HEADING}`");
        errors.push(row.error(Code::NoColumn, message).hint(hint));
        return out;
    }
    for (index, cell) in cells.iter().enumerate() {
        // Spreadsheets and people write headings with a capital.
        let name = cell.to_lowercase();
        let Some((_, column, _)) = COLUMNS.iter().find(|(known, ..)| **known == name) else {
            errors.push(unknown(index, cell, &name, row));
            continue;
        };
        if out.contains(column) {
            let message = format!("two columns are called `{name}`");
            let error = row.error_at(index, Code::DeclaredTwice, message);
            errors.push(error.hint("take one of them out"));
        }
        out.push(*column);
    }
    let missing = COLUMNS
        .iter()
        .filter(|(_, column, needed)| *needed && !out.contains(column));
    let missing: Vec<String> = missing.map(|(name, ..)| format!("`{name}`")).collect();
    if errors.is_empty() && !missing.is_empty() {
        let message = format!("the order book has no column {}", missing.join(", "));
        errors.push(row.error(Code::NoColumn, message).hint(
            "the columns are `order`, `customer`, `style`, `size`, `cloth`, `quantity`, `due` and `note`; \
             size, cloth, due and note may be left out",
        ));
    }
    out
}

fn unknown(index: usize, cell: &str, name: &str, row: &Row<'_>) -> Diagnostic {
    let known = || COLUMNS.iter().map(|(name, ..)| *name);
    let message = if cell.is_empty() {
        "this column has no heading".to_owned()
    } else {
        format!("an order book has no column `{cell}`")
    };
    let error = row.error_at(index, Code::UnknownColumn, message);
    error.hint(match nearest(name, known()) {
        Some(near) => format!("did you mean `{near}`?"),
        None if cell.is_empty() => "give it one, or take the column out".to_owned(),
        None => format!(
            "the columns are {}; remarks belong under `note`",
            known()
                .map(|name| format!("`{name}`"))
                .collect::<Vec<_>>()
                .join(", ")
        ),
    })
}
