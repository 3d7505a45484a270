//! What is wrong with an input, as data. Nothing here prints: the program renders it.

use crate::source::Span;

/// How bad it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing; the draft stands.
    Warning,
    /// No draft is made.
    Error,
}

/// A place that belongs to a diagnostic, with a word on why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The place.
    pub span: Span,
    /// A few words in lowercase; empty to mark the place only.
    pub text: String,
}

/// One thing wrong, where, and what to do about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Stable name of this kind of error, such as `unknown-name`.
    pub code: &'static str,
    /// Error or warning.
    pub severity: Severity,
    /// What is wrong, lowercase, without a final stop.
    pub message: String,
    /// The place to look at first. `None` when the input as a whole is at fault.
    pub primary: Option<Label>,
    /// Other places that matter.
    pub secondary: Vec<Label>,
    /// What to do, one sentence each.
    pub hints: Vec<String>,
}

impl Diagnostic {
    /// An error at `span`.
    pub fn error(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            primary: Some(Label {
                span,
                text: String::new(),
            }),
            secondary: Vec::new(),
            hints: Vec::new(),
        }
    }

    /// A warning at `span`.
    pub fn warning(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Warning,
            ..Self::error(code, span, message)
        }
    }

    /// An error about the input as a whole.
    pub fn general(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            primary: None,
            ..Self::error(code, Span::default(), message)
        }
    }

    /// Puts a word under the primary place.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        if let Some(primary) = &mut self.primary {
            primary.text = text.into();
        }
        self
    }

    /// Adds another place.
    #[must_use]
    pub fn also(mut self, span: Span, text: impl Into<String>) -> Self {
        self.secondary.push(Label {
            span,
            text: text.into(),
        });
        self
    }

    /// Adds advice.
    #[must_use]
    pub fn hint(mut self, text: impl Into<String>) -> Self {
        self.hints.push(text.into());
        self
    }

    /// Whether this stops the run.
    pub fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }
}
