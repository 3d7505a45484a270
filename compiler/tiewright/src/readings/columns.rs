//! The heading of a table of readings: which column is what. Cells in, columns out, or what is wrong.

use std::collections::BTreeMap;
use std::sync::Arc;

use tiewright_core::check::bench::COLUMNS;
use tiewright_core::diagnostic::{Code, Diagnostic};
use tiewright_core::names::nearest;
use tiewright_core::source::Span;

use super::cell::{UNITS, Unit, unit};
use crate::rows::Row;

/// What a column holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// What tells one tie from another.
    Tie,
    /// The style it was made to.
    Style,
    /// The size.
    Size,
    /// A remark, which is not judged.
    Note,
    /// Readings of a point, and their unit if the heading states one.
    Point(Arc<str>, Option<Unit>),
}

/// The columns named by the cells of a heading, where `points` can be measured; what is wrong goes to
/// `errors`.
pub fn columns(
    cells: &[&str],
    points: &[Arc<str>],
    row: &Row<'_>,
    errors: &mut Vec<Diagnostic>,
) -> Vec<Column> {
    let mut out = Vec::with_capacity(cells.len());
    let mut taken: BTreeMap<&str, Span> = BTreeMap::new();
    let places = row.places();
    for (index, cell) in cells.iter().enumerate() {
        let place = places.get(index).or(places.last()).copied();
        let place = place.unwrap_or_default();
        let (name, stated) = split(cell);
        if let Some(first) = taken.insert(name, place) {
            let message = format!("two columns are called `{name}`");
            errors.push(
                Diagnostic::error(Code::DeclaredTwice, place, message)
                    .also(first, "the first of them")
                    .hint("take one of them out"),
            );
        }
        match column(name, stated, points) {
            Ok(column) => out.push(column),
            Err(Wrong(code, message, hint)) => {
                errors.push(Diagnostic::error(code, place, message).hint(hint));
            }
        }
    }
    let has = |wanted: &dyn Fn(&Column) -> bool| out.iter().any(wanted);
    if errors.is_empty() && !has(&|c| *c == Column::Tie) {
        let error = row.error(Code::NoColumn, "the table has no column `tie`");
        errors.push(error.hint("give every tie an id of its own in a column `tie`"));
    }
    if errors.is_empty() && !has(&|c| matches!(c, Column::Point(..))) {
        let error = row.error(Code::NoColumn, "the table has no column of readings");
        errors.push(error.hint(format!("head a column with a point: {}", listed(points))));
    }
    out
}

struct Wrong(Code, String, String);

/// `NAME (UNIT)` as name and unit.
fn split(cell: &str) -> (&str, Option<&str>) {
    let parts = cell.strip_suffix(')').and_then(|cell| cell.split_once('('));
    match parts {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (cell, None),
    }
}

fn column(name: &str, stated: Option<&str>, points: &[Arc<str>]) -> Result<Column, Wrong> {
    let known = match name {
        "tie" => Some(Column::Tie),
        "style" => Some(Column::Style),
        "size" => Some(Column::Size),
        "note" => Some(Column::Note),
        _ => None,
    };
    if let Some(column) = known {
        return Ok(column);
    }
    let Some(point) = points.iter().find(|point| ***point == *name) else {
        let message = if name.is_empty() {
            "this column has no heading".to_owned()
        } else {
            format!("there is no point of measure `{name}`")
        };
        let names = points.iter().map(|point| &**point).chain(COLUMNS);
        let hint = match nearest(name, names) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("the points are {}", listed(points)),
        };
        return Err(Wrong(Code::UnknownColumn, message, hint));
    };
    let unit = match stated {
        None => None,
        Some(stated) => Some(unit(stated).ok_or_else(|| {
            let names: Vec<String> = UNITS.iter().map(|u| format!("`{}`", u.name)).collect();
            Wrong(
                Code::UnknownUnit,
                format!("there is no unit `{stated}`"),
                format!("write {} between the brackets", names.join(", ")),
            )
        })?),
    };
    Ok(Column::Point(point.clone(), unit))
}

/// The most points named in a hint.
const MOST_NAMED: usize = 24;

fn listed(points: &[Arc<str>]) -> String {
    let named = points.iter().take(MOST_NAMED);
    let named: Vec<String> = named.map(|point| format!("`{point}`")).collect();
    match points.len().checked_sub(MOST_NAMED) {
        Some(more @ 1..) => format!("{} and {more} more", named.join(", ")),
        _ => named.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_heading_states_its_unit() {
        let points: Vec<Arc<str>> = vec!["front-width".into()];
        let read = |cell| {
            let (name, unit) = split(cell);
            column(name, unit, &points).map_err(|wrong| wrong.0)
        };
        let point = |unit| Ok(Column::Point("front-width".into(), unit));
        assert_eq!(read("front-width"), point(None));
        assert_eq!(read("front-width (in)"), point(unit("in")));
        assert_eq!(read("front-width(cm)"), point(unit("cm")));
        assert_eq!(read("front-width (inch)"), Err(Code::UnknownUnit));
        assert_eq!(read("font-width (in)"), Err(Code::UnknownColumn));
        assert_eq!(read("tie"), Ok(Column::Tie));
    }
}
