//! What the fuzz targets do with a text. A panic is a finding, and so is a run that takes longer
//! or holds more memory than the limits given to the fuzzer (see `run`).

use tiewright::commands::drafting::{Sizes, draft_all, jobs};
use tiewright::report;
use tiewright_core::compile;
use tiewright_core::diagnostic::Diagnostic;
use tiewright_core::source::{LoadError, Loader, Source, Sources, Span};
use tiewright_core::syntax;

/// Bytes. Longer texts only repeat what shorter ones show; the limits for large files are tested
/// elsewhere.
const LONGEST: usize = 16 << 10;
/// Drafts of one text. Many sizes of one style take long without showing anything new.
const MOST_DRAFTS: usize = 8;

/// Parses `text`; every span must lie in it, between whole characters.
pub fn parse(text: &str) {
    if text.len() > LONGEST {
        return;
    }
    let mut sources = Sources::default();
    let file = sources.add("text.tie", text);
    let (tree, diagnostics) = syntax::parse(file, text);
    let inside = |span: Span| {
        assert_eq!(span.file, file);
        assert!(text.get(span.range()).is_some(), "{span:?}");
    };
    for diagnostic in &diagnostics {
        diagnostic
            .primary
            .iter()
            .for_each(|label| inside(label.span));
        diagnostic
            .secondary
            .iter()
            .for_each(|label| inside(label.span));
        assert!(!diagnostic.message.is_empty());
    }
    for style in &tree.styles {
        inside(style.name.span);
        style.settings.iter().for_each(|set| inside(set.value.span));
    }
    for shape in &tree.shapes {
        inside(shape.name.span);
        shape.items.iter().for_each(|item| inside(item.span));
    }
    let _ = syntax::parse_setting(file, text);
    assert_eq!(
        diagnostics.is_empty(),
        report::render(&sources, &diagnostics, false).is_empty()
    );
}

/// One text and no other file.
struct Alone<'a>(&'a str);

impl Loader for Alone<'_> {
    fn load(&self, path: &str, from: Option<&str>) -> Result<Source, LoadError> {
        match (path, from) {
            ("text.tie", _) => Ok(Source {
                name: path.to_owned(),
                text: self.0.into(),
            }),
            _ => Err(LoadError::Missing),
        }
    }
}

/// Compiles `text`, drafts its styles in all sizes with their proofs, and renders what is wrong.
pub fn check(text: &str) {
    if text.len() > LONGEST {
        return;
    }
    let compiled = compile("text.tie", &[], &Alone(text));
    let mut diagnostics = compiled.diagnostics;
    if !diagnostics.iter().any(Diagnostic::is_error) {
        let mut jobs = jobs(&compiled.program, None, Sizes::Every).unwrap_or_default();
        jobs.truncate(MOST_DRAFTS);
        let (drafts, more) = draft_all(&compiled.program, &jobs, false);
        // A draft that fails must say why.
        assert!(drafts.iter().all(Option::is_some) || more.iter().any(Diagnostic::is_error));
        diagnostics.extend(more);
    }
    assert_eq!(
        diagnostics.is_empty(),
        report::render(&compiled.sources, &diagnostics, false).is_empty()
    );
}
