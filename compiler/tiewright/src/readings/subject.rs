//! What a row is judged by: one style in one size, with a tally for each of its points of measure.

use std::sync::Arc;

use tiewright_core::draft::Draft;

use super::tally::Tally;

/// One style in one size.
#[derive(Debug)]
pub struct Subject {
    /// The style.
    pub style: Arc<str>,
    /// The named size, if one is meant.
    pub size: Option<Arc<str>>,
    /// What people call it.
    pub title: String,
    /// Its points, in order of declaration.
    pub points: Vec<Point>,
    /// How many rows were judged by it.
    pub rows: u64,
}

/// A point of measure.
#[derive(Debug)]
pub struct Point {
    /// Its name.
    pub name: Arc<str>,
    /// The inspection it belongs to.
    pub inspection: Arc<str>,
    /// What its readings come to.
    pub tally: Tally,
}

impl Subject {
    /// No readings yet of what is drafted.
    pub fn new(draft: &Draft) -> Self {
        let points = draft.inspections.iter().flat_map(|inspection| {
            inspection.points.iter().map(|point| Point {
                name: point.name.clone(),
                inspection: inspection.name.clone(),
                tally: Tally::new(point.value, point.tolerance),
            })
        });
        Subject {
            style: draft.style.clone(),
            size: draft.size.clone(),
            title: draft.title(),
            points: points.collect(),
            rows: 0,
        }
    }

    /// Whether any row was judged by it; one whose rows were all refused has nothing to show.
    pub fn is_read(&self) -> bool {
        self.rows > 0
    }
}
