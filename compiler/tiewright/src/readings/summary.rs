//! What readings come to, as tables for other programs: one of all points, one of all readings outside.
//! Lengths are millimetres.

use super::judge::Judged;
use crate::export::csv::push_row;
use crate::export::number::{Zeros, fixed};

/// Decimals of a length, mm, and of a share.
const PLACES: usize = 6;

/// A row for every point of every style and size that was judged.
pub fn summary(judged: &Judged) -> String {
    let mut text = String::new();
    push_row(
        &mut text,
        [
            "style",
            "size",
            "inspection",
            "point",
            "value",
            "tolerance",
            "readings",
            "not measured",
            "mean",
            "mean off",
            "spread",
            "least",
            "greatest",
            "outside",
            "share outside",
        ],
    );
    for subject in judged.subjects.iter().filter(|s| s.is_read()) {
        for point in &subject.points {
            let tally = &point.tally;
            let (value, tolerance) = tally.wanted();
            let range = tally.range();
            push_row(
                &mut text,
                [
                    subject.style.to_string(),
                    subject.size.as_deref().unwrap_or("").to_owned(),
                    point.inspection.to_string(),
                    point.name.to_string(),
                    number(Some(value)),
                    number(Some(tolerance)),
                    tally.count.to_string(),
                    tally.blank.to_string(),
                    number(tally.mean()),
                    number(tally.mean_off()),
                    number(tally.spread()),
                    number(range.map(|r| r.0)),
                    number(range.map(|r| r.1)),
                    tally.outside.to_string(),
                    number(tally.share_outside()),
                ],
            );
        }
    }
    text
}

/// A row for every reading outside its tolerance.
pub fn outside(judged: &Judged) -> String {
    let mut text = String::new();
    push_row(
        &mut text,
        [
            "tie",
            "style",
            "size",
            "point",
            "reading",
            "value",
            "off",
            "past the tolerance",
        ],
    );
    for one in &judged.outside {
        let Some(subject) = judged.subjects.get(one.subject) else {
            continue;
        };
        let Some(point) = subject.points.get(one.point) else {
            continue;
        };
        let value = point.tally.wanted().0;
        push_row(
            &mut text,
            [
                one.tie.to_string(),
                subject.style.to_string(),
                subject.size.as_deref().unwrap_or("").to_owned(),
                point.name.to_string(),
                number(Some(one.reading)),
                number(Some(value)),
                number(Some(one.reading - value)),
                number(Some(point.tally.past(one.reading))),
            ],
        );
    }
    text
}

/// A number, or nothing where there is none.
fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |value| fixed(value, PLACES, Zeros::Kept))
}
