//! Checks cutting tables. Input: what the lines say; output: checked lines, which are worked out
//! later.

use std::collections::BTreeMap;

use super::cloth::{constant, said_twice};
use super::shape::doc_of;
use crate::diagnostic::Diagnostic;
use crate::program::{Table, TableLine};
use crate::source::Span;
use crate::syntax::tree;
use crate::table::Property;

/// Checks a table of a file.
pub fn table(declared: &tree::Table, diagnostics: &mut Vec<Diagnostic>) -> Table {
    let mut stated: Vec<TableLine> = Vec::with_capacity(declared.lines.len());
    let mut before: BTreeMap<Property, Span> = BTreeMap::new();
    for line in &declared.lines {
        let row = line.property.row();
        if let Some(first) = before.insert(line.property, line.span) {
            diagnostics.push(said_twice(row.word, "table", line.span, first));
            continue;
        }
        let value = constant(&line.value, row, "table", diagnostics);
        stated.extend(value.map(|value| TableLine {
            property: line.property,
            value,
        }));
    }
    Table {
        name: declared.name.text.clone(),
        doc: doc_of(declared.doc.as_ref()),
        span: declared.name.span,
        stated,
    }
}
