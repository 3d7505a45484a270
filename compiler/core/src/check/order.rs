//! Which declarations read which, and an order in which each comes after all it reads.
//!
//! Works on the syntax tree, before kinds are known, and without recursion over declarations, so
//! that a chain of any length is no danger to the stack.

use crate::program::SlotId;
use crate::syntax::tree::{
    AssemblyStep, AssemblyStepKind, Bound, Edges, Expr, ExprKind, ItemKind, MeasuringPoint,
    PieceDecl, PieceItem, PieceItemKind, Step, StepKind, Target, Template, TemplatePart,
};

/// What is done with a name: it, and the part of it that is meant if it is not the whole.
pub type Visit<'v> = dyn FnMut(&str, Option<&str>) + 'v;

/// Calls `visit` with every name an expression uses.
pub fn expr_names(expr: &Expr, visit: &mut Visit<'_>) {
    match &expr.what {
        ExprKind::Number(..) => {}
        ExprKind::Name(name) => visit(name, None),
        ExprKind::Part(name, part) => visit(&name.text, Some(&part.text)),
        ExprKind::Negate(a) | ExprKind::Not(a) => expr_names(a, visit),
        ExprKind::Binary(_, a, b) | ExprKind::Pair(a, b) => {
            expr_names(a, visit);
            expr_names(b, visit);
        }
        ExprKind::If(a, b, c) => {
            expr_names(a, visit);
            expr_names(b, visit);
            expr_names(c, visit);
        }
        ExprKind::Call(_, list) => list.iter().for_each(|a| expr_names(a, visit)),
        ExprKind::Phrase(_, places) => places.iter().flatten().for_each(|a| expr_names(a, visit)),
    }
}

/// Calls `visit` with every name the definition of a named item uses.
pub fn item_names(item: &ItemKind, visit: &mut Visit<'_>) {
    match item {
        ItemKind::Parameter { default, range, .. } => {
            expr_names(default, visit);
            if let Some((low, high)) = range {
                expr_names(low, visit);
                expr_names(high, visit);
            }
        }
        ItemKind::Value { value, .. } => expr_names(value, visit),
        ItemKind::Cloth { alias, .. } => alias.iter().for_each(|role| visit(&role.text, None)),
        ItemKind::Profile { steps, .. } | ItemKind::Path { steps, .. } => {
            steps.iter().for_each(|step| step_names(step, visit));
        }
        ItemKind::Outline { edges, .. } => edge_names(edges, visit),
        ItemKind::Piece(piece) => piece_names(piece, visit),
        ItemKind::Assembly { steps, .. } => {
            steps
                .iter()
                .for_each(|step| assembly_step_names(step, visit));
        }
        // Nothing can read these.
        ItemKind::Print(_)
        | ItemKind::Require { .. }
        | ItemKind::Prove(_)
        | ItemKind::Grade { .. }
        | ItemKind::Inspection(_)
        | ItemKind::Work(_) => {}
    }
}

/// Calls `visit` with every name that an item without a name of its own speaks of.
pub fn nameless_names(item: &ItemKind, visit: &mut Visit<'_>) {
    match item {
        ItemKind::Print(name) | ItemKind::Grade { graded: name, .. } => visit(&name.text, None),
        ItemKind::Require { condition, message } => {
            expr_names(condition, visit);
            template_names(message, visit);
        }
        ItemKind::Prove(prove) => {
            expr_names(&prove.value, visit);
            match &prove.bound {
                Bound::AtMost(limit) | Bound::AtLeast(limit) => expr_names(limit, visit),
                Bound::Within(target, tolerance) => {
                    expr_names(target, visit);
                    expr_names(tolerance, visit);
                }
            }
            prove
                .advice
                .iter()
                .for_each(|advice| template_names(advice, visit));
            prove.when.iter().for_each(|when| expr_names(when, visit));
        }
        ItemKind::Work(step) => {
            let words = step.words.iter();
            words.for_each(|text| template_names(text, visit));
            step.when.iter().for_each(|when| expr_names(when, visit));
        }
        _ => {}
    }
}

/// Calls `visit` with every name that a point of measure speaks of.
pub fn point_names(point: &MeasuringPoint, visit: &mut Visit<'_>) {
    expr_names(&point.line, visit);
    expr_names(&point.tolerance, visit);
    point.when.iter().for_each(|when| expr_names(when, visit));
}

fn step_names(step: &Step, visit: &mut Visit<'_>) {
    let target = match &step.what {
        StepKind::Start(target) | StepKind::Straight(target) => target,
        StepKind::Curve(target, a, b) => {
            expr_names(a, visit);
            expr_names(b, visit);
            target
        }
    };
    match target {
        Target::Station(a, b) | Target::Run(a, b) => {
            expr_names(a, visit);
            expr_names(b, visit);
        }
        Target::Point(a) | Target::By(a) => expr_names(a, visit),
    }
}

fn edge_names(edges: &Edges, visit: &mut Visit<'_>) {
    edges
        .edges
        .iter()
        .for_each(|(_, line)| expr_names(line, visit));
}

fn piece_names(piece: &PieceDecl, visit: &mut Visit<'_>) {
    piece.base.iter().for_each(|base| visit(&base.text, None));
    piece.when.iter().for_each(|when| expr_names(when, visit));
    for item in &piece.items {
        piece_item_names(item, visit);
    }
}

