//! Checks shapes: declares names, orders declarations, and checks each.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::expr::Checker;
use super::{cloth, order};
use crate::cloth::PROPERTIES;
use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Kind;
use crate::phrase::{CENTRE, CONSTANTS, FORMS, FUNCTIONS};
use crate::program::{
    Bound, Definition, Node, Prove, Require, Shape, Slot, SlotId, Step, StepKind, Target,
    printable, reads,
};
use crate::source::Span;
use crate::syntax::lexis::UNITS;
use crate::syntax::tree;
use crate::syntax::tree::{Item, ItemKind, Name};

/// A shape with nothing in it yet.
pub fn empty(name: &Name, doc: Option<&tree::Text>) -> Shape {
    Shape {
        name: name.text.clone(),
        doc: doc_of(doc),
        span: name.span,
        slots: Vec::new(),
        names: BTreeMap::new(),
        roles: BTreeMap::new(),
        measures: Vec::new(),
        requires: Vec::new(),
        proofs: Vec::new(),
        grades: Vec::new(),
        inspections: Vec::new(),
        steps: Vec::new(),
    }
}

/// The letters of a doc line; empty if there is none.
pub fn doc_of(doc: Option<&tree::Text>) -> Arc<str> {
    doc.map_or_else(|| Arc::from(""), |doc| doc.text.clone())
}

/// Adds checked declarations to a shape: all of a shape's own, or those a style adds.
pub fn add_items(shape: &mut Shape, items: &[Item], diagnostics: &mut Vec<Diagnostic>) {
    let roles = cloth::declared_by_use(shape, items);
    let named = declare(shape, items.iter().chain(&roles), diagnostics);
    let first = shape.slots.len() - named.len();
    for index in sorted(shape, first, &named, diagnostics) {
        let Some(item) = named.get(index) else {
            continue;
        };
        let slot = super::item::slot(shape, item, diagnostics);
        if let (Some(slot), Some(place)) = (slot, shape.slots.get_mut(first + index)) {
            *place = Arc::new(slot);
        }
    }
    measures(shape, items, diagnostics);
    conditions(shape, items, diagnostics);
    super::grade::grades(shape, items, diagnostics);
    super::bench::add(shape, items, diagnostics);
}

/// Gives every named item a slot, of unknown kind unless it is a role; reports names used twice or not to be had.
fn declare<'i>(
    shape: &mut Shape,
    items: impl Iterator<Item = &'i Item>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<&'i Item> {
    let mut named = Vec::new();
    let mut pieces: BTreeSet<&str> = BTreeSet::new();
    for item in items {
        let Some(name) = item_name(&item.what) else {
            continue;
        };
        let is_role = matches!(item.what, ItemKind::Cloth { .. });
        let is_piece = cloth::may_share(&item.what);
        let others = match is_role {
            true if pieces.contains(&*name.text) => shape.roles.get(&name.text).copied(),
            _ if is_piece => shape.names.get(&name.text).copied(),
            _ => shape.find(&name.text).map(|(id, _)| id),
        };
        if let Some(diagnostic) = taken(shape, name, others) {
            diagnostics.push(diagnostic);
            continue;
        }
        let id = SlotId(u32::try_from(shape.slots.len()).unwrap_or(u32::MAX));
        if is_piece {
            pieces.insert(&name.text);
        }
        // What can be read of a role is known at once, so that nothing needs to come after it.
        let (names, kind, parts) = match is_role {
            true => (&mut shape.roles, Kind::Cloth, role_parts()),
            false => (&mut shape.names, Kind::Unknown, Vec::new()),
        };
        names.insert(name.text.clone(), id);
        shape.slots.push(Arc::new(Slot {
            name: name.text.clone(),
            doc: Arc::from(""),
            span: name.span,
            kind,
            definition: Definition::Unknown,
            parts,
            reads: Vec::new(),
        }));
        named.push(item);
    }
    named
}

/// What can be read of a cloth role.
pub fn role_parts() -> Vec<Arc<str>> {
    PROPERTIES.iter().map(|row| Arc::from(row.word)).collect()
}

