//! One line of a block that states numbers, a cloth or a table: its word, what it counts, its range.
//! Parser, checker, evaluator and messages read rows; nothing here computes.

use crate::kind::{Dim, Kind};

/// What can be said of a number `P`.
#[derive(Debug)]
pub struct Row<P> {
    /// What it is.
    pub property: P,
    /// The word it is written as.
    pub word: &'static str,
    /// What it counts.
    pub dim: Dim,
    /// The least it can be, mm or plain.
    pub lowest: f64,
    /// The most it can be, mm or plain.
    pub highest: f64,
    /// How its number is read.
    pub reading: Reading,
    /// What it means, one line for the reference.
    pub doc: &'static str,
}

/// How a number of a row is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reading {
    /// As it stands.
    Plain,
    /// In hundredths.
    Percent,
    /// A count, which has no fraction.
    Whole,
}

impl<P> Row<P> {
    /// A length from `lowest` to `highest`, mm.
    pub const fn length(
        property: P,
        word: &'static str,
        (lowest, highest): (f64, f64),
        doc: &'static str,
    ) -> Self {
        Row {
            property,
            word,
            dim: Dim::LENGTH,
            lowest,
            highest,
            reading: Reading::Plain,
            doc,
        }
    }

    /// A share from nothing to `highest`.
    pub const fn share(property: P, word: &'static str, highest: f64, doc: &'static str) -> Self {
        Row {
            property,
            word,
            dim: Dim::PLAIN,
            lowest: 0.0,
            highest,
            reading: Reading::Percent,
            doc,
        }
    }

    /// A sum of money, in whatever money the house reckons in.
    pub const fn money(property: P, word: &'static str, doc: &'static str) -> Self {
        Row {
            property,
            word,
            dim: Dim::PLAIN,
            lowest: 0.0,
            highest: 1e6,
            reading: Reading::Plain,
            doc,
        }
    }

    /// A count from 1 to `highest`.
    pub const fn count(property: P, word: &'static str, highest: f64, doc: &'static str) -> Self {
        Row {
            property,
            word,
            dim: Dim::PLAIN,
            lowest: 1.0,
            highest,
            reading: Reading::Whole,
            doc,
        }
    }

    /// The kind of its number.
    pub fn kind(&self) -> Kind {
        Kind::Quantity(self.dim)
    }
}
