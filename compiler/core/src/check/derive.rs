//! Makes a shape from a shape: what it declares anew takes the place of what its base declares under
//! the same name, and what it leaves out goes, together with all requirements, printed measures and
//! lines of the proof that speak of it. Input and output are syntax trees; nothing is checked here
//! but that what is left out is there.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::order::nameless_names;
use super::shape::item_name;
use crate::diagnostic::{Code, Diagnostic};
use crate::names::nearest;
use crate::syntax::tree::{Item, ItemKind, Left, Shape};

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
                gone.remove(&key.1);
                anew.insert(key, item.clone());
            }
            _ => more.push(item.clone()),
        }
    }
    let kept = |item: Item| match key(&item.what) {
        Some(key) => anew.remove(&key).or_else(|| {
            let (sort, name) = key;
            let goes = match sort {
                Sort::Named => gone.contains(&name),
                // Of a piece and its cloth the piece goes.
                Sort::Cloth => gone.contains(&name) && !there.contains(&(Sort::Named, name)),
                Sort::Proof => proofs.contains(&name) || speaks_of(&item.what, &gone),
            };
            (!goes).then_some(item)
        }),
        None => (!speaks_of(&item.what, &gone)).then_some(item),
    };
    let mut items: Vec<Item> = base.into_iter().filter_map(kept).collect();
    items.append(&mut more);
    items
}

/// What tells one declaration from another, with its name or text.
type Key = (Sort, Arc<str>);

/// A piece may be called like its cloth, and a line of the proof like anything.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Sort {
    Named,
    Cloth,
    Proof,
}

fn key(item: &ItemKind) -> Option<Key> {
    match item {
        ItemKind::Prove(prove) => Some((Sort::Proof, prove.name.text.clone())),
        ItemKind::Cloth { name, .. } => Some((Sort::Cloth, name.text.clone())),
        other => item_name(other).map(|name| (Sort::Named, name.text.clone())),
    }
}

fn speaks_of(item: &ItemKind, names: &BTreeSet<Arc<str>>) -> bool {
    let mut found = false;
    nameless_names(item, &mut |name, _| found |= names.contains(name));
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

/// Complains about a shape that leaves out something and is made from no other.
pub fn nothing_to_leave_out(own: &Shape) -> Option<Diagnostic> {
    let span = match own.without.first()? {
        Left::Name(name) => name.span,
        Left::Proof(text) => text.span,
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
        None => diagnostic.hint("leave out what it declares, or a line of its proof by its text"),
    }
}
