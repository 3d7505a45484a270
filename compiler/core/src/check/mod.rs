//! Checks whole programs: loads the files that belong together, resolves what is built from
//! what, and hands each shape and style to its own checker.

pub mod expr;
mod item;
pub mod order;
pub mod shape;
pub mod style;

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::program::{Setting, Shape, Style};
use crate::source::{FileId, LoadError, Loader, MAX_SOURCE_BYTES, Sources, Span};
use crate::stdlib;
use crate::syntax::{self, tree};

/// The styles of a file, checked.
#[derive(Debug, Default)]
pub struct Checked {
    /// In order of declaration.
    pub styles: Vec<Style>,
}

/// Loads and checks the file `path`, with settings given outside it.
pub fn check(
    path: &str,
    settings: &[String],
    loader: &dyn Loader,
    sources: &mut Sources,
    diagnostics: &mut Vec<Diagnostic>,
) -> Checked {
    let mut library = Library {
        sources,
        diagnostics,
        shapes: BTreeMap::new(),
        styles: BTreeMap::new(),
        checked: BTreeMap::new(),
        built: BTreeMap::new(),
        all_loaded: true,
    };
    let Some(main) = library.load_all(path, loader) else {
        return Checked::default();
    };
    let outside = library.outside(settings);
    let mut checked = Checked::default();
    for shape in &main.shapes {
        let shape = library.shape(&shape.name.text);
        // A file of shapes alone can be drafted as it stands.
        if main.styles.is_empty() {
            checked.styles.extend(shape.map(style::plain));
        }
    }
    for declared in &main.styles {
        checked.styles.extend(library.style(&declared.name));
    }
    for style in &mut checked.styles {
        let own: Vec<Setting> = outside
            .iter()
            .filter_map(|setting| style::outside_setting(style, setting, library.diagnostics))
            .collect();
        for setting in &own {
            style
                .sizes
                .iter_mut()
                .for_each(|(_, list)| list.retain(|s| s.slot != setting.slot));
            for find in &mut style.finds {
                // What is set from outside is no longer open, and its condition no longer holds.
                if find.unknowns.iter().any(|open| open.slot == setting.slot) {
                    let name = style
                        .shape
                        .slot(setting.slot)
                        .map_or("", |slot| &*slot.name);
                    let message = format!(
                        "`{name}` is left open by `find`, so it cannot be set from outside"
                    );
                    library.diagnostics.push(
                        Diagnostic::error(Code::SetAndOpen, setting.span, message)
                            .also(find.span, "left open here")
                            .hint(format!(
                                "take the `find` out of the file, or leave out `--set {name}`"
                            )),
                    );
                }
            }
        }
        style.settings.extend(own);
    }
    if checked.styles.is_empty() && library.diagnostics.is_empty() {
        library.diagnostics.push(
            Diagnostic::general(
                Code::NothingToDraft,
                format!("`{path}` declares no style and no shape"),
            )
            .hint(
                "begin with a line such as `style my-tie from four-in-hand { blade-width 3 in }`",
            ),
        );
    }
    checked
}

/// Everything declared in the files at hand.
struct Library<'a> {
    sources: &'a mut Sources,
    diagnostics: &'a mut Vec<Diagnostic>,
    shapes: BTreeMap<Arc<str>, tree::Shape>,
    styles: BTreeMap<Arc<str>, tree::Style>,
    checked: BTreeMap<Arc<str>, Option<Arc<Shape>>>,
    built: BTreeMap<Arc<str>, Style>,
    all_loaded: bool,
}

