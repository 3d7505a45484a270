//! What readings come to, as a table for people.

use std::fmt::Write;

use tiewright_core::format::decimal;

use super::cell::Unit;
use super::judge::{Judged, Outside};
use super::subject::{Point, Subject};
use crate::table::{counted, section};

/// Readings outside that are listed; more are counted.
const MOST_LISTED: usize = 40;
/// Points never measured that are named; more are counted.
const MOST_NAMED: usize = 5;

/// Everything, lengths in `unit`.
pub fn report(judged: &Judged, unit: Unit) -> String {
    let mut out = String::new();
    let mut outside: Vec<Vec<&Outside>> = vec![Vec::new(); judged.subjects.len()];
    for one in &judged.outside {
        if let Some(list) = outside.get_mut(one.subject) {
            list.push(one);
        }
    }
    let subjects = judged.subjects.iter().zip(&outside);
    for (subject, outside) in subjects.filter(|(subject, _)| subject.is_read()) {
        one(&mut out, subject, outside, unit);
    }
    // Writing to a string cannot fail.
    let _ = writeln!(
        out,
        "{}: {} judged, {} refused; {} of {} outside",
        rows(judged.rows),
        judged.judged,
        judged.refused(),
        judged.ties_outside,
        counted(judged.ties, "tie"),
    );
    out
}

fn rows(count: u64) -> String {
    counted(usize::try_from(count).unwrap_or(usize::MAX), "row")
}

/// What was read of one subject; `outside` are its readings outside.
fn one(out: &mut String, subject: &Subject, outside: &[&Outside], unit: Unit) {
    let _ = writeln!(out, "{}: {}", subject.title, rows(subject.rows));
    let heads = [
        "tie",
        "point",
        "reading",
        "should be",
        "off",
        "past the tolerance",
    ];
    let mut lines = vec![heads.map(str::to_owned).to_vec()];
    let shown = outside.iter().take(MOST_LISTED);
    lines.extend(shown.filter_map(|one| outside_row(subject, one, unit)));
    if lines.len() > 1 {
        section(out, "outside", &lines, Clone::clone);
        if let Some(more @ 1..) = outside.len().checked_sub(MOST_LISTED) {
            let _ = writeln!(out, "    and {more} more");
        }
    }
    let heads = [
        "point",
        "should be",
        "readings",
        "mean",
        "off",
        "spread",
        "least",
        "greatest",
        "outside",
        "not measured",
    ];
    let mut lines = vec![heads.map(str::to_owned).to_vec()];
    let read = subject.points.iter().filter(|p| p.tally.count > 0);
    lines.extend(read.map(|point| point_row(point, unit)));
    section(out, "points", &lines, Clone::clone);
    let unread: Vec<&str> = subject
        .points
        .iter()
        .filter(|p| p.tally.count == 0)
        .map(|p| &*p.name)
        .collect();
    if !unread.is_empty() {
        let named = unread.iter().take(MOST_NAMED).copied();
        let named = named.collect::<Vec<_>>().join(", ");
        let more = match unread.len().checked_sub(MOST_NAMED) {
            Some(more @ 1..) => format!(" and {more} more"),
            _ => String::new(),
        };
        let _ = writeln!(out, "  never measured: {named}{more}");
    }
}

fn outside_row(subject: &Subject, one: &Outside, unit: Unit) -> Option<Vec<String>> {
    let point = subject.points.get(one.point)?;
    let (value, _) = point.tally.wanted();
    Some(vec![
        one.tie.to_string(),
        point.name.to_string(),
        length(one.reading, unit),
        wanted(point, unit),
        signed(one.reading - value, unit),
        signed(point.tally.past(one.reading), unit),
    ])
}

fn point_row(point: &Point, unit: Unit) -> Vec<String> {
    let tally = &point.tally;
    let show = |value: Option<f64>| value.map_or_else(|| "-".to_owned(), |v| length(v, unit));
    let range = tally.range();
    let share = tally.share_outside().unwrap_or(0.0);
    vec![
        point.name.to_string(),
        wanted(point, unit),
        tally.count.to_string(),
        show(tally.mean()),
        tally
            .mean_off()
            .map_or_else(String::new, |off| signed(off, unit)),
        show(tally.spread()),
        show(range.map(|r| r.0)),
        show(range.map(|r| r.1)),
        match tally.outside {
            0 => "0".to_owned(),
            some => format!("{some} ({} %)", decimal(share * 100.0, 1)),
        },
        tally.blank.to_string(),
    ]
}

/// `1447.8 ± 6 mm`.
pub fn wanted(point: &Point, unit: Unit) -> String {
    let (value, tolerance) = point.tally.wanted();
    let show = |v: f64| decimal(v / unit.millimetres, unit.places);
    format!("{} \u{B1} {} {}", show(value), show(tolerance), unit.name)
}

fn length(value: f64, unit: Unit) -> String {
    format!(
        "{} {}",
        decimal(value / unit.millimetres, unit.places),
        unit.name
    )
}

/// A difference with its sign; none where it is shown as nothing.
pub fn signed(value: f64, unit: Unit) -> String {
    let shown = decimal(value / unit.millimetres, unit.places);
    let sign = if value > 0.0 && shown != "0" { "+" } else { "" };
    format!("{sign}{shown} {}", unit.name)
}
