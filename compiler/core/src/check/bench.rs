//! Checks what the work bench reads: points of measure and the order of work. Everything they speak of
//! has been checked before; nothing reads them.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::expr::Checker;
use super::shape::doc_of;
use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Kind;
use crate::names::nearest;
use crate::program::{Inspection, MeasuringPoint, Message, MessagePart, Shape, WorkStep};
use crate::source::Span;
use crate::syntax::tree;
use crate::syntax::tree::{Item, ItemKind, Name, Text};

/// Columns that readings have beside the points, so that no point can be called so.
pub const COLUMNS: [&str; 4] = ["tie", "style", "size", "note"];

/// Adds the checked inspections and steps among `items` to a shape.
pub fn add(shape: &mut Shape, items: &[Item], diagnostics: &mut Vec<Diagnostic>) {
    let mut names = Taken::default();
    let mut points = Taken::default();
    let mut titles = Taken::default();
    for item in items {
        match &item.what {
            ItemKind::Inspection(inspection) => {
                names.take(&inspection.name, "inspection", diagnostics);
                for point in &inspection.points {
                    points.take(&point.name, "point", diagnostics);
                    diagnostics.extend(column(&point.name));
                }
                let mut checker = Checker { shape, diagnostics };
                let inspection = check_inspection(&mut checker, inspection, item.span);
                shape.inspections.push(Arc::new(inspection));
            }
            ItemKind::Work(step) => {
                let title = Name {
                    text: step.title.text.clone(),
                    span: step.title.span,
                };
                titles.take(&title, "step", diagnostics);
                let mut checker = Checker { shape, diagnostics };
                let words = joined(&mut checker, &step.words);
                let when = checker.condition(step.when.as_ref());
                shape.steps.push(Arc::new(WorkStep {
                    title: step.title.text.clone(),
                    words,
                    tool: step.tool,
                    when,
                    span: item.span,
                }));
            }
            _ => {}
        }
    }
}

/// Names in use, each with the place that declares it.
#[derive(Default)]
struct Taken(BTreeMap<Arc<str>, Span>);

impl Taken {
    fn take(&mut self, name: &Name, what: &str, diagnostics: &mut Vec<Diagnostic>) {
        let Some(first) = self.0.get(&name.text) else {
            self.0.insert(name.text.clone(), name.span);
            return;
        };
        let message = format!("two {what}s are called `{}`", name.text);
        diagnostics.push(
            Diagnostic::error(Code::DeclaredTwice, name.span, message)
                .also(*first, "the first of them")
                .hint("give one of them another name"),
        );
    }
}

/// Complains about a point called as another column of readings is.
fn column(name: &Name) -> Option<Diagnostic> {
    COLUMNS.contains(&&*name.text).then(|| {
        let message = format!("`{}` already is a column of readings", name.text);
        Diagnostic::error(Code::BuiltInName, name.span, message).hint("choose another name")
    })
}

fn check_inspection(
    checker: &mut Checker<'_, '_>,
    inspection: &tree::Inspection,
    span: Span,
) -> Inspection {
    if inspection.points.is_empty() {
        let message = format!("`{}` measures nothing", inspection.name.text);
        checker.diagnostics.push(
            Diagnostic::error(Code::EmptyInspection, inspection.name.span, message)
                .hint("give it a `point NAME along LINE within TOLERANCE`"),
        );
    }
    let outline = checker.wanted(&inspection.outline, Kind::Outline);
    let points = inspection
        .points
        .iter()
        .map(|point| MeasuringPoint {
            name: point.name.text.clone(),
            doc: doc_of(point.doc.as_ref()),
            line: checker.wanted(&point.line, Kind::Curve),
            tolerance: checker.wanted(&point.tolerance, Kind::LENGTH),
            when: checker.condition(point.when.as_ref()),
            span: point.span,
        })
        .collect();
    Inspection {
        name: inspection.name.text.clone(),
        when: inspection.when.text.clone(),
        outline,
        points,
        span,
    }
}

/// Several texts read on as one, with a blank between.
fn joined(checker: &mut Checker<'_, '_>, texts: &[tree::Template]) -> Message {
    let mut parts = Vec::new();
    for text in texts {
        if !parts.is_empty() {
            parts.push(MessagePart::Letters(" ".into()));
        }
        parts.extend(checker.message(text).parts);
    }
    Message { parts }
}