impl Library<'_> {
    /// Loads `path` and all it uses; gives the tree of `path` itself.
    fn load_all(&mut self, path: &str, loader: &dyn Loader) -> Option<tree::File> {
        let main = self.load(path, None, None, loader)?;
        let mut loaded = vec![self.file_name(main.0)];
        // Files still to go through, each with the chain of files that led to it.
        let mut open = vec![(main.1.uses.clone(), loaded.clone())];
        while let Some((uses, chain)) = open.pop() {
            for used in uses {
                let from = chain.last().map(|s| &**s);
                let Some((id, file)) = self.load(&used.text, from, Some(used.span), loader) else {
                    continue;
                };
                let name = self.file_name(id);
                if chain.contains(&name) {
                    self.use_cycle(used.span, &chain, &name);
                    continue;
                }
                if loaded.contains(&name) {
                    continue;
                }
                loaded.push(name.clone());
                let mut longer = chain.clone();
                longer.push(name);
                open.push((file.uses.clone(), longer));
                self.declare(&file);
            }
        }
        self.declare(&main.1);
        Some(main.1)
    }

    fn file_name(&self, id: FileId) -> String {
        self.sources
            .get(id)
            .map(|s| s.name.clone())
            .unwrap_or_default()
    }

    fn use_cycle(&mut self, span: Span, chain: &[String], name: &str) {
        if chain.last().is_some_and(|last| last == name) {
            self.diagnostics.push(
                Diagnostic::error(Code::UseCycle, span, format!("`{name}` uses itself"))
                    .hint("take the line out"),
            );
            return;
        }
        let mut round: Vec<String> = chain
            .iter()
            .skip_while(|c| *c != name)
            .map(|c| format!("`{c}`"))
            .collect();
        round.push(format!("`{name}`"));
        self.diagnostics.push(
            Diagnostic::error(
                Code::UseCycle,
                span,
                format!("these files use each other: {}", round.join(" uses ")),
            )
            .hint("move what both need into a third file"),
        );
    }

    fn load(
        &mut self,
        path: &str,
        from: Option<&str>,
        span: Option<Span>,
        loader: &dyn Loader,
    ) -> Option<(FileId, tree::File)> {
        let source = match loader.load(path, from) {
            Ok(source) => source,
            Err(error) => {
                self.diagnostics.push(load_failure(path, span, &error));
                self.all_loaded = false;
                return None;
            }
        };
        let text = source.text.clone();
        let id = self.sources.add(source.name, source.text);
        let (file, found) = syntax::parse(id, &text);
        self.diagnostics.extend(found);
        Some((id, file))
    }

    fn declare(&mut self, file: &tree::File) {
        for shape in &file.shapes {
            self.declare_one(&shape.name);
            self.shapes
                .entry(shape.name.text.clone())
                .or_insert_with(|| shape.clone());
        }
        for style in &file.styles {
            self.declare_one(&style.name);
            self.styles
                .entry(style.name.text.clone())
                .or_insert_with(|| style.clone());
        }
    }

    fn declare_one(&mut self, name: &tree::Name) {
        let before = self.shapes.get(&name.text).map(|s| s.name.span);
        let before = before.or_else(|| self.styles.get(&name.text).map(|s| s.name.span));
        if let Some(before) = before {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::DeclaredTwice,
                    name.span,
                    format!("`{}` is declared twice", name.text),
                )
                .also(before, "also declared here")
                .hint("give one of them another name"),
            );
        }
    }

    fn outside(&mut self, settings: &[String]) -> Vec<tree::Setting> {
        let mut out = Vec::new();
        for text in settings {
            let id = self.sources.add("--set", text.as_str());
            match syntax::parse_setting(id, text) {
                Ok(setting) => out.push(setting),
                Err(diagnostic) => {
                    self.diagnostics.push(diagnostic.hint(
                        "write it as in `--set blade-width=3in` or `--set \"length=57 1/2 in\"`",
                    ));
                }
            }
        }
        out
    }

    /// The checked shape of this name, if there is one; a built-in one is loaded on demand.
    fn shape(&mut self, name: &str) -> Option<Arc<Shape>> {
        if let Some(done) = self.checked.get(name) {
            return done.clone();
        }
        let declared = match self.shapes.get(name) {
            Some(shape) => Some(shape.clone()),
            None => stdlib::find(name).and_then(|(file, text)| {
                let id = self.sources.add(file, text);
                let (tree, found) = syntax::parse(id, text);
                self.diagnostics.extend(found);
                tree.shapes
                    .into_iter()
                    .find(|shape| &*shape.name.text == name)
            }),
        };
        let shape = declared.map(|declared| {
            let mut shape = shape::empty(&declared.name, declared.doc.as_ref());
            shape::add_items(&mut shape, &declared.items, self.diagnostics);
            Arc::new(shape)
        });
        self.checked.insert(name.into(), shape.clone());
        shape
    }

    /// The checked style of this name, built from its bases.
    fn style(&mut self, name: &tree::Name) -> Option<Style> {
        // Up the bases until something is known …
        let mut chain: Vec<tree::Style> = Vec::new();
        let mut next = name.clone();
        let mut built = loop {
            if let Some(style) = self.built.get(&next.text) {
                break style.clone();
            }
            match self.styles.get(&next.text) {
                Some(style) if chain.iter().any(|s| s.name.text == style.name.text) => {
                    self.style_cycle(&chain, &next);
                    return None;
                }
                Some(style) => {
                    chain.push(style.clone());
                    next = style.base.clone();
                }
                None => match self.shape(&next.text) {
                    Some(shape) => break style::plain(shape),
                    None => {
                        self.unknown_base(&next);
                        return None;
                    }
                },
            }
        };
        // … and down again.
        while let Some(declared) = chain.pop() {
            built = style::derived(&built, &declared, self.diagnostics);
            self.built.insert(declared.name.text.clone(), built.clone());
        }
        Some(built)
    }

    fn style_cycle(&mut self, chain: &[tree::Style], at: &tree::Name) {
        // Every style on the circle would report it; the one declared first does.
        let on_circle = || chain.iter().skip_while(|s| s.name.text != at.text);
        let first = on_circle().map(|s| s.name.span.start).min();
        if chain.first().map(|s| s.name.span.start) != first {
            return;
        }
        let mut names: Vec<String> = on_circle().map(|s| format!("`{}`", s.name.text)).collect();
        names.push(format!("`{}`", at.text));
        self.diagnostics.push(
            Diagnostic::error(
                Code::Cycle,
                at.span,
                format!(
                    "these styles are built from each other: {}",
                    names.join(" from ")
                ),
            )
            .hint("one of them must be built from a shape"),
        );
    }

    fn unknown_base(&mut self, name: &tree::Name) {
        // It may well be declared in a file that could not be read, which has been reported.
        if !self.all_loaded {
            return;
        }
        let diagnostic = Diagnostic::error(
            Code::UnknownShape,
            name.span,
            format!("there is no shape or style called `{}`", name.text),
        );
        let mut known: Vec<&str> = self
            .shapes
            .keys()
            .chain(self.styles.keys())
            .map(|k| &**k)
            .collect();
        for name in stdlib::names() {
            known.push(name);
        }
        let diagnostic = match nearest(&name.text, known) {
            Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
            None => {
                let names: Vec<String> = stdlib::names().map(|n| format!("`{n}`")).collect();
                diagnostic.hint(format!(
                    "declare it here or in a file named by `use`; built in: {}",
                    names.join(", ")
                ))
            }
        };
        self.diagnostics.push(diagnostic);
    }
}

