//! Checks styles: what differs from the base, named sizes, parameters left open.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::cloth::{self, Cloths};
use super::expr::{Checker, listed, unknown_name, wrong_kind};
use super::shape::{add_items, doc_of};
use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Kind;
use crate::names::{holding, nearest};
use crate::program::{Definition, Find, Setting, Shape, SlotId, Style, Unknown, reads_of};
use crate::source::Span;
use crate::syntax::tree;
use crate::syntax::tree::Name;

/// What is asked for to have every named size, so that no size can be called so.
pub const ALL_SIZES: &str = "all";

/// A style that differs in nothing from `shape`.
pub fn plain(shape: Arc<Shape>) -> Style {
    Style {
        name: shape.name.clone(),
        doc: shape.doc.clone(),
        span: shape.span,
        shape,
        levels: Vec::new(),
        sizes: Vec::new(),
        outside: Vec::new(),
        finds: Vec::new(),
    }
}

/// A style built from `base`.
pub fn derived(
    base: &Style,
    style: &tree::Style,
    cloths: &Cloths,
    diagnostics: &mut Vec<Diagnostic>,
) -> Style {
    let mut shape = base.shape.clone();
    if !style.items.is_empty() {
        let mut own = (*shape).clone();
        add_items(&mut own, &style.items, diagnostics);
        shape = Arc::new(own);
    }
    let mut out = Style {
        name: style.name.text.clone(),
        span: style.name.span,
        shape,
        ..base.clone()
    };
    if style.doc.is_some() {
        out.doc = doc_of(style.doc.as_ref());
    }
    let own = settings(&out.shape, &style.settings, cloths, diagnostics);
    if !own.is_empty() {
        out.levels.push(own.into());
    }
    // Looked up by name: a style may have any number of sizes.
    let known_sizes: BTreeMap<Arc<str>, usize> = out
        .sizes
        .iter()
        .enumerate()
        .map(|(index, (name, _))| (name.clone(), index))
        .collect();
    let mut own_sizes: BTreeMap<&str, Span> = BTreeMap::new();
    for size in &style.sizes {
        let own = settings(&out.shape, &size.settings, cloths, diagnostics);
        if let Some(before) = own_sizes.insert(&size.name.text, size.name.span) {
            diagnostics.push(
                Diagnostic::error(
                    Code::DeclaredTwice,
                    size.name.span,
                    format!("size `{}` is declared twice", size.name.text),
                )
                .also(before, "first declared here")
                .hint("give one of them another name"),
            );
            continue;
        }
        if &*size.name.text == ALL_SIZES {
            diagnostics.push(
                Diagnostic::error(
                    Code::BuiltInName,
                    size.name.span,
                    format!("`{ALL_SIZES}` already means every size of a style"),
                )
                .hint("choose another name"),
            );
        }
        match known_sizes.get(&size.name.text) {
            // A size of the base with this name is refined.
            Some(index) => {
                if let Some((_, inherited)) = out.sizes.get_mut(*index) {
                    add_settings(inherited, own);
                }
            }
            None => out.sizes.push((size.name.text.clone(), own)),
        }
    }
    for find in &style.finds {
        out.finds.extend(check_find(&out.shape, find, diagnostics));
    }
    set_and_open(&out, diagnostics);
    out
}

/// Adds settings, each in place of an earlier one of the same parameter.
fn add_settings(to: &mut Vec<Setting>, more: Vec<Setting>) {
    let anew: BTreeSet<SlotId> = more.iter().map(|setting| setting.slot).collect();
    to.retain(|setting| !anew.contains(&setting.slot));
    to.extend(more);
}