/// The name an item declares.
pub fn item_name(item: &ItemKind) -> Option<&Name> {
    match item {
        ItemKind::Parameter { name, .. }
        | ItemKind::Cloth { name, .. }
        | ItemKind::Value { name, .. }
        | ItemKind::Profile { name, .. }
        | ItemKind::Path { name, .. }
        | ItemKind::Outline { name, .. }
        | ItemKind::Assembly { name, .. } => Some(name),
        ItemKind::Piece(piece) => Some(&piece.name),
        // Nothing is made from an inspection or a step, so their names are no names of values.
        ItemKind::Print(_)
        | ItemKind::Require { .. }
        | ItemKind::Prove(_)
        | ItemKind::Grade { .. }
        | ItemKind::Inspection(_)
        | ItemKind::Work(_) => None,
    }
}

/// Complains about a name that `other` has already, or the language.
fn taken(shape: &Shape, name: &Name, other: Option<SlotId>) -> Option<Diagnostic> {
    if let Some(slot) = other.and_then(|id| shape.slot(id)) {
        return Some(
            Diagnostic::error(
                Code::DeclaredTwice,
                name.span,
                format!("`{}` is declared twice", name.text),
            )
            .also(slot.span, "first declared here")
            .hint("give one of them another name"),
        );
    }
    let text = &*name.text;
    let built_in = text == CENTRE
        || CONSTANTS.iter().any(|c| c.0 == text)
        || FUNCTIONS.iter().any(|f| f.0 == text)
        || UNITS.iter().any(|u| u.0 == text)
        || FORMS.iter().any(|form| form.leads() && form.word == text);
    built_in.then(|| {
        Diagnostic::error(
            Code::BuiltInName,
            name.span,
            format!("`{text}` already means something in the language"),
        )
        .hint("choose another name")
    })
}

/// The order in which to check the named items; reports cycles.
fn sorted(
    shape: &Shape,
    first: usize,
    named: &[&Item],
    diagnostics: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let reads: Vec<Vec<usize>> = named
        .iter()
        .map(|item| {
            let mut out = BTreeSet::new();
            order::item_names(&item.what, &mut |name, part| {
                // Roles are known from the start, but for what they are cut from.
                if part.is_some_and(|part| shape.find_property(name, part).is_some()) {
                    return;
                }
                let id = match &item.what {
                    ItemKind::Cloth { .. } => shape.roles.get(name),
                    _ => shape.names.get(name),
                };
                out.extend(id.and_then(|id| id.index().checked_sub(first)));
            });
            out.into_iter().collect()
        })
        .collect();
    let sorted = order::sort(&reads);
    for cycle in &sorted.cycles {
        let links: Vec<(&str, Span)> = cycle
            .iter()
            .filter_map(|index| shape.slots.get(first + index))
            .map(|slot| (&*slot.name, slot.span))
            .collect();
        diagnostics.extend(cycle_diagnostic(&links));
    }
    sorted.order
}

/// Describes names that are made from one another in a circle, each with the place that says so.
pub fn cycle_diagnostic(links: &[(&str, Span)]) -> Option<Diagnostic> {
    let (start, span) = *links.first()?;
    if links.len() == 1 {
        return Some(
            Diagnostic::error(Code::Cycle, span, format!("`{start}` is made from itself"))
                .hint("say what it is without using its own name"),
        );
    }
    let mut chain: Vec<String> = links
        .iter()
        .take(8)
        .map(|(name, _)| format!("`{name}`"))
        .collect();
    if links.len() > 8 {
        chain.push("…".into());
    }
    chain.push(format!("`{start}`"));
    let mut diagnostic = Diagnostic::error(
        Code::Cycle,
        span,
        format!("these are made from each other: {}", chain.join(" from ")),
    );
    for (_, span) in links.iter().skip(1).take(7) {
        diagnostic = diagnostic.also(*span, "part of the circle");
    }
    Some(diagnostic.hint("one of them must be said without the others"))
}

/// Collects what is printed. A measure needs a value that can be written with a unit.
fn measures(shape: &mut Shape, items: &[Item], diagnostics: &mut Vec<Diagnostic>) {
    for item in items {
        let (ItemKind::Value {
            name,
            measure: true,
            ..
        }
        | ItemKind::Print(name)) = &item.what
        else {
            continue;
        };
        let mut checker = Checker { shape, diagnostics };
        let Some(id) = checker.resolve(&name.text, name.span) else {
            continue;
        };
        let kind = shape.slot(id).map_or(Kind::Unknown, |slot| slot.kind);
        match kind {
            Kind::Quantity(dim) if printable(dim) => {}
            Kind::Unknown => {}
            kind => {
                let wanted = "a number, a length, an area or an angle";
                diagnostics.push(super::expr::wrong_kind(name.span, kind, wanted).hint(
                    match &item.what {
                        ItemKind::Print(_) => {
                            "print a measure of it, as in `measure NAME = length of …`"
                        }
                        _ => "a measure is printed; leave out `measure` to only name it",
                    },
                ));
            }
        }
        if !shape.measures.contains(&id) {
            shape.measures.push(id);
        }
    }
}

