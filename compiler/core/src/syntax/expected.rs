//! What a parser was looking for when it failed, kept at the furthest place any branch reached.

use crate::diagnostic::Code;
use nom::error::{ErrorKind, ParseError};

/// A failure: where, and what could have stood there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expected<'a> {
    /// The text left at the place of failure.
    pub at: &'a str,
    /// What could have stood there, in words.
    pub wanted: Vec<String>,
    /// A more exact complaint, which is reported in place of the list: stable code, message, hint.
    pub complaint: Option<Box<Complaint>>,
}

/// A complaint more exact than a list of what was expected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Complaint {
    /// Stable code.
    pub code: Code,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub hint: String,
    /// How many bytes it is about.
    pub bytes: usize,
}

/// The result of a parser: what is left, and what was read.
pub type Parsed<'a, T> = Result<(&'a str, T), nom::Err<Expected<'a>>>;

impl<'a> ParseError<&'a str> for Expected<'a> {
    fn from_error_kind(input: &'a str, _: ErrorKind) -> Self {
        Expected {
            at: input,
            wanted: Vec::new(),
            complaint: None,
        }
    }

    fn append(_: &'a str, _: ErrorKind, other: Self) -> Self {
        other
    }

    fn or(self, other: Self) -> Self {
        use std::cmp::Ordering;
        // Both are tails of one text: the shorter one got further.
        match self.at.len().cmp(&other.at.len()) {
            Ordering::Less => self,
            Ordering::Greater => other,
            Ordering::Equal => {
                let mut merged = self;
                for want in other.wanted {
                    if !merged.wanted.contains(&want) {
                        merged.wanted.push(want);
                    }
                }
                merged.complaint = merged.complaint.or(other.complaint);
                merged
            }
        }
    }
}

/// Fails at `at`, saying what could have stood there.
pub fn expected<'a, T>(at: &'a str, wanted: impl Into<String>) -> Parsed<'a, T> {
    Err(nom::Err::Error(Expected {
        at,
        wanted: vec![wanted.into()],
        complaint: None,
    }))
}

/// Fails at `at` for good, with an exact complaint about its first `bytes` bytes.
pub fn complain<'a, T>(
    at: &'a str,
    bytes: usize,
    code: Code,
    message: impl Into<String>,
    hint: impl Into<String>,
) -> Parsed<'a, T> {
    let complaint = Complaint {
        code,
        message: message.into(),
        hint: hint.into(),
        bytes,
    };
    Err(nom::Err::Failure(Expected {
        at,
        wanted: Vec::new(),
        complaint: Some(Box::new(complaint)),
    }))
}
