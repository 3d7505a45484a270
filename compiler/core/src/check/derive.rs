//! Makes a shape from a shape: what it declares anew takes the place of what its base declares under
//! the same name, and what it leaves out goes, together with all requirements, printed measures,
//! lines of the proof, points of measure and steps of the work that speak of it. Input and output are
//! syntax trees; nothing is checked here but that what is left out is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::order::{expr_names, nameless_names, point_names};
use super::shape::item_name;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::syntax::tree::{Inspection, Item, ItemKind, Left, Name, Shape, Text};

/// All declarations of `own`, made from a base that declares `base`.
pub fn derived(base: Vec<Item>, own: &Shape, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    let mut gone = Gone::default();
    for left in &own.without {
        match left {
            Left::Name(name) => gone.leave_out_name(&base, name, diagnostics),
            Left::Text(text) => gone.leave_out_text(&base, text, diagnostics),
        }
    }
    let there: BTreeSet<Key> = base.iter().filter_map(|item| key(&item.what)).collect();
    let mut anew: BTreeMap<Key, Item> = BTreeMap::new();
    let mut more = Vec::new();
    for item in &own.items {
        match key(&item.what) {
            Some(key) if there.contains(&key) && !anew.contains_key(&key) => {
                if key.0 == Sort::Named {
                    gone.names.remove(&key.1);
                }
                anew.insert(key, item.clone());
            }
            _ => more.push(item.clone()),
        }
    }
    let kept = |item: Item| {
        let new = key(&item.what).and_then(|key| anew.remove(&key));
        match new {
            Some(new) => Some(gone.merged(item, new)),
            None => gone.kept(item),
        }
    };
    let mut items: Vec<Item> = base.into_iter().filter_map(kept).collect();
    items.append(&mut more);
    items
}

/// What a shape leaves out of its base.
#[derive(Default)]
struct Gone {
    /// Declarations that others can be made from.
    names: BTreeSet<Arc<str>>,
    /// Inspections, and single points of them.
    measured: BTreeSet<Arc<str>>,
    /// Lines of the proof and steps of the work.
    texts: BTreeSet<Arc<str>>,
}

impl Gone {
    /// A name is that of a declaration; else that of an inspection or of a point of one.
    fn leave_out_name(&mut self, base: &[Item], name: &Name, diagnostics: &mut Vec<Diagnostic>) {
        if named(base).any(|known| known == &*name.text) {
            self.names.insert(name.text.clone());
        } else if measured(base).any(|known| known == &*name.text) {
            self.measured.insert(name.text.clone());
        } else {
            let near = nearest(&name.text, named(base).chain(measured(base)));
            diagnostics.push(not_there(name.span, &name.text, near));
        }
    }

    fn leave_out_text(&mut self, base: &[Item], text: &Text, diagnostics: &mut Vec<Diagnostic>) {
        if texts(base).any(|known| known == &*text.text) {
            self.texts.insert(text.text.clone());
        } else {
            let near = nearest(&text.text, texts(base));
            diagnostics.push(not_there(text.span, &text.text, near));
        }
    }

    /// What is left of a declaration of the base.
    fn kept(&self, item: Item) -> Option<Item> {
        let goes = match &item.what {
            ItemKind::Inspection(inspection) => {
                self.measured.contains(&inspection.name.text) || self.speaks_of(&item.what)
            }
            ItemKind::Prove(_) | ItemKind::Work(_) => {
                key(&item.what).is_some_and(|(_, text)| self.texts.contains(&text))
                    || self.speaks_of(&item.what)
            }
            other => match item_name(other) {
                Some(name) => self.names.contains(&name.text),
                None => self.speaks_of(other),
            },
        };
        if goes {
            return None;
        }
        let Item { what, span } = item;
        let ItemKind::Inspection(mut inspection) = what else {
            return Some(Item { what, span });
        };
        let points = inspection.points.len();
        self.prune(&mut inspection);
        // An inspection goes with the last of its points; one that never had any stays, to be
        // complained about.
        (points == 0 || !inspection.points.is_empty()).then_some(Item {
            what: ItemKind::Inspection(inspection),
            span,
        })
    }

