//! The compiler of the shape language: text in; drafts, sheets and diagnostics out.
//!
//! Text → syntax tree → checked program → solved values → draft → sheets and papers. No stage imports a
//! later one, and nothing here reads a file or prints.

pub mod check;
pub mod cloth;
pub mod diagnostic;
pub mod draft;
pub mod eval;
pub mod format;
pub mod kind;
pub mod knots;
pub mod layout;
pub mod names;
pub mod paper;
pub mod phrase;
pub mod program;
pub mod row;
pub mod sheet;
pub mod source;
pub mod stdlib;
pub mod syntax;
pub mod table;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use cloth::Cloth;
use diagnostic::{Code, Diagnostic};
use kind::Kind;
use source::{Loader, Sources, Span};
use table::Table;

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
    /// Where each style is found, and its sizes; there may be thousands of either.
    places: BTreeMap<Arc<str>, Place>,
    /// What each style and shape of the file and of those it uses is made from.
    bases: BTreeMap<Arc<str>, Arc<str>>,
    /// The styles among them.
    known: BTreeSet<Arc<str>>,
    cloths: Vec<Cloth>,
    tables: Vec<Table>,
    /// The cloths as they are declared, by name.
    declared: BTreeMap<Arc<str>, Arc<program::Cloth>>,
}

/// Where a style stands among the styles, and each of its sizes among its sizes.
#[derive(Debug)]
struct Place {
    style: usize,
    sizes: BTreeMap<Arc<str>, usize>,
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
    /// The names of all points of measure, in order of declaration.
    pub points: Vec<Arc<str>>,
}

/// A number that a style declares or takes over.
#[derive(Debug, Clone, Copy)]
pub struct Quantity<'a> {
    /// Its name.
    pub name: &'a str,
    /// What kind of number.
    pub kind: Kind,
    /// Whether it can be set.
    pub is_parameter: bool,
}

/// Loads and checks the file `path`. `settings` are given outside the file, each as
/// `name=value`, and hold for every style and size.
pub fn compile(path: &str, settings: &[String], loader: &dyn Loader) -> Compiled {
    let mut sources = Sources::default();
    let mut diagnostics = Vec::new();
    let checked = check::check(path, settings, loader, &mut sources, &mut diagnostics);
    let (cloths, wrong) = eval::cloths(&checked.cloths);
    diagnostics.extend(wrong);
    let (tables, wrong) = eval::tables(&checked.tables);
    diagnostics.extend(wrong);
    let infos = checked
        .styles
        .iter()
        .map(|style| StyleInfo {
            name: style.name.clone(),
            doc: style.doc.clone(),
            sizes: style.sizes.iter().map(|(name, _)| name.clone()).collect(),
            points: points_of(style),
        })
        .collect();
    let mut places: BTreeMap<Arc<str>, Place> = BTreeMap::new();
    for (index, style) in checked.styles.iter().enumerate() {
        let sizes = style.sizes.iter().enumerate();
        let sizes = sizes.map(|(index, (name, _))| (name.clone(), index));
        places.entry(style.name.clone()).or_insert_with(|| Place {
            style: index,
            sizes: sizes.collect(),
        });
    }
    // A mistake in something used twice is still one mistake.
    let mut seen = BTreeSet::new();
    let mut once = diagnostics;
    once.retain(|diagnostic| seen.insert(diagnostic.clone()));
    // In the order of the text, whichever stage found them.
    once.sort_by_key(|d| d.primary.as_ref().map(|at| (at.span.file, at.span.start)));
    Compiled {
        sources,
        program: Program {
            styles: checked.styles,
            infos,
            places,
            bases: checked.bases,
            known: checked.known,
            cloths,
            tables,
            declared: (checked.cloths.iter())
                .map(|cloth| (cloth.name.clone(), cloth.clone()))
                .collect(),
        },
        diagnostics: once,
    }
}

/// The names of all points of measure of a style.
fn points_of(style: &program::Style) -> Vec<Arc<str>> {
    let inspections = style.shape.inspections.iter();
    let points = inspections.flat_map(|inspection| &inspection.points);
    points.map(|point| point.name.clone()).collect()
}

impl Program {
    /// The styles, in order of declaration.
    pub fn styles(&self) -> &[StyleInfo] {
        &self.infos
    }

    /// Every style made from the shape `shape`, through other styles and shapes or not, of the file
    /// and of those it uses, by name.
    pub fn made_from(&self, shape: &str) -> Vec<&str> {
        let from = |name: &str| {
            let mut next = self.bases.get(name);
            // Styles may be made from each other in a circle, which has been reported.
            for _ in 0..self.bases.len() {
                match next {
                    Some(base) if &**base == shape => return true,
                    Some(base) => next = self.bases.get(base),
                    None => return false,
                }
            }
            false
        };
        let known = self.known.iter().map(|name| &**name);
        known.filter(|name| from(name)).collect()
    }

    /// The shape that `style` is made from, through other styles or not; `None` if there is no such style.
    pub fn shape_of(&self, style: &str) -> Option<&str> {
        let mut name = self.known.get(style)?;
        // Styles may be made from each other in a circle, which has been reported.
        for _ in 0..=self.bases.len() {
            name = self.bases.get(name)?;
            if !self.known.contains(name) {
                return Some(name);
            }
        }
        None
    }

