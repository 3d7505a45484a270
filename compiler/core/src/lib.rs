//! The compiler of the shape language: text in; drafts, sheets and diagnostics out.
//!
//! Text → syntax tree → checked program → solved values → draft → sheets. No stage imports a
//! later one, and nothing here reads a file or prints.

pub mod check;
pub mod diagnostic;
pub mod draft;
pub mod eval;
pub mod format;
pub mod kind;
pub mod layout;
pub mod names;
pub mod phrase;
pub mod program;
pub mod sheet;
pub mod source;
pub mod stdlib;
pub mod syntax;

use std::sync::Arc;

use diagnostic::{Code, Diagnostic};
use source::{Loader, Sources};

pub use eval::Drafted;

/// A checked file, ready to draft from.
#[derive(Debug)]
pub struct Compiled {
    /// Every text that was read, for diagnostics to point into.
    pub sources: Sources,
    /// The styles that can be drafted.
    pub program: Program,
    /// What was wrong with the texts.
    pub diagnostics: Vec<Diagnostic>,
}

/// The styles of one file.
#[derive(Debug, Default)]
pub struct Program {
    styles: Vec<program::Style>,
    infos: Vec<StyleInfo>,
}

/// What can be asked for of one style.
#[derive(Debug, Clone)]
pub struct StyleInfo {
    /// Its name.
    pub name: Arc<str>,
    /// Its doc line; empty if it has none.
    pub doc: Arc<str>,
    /// Its named sizes, in order of declaration, inherited ones first.
    pub sizes: Vec<Arc<str>>,
}

/// Loads and checks the file `path`. `settings` are given outside the file, each as
/// `name=value`, and hold for every style and size.
pub fn compile(path: &str, settings: &[String], loader: &dyn Loader) -> Compiled {
    let mut sources = Sources::default();
    let mut diagnostics = Vec::new();
    let checked = check::check(path, settings, loader, &mut sources, &mut diagnostics);
    let infos = checked
        .styles
        .iter()
        .map(|style| StyleInfo {
            name: style.name.clone(),
            doc: style.doc.clone(),
            sizes: style.sizes.iter().map(|(name, _)| name.clone()).collect(),
        })
        .collect();
    // A mistake in something used twice is still one mistake.
    let mut once: Vec<Diagnostic> = Vec::with_capacity(diagnostics.len());
    for diagnostic in diagnostics {
        if !once.contains(&diagnostic) {
            once.push(diagnostic);
        }
    }
    // In the order of the text, whichever stage found them.
    once.sort_by_key(|d| d.primary.as_ref().map(|at| (at.span.file, at.span.start)));
    Compiled {
        sources,
        program: Program {
            styles: checked.styles,
            infos,
        },
        diagnostics: once,
    }
}

impl Program {
    /// The styles, in order of declaration.
    pub fn styles(&self) -> &[StyleInfo] {
        &self.infos
    }

    /// Drafts a style in one of its sizes, or as it stands.
    pub fn draft(&self, style: &str, size: Option<&str>) -> Drafted {
        match self.styles.iter().find(|s| &*s.name == style) {
            Some(style) => eval::draft(style, size),
            None => {
                let mut diagnostic = Diagnostic::general(
                    Code::UnknownStyle,
                    format!("there is no style called `{style}`"),
                );
                if let Some(near) = names::nearest(style, self.infos.iter().map(|info| &*info.name))
                {
                    diagnostic = diagnostic.hint(format!("did you mean `{near}`?"));
                }
                Drafted {
                    draft: None,
                    diagnostics: vec![diagnostic],
                }
            }
        }
    }
}