/// Checks the settings of one block.
pub fn settings(
    shape: &Shape,
    list: &[tree::Setting],
    cloths: &Cloths,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<Setting> {
    let mut out: Vec<Setting> = Vec::with_capacity(list.len());
    let mut before: BTreeMap<SlotId, Span> = BTreeMap::new();
    for setting in list {
        let Some(checked) = check_setting(shape, setting, cloths, diagnostics) else {
            continue;
        };
        if let Some(before) = before.get(&checked.slot) {
            diagnostics.push(
                Diagnostic::error(
                    Code::SetTwice,
                    checked.span,
                    format!("`{}` is set twice here", setting.name.text),
                )
                .also(*before, "first set here")
                .hint("keep one of them"),
            );
            continue;
        }
        before.insert(checked.slot, checked.span);
        out.push(checked);
    }
    out
}

fn check_setting(
    shape: &Shape,
    setting: &tree::Setting,
    cloths: &Cloths,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Setting> {
    let (slot, kind) = match parameter(shape, &setting.name) {
        Ok(found) => found,
        Err(diagnostic) => {
            diagnostics.push(*diagnostic);
            return None;
        }
    };
    let mut checker = Checker { shape, diagnostics };
    if kind == Kind::Cloth {
        return cloth::setting(slot, setting, cloths, &mut checker);
    }
    let node = checker.node(&setting.value);
    if !node.kind.fits(kind) {
        let name = &setting.name.text;
        let declared = shape.slot(slot).map_or(setting.name.span, |s| s.span);
        diagnostics.push(
            wrong_kind(node.span, node.kind, &kind.to_string())
                .also(declared, format!("`{name}` is {kind}")),
        );
        return None;
    }
    let reads = reads_of(&node);
    Some(Setting {
        slot,
        value: Arc::new(node),
        reads,
        span: setting.name.span,
        drivers: Vec::new(),
    })
}

/// The slot and kind of a parameter or cloth role.
pub fn parameter(shape: &Shape, name: &Name) -> Result<(SlotId, Kind), Box<Diagnostic>> {
    let role = shape.roles.get(&name.text).copied();
    let role = role.and_then(|id| Some((id, shape.slot(id)?)));
    let Some((id, slot)) = role.or_else(|| shape.find(&name.text)) else {
        let mut diagnostic = Diagnostic::error(
            Code::UnknownParameter,
            name.span,
            format!("`{}` has no parameter `{}`", shape.name, name.text),
        );
        let holding = holding(&name.text, shape.settable());
        diagnostic = match (nearest(&name.text, shape.settable()), holding.as_slice()) {
            (Some(near), _) | (None, &[near]) => diagnostic.hint(format!("did you mean `{near}`?")),
            (None, &[_, ..]) => {
                diagnostic.hint(format!("did you mean one of these: {}?", listed(holding)))
            }
            (None, &[]) => {
                let list = listed(shape.parameters().map(|(_, s)| &*s.name));
                diagnostic.hint(if list.is_empty() {
                    "it has none".to_owned()
                } else {
                    format!("it has {list}")
                })
            }
        };
        return Err(Box::new(diagnostic));
    };
    match slot.definition {
        Definition::Parameter(..) | Definition::Cloth(_) | Definition::Unknown => {
            Ok((id, slot.kind))
        }
        _ => Err(Box::new(
            Diagnostic::error(
                Code::NotAParameter,
                name.span,
                format!("`{}` is worked out and cannot be set", name.text),
            )
            .also(slot.span, "worked out here")
            .hint("set the parameters it is worked out from, or leave one open with `find`"),
        )),
    }
}

fn check_find(shape: &Shape, find: &tree::Find, diagnostics: &mut Vec<Diagnostic>) -> Option<Find> {
    let mut unknowns: Vec<Unknown> = Vec::new();
    let mut known = true;
    for (name, range) in &find.unknowns {
        let found = parameter(shape, name).and_then(|found| match found {
            (_, Kind::Cloth) => Err(Box::new(no_number(name))),
            found => Ok(found),
        });
        let mut checker = Checker { shape, diagnostics };
        match found {
            Ok((slot, kind)) => {
                let range = range
                    .as_ref()
                    .map(|(low, high)| (checker.wanted(low, kind), checker.wanted(high, kind)));
                let has_range = shape
                    .slot(slot)
                    .is_some_and(|s| matches!(s.definition, Definition::Parameter(_, Some(_))));
                if range.is_none() && !has_range {
                    diagnostics.push(
                        Diagnostic::error(
                            Code::NoRange,
                            name.span,
                            format!("there is no range to look for `{}` in", name.text),
                        )
                        .hint(format!("write `{} from LOWEST to HIGHEST`", name.text)),
                    );
                    known = false;
                }
                unknowns.push(Unknown {
                    slot,
                    range,
                    span: name.span,
                });
            }
            Err(diagnostic) => {
                diagnostics.push(*diagnostic);
                known = false;
            }
        }
    }
    let mut checker = Checker { shape, diagnostics };
    let mut equations = Vec::new();
    for (left, right) in &find.equations {
        let left = checker.node(left);
        if !matches!(left.kind, Kind::Quantity(_) | Kind::Unknown) {
            checker.diagnostics.push(wrong_kind(
                left.span,
                left.kind,
                "a number, with or without a unit",
            ));
        }
        let right = checker.wanted(right, left.kind);
        equations.push((left, right));
    }
    let count = |n: usize, word: &str| format!("{n} {word}{}", if n == 1 { "" } else { "s" });
    let (open, given) = (find.unknowns.len(), find.equations.len());
    if open != given {
        let message = format!(
            "{} left open, but {} to determine {}",
            count(open, "parameter"),
            count(given, "condition"),
            if open == 1 { "it" } else { "them" }
        );
        let hint = if open > given {
            "add a condition with `and`, or leave fewer open"
        } else {
            "take a condition out, or leave another parameter open"
        };
        let code = if open > given {
            Code::TooFewConditions
        } else {
            Code::TooManyConditions
        };
        diagnostics.push(Diagnostic::error(code, find.span, message).hint(hint));
        known = false;
    }
    known.then_some(Find {
        unknowns,
        equations,
        span: find.span,
    })
}

/// A cloth left open, which is not found by reckoning.
fn no_number(name: &Name) -> Diagnostic {
    let message = format!("`{}` is a cloth, so it cannot be left open", name.text);
    Diagnostic::error(Code::NotAParameter, name.span, message)
        .hint("name the cloth, and leave open a parameter of the shape")
}

/// A parameter cannot be both set and left open, nor left open twice.
fn set_and_open(style: &Style, diagnostics: &mut Vec<Diagnostic>) {
    let mut open: Vec<(SlotId, Span)> = Vec::new();
    for Unknown { slot, span, .. } in style.finds.iter().flat_map(|find| &find.unknowns) {
        let name = style.shape.slot(*slot).map_or("", |s| &*s.name);
        let sizes = style.sizes.iter().flat_map(|(_, settings)| settings);
        let own = style.levels.iter().rev().flat_map(|level| level.iter());
        if let Some(setting) = own.chain(sizes).find(|s| s.slot == *slot) {
            diagnostics.push(
                Diagnostic::error(
                    Code::SetAndOpen,
                    *span,
                    format!("`{name}` is set, so it cannot be left open as well"),
                )
                .also(setting.span, "set here")
                .hint("take one of the two out"),
            );
        } else if let Some((_, before)) = open.iter().find(|(s, _)| s == slot) {
            diagnostics.push(
                Diagnostic::error(
                    Code::OpenTwice,
                    *span,
                    format!("`{name}` is left open twice"),
                )
                .also(*before, "first left open here")
                .hint("put all conditions into one `find`"),
            );
        }
        open.push((*slot, *span));
    }
}

/// A setting given outside any file, checked for one style.
pub fn outside_setting(
    style: &Style,
    setting: &tree::Setting,
    cloths: &Cloths,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Setting> {
    if style.shape.find(&setting.name.text).is_some() {
        return check_setting(&style.shape, setting, cloths, diagnostics);
    }
    let mut diagnostic = unknown_name(&style.shape, &setting.name.text, setting.name.span);
    diagnostic.code = Code::UnknownParameter;
    diagnostic.message = format!("`{}` has no parameter `{}`", style.name, setting.name.text);
    diagnostics.push(diagnostic);
    None
}
