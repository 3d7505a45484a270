//! Works out cutting tables: what their lines state, and what is wrong with it.

use super::cloth::out_of_range;
use super::grade::Levels;
use super::{Evaluator, Fault};
use crate::diagnostic::{Code, Diagnostic};
use crate::format::quantity;
use crate::kind::Kind;
use crate::program::{self, Shape};
use crate::table::{Property, Table};

/// The tables as their lines say, and what is wrong with them. A line that is wrong counts as not said.
pub fn tables<'t>(
    tables: impl IntoIterator<Item = &'t program::Table>,
) -> (Vec<Table>, Vec<Diagnostic>) {
    // The lines of a table read nothing that a shape declares.
    let nothing = Shape::default();
    let unset = Levels::default();
    let evaluator = Evaluator::new(&nothing, &unset);
    let mut wrong = Vec::new();
    let work_out = |table| worked_out(&evaluator, table, &mut wrong);
    let out = tables.into_iter().map(work_out).collect();
    (out, wrong)
}

fn worked_out(
    evaluator: &Evaluator<'_>,
    table: &program::Table,
    wrong: &mut Vec<Diagnostic>,
) -> Table {
    let mut out = Table {
        name: table.name.clone(),
        doc: table.doc.clone(),
        longest: None,
        plies: None,
        gap: 0.0,
        end_loss: 0.0,
        set_up: 0.0,
        spreading: 0.0,
        span: table.span,
    };
    for line in &table.stated {
        let value = match evaluator.number(&line.value) {
            Ok(value) => value,
            Err(fault) => {
                wrong.extend(match fault {
                    Fault::Told(diagnostic) => Some(*diagnostic),
                    Fault::Silent => None,
                });
                continue;
            }
        };
        if let Some(diagnostic) = out_of_range(line.property.row(), value, "table", line.value.span)
        {
            wrong.push(diagnostic);
            continue;
        }
        match line.property {
            Property::Longest => out.longest = Some(value),
            // A whole number from 1 to 1000: nothing is lost.
            Property::Plies => out.plies = Some(value as u32),
            Property::Gap => out.gap = value,
            Property::EndLoss => out.end_loss = value,
            Property::SetUp => out.set_up = value,
            Property::Spreading => out.spreading = value,
        }
    }
    wrong.extend(no_room(table, &out));
    out
}

/// A table on which the ends take up all of the longest ply.
fn no_room(table: &program::Table, out: &Table) -> Option<Diagnostic> {
    let longest = out
        .longest
        .filter(|longest| 2.0 * out.end_loss >= *longest)?;
    let at = |property| table.stated.iter().find(|line| line.property == property);
    let ends = at(Property::EndLoss)?.value.span;
    let show = |value| quantity(value, Kind::LENGTH);
    let message = format!(
        "twice {} is lost at the ends, and no ply is longer than {}",
        show(out.end_loss),
        show(longest)
    );
    let diagnostic = Diagnostic::error(Code::OutOfRange, ends, message);
    let diagnostic = match at(Property::Longest) {
        Some(line) => diagnostic.also(line.value.span, "the longest ply"),
        None => diagnostic,
    };
    Some(diagnostic.hint("set `end-loss` lower, to what one end loses, or `longest` higher"))
}