/// Checks what bears no name: requirements and the proof.
fn conditions(shape: &mut Shape, items: &[Item], diagnostics: &mut Vec<Diagnostic>) {
    for item in items {
        let mut checker = Checker { shape, diagnostics };
        match &item.what {
            ItemKind::Require { condition, message } => {
                let condition = checker.wanted(condition, Kind::Truth);
                let message = checker.message(message);
                shape.requires.push(Arc::new(Require {
                    condition,
                    message,
                    span: item.span,
                }));
            }
            ItemKind::Prove(prove) => {
                let prove = proof(&mut checker, prove, item);
                shape.proofs.push(Arc::new(prove));
            }
            _ => {}
        }
    }
}

fn proof(checker: &mut Checker<'_, '_>, prove: &tree::Prove, item: &Item) -> Prove {
    let value = checker.node(&prove.value);
    let kind = match value.kind {
        Kind::Quantity(dim) if printable(dim) => value.kind,
        Kind::Unknown => Kind::Unknown,
        other => {
            let wanted = "a number, a length, an area or an angle";
            checker
                .diagnostics
                .push(super::expr::wrong_kind(value.span, other, wanted));
            Kind::Unknown
        }
    };
    let bound = match &prove.bound {
        tree::Bound::AtMost(limit) => Bound::AtMost(checker.wanted(limit, kind)),
        tree::Bound::AtLeast(limit) => Bound::AtLeast(checker.wanted(limit, kind)),
        tree::Bound::Within(target, tolerance) => Bound::Within(
            checker.wanted(target, kind),
            checker.wanted(tolerance, kind),
        ),
    };
    let advice = prove.advice.as_ref().map(|advice| checker.message(advice));
    let when = checker.condition(prove.when.as_ref());
    Prove {
        name: prove.name.text.clone(),
        value,
        bound,
        advice,
        when,
        advisory: prove.advisory,
        span: item.span,
    }
}

/// Checks the steps of a profile or path.
pub fn steps(checker: &mut Checker<'_, '_>, steps: &[tree::Step]) -> Vec<Step> {
    let mut out = Vec::with_capacity(steps.len());
    for (index, step) in steps.iter().enumerate() {
        let starts = matches!(step.what, tree::StepKind::Start(_));
        if starts != (index == 0) {
            checker.diagnostics.push(
                Diagnostic::error(Code::StartStep, step.span, if starts { "only the first step is a `start`" } else { "the first step must be a `start`" })
                    .hint("a profile or path begins with one `start` and goes on with `straight` and `curve`"),
            );
        }
        let what = match &step.what {
            tree::StepKind::Start(t) => StepKind::Start(target(checker, t)),
            tree::StepKind::Straight(t) => StepKind::Straight(target(checker, t)),
            tree::StepKind::Curve(t, a, b) => {
                let kind = match t {
                    tree::Target::Station(..) | tree::Target::Run(..) => Kind::LENGTH,
                    tree::Target::Point(_) | tree::Target::By(_) => Kind::Point,
                };
                StepKind::Curve(
                    target(checker, t),
                    checker.wanted(a, kind),
                    checker.wanted(b, kind),
                )
            }
        };
        out.push(Step {
            what,
            name: step.name.as_ref().map(|n| n.text.clone()),
            span: step.span,
        });
    }
    out
}

fn target(checker: &mut Checker<'_, '_>, target: &tree::Target) -> Target {
    let mut length = |e| checker.wanted(e, Kind::LENGTH);
    match target {
        tree::Target::Station(a, b) => Target::Station(length(a), length(b)),
        tree::Target::Run(a, b) => Target::Run(length(a), length(b)),
        tree::Target::Point(p) => Target::Point(checker.wanted(p, Kind::Point)),
        tree::Target::By(p) => Target::By(checker.wanted(p, Kind::Point)),
    }
}

/// Collects the slots read by nodes.
pub fn read_by<'n>(nodes: impl IntoIterator<Item = &'n Node>) -> Vec<SlotId> {
    let mut out = BTreeSet::new();
    for node in nodes {
        reads(node, &mut |id| {
            out.insert(id);
        });
    }
    out.into_iter().collect()
}