    /// Everything in a style that is a number, with or without a unit, in order of declaration; nothing
    /// if there is no such style.
    pub fn quantities(&self, style: &str) -> Vec<Quantity<'_>> {
        let found = self.found(style).map(|(style, _)| &style.shape);
        let slots = found.into_iter().flat_map(|shape| &shape.slots);
        let quantity = |slot: &'_ &Arc<program::Slot>| matches!(slot.kind, Kind::Quantity(_));
        let numbers = slots.filter(quantity).map(|slot| Quantity {
            name: &slot.name,
            kind: slot.kind,
            is_parameter: matches!(slot.definition, program::Definition::Parameter(..)),
        });
        numbers.collect()
    }

    /// Where each parameter is set that a style in one of its sizes, or as it stands, does not leave as
    /// its shape has it; what counts is what is said last.
    pub fn set_at(&self, style: &str, size: Option<&str>) -> BTreeMap<&str, Span> {
        let Some((found, place)) = self.found(style) else {
            return BTreeMap::new();
        };
        let own = size.and_then(|name| found.sizes.get(*place.sizes.get(name)?));
        let own = own.into_iter().flat_map(|(_, settings)| settings);
        let levels = found.levels.iter().flat_map(|level| level.iter());
        let name = |setting: &program::Setting| Some(&*found.shape.slot(setting.slot)?.name);
        let settings = levels.chain(own).chain(&found.outside);
        settings.filter_map(|s| Some((name(s)?, s.span))).collect()
    }

    /// Every cloth of the file and of those it uses, by name, whether or not a style names it. What is
    /// wrong with one is among the diagnostics.
    pub fn cloths(&self) -> &[Cloth] {
        &self.cloths
    }

    /// The cloth of this name.
    pub fn cloth(&self, name: &str) -> Option<&Cloth> {
        let at = self
            .cloths
            .binary_search_by(|cloth| (*cloth.name).cmp(name));
        self.cloths.get(at.ok()?)
    }

    /// Every table of the file and of those it uses, by name. What is wrong with one is among the
    /// diagnostics.
    pub fn tables(&self) -> &[Table] {
        &self.tables
    }

    /// The table of this name.
    pub fn table(&self, name: &str) -> Option<&Table> {
        let at = self
            .tables
            .binary_search_by(|table| (*table.name).cmp(name));
        self.tables.get(at.ok()?)
    }

    fn found(&self, style: &str) -> Option<(&program::Style, &Place)> {
        let place = self.places.get(style)?;
        Some((self.styles.get(place.style)?, place))
    }

    /// Drafts a style as [`Program::draft`] does, its first cloth role set to the cloth called `cloth`.
    pub fn draft_in(&self, style: &str, size: Option<&str>, cloth: Option<&str>) -> Drafted {
        let (Some(cloth), Some((found, place))) = (cloth, self.found(style)) else {
            return self.draft(style, size);
        };
        let Some(declared) = self.declared.get(cloth) else {
            let known = self.declared.keys().map(|name| &**name);
            let message = format!("there is no cloth called `{cloth}`");
            return unknown(Code::UnknownCloth, message, cloth, known);
        };
        let own = size.and_then(|name| found.sizes.get(*place.sizes.get(name)?));
        if own.is_none() && size.is_some() {
            return self.draft(style, size);
        }
        match found.in_cloth(declared) {
            Some(dressed) => eval::draft(&dressed, own),
            None => {
                let message = format!("`{style}` is cut from no cloth that could be another");
                Drafted {
                    draft: None,
                    diagnostics: vec![Diagnostic::general(Code::UnknownCloth, message)],
                }
            }
        }
    }

    /// Drafts a style in one of its sizes, or as it stands.
    pub fn draft(&self, style: &str, size: Option<&str>) -> Drafted {
        let Some(place) = self.places.get(style) else {
            let known = self.infos.iter().map(|info| &*info.name);
            let message = format!("there is no style called `{style}`");
            return unknown(Code::UnknownStyle, message, style, known);
        };
        let Some(found) = self.styles.get(place.style) else {
            return Drafted::default();
        };
        let Some(name) = size else {
            return eval::draft(found, None);
        };
        match place.sizes.get(name).and_then(|at| found.sizes.get(*at)) {
            Some(size) => eval::draft(found, Some(size)),
            None => {
                let known = found.sizes.iter().map(|(name, _)| &**name);
                let message = format!("`{style}` has no size `{name}`");
                unknown(Code::UnknownSize, message, name, known)
            }
        }
    }
}

/// Nothing drafted, because nothing is called `wrong`.
fn unknown<'a>(
    code: Code,
    message: String,
    wrong: &str,
    known: impl Iterator<Item = &'a str>,
) -> Drafted {
    let mut diagnostic = Diagnostic::general(code, message);
    if let Some(near) = names::nearest(wrong, known) {
        diagnostic = diagnostic.hint(format!("did you mean `{near}`?"));
    }
    Drafted {
        draft: None,
        diagnostics: vec![diagnostic],
    }
}