/// The declarations with the steps of the work in their order: each step that is to come `after`
/// another directly follows it. The places of all other declarations stay as they are.
pub fn in_order(items: Vec<Item>, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    let is_step = |item: &Item| matches!(item.what, ItemKind::Work(_));
    let anchored = |item: &Item| matches!(&item.what, ItemKind::Work(step) if step.after.is_some());
    if !items.iter().any(anchored) {
        return items;
    }
    let places: Vec<bool> = items.iter().map(is_step).collect();
    let (steps, others): (Vec<Item>, Vec<Item>) = items.into_iter().partition(is_step);
    let mut steps = sorted(steps, diagnostics).into_iter();
    let mut others = others.into_iter();
    places
        .into_iter()
        .filter_map(|is_step| if is_step { steps.next() } else { others.next() })
        .collect()
}

/// Steps sorted; those that cannot be placed come last, which has been reported.
fn sorted(steps: Vec<Item>, diagnostics: &mut Vec<Diagnostic>) -> Vec<Item> {
    // The first of two steps of one title is meant; that there are two is reported elsewhere.
    let mut by_title: BTreeMap<Arc<str>, usize> = BTreeMap::new();
    for (index, item) in steps.iter().enumerate() {
        if let ItemKind::Work(step) = &item.what {
            by_title.entry(step.title.text.clone()).or_insert(index);
        }
    }
    let mut roots = Vec::new();
    let mut followers: Vec<Vec<usize>> = vec![Vec::new(); steps.len()];
    for (index, item) in steps.iter().enumerate() {
        let after = match &item.what {
            ItemKind::Work(step) => step.after.as_ref(),
            _ => None,
        };
        let Some(after) = after else {
            roots.push(index);
            continue;
        };
        match by_title
            .get(&after.text)
            .and_then(|at| followers.get_mut(*at))
        {
            Some(list) => list.push(index),
            None => {
                diagnostics.push(unknown_step(after, by_title.keys().map(|title| &**title)));
                roots.push(index);
            }
        }
    }
    let mut open: Vec<usize> = roots.into_iter().rev().collect();
    let mut order = Vec::with_capacity(steps.len());
    while let Some(index) = open.pop() {
        order.push(index);
        open.extend(followers.get(index).into_iter().flatten().rev());
    }
    let mut slots: Vec<Option<Item>> = steps.into_iter().map(Some).collect();
    let mut out: Vec<Item> = Vec::with_capacity(slots.len());
    out.extend(order.iter().filter_map(|at| slots.get_mut(*at)?.take()));
    let circle: Vec<Item> = slots.into_iter().flatten().collect();
    diagnostics.extend(in_circle(&circle));
    out.extend(circle);
    out.iter_mut().for_each(|item| {
        if let ItemKind::Work(step) = &mut item.what {
            step.after = None;
        }
    });
    out
}

fn unknown_step<'a>(after: &Text, known: impl Iterator<Item = &'a str>) -> Diagnostic {
    let message = format!("there is no step \"{}\" to come after", after.text);
    let diagnostic = Diagnostic::error(Code::UnknownStep, after.span, message);
    match nearest(&after.text, known) {
        Some(near) => diagnostic.hint(format!("did you mean \"{near}\"?")),
        None => diagnostic.hint("write the title of another step, letter by letter"),
    }
}

/// Complains about steps that come after each other in a circle.
fn in_circle(steps: &[Item]) -> Option<Diagnostic> {
    let mut spans = steps.iter().filter_map(|item| match &item.what {
        ItemKind::Work(step) => step.after.as_ref().map(|after| after.span),
        _ => None,
    });
    let mut diagnostic = Diagnostic::error(
        Code::Cycle,
        spans.next()?,
        "no step comes first among these: each comes after another of them",
    );
    for span in spans.take(MOST_SHOWN) {
        diagnostic = diagnostic.also(span, "this one too");
    }
    Some(diagnostic.hint("take `after` out of one of them"))
}

/// How many more steps of a circle are pointed at.
const MOST_SHOWN: usize = 4;
