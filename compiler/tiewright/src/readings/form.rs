//! The blank form that readings are entered in: a table with a row for every style and size and a column
//! for every point of measure.

use std::sync::Arc;

use tiewright_core::draft::Draft;

use super::cell::Unit;
use crate::export::csv::push_row;

/// A blank form for the drafts, its columns in `unit`.
pub fn form(drafts: &[Draft], unit: Unit) -> String {
    let mut points: Vec<Arc<str>> = Vec::new();
    for draft in drafts {
        for point in draft.inspections.iter().flat_map(|i| &i.points) {
            if !points.contains(&point.name) {
                points.push(point.name.clone());
            }
        }
    }
    let mut text = String::new();
    let fixed = ["tie", "style", "size"].map(str::to_owned);
    let heads = points.iter().map(|name| format!("{name} ({})", unit.name));
    let heading = fixed.into_iter().chain(heads).chain(["note".to_owned()]);
    push_row(&mut text, heading);
    for draft in drafts {
        let named = ["", &*draft.style, draft.size.as_deref().unwrap_or("")];
        let blanks = points.iter().map(|_| "").chain([""]);
        push_row(&mut text, named.into_iter().chain(blanks));
    }
    text
}
