//! Checks whole programs: loads the files that belong together, resolves what is built from
//! what, and hands each shape and style to its own checker.

pub mod bench;
mod cloth;
mod derive;
pub mod expr;
mod files;
mod grade;
mod item;
pub mod order;
pub mod shape;
pub mod style;
mod table;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use self::cloth::Cloths;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::{holding, nearest};
use crate::program::{Cloth, Setting, Shape, Style, Table};
use crate::source::{Loader, Sources};
use crate::stdlib;
use crate::syntax::{self, tree};

/// The styles of a file, checked.
#[derive(Debug, Default)]
pub struct Checked {
    /// In order of declaration.
    pub styles: Vec<Style>,
    /// What each style and shape, of used files too, is made from.
    pub bases: BTreeMap<Arc<str>, Arc<str>>,
    /// The styles among them.
    pub known: BTreeSet<Arc<str>>,
    /// The cloths of all files, by name.
    pub cloths: Vec<Arc<Cloth>>,
    /// The tables of all files, by name.
    pub tables: Vec<Table>,
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
        cloths: Cloths::default(),
        tables: BTreeMap::new(),
        checked: BTreeMap::new(),
        built: BTreeMap::new(),
        failed: BTreeSet::new(),
        held: 0,
    };
    let loaded = files::load(path, loader, library.sources, library.diagnostics);
    library.cloths.complete = loaded.complete;
    for used in &loaded.used {
        library.declare(used);
    }
    let Some(main) = loaded.main else {
        return Checked::default();
    };
    library.declare(&main);
    let outside = library.outside(settings);
    let mut checked = library.related();
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
            .filter_map(|setting| {
                style::outside_setting(style, setting, &library.cloths, library.diagnostics)
            })
            .collect();
        for setting in &own {
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
        style.outside = own;
    }
    checked.cloths = library.cloths.known.values().cloned().collect();
    checked.tables = std::mem::take(&mut library.tables).into_values().collect();
    if checked.styles.is_empty() && library.diagnostics.is_empty() {
        library.diagnostics.push(nothing_to_draft(path, &main));
    }
    checked
}

fn nothing_to_draft(path: &str, main: &tree::File) -> Diagnostic {
    let message = format!("`{path}` declares no style and no shape");
    let diagnostic = Diagnostic::general(Code::NothingToDraft, message);
    let first = stdlib::first();
    diagnostic.hint(match main.cloths.first() {
        Some(cloth) => format!(
            "its cloths are for a style to name, here or in a file that `use`s it: `style NAME from {first} {{ shell {} }}`",
            cloth.name.text
        ),
        None if !main.tables.is_empty() => format!(
            "its tables are for laying out what a style is cut from: add one, as in `style NAME from {first}`, or `use` this file where the styles are"
        ),
        None => format!("begin with a line such as `style NAME from {first}`"),
    })
}

/// Everything declared in the files at hand.
struct Library<'a> {
    sources: &'a mut Sources,
    diagnostics: &'a mut Vec<Diagnostic>,
    shapes: BTreeMap<Arc<str>, tree::Shape>,
    styles: BTreeMap<Arc<str>, tree::Style>,
    cloths: Cloths,
    tables: BTreeMap<Arc<str>, Table>,
    checked: BTreeMap<Arc<str>, Option<Arc<Shape>>>,
    /// Styles built, each with how many styles it is away from its shape.
    built: BTreeMap<Arc<str>, (Style, usize)>,
    /// Styles and shapes that cannot be built, which has been reported.
    failed: BTreeSet<Arc<str>>,
    /// Settings and sizes held by the styles built so far.
    held: usize,
}

/// How many of the styles that are built from each other are named.
const MOST_IN_CIRCLE: usize = 8;

/// How many styles may be built from each other in a row, down from a shape.
const MAX_CHAIN: usize = 100;

/// How many settings, sizes and declarations all styles and shapes may hold together, inherited ones
/// counted with each. It keeps memory bounded where many inherit much.
const MAX_HELD: usize = 1_000_000;

/// What a declaration of a shape counts, which is larger than a setting.
const DECLARATION: usize = 3;

