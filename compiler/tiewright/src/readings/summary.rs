//! What readings come to, as tables for other programs: one of all points, one of all readings outside.
//! Lengths are millimetres.

use csv::Writer;

use super::judge::Judged;
use crate::export::number::{Zeros, push_fixed};

/// Decimals of a length, mm, and of a share.
const PLACES: usize = 6;

/// A row for every point of every style and size that was judged.
///
/// # Errors
/// Never in memory; the writer's own error otherwise.
pub fn summary(judged: &Judged) -> Result<Vec<u8>, csv::Error> {
    let mut writer = Writer::from_writer(Vec::new());
    writer.write_record([
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
    ])?;
    for subject in judged.subjects.iter().filter(|s| s.is_read()) {
        for point in &subject.points {
            let tally = &point.tally;
            let (value, tolerance) = tally.wanted();
            let range = tally.range();
            writer.write_record([
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
            ])?;
        }
    }
    writer.into_inner().map_err(|e| e.into_error().into())
}

/// A row for every reading outside its tolerance.
///
/// # Errors
/// Never in memory; the writer's own error otherwise.
pub fn outside(judged: &Judged) -> Result<Vec<u8>, csv::Error> {
    let mut writer = Writer::from_writer(Vec::new());
    writer.write_record([
        "tie",
        "style",
        "size",
        "point",
        "reading",
        "value",
        "off",
        "past the tolerance",
    ])?;
    for one in &judged.outside {
        let Some(subject) = judged.subjects.get(one.subject) else {
            continue;
        };
        let Some(point) = subject.points.get(one.point) else {
            continue;
        };
        let value = point.tally.wanted().0;
        writer.write_record([
            one.tie.to_string(),
            subject.style.to_string(),
            subject.size.as_deref().unwrap_or("").to_owned(),
            point.name.to_string(),
            number(Some(one.reading)),
            number(Some(value)),
            number(Some(one.reading - value)),
            number(Some(point.tally.past(one.reading))),
        ])?;
    }
    writer.into_inner().map_err(|e| e.into_error().into())
}

/// A number, or nothing where there is none.
fn number(value: Option<f64>) -> String {
    let mut out = String::new();
    if let Some(value) = value {
        push_fixed(&mut out, value, PLACES, Zeros::Kept);
    }
    out
}