    /// A declaration of the base that is declared anew: an inspection keeps the points that the new
    /// one does not name.
    fn merged(&self, old: Item, new: Item) -> Item {
        let (ItemKind::Inspection(mut old), ItemKind::Inspection(mut own)) =
            (old.what, new.what.clone())
        else {
            return new;
        };
        self.prune(&mut old);
        let inherited = old.points.len();
        let mut renewed: BTreeSet<Arc<str>> = BTreeSet::new();
        for point in own.points {
            let mut known = old.points.iter_mut().take(inherited);
            match known.find(|known| known.name.text == point.name.text) {
                Some(place) if !renewed.contains(&point.name.text) => {
                    renewed.insert(point.name.text.clone());
                    *place = point;
                }
                // Declared twice in the new one, which is complained about later.
                _ => old.points.push(point),
            }
        }
        own.points = old.points;
        Item {
            what: ItemKind::Inspection(own),
            ..new
        }
    }

    /// Takes out the points that are left out or speak of what is.
    fn prune(&self, inspection: &mut Inspection) {
        inspection.points.retain(|point| {
            let mut stays = !self.measured.contains(&point.name.text);
            point_names(point, &mut |name| stays &= !self.names.contains(name));
            stays
        });
    }

    /// Whether an item without a name, or the outline of an inspection, speaks of what is left out.
    fn speaks_of(&self, item: &ItemKind) -> bool {
        let mut found = false;
        let mut visit = |name: &str| found |= self.names.contains(name);
        match item {
            ItemKind::Inspection(inspection) => expr_names(&inspection.outline, &mut visit),
            other => nameless_names(other, &mut visit),
        }
        found
    }
}

/// What kind of thing a declaration is, so far as that tells it from others of its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Named,
    Proof,
    Inspection,
    Step,
}

/// What tells one declaration from another.
type Key = (Sort, Arc<str>);

fn key(item: &ItemKind) -> Option<Key> {
    match item {
        ItemKind::Prove(prove) => Some((Sort::Proof, prove.name.text.clone())),
        ItemKind::Work(step) => Some((Sort::Step, step.title.text.clone())),
        ItemKind::Inspection(inspection) => Some((Sort::Inspection, inspection.name.text.clone())),
        other => item_name(other).map(|name| (Sort::Named, name.text.clone())),
    }
}

fn named(items: &[Item]) -> impl Iterator<Item = &str> + Clone {
    items
        .iter()
        .filter_map(|item| item_name(&item.what))
        .map(|name| &*name.text)
}

/// The names of inspections and of their points.
fn measured(items: &[Item]) -> impl Iterator<Item = &str> + Clone {
    items.iter().flat_map(|item| {
        let inspection = match &item.what {
            ItemKind::Inspection(inspection) => Some(inspection),
            _ => None,
        };
        inspection.into_iter().flat_map(|inspection| {
            let points = inspection.points.iter().map(|point| &*point.name.text);
            std::iter::once(&*inspection.name.text).chain(points)
        })
    })
}

/// The lines of the proof and the steps of the work.
fn texts(items: &[Item]) -> impl Iterator<Item = &str> + Clone {
    items.iter().filter_map(|item| match &item.what {
        ItemKind::Prove(prove) => Some(&*prove.name.text),
        ItemKind::Work(step) => Some(&*step.title.text),
        _ => None,
    })
}

/// Complains about a shape that leaves out something and is made from no other.
pub fn nothing_to_leave_out(own: &Shape) -> Option<Diagnostic> {
    let span = match own.without.first()? {
        Left::Name(name) => name.span,
        Left::Text(text) => text.span,
    };
    let message = format!(
        "`{}` is made from no other shape, so nothing can be left out",
        own.name.text
    );
    Some(
        Diagnostic::error(Code::UnknownName, span, message)
            .hint("take `without` out, or say `from` which shape it is made"),
    )
}

fn not_there(span: crate::source::Span, text: &str, near: Option<&str>) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Code::UnknownName,
        span,
        format!("the shape this is made from has no `{text}` to leave out"),
    );
    match near {
        Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
        None => diagnostic.hint(
            "leave out what it declares, or a line of its proof or a step of its work by its text",
        ),
    }
}
