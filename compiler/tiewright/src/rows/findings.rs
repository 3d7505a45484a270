//! What is wrong with a table, without holding more of it than is shown.
//!
//! Never: how they are shown.

use tiewright_core::diagnostic::Diagnostic;

use crate::report::MOST_SHOWN;

/// Diagnostics, of each severity only as many as are shown; the others are counted.
#[derive(Debug, Default)]
pub struct Findings {
    errors: Vec<Diagnostic>,
    warnings: Vec<Diagnostic>,
    total: usize,
    /// How often each error that is kept came up again.
    again: Vec<usize>,
}

impl Findings {
    /// Adds one.
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.total += 1;
        let list = if diagnostic.is_error() {
            &mut self.errors
        } else {
            &mut self.warnings
        };
        if list.len() < MOST_SHOWN {
            list.push(diagnostic);
        }
    }

    /// Adds an error about a row; one that says the same of an earlier row is only counted with it.
    pub fn push_alike(&mut self, error: Diagnostic) {
        let alike = |kept: &Diagnostic| kept.code == error.code && kept.message == error.message;
        match self.errors.iter().position(alike) {
            Some(at) => {
                self.again.resize(self.errors.len(), 0);
                if let Some(count) = self.again.get_mut(at) {
                    *count += 1;
                }
            }
            None => self.push(error),
        }
    }

    /// Whether nothing is wrong.
    pub fn is_empty(&self) -> bool {
        self.total == 0
    }

    /// The ones to show, errors first, and how many there are beside them.
    pub fn into_shown(self) -> (Vec<Diagnostic>, usize) {
        let again = self.again.iter().copied().chain(std::iter::repeat(0));
        let told = |(error, count): (Diagnostic, usize)| match count {
            0 => error,
            1 => error.hint("one more row has the same mistake"),
            more => error.hint(format!("{more} more rows have the same mistake")),
        };
        let mut shown: Vec<Diagnostic> = self.errors.into_iter().zip(again).map(told).collect();
        shown.extend(self.warnings);
        shown.truncate(MOST_SHOWN);
        let more = self.total - shown.len();
        (shown, more)
    }
}

#[cfg(test)]
mod tests {
    use tiewright_core::diagnostic::Code;

    use super::*;

    #[test]
    fn only_so_many_are_kept() {
        let mut findings = Findings::default();
        for n in 0..30 {
            let error = Diagnostic::general(Code::BlankRow, format!("row {n}"));
            let warning = Diagnostic::general_warning(Code::WildReading, format!("row {n}"));
            findings.push(warning);
            findings.push(error);
        }
        let (shown, more) = findings.into_shown();
        assert_eq!((shown.len(), more), (MOST_SHOWN, 40));
        assert!(shown.iter().all(Diagnostic::is_error));
    }
}
