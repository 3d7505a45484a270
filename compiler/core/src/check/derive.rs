//! Makes a shape from a shape: what it declares anew takes the place of what its base declares under
//! the same name; what it adds goes on from what its base says there; and what it leaves out goes,
//! together with all that speaks of it: requirements, printed measures, grades, lines of the proof, lines
//! and marks of pieces, steps of assemblies. Input and output are syntax trees; nothing is checked
//! here but that what is left out or added to is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::order::{assembly_step_names, nameless_names, piece_item_names};
use super::shape::item_name;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::syntax::tree::{Addition, Item, ItemKind, Left, More, PieceItemKind, Shape};

/// All declarations of `own`, made from a base that declares `base`.
pub fn derived(base: Vec<Item>, own: &Shape, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    let mut gone: BTreeSet<Arc<str>> = BTreeSet::new();
    let mut proofs: BTreeSet<Arc<str>> = BTreeSet::new();
    for left in &own.without {
        match left {
            Left::Name(name) if named(&base).any(|known| known == &*name.text) => {
                gone.insert(name.text.clone());
            }
            Left::Proof(text) if proven(&base).any(|known| known == &*text.text) => {
                proofs.insert(text.text.clone());
            }
            Left::Name(name) => {
                let near = nearest(&name.text, named(&base));
                diagnostics.push(not_there(name.span, &name.text, near));
            }
            Left::Proof(text) => {
                let near = nearest(&text.text, proven(&base));
                diagnostics.push(not_there(text.span, &text.text, near));
            }
        }
    }
    let there: BTreeSet<Key> = base.iter().filter_map(|item| key(&item.what)).collect();
    let mut anew: BTreeMap<Key, Item> = BTreeMap::new();
    let mut more = Vec::new();
    for item in &own.items {
        match key(&item.what) {
            Some(key) if there.contains(&key) && !anew.contains_key(&key) => {
                if let Key::Name(name) = &key {
                    gone.remove(name);
                }
                anew.insert(key, item.clone());
            }
            _ => more.push(item.clone()),
        }
    }
    // What is worked out now, or gone, no longer follows anything.
    let mut ungraded = gone.clone();
    ungraded.extend(own.items.iter().filter_map(|item| match &item.what {
        ItemKind::Parameter { .. } => None,
        other => item_name(other).map(|name| name.text.clone()),
    }));
    let kept = |item: Item| match key(&item.what) {
        Some(key) => anew.remove(&key).or_else(|| {
            let goes = match &key {
                Key::Name(name) => gone.contains(name),
                Key::Proof(text) => proofs.contains(text) || speaks_of(&item.what, &gone),
                Key::Grade(graded) => ungraded.contains(graded),
            };
            let item = without_followers(item, &ungraded);
            (!goes).then(|| without_what_speaks_of(item, &gone))
        }),
        None => (!speaks_of(&item.what, &gone)).then_some(item),
    };
    let mut items: Vec<Item> = base.into_iter().filter_map(kept).collect();
    items.append(&mut more);
    for addition in &own.additions {
        diagnostics.extend(add(&mut items, addition));
    }
    items
}

/// An inherited item without those of its statements that speak of what is gone.
fn without_what_speaks_of(mut item: Item, gone: &BTreeSet<Arc<str>>) -> Item {
    if gone.is_empty() {
        return item;
    }
    match &mut item.what {
        ItemKind::Piece(piece) => piece.items.retain(|inner| {
            let mut found = false;
            piece_item_names(inner, &mut |name| found |= gone.contains(name));
            !(found && is_drawn(&inner.what))
        }),
        ItemKind::Assembly { steps, .. } => steps.retain(|step| {
            let mut found = false;
            assembly_step_names(step, &mut |name| found |= gone.contains(name));
            !found
        }),
        _ => {}
    }
    item
}

/// A grade without those that follow nothing any more; anything else as it is.
fn without_followers(mut item: Item, ungraded: &BTreeSet<Arc<str>>) -> Item {
    if let ItemKind::Grade { followers, .. } = &mut item.what {
        followers.retain(|follower| !ungraded.contains(&follower.name.text));
    }
    item
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

/// What tells one declaration from another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    /// The name it declares.
    Name(Arc<str>),
    /// The text of a line of the proof.
    Proof(Arc<str>),
    /// The parameter that a grade is of.
    Grade(Arc<str>),
}

fn key(item: &ItemKind) -> Option<Key> {
    match item {
        ItemKind::Prove(prove) => Some(Key::Proof(prove.name.text.clone())),
        ItemKind::Grade { graded, .. } => Some(Key::Grade(graded.text.clone())),
        other => item_name(other).map(|name| Key::Name(name.text.clone())),
    }
}

fn speaks_of(item: &ItemKind, names: &BTreeSet<Arc<str>>) -> bool {
    let mut found = false;
    nameless_names(item, &mut |name| found |= names.contains(name));
    found
}

fn named(items: &[Item]) -> impl Iterator<Item = &str> + Clone {
    items
        .iter()
        .filter_map(|item| item_name(&item.what))
        .map(|name| &*name.text)
}

fn proven(items: &[Item]) -> impl Iterator<Item = &str> + Clone {
    items.iter().filter_map(|item| match &item.what {
        ItemKind::Prove(prove) => Some(&*prove.name.text),
        _ => None,
    })
}

/// Complains about a shape that leaves out or adds to something and is made from no other.
pub fn made_from_nothing(own: &Shape) -> Option<Diagnostic> {
    let left = own.without.first().map(|left| match left {
        Left::Name(name) => name.span,
        Left::Proof(text) => text.span,
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
        None => diagnostic.hint("leave out what it declares, or a line of its proof by its text"),
    }
}