impl Library<'_> {
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
        for declared in &file.cloths {
            self.declare_one(&declared.name);
            let cloth = cloth::cloth(declared, self.diagnostics);
            let name = declared.name.text.clone();
            self.cloths.known.entry(name).or_insert(Arc::new(cloth));
        }
        for declared in &file.tables {
            self.declare_one(&declared.name);
            let table = table::table(declared, self.diagnostics);
            self.tables.entry(table.name.clone()).or_insert(table);
        }
    }

    /// What is made from what.
    fn related(&self) -> Checked {
        let styles = self.styles.iter();
        let shapes = self.shapes.iter();
        let bases = styles.map(|(name, style)| (name.clone(), style.base.text.clone()));
        let shapes = shapes
            .filter_map(|(name, shape)| Some((name.clone(), shape.base.as_ref()?.text.clone())));
        Checked {
            styles: Vec::new(),
            cloths: Vec::new(),
            tables: Vec::new(),
            bases: shapes.chain(bases).collect(),
            known: self.styles.keys().cloned().collect(),
        }
    }

    fn declare_one(&mut self, name: &tree::Name) {
        let before = self.shapes.get(&name.text).map(|s| s.name.span);
        let before = before.or_else(|| self.styles.get(&name.text).map(|s| s.name.span));
        let before = before.or_else(|| self.cloths.known.get(&name.text).map(|c| c.span));
        let before = before.or_else(|| self.tables.get(&name.text).map(|t| t.span));
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

    fn set_twice(&mut self, before: &[tree::Setting], setting: &tree::Setting) {
        let name = &setting.name;
        if let Some(first) = before.iter().find(|s| s.name.text == name.text) {
            self.diagnostics.push(
                Diagnostic::error(
                    Code::SetTwice,
                    name.span,
                    format!("`{}` is set twice", name.text),
                )
                .also(first.name.span, "first set here")
                .hint("keep one of them"),
            );
        }
    }

    fn outside(&mut self, settings: &[String]) -> Vec<tree::Setting> {
        let mut out = Vec::new();
        for text in settings {
            let id = self.sources.add("--set", text.as_str());
            match syntax::parse_setting(id, text) {
                Ok(setting) => {
                    self.set_twice(&out, &setting);
                    out.push(setting);
                }
                Err(diagnostic) => {
                    self.diagnostics.push(
                        diagnostic
                            .hint("write it as in `--set NAME=3in` or `--set \"NAME=57 1/2 in\"`"),
                    );
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
        let shape = self.shape_tree(name).and_then(|declared| {
            self.held += DECLARATION * declared.items.len();
            if self.held > MAX_HELD {
                self.too_much(&declared.name, false);
                return None;
            }
            let mut shape = shape::empty(&declared.name, declared.doc.as_ref());
            shape::add_items(&mut shape, &declared.items, self.diagnostics);
            Some(Arc::new(shape))
        });
        self.checked.insert(name.into(), shape.clone());
        shape
    }

    /// The shape of this name as it is written, a built-in one read on demand.
    fn declared_shape(&mut self, name: &str) -> Option<tree::Shape> {
        if let Some(shape) = self.shapes.get(name) {
            return Some(shape.clone());
        }
        let (file, text) = stdlib::find(name)?;
        let id = self.sources.add(file, text);
        let (tree, found) = syntax::parse(id, text);
        self.diagnostics.extend(found);
        for shape in tree.shapes {
            self.shapes.entry(shape.name.text.clone()).or_insert(shape);
        }
        self.shapes.get(name).cloned()
    }

    /// The shape that the last of `chain` is made from; none, which is reported once, where there is
    /// no such shape or none that can be made.
    fn base_shape(&mut self, chain: &[tree::Shape], base: &tree::Name) -> Option<tree::Shape> {
        if self.failed.contains(&base.text) {
            return None;
        }
        if let Some(at) = chain.iter().position(|s| s.name.text == base.text) {
            let names: Vec<&tree::Name> = chain.iter().skip(at).map(|s| &s.name).collect();
            self.diagnostics.push(shape_cycle(&names, base));
            return None;
        }
        if chain.len() > MAX_CHAIN {
            self.too_much(base, true);
            return None;
        }
        let found = self.declared_shape(&base.text);
        if found.is_none() {
            self.unknown_base(base);
        }
        found
    }

    /// The shape of this name with all that it takes from the shapes it is made from.
    fn shape_tree(&mut self, name: &str) -> Option<tree::Shape> {
        let mut chain = vec![self.declared_shape(name)?];
        while let Some(base) = chain.last().and_then(|shape| shape.base.clone()) {
            let next = self.base_shape(&chain, &base);
            let Some(next) = next else {
                self.failed
                    .extend(chain.iter().map(|shape| shape.name.text.clone()));
                return None;
            };
            chain.push(next);
        }
        let mut whole = chain.pop()?;
        whole.items = bench::in_order(whole.items, self.diagnostics);
        self.diagnostics.extend(derive::made_from_nothing(&whole));
        while let Some(own) = chain.pop() {
            self.held += whole.items.len();
            if self.held > MAX_HELD {
                self.too_much(&own.name, false);
                return None;
            }
            let items = derive::derived(whole.items, &own, self.diagnostics);
            let items = bench::in_order(items, self.diagnostics);
            whole = tree::Shape { items, ..own };
        }
        Some(whole)
    }

    /// The checked style of this name, built from its bases.
    fn style(&mut self, name: &tree::Name) -> Option<Style> {
        // Up the bases until something is known …
        let mut chain: Vec<tree::Style> = Vec::new();
        let mut names: BTreeSet<Arc<str>> = BTreeSet::new();
        let mut next = name.clone();
        let base = loop {
            if self.failed.contains(&next.text) {
                break None;
            }
            if let Some(built) = self.built.get(&next.text) {
                break Some(built.clone());
            }
            match self.styles.get(&next.text) {
                Some(_) if names.contains(&next.text) => {
                    self.style_cycle(&chain, &next);
                    break None;
                }
                Some(style) => {
                    names.insert(next.text.clone());
                    chain.push(style.clone());
                    next = style.base.clone();
                }
                None => {
                    let shape = self.shape(&next.text);
                    if shape.is_none() && !self.failed.contains(&next.text) {
                        self.unknown_base(&next);
                    }
                    break shape.map(|shape| (style::plain(shape), 0));
                }
            }
        };
        let Some((mut built, mut above)) = base else {
            self.failed.extend(names);
            return None;
        };
        // … and down again.
        while let Some(declared) = chain.pop() {
            above += 1;
            if above > MAX_CHAIN || self.held > MAX_HELD {
                self.too_much(&declared.name, above > MAX_CHAIN);
                self.failed.insert(declared.name.text);
                let rest = chain.into_iter().map(|style| style.name.text);
                self.failed.extend(rest);
                return None;
            }
            built = style::derived(&built, &declared, &self.cloths, self.diagnostics);
            if !declared.items.is_empty() {
                // It has a copy of the shape, for its own measures.
                self.held += built.shape.slots.len();
            }
            self.held += built.levels.len() + declared.settings.len();
            self.held += built
                .sizes
                .iter()
                .map(|(_, own)| 1 + own.len())
                .sum::<usize>();
            let name = declared.name.text.clone();
            self.built.insert(name, (built.clone(), above));
        }
        Some(built)
    }

    /// Reports a style too far from its shape, or one that comes after too much else; once.
    fn too_much(&mut self, name: &tree::Name, chain: bool) {
        let code = if chain {
            Code::LongChain
        } else {
            Code::TooMany
        };
        if self.diagnostics.iter().any(|d| d.code == code) {
            return;
        }
        let (message, hint) = if chain {
            (
                format!(
                    "`{}` is built from more than {MAX_CHAIN} others in a row",
                    name.text
                ),
                "build it from a style nearer to the shape",
            )
        } else {
            (
                "up to here, styles and shapes inherit more than can be held".to_owned(),
                "split the file up",
            )
        };
        self.diagnostics
            .push(Diagnostic::error(code, name.span, message).hint(hint));
    }

    fn style_cycle(&mut self, chain: &[tree::Style], at: &tree::Name) {
        let mut circle: Vec<&tree::Style> = chain
            .iter()
            .skip_while(|style| style.name.text != at.text)
            .collect();
        // Told from the style declared first.
        let place = |style: &&tree::Style| (style.name.span.file, style.name.span.start);
        let first = circle.iter().map(place).min();
        let index = circle.iter().position(|style| Some(place(style)) == first);
        circle.rotate_left(index.unwrap_or(0));
        let (Some(first), Some(last)) = (circle.first(), circle.last()) else {
            return;
        };
        let shown = circle.iter().take(MOST_IN_CIRCLE);
        let mut names: Vec<String> = shown
            .map(|style| format!("`{}`", style.name.text))
            .collect();
        if circle.len() > MOST_IN_CIRCLE {
            names.push("…".to_owned());
        }
        names.push(format!("`{}`", first.name.text));
        self.diagnostics.push(
            Diagnostic::error(
                Code::Cycle,
                last.base.span,
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
        if !self.cloths.complete {
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
        let holding = holding(&name.text, stdlib::names());
        let diagnostic = match (nearest(&name.text, known), holding.as_slice()) {
            (Some(near), _) | (None, &[near]) => diagnostic.hint(format!("did you mean `{near}`?")),
            (None, &[_, ..]) => diagnostic.hint(format!(
                "did you mean one of these: {}?",
                expr::listed(holding)
            )),
            (None, &[]) => {
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

fn shape_cycle(names: &[&tree::Name], at: &tree::Name) -> Diagnostic {
    let mut round: Vec<String> = names
        .iter()
        .map(|name| format!("`{}`", name.text))
        .collect();
    round.push(format!("`{}`", at.text));
    let message = format!(
        "these shapes are made from each other: {}",
        round.join(" from ")
    );
    Diagnostic::error(Code::Cycle, at.span, message)
        .hint("one of them must be said without the others")
}