/// Calls `visit` with every name a statement of a piece uses.
pub fn piece_item_names(item: &PieceItem, visit: &mut Visit<'_>) {
    item.when.iter().for_each(|when| expr_names(when, visit));
    match &item.what {
        // A role is known from the start.
        PieceItemKind::Cloth(_) => {}
        PieceItemKind::Outline(edges) => edge_names(edges, visit),
        PieceItemKind::Quantity(e)
        | PieceItemKind::Grain(e)
        | PieceItemKind::Give(e)
        | PieceItemKind::OutlineOf(e)
        | PieceItemKind::Sew(e, _)
        | PieceItemKind::Fold(e, _)
        | PieceItemKind::Place(e, _)
        | PieceItemKind::Drill(e, _)
        | PieceItemKind::Allowance { amount: e, .. } => expr_names(e, visit),
        PieceItemKind::CutAlong { line, keep, .. } => {
            expr_names(line, visit);
            expr_names(keep, visit);
        }
        PieceItemKind::Notch {
            at, depth, width, ..
        } => {
            expr_names(at, visit);
            expr_names(depth, visit);
            width.iter().for_each(|e| expr_names(e, visit));
        }
        PieceItemKind::Text { words, at, turned } => {
            template_names(words, visit);
            expr_names(at, visit);
            turned.iter().for_each(|e| expr_names(e, visit));
        }
    }
}

/// Calls `visit` with every name a step of an assembly uses.
pub fn assembly_step_names(step: &AssemblyStep, visit: &mut Visit<'_>) {
    step.when.iter().for_each(|when| expr_names(when, visit));
    match &step.what {
        AssemblyStepKind::Lay(piece) => visit(&piece.text, None),
        AssemblyStepKind::Sew { moved, to } => {
            visit(&moved.0.text, None);
            visit(&to.0.text, None);
        }
        AssemblyStepKind::Fold(e)
        | AssemblyStepKind::Finish(e)
        | AssemblyStepKind::Show(e, ..)
        | AssemblyStepKind::Mark(e, ..) => expr_names(e, visit),
        AssemblyStepKind::Pleat(first, second) => {
            expr_names(first, visit);
            expr_names(second, visit);
        }
    }
}

fn template_names(template: &Template, visit: &mut Visit<'_>) {
    for part in &template.parts {
        if let TemplatePart::Value(expr) = part {
            expr_names(expr, visit);
        }
    }
}

/// What sorting found.
pub struct Order {
    /// Every node, each after all it reads (nodes on a cycle stand in some order).
    pub order: Vec<usize>,
    /// Cycles found: each a list of nodes that read one another in turn.
    pub cycles: Vec<Vec<usize>>,
}

/// Sorts nodes `0..reads.len()` so that each comes after the nodes it reads. Among equals the
/// order of declaration stands.
pub fn sort(reads: &[Vec<usize>]) -> Order {
    let of = |node: usize| reads.get(node).map_or(&[][..], Vec::as_slice);
    walk(reads.len(), 0..reads.len(), of, |node| *node)
}

/// Sorts only the slots that `roots` depend on, themselves included, out of `count` slots; `reads`
/// gives what a slot reads.
pub fn sort_from<'a>(
    count: usize,
    roots: &[SlotId],
    reads: impl Fn(usize) -> &'a [SlotId],
) -> Order {
    walk(count, roots.iter().map(|id| id.index()), reads, |id| {
        id.index()
    })
}

/// Depth first from each root in turn; a node goes out after all it reads.
fn walk<'a, N: 'a>(
    count: usize,
    roots: impl Iterator<Item = usize>,
    reads: impl Fn(usize) -> &'a [N],
    index: impl Fn(&N) -> usize,
) -> Order {
    #[derive(Clone, Copy, PartialEq)]
    enum State {
        New,
        Open,
        Done,
    }
    let mut state = vec![State::New; count];
    let mut out = Order {
        order: Vec::with_capacity(count),
        cycles: Vec::new(),
    };
    for root in roots {
        match state.get_mut(root) {
            Some(new) if *new == State::New => *new = State::Open,
            _ => continue,
        }
        let mut stack = vec![(root, reads(root).iter())];
        while let Some((node, rest)) = stack.last_mut() {
            let Some(child) = rest.next().map(&index) else {
                state[*node] = State::Done;
                out.order.push(*node);
                stack.pop();
                continue;
            };
            match state.get(child) {
                Some(State::New) => {
                    state[child] = State::Open;
                    stack.push((child, reads(child).iter()));
                }
                Some(State::Open) => {
                    let from = stack.iter().position(|(n, _)| *n == child).unwrap_or(0);
                    out.cycles
                        .push(stack[from..].iter().map(|(n, _)| *n).collect());
                }
                _ => {}
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_comes_after_what_it_reads() {
        let sorted = sort(&[vec![2], vec![0], vec![]]);
        assert_eq!(sorted.order, [2, 0, 1]);
        assert!(sorted.cycles.is_empty());
    }

    #[test]
    fn finds_a_cycle_and_a_self_reading_node() {
        let sorted = sort(&[vec![1], vec![0], vec![2]]);
        assert_eq!(sorted.cycles, [vec![0, 1], vec![2]]);
        assert_eq!(sorted.order.len(), 3);
    }

    #[test]
    fn a_chain_of_a_million_does_not_overflow_the_stack() {
        let reads: Vec<Vec<usize>> = (0..1_000_000)
            .map(|n| if n == 999_999 { vec![] } else { vec![n + 1] })
            .collect();
        assert_eq!(sort(&reads).order[0], 999_999);
    }
}
