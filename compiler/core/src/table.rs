//! What can be said of a cutting table: the list of its properties, and a table as worked out.
//! Parser, checker, evaluator and messages read the rows; nothing here computes.

use std::sync::Arc;

use crate::row::Row;
use crate::source::Span;

/// A number that a table states.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Property {
    /// The longest ply, both end losses in it.
    Longest,
    /// How many plies may lie on one another.
    Plies,
    /// Room for the knife between pieces.
    Gap,
    /// Lost at each end of each ply.
    EndLoss,
    /// What one marker costs to make and to place.
    SetUp,
    /// What it costs to spread one ply.
    Spreading,
}

/// Every property, in the order of [`Property`].
pub static PROPERTIES: &[Row<Property>] = &[
    // From a bench for one tie to the longest hall.
    Row::length(
        Property::Longest,
        "longest",
        (200.0, 100_000.0),
        "the longest ply, both end losses in it; as long as need be unless said",
    ),
    Row::count(
        Property::Plies,
        "plies",
        1000.0,
        "the most plies spread on one another; as many as need be unless said",
    ),
    Row::length(
        Property::Gap,
        "gap",
        (0.0, 100.0),
        "the least distance between pieces, for the knife; none unless said",
    ),
    Row::length(
        Property::EndLoss,
        "end-loss",
        (0.0, 1000.0),
        "cloth lost at each end of each ply; none unless said",
    ),
    Row::money(
        Property::SetUp,
        "set-up",
        "what one lay costs besides its plies, the marker made and placed, in the money of the cloths; nothing unless said",
    ),
    Row::money(
        Property::Spreading,
        "spreading",
        "what spreading one ply costs, in the same money; nothing unless said",
    ),
];

/// The words that the lines of a table begin with.
pub const LINES: &[&str] = &["longest", "plies", "gap", "end-loss", "set-up", "spreading"];

/// The row of the property written as `word`.
pub fn property(word: &str) -> Option<&'static Row<Property>> {
    PROPERTIES.iter().find(|row| row.word == word)
}

impl Property {
    /// Its row of the list.
    pub fn row(self) -> &'static Row<Property> {
        // The list stands in the order of the properties, which a test checks.
        &PROPERTIES[self as usize]
    }
}

/// A table that cloth is spread and cut on.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line; empty if it has none.
    pub doc: Arc<str>,
    /// The longest ply, both end losses in it, mm; longer than these. No limit if none.
    pub longest: Option<f64>,
    /// The most plies on one another, at least 1; no limit if none.
    pub plies: Option<u32>,
    /// The least distance between pieces, mm.
    pub gap: f64,
    /// Cloth lost at each end of each ply, mm.
    pub end_loss: f64,
    /// What one marker costs to make and to place, in the money of the cloths.
    pub set_up: f64,
    /// What spreading one ply costs, in the same money.
    pub spreading: f64,
    /// Where its name is declared.
    pub span: Span,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_property_has_its_row_and_its_line() {
        for (index, row) in PROPERTIES.iter().enumerate() {
            assert_eq!(row.property as usize, index);
            assert!(std::ptr::eq(row.property.row(), row));
        }
        let words: Vec<&str> = PROPERTIES.iter().map(|row| row.word).collect();
        assert_eq!(words, LINES);
    }
}