fn load_failure(path: &str, span: Option<Span>, error: &LoadError) -> Diagnostic {
    let (code, message, hint) = match error {
        LoadError::Missing => (
            Code::NoFile,
            format!("there is no file `{path}`"),
            match span {
                Some(_) => "a used file is looked for beside the file that uses it",
                None => "check the name and the folder it is in",
            }
            .to_owned(),
        ),
        LoadError::TooLarge => (
            Code::FileTooLarge,
            format!("`{path}` is larger than {} MiB", MAX_SOURCE_BYTES >> 20),
            "give a shape file; those are a few kilobytes".to_owned(),
        ),
        LoadError::NotText => (
            Code::NotText,
            format!("`{path}` is not a text file"),
            "give the `.tie` file itself, saved as plain text (UTF-8)".to_owned(),
        ),
        LoadError::Folder => (
            Code::CannotRead,
            format!("`{path}` is a folder"),
            "name a shape file in it".to_owned(),
        ),
        LoadError::Other(why) => (
            Code::CannotRead,
            format!("`{path}` cannot be read: {why}"),
            "check that you may open it".to_owned(),
        ),
    };
    match span {
        Some(span) => Diagnostic::error(code, span, message).hint(hint),
        None => Diagnostic::general(code, message).hint(hint),
    }
}
