//! Makes a shape from a shape: what it declares anew takes the place of what its base declares under
//! the same name; what it adds goes on from what its base says there; and what it leaves out goes,
//! together with all that speaks of it: requirements, printed measures, grades, lines of the proof,
//! points of measure, steps of the work, lines and marks of pieces, steps of assemblies. Input and
//! output are syntax trees; nothing is checked here but that what is left out or added to is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::order::{
    assembly_step_names, expr_names, nameless_names, piece_item_names, point_names,
};
use super::shape::item_name;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::syntax::tree::{
    Addition, Inspection, Item, ItemKind, Left, More, Name, PieceItemKind, Shape, Text,
};

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
    gone.ungraded = gone.names.clone();
    gone.ungraded
        .extend(own.items.iter().filter_map(worked_out));
    let kept = |item: Item| {
        let new = key(&item.what).and_then(|key| anew.remove(&key));
        match new {
            Some(new) => Some(gone.merged(item, new)),
            None => gone.kept(item, &there),
        }
    };
    let mut items: Vec<Item> = base.into_iter().filter_map(kept).collect();
    items.append(&mut more);
    for addition in &own.additions {
        diagnostics.extend(add(&mut items, addition));
    }
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
    /// What follows nothing any more, nor is followed: it is left out, or worked out now.
    ungraded: BTreeSet<Arc<str>>,
}

/// The name of what is declared as something other than a parameter.
fn worked_out(item: &Item) -> Option<Arc<str>> {
    match &item.what {
        ItemKind::Parameter { .. } => None,
        other => item_name(other).map(|name| name.text.clone()),
    }
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
    fn kept(&self, item: Item, there: &BTreeSet<Key>) -> Option<Item> {
        let goes = match &item.what {
            // Of a piece and its cloth the piece goes.
            ItemKind::Cloth { name, .. } => {
                let piece = (Sort::Named, name.text.clone());
                self.names.contains(&name.text) && !there.contains(&piece)
            }
            ItemKind::Inspection(inspection) => {
                self.measured.contains(&inspection.name.text) || self.speaks_of(&item.what)
            }
            ItemKind::Prove(_) | ItemKind::Work(_) => {
                key(&item.what).is_some_and(|(_, text)| self.texts.contains(&text))
                    || self.speaks_of(&item.what)
            }
            ItemKind::Grade { graded, .. } => self.ungraded.contains(&graded.text),
            other => match item_name(other) {
                Some(name) => self.names.contains(&name.text),
                None => self.speaks_of(other),
            },
        };
        (!goes).then(|| self.pruned(item)).flatten()
    }

    /// A declaration without those of its statements that speak of what is left out.
    fn pruned(&self, mut item: Item) -> Option<Item> {
        match &mut item.what {
            ItemKind::Piece(piece) => piece.items.retain(|inner| {
                let mut stays = true;
                piece_item_names(inner, &mut |name, _| stays &= !self.names.contains(name));
                stays || !is_drawn(&inner.what)
            }),
            ItemKind::Assembly { steps, .. } => steps.retain(|step| {
                let mut stays = true;
                assembly_step_names(step, &mut |name, _| stays &= !self.names.contains(name));
                stays
            }),
            ItemKind::Grade { followers, .. } => {
                followers.retain(|follower| !self.ungraded.contains(&follower.name.text));
            }
            ItemKind::Inspection(inspection) => {
                let points = inspection.points.len();
                self.prune(inspection);
                // An inspection goes with the last of its points; one that never had any stays, to
                // be complained about.
                if points > 0 && inspection.points.is_empty() {
                    return None;
                }
            }
            _ => {}
        }
        Some(item)
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
            point_names(point, &mut |name, _| stays &= !self.names.contains(name));
            stays
        });
    }

    /// Whether an item without a name, or the outline of an inspection, speaks of what is left out.
    fn speaks_of(&self, item: &ItemKind) -> bool {
        let mut found = false;
        let mut visit = |name: &str, _: Option<&str>| found |= self.names.contains(name);
        match item {
            ItemKind::Inspection(inspection) => expr_names(&inspection.outline, &mut visit),
            other => nameless_names(other, &mut visit),
        }
        found
    }
}

/// Whether a statement of a piece only draws something on it. What gives it its form is never left
/// out unseen.
fn is_drawn(item: &PieceItemKind) -> bool {
    matches!(
        item,
        PieceItemKind::Sew(..)
            | PieceItemKind::Fold(..)
            | PieceItemKind::Place(..)
            | PieceItemKind::Drill(..)
            | PieceItemKind::Notch { .. }
            | PieceItemKind::Text { .. }
    )
}

/// Adds statements to the item they are meant for; says so where there is none of that sort.
fn add(items: &mut [Item], addition: &Addition) -> Option<Diagnostic> {
    let name = &addition.name;
    let bears = |item: &&mut Item| item_name(&item.what).is_some_and(|n| n.text == name.text);
    let (wanted, found) = match (&addition.more, items.iter_mut().find(bears)) {
        (More::Piece(more), found) => match found.map(|item| &mut item.what) {
            Some(ItemKind::Piece(piece)) => {
                piece.items.extend(more.iter().cloned());
                return None;
            }
            other => ("piece or pattern", other.is_some()),
        },
        (More::Assembly(more), found) => match found.map(|item| &mut item.what) {
            Some(ItemKind::Assembly { steps, .. }) => {
                steps.extend(more.iter().cloned());
                return None;
            }
            other => ("assembly", other.is_some()),
        },
    };
    let message = format!("there is no {wanted} `{}` to add to", name.text);
    let diagnostic = Diagnostic::error(Code::UnknownName, name.span, message);
    let near = nearest(&name.text, named(items)).filter(|_| !found);
    Some(match near {
        Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
        None => diagnostic.hint("add to what the shape this one is made from declares"),
    })
}

/// What kind of thing a declaration is, so far as that tells it from others of its name: a piece may be
/// called like its cloth, and a line of the proof like anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Named,
    Cloth,
    Proof,
    Grade,
    Inspection,
    Step,
}

/// What tells one declaration from another.
type Key = (Sort, Arc<str>);

fn key(item: &ItemKind) -> Option<Key> {
    match item {
        ItemKind::Prove(prove) => Some((Sort::Proof, prove.name.text.clone())),
        ItemKind::Cloth { name, .. } => Some((Sort::Cloth, name.text.clone())),
        ItemKind::Grade { graded, .. } => Some((Sort::Grade, graded.text.clone())),
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

/// Complains about a shape that leaves out or adds to something and is made from no other.
pub fn made_from_nothing(own: &Shape) -> Option<Diagnostic> {
    let left = own.without.first().map(|left| match left {
        Left::Name(name) => name.span,
        Left::Text(text) => text.span,
    });
    let left = left.map(|span| (span, "left out", "without"));
    let added = own.additions.first().map(|more| more.name.span);
    let (span, what, word) = left.or(added.map(|span| (span, "added to", "add to")))?;
    let message = format!(
        "`{}` is made from no other shape, so nothing can be {what}",
        own.name.text
    );
    Some(
        Diagnostic::error(Code::UnknownName, span, message).hint(format!(
            "take `{word}` out, or say `from` which shape it is made"
        )),
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
