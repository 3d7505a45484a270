//! Checks named declarations one by one; everything they read has been checked before.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::cloth;
use super::expr::{Checker, unknown_part};
use super::shape::{doc_of, read_by, role_parts, steps};
use crate::diagnostic::{Code, Diagnostic};
use crate::draft::mirrored;
use crate::kind::Kind;
use crate::names::nearest;
use crate::program::{
    Allowance, Assembly, AssemblyStep, Cut, Definition, Edges, FoldedMark, Mark, MarkKind,
    MessagePart, Node, Piece, Role, Shape, Show, Slot, SlotId, Source, Step, StepKind, Target,
    When,
};
use crate::source::Span;
use crate::syntax::tree;
use crate::syntax::tree::{AssemblyStepKind, Item, ItemKind, Name, PieceDecl, PieceItemKind};

/// Checks one item and gives its slot.
pub fn slot(shape: &Shape, item: &Item, diagnostics: &mut Vec<Diagnostic>) -> Option<Slot> {
    let mut checker = Checker { shape, diagnostics };
    let (name, doc, kind, definition, parts) = match &item.what {
        ItemKind::Parameter {
            name,
            default,
            range,
            doc,
        } => {
            let default = checker.node(default);
            if !matches!(default.kind, Kind::Quantity(_) | Kind::Unknown) {
                let wanted = "a number, with or without a unit";
                checker.diagnostics.push(super::expr::wrong_kind(
                    default.span,
                    default.kind,
                    wanted,
                ));
            }
            let kind = default.kind;
            let range = range
                .as_ref()
                .map(|(low, high)| (checker.wanted(low, kind), checker.wanted(high, kind)));
            (
                name,
                doc.as_ref(),
                kind,
                Definition::Parameter(default, range),
                Vec::new(),
            )
        }
        ItemKind::Value {
            name, value, doc, ..
        } => {
            let node = checker.node(value);
            (
                name,
                doc.as_ref(),
                node.kind,
                Definition::Value(node),
                Vec::new(),
            )
        }
        ItemKind::Cloth {
            name,
            alias,
            doc,
            lines,
        } => {
            let role = Role {
                alias: alias
                    .as_ref()
                    .and_then(|name| cloth::role(&mut checker, name)),
                stated: cloth::lines(lines, checker.diagnostics),
            };
            (
                name,
                doc.as_ref(),
                Kind::Cloth,
                Definition::Cloth(role),
                role_parts(),
            )
        }
        ItemKind::Profile { name, steps: list } | ItemKind::Path { name, steps: list } => {
            let list = steps(&mut checker, list);
            if list.len() < 2 {
                checker.diagnostics.push(
                    Diagnostic::error(
                        Code::EmptyPath,
                        name.span,
                        format!("`{}` draws nothing", name.text),
                    )
                    .hint("begin with `start` and go on with `straight` or `curve`"),
                );
            }
            let parts = list.iter().filter_map(|step| step.name.clone()).collect();
            (name, None, Kind::Curve, Definition::Steps(list), parts)
        }
        ItemKind::Outline { name, edges } => {
            let edges = check_edges(&mut checker, edges);
            let parts = edge_parts(&edges);
            (name, None, Kind::Outline, Definition::Outline(edges), parts)
        }
        ItemKind::Piece(decl) => {
            let (piece, parts) = check_piece(&mut checker, decl)?;
            (
                &decl.name,
                decl.doc.as_ref(),
                Kind::Piece,
                Definition::Piece(Box::new(piece)),
                parts,
            )
        }
        ItemKind::Assembly { name, steps } => {
            let assembly = check_assembly(&mut checker, steps);
            (
                name,
                None,
                Kind::Assembly,
                Definition::Assembly(assembly),
                Vec::new(),
            )
        }
        ItemKind::Print(_)
        | ItemKind::Require { .. }
        | ItemKind::Prove(_)
        | ItemKind::Grade { .. }
        | ItemKind::Inspection(_)
        | ItemKind::Work(_) => return None,
    };
    let reads = definition_reads(&definition);
    Some(Slot {
        name: name.text.clone(),
        doc: doc_of(doc),
        span: name.span,
        kind,
        definition,
        parts,
        reads,
    })
}

fn check_edges(checker: &mut Checker<'_, '_>, edges: &tree::Edges) -> Edges {
    let mut out: Vec<(Arc<str>, Node)> = Vec::with_capacity(edges.edges.len());
    for (name, line) in &edges.edges {
        let first = edges
            .edges
            .iter()
            .find(|(known, _)| known.text == name.text);
        if let Some((first, _)) = first.filter(|(first, _)| first.span != name.span) {
            checker.diagnostics.push(
                Diagnostic::error(
                    Code::DeclaredTwice,
                    name.span,
                    format!("two edges are called `{}`", name.text),
                )
                .also(first.span, "the first of them")
                .hint("give one of them another name"),
            );
        }
        let node = checker.line_or_curve(line);
        out.push((name.text.clone(), node));
    }
    let enough = out.len() > 1 || (out.len() == 1 && edges.both_sides);
    if !enough && edges.complete {
        checker.diagnostics.push(
            Diagnostic::error(
                Code::FewEdges,
                edges.span,
                "an outline needs two edges or more",
            )
            .hint("write each as `edge NAME = LINE`, in order round the outline"),
        );
    }
    Edges {
        edges: out,
        both_sides: edges.both_sides,
        span: edges.span,
    }
}

fn edge_parts(edges: &Edges) -> Vec<Arc<str>> {
    let mut parts: Vec<Arc<str>> = edges.edges.iter().map(|(name, _)| name.clone()).collect();
    if edges.both_sides {
        let images: Vec<Arc<str>> = parts.iter().map(|name| mirrored(name)).collect();
        parts.extend(images);
    }
    parts
}

fn check_piece(checker: &mut Checker<'_, '_>, decl: &PieceDecl) -> Option<(Piece, Vec<Arc<str>>)> {
    let when = checker.condition(decl.when.as_ref());
    let (source, mut parts) = check_source(checker, decl)?;
    let mut piece = Piece {
        source,
        when,
        cut: decl.cut,
        quantity: None,
        cloth: None,
        grain: None,
        give: None,
        cuts: Vec::new(),
        allowances: Vec::new(),
        marks: Vec::new(),
    };
    // Edges made by cuts may be named by statements that stand before the cut.
    for item in &decl.items {
        if let PieceItemKind::CutAlong { name, .. } = &item.what {
            parts.push(name.text.clone());
        }
    }
    let edges = parts.clone();
    for item in &decl.items {
        check_piece_item(checker, &mut piece, item, &edges, &mut parts);
    }
    Some((piece, parts))
}

fn check_source(
    checker: &mut Checker<'_, '_>,
    decl: &PieceDecl,
) -> Option<(Source, Vec<Arc<str>>)> {
    let mut sources: Vec<(Source, Vec<Arc<str>>, Span)> = Vec::new();
    if let Some(base) = &decl.base
        && let Some(id) = checker.resolve(&base.text, base.span)
    {
        let slot = checker.shape.slot(id)?;
        match slot.kind {
            Kind::Piece | Kind::Unknown => {
                sources.push((Source::Pattern(id), slot.parts.clone(), base.span))
            }
            kind => checker
                .diagnostics
                .push(super::expr::wrong_kind(base.span, kind, "a pattern")),
        }
    }
    for item in &decl.items {
        match &item.what {
            PieceItemKind::Outline(edges) => {
                let edges = check_edges(checker, edges);
                let parts = edge_parts(&edges);
                sources.push((Source::Edges(edges), parts, item.span));
            }
            PieceItemKind::OutlineOf(expr) => {
                let node = checker.wanted(expr, Kind::Outline);
                let parts = match &node.op {
                    crate::program::Op::Slot(id) => checker
                        .shape
                        .slot(*id)
                        .map_or_else(Vec::new, |s| s.parts.clone()),
                    _ => Vec::new(),
                };
                sources.push((Source::Outline(node), parts, item.span));
            }
            _ => {}
        }
    }
    if let [(_, _, first), (_, _, span), ..] = sources.as_slice() {
        checker.diagnostics.push(
            Diagnostic::error(
                Code::TwoOutlines,
                *span,
                format!("`{}` already has an outline", decl.name.text),
            )
            .also(*first, "it is given here")
            .hint("a piece has one outline, or takes that of the pattern it is cut from"),
        );
    }
    match sources.into_iter().next() {
        Some((source, parts, _)) => Some((source, parts)),
        None => {
            if decl.base.is_none() {
                checker.diagnostics.push(
                    Diagnostic::error(
                        Code::NoOutline,
                        decl.name.span,
                        format!("`{}` has no outline", decl.name.text),
                    )
                    .hint("give it one with `outline { … }`, or cut it `from` a pattern"),
                );
            }
            None
        }
    }
}

fn check_piece_item(
    checker: &mut Checker<'_, '_>,
    piece: &mut Piece,
    item: &tree::PieceItem,
    edges: &[Arc<str>],
    parts: &mut Vec<Arc<str>>,
) {
    let when = checker.condition(item.when.as_ref());
    let mut mark = |what: MarkKind, name: &Option<Name>, parts: &mut Vec<Arc<str>>| {
        let name = name.as_ref().map(|n| n.text.clone());
        if let Some(name) = &name {
            parts.push(name.clone());
            if item.both_sides {
                parts.push(mirrored(name));
            }
        }
        piece.marks.push(Mark {
            what,
            name,
            both_sides: item.both_sides,
            when: when.clone(),
            span: item.span,
        });
    };
    match &item.what {
        PieceItemKind::Outline(_) | PieceItemKind::OutlineOf(_) => {}
        PieceItemKind::Quantity(e) => piece.quantity = Some(checker.wanted(e, Kind::NUMBER)),
        PieceItemKind::Cloth(name) => piece.cloth = cloth::role(checker, name),
        PieceItemKind::Grain(e) => piece.grain = Some(checker.wanted(e, Kind::ANGLE)),
        PieceItemKind::Give(e) => piece.give = Some(checker.wanted(e, Kind::NUMBER)),
        PieceItemKind::CutAlong { line, keep, name } => {
            let line = checker.wanted(line, Kind::Line);
            let keep = checker.wanted(keep, Kind::Point);
            piece.cuts.push(Cut {
                line,
                keep,
                name: name.text.clone(),
                when,
                span: item.span,
            });
        }
        PieceItemKind::Allowance {
            edges: on,
            amount,
            join,
        } => {
            let amount = checker.wanted(amount, Kind::LENGTH);
            let mut names = Vec::new();
            for name in on {
                known_edge(checker, edges, name);
                names.push(name.text.clone());
                if item.both_sides {
                    names.push(mirrored(&name.text));
                }
            }
            piece.allowances.push(Allowance {
                edges: names,
                amount,
                join: *join,
                when,
                span: item.span,
            });
        }
        PieceItemKind::Sew(e, name) => mark(MarkKind::Sew(checker.line_or_curve(e)), name, parts),
        PieceItemKind::Fold(e, name) => mark(MarkKind::Fold(checker.line_or_curve(e)), name, parts),
        PieceItemKind::Place(e, name) => {
            mark(MarkKind::Place(checker.line_or_curve(e)), name, parts)
        }
        PieceItemKind::Drill(e, name) => {
            mark(MarkKind::Drill(checker.wanted(e, Kind::Point)), name, parts)
        }
        PieceItemKind::Notch {
            kind,
            edge,
            at,
            depth,
            width,
            name,
        } => {
            known_edge(checker, edges, edge);
            let at = checker.node(at);
            if !at.kind.fits(Kind::Point) && !at.kind.fits(Kind::LENGTH) {
                let wanted = "a length along the edge, or a point on it";
                checker
                    .diagnostics
                    .push(super::expr::wrong_kind(at.span, at.kind, wanted));
            }
            let depth = checker.wanted(depth, Kind::LENGTH);
            let width = width.as_ref().map(|e| checker.wanted(e, Kind::LENGTH));
            mark(
                MarkKind::Notch {
                    kind: *kind,
                    edge: edge.text.clone(),
                    at,
                    depth,
                    width,
                },
                name,
                parts,
            );
        }
        PieceItemKind::Text { words, at, turned } => {
            let words = checker.message(words);
            let at = checker.wanted(at, Kind::Point);
            let turned = turned.as_ref().map(|e| checker.wanted(e, Kind::ANGLE));
            mark(MarkKind::Text { words, at, turned }, &None, parts);
        }
    }
}

fn known_edge(checker: &mut Checker<'_, '_>, edges: &[Arc<str>], name: &Name) {
    if edges.contains(&name.text) {
        return;
    }
    let mut diagnostic = Diagnostic::error(
        Code::UnknownPart,
        name.span,
        format!("the piece has no edge called `{}`", name.text),
    );
    diagnostic = match nearest(&name.text, edges.iter().map(|e| &**e)) {
        Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
        None => {
            let list = super::expr::listed(edges.iter().map(|e| &**e));
            diagnostic.hint(format!("its edges are {list}"))
        }
    };
    checker.diagnostics.push(diagnostic);
}

fn check_assembly(checker: &mut Checker<'_, '_>, steps: &[tree::AssemblyStep]) -> Assembly {
    let mut out = Assembly::default();
    let mut marks: BTreeMap<Arc<str>, Span> = BTreeMap::new();
    for step in steps {
        let when = checker.condition(step.when.as_ref());
        let what = match &step.what {
            AssemblyStepKind::Lay(name) => {
                piece_slot(checker, name).map(|id| AssemblyStep::Lay(id, step.span))
            }
            AssemblyStepKind::Sew { moved, to } => {
                let moved = piece_edge(checker, moved);
                let to = piece_edge(checker, to);
                moved.zip(to).map(|(moved, to)| AssemblyStep::Sew {
                    moved,
                    to,
                    span: step.span,
                })
            }
            AssemblyStepKind::Fold(crease) => {
                let crease = checker.line_or_curve(crease);
                Some(AssemblyStep::Fold(crease, step.both_sides, step.span))
            }
            AssemblyStepKind::Pleat(first, second) => {
                let lines = (checker.line_or_curve(first), checker.line_or_curve(second));
                Some(AssemblyStep::Pleat {
                    lines,
                    both_sides: step.both_sides,
                    span: step.span,
                })
            }
            AssemblyStepKind::Finish(outline) => {
                let outline = checker.wanted(outline, Kind::Outline);
                Some(AssemblyStep::Finish(outline))
            }
            AssemblyStepKind::Show(outline, cloth, lies) => {
                let outline = checker.wanted(outline, Kind::Outline);
                cloth::role(checker, cloth).map(|cloth| {
                    AssemblyStep::Show(Show {
                        outline,
                        cloth,
                        lies: *lies,
                    })
                })
            }
            AssemblyStepKind::Mark(line, name, side) => {
                let line = checker.line_or_curve(line);
                if let Some(first) = marks.insert(name.text.clone(), name.span) {
                    let message = format!("two marks are called `{}`", name.text);
                    let diagnostic = Diagnostic::error(Code::DeclaredTwice, name.span, message)
                        .also(first, "the first of them")
                        .hint("give one of them another name");
                    checker.diagnostics.push(diagnostic);
                }
                Some(AssemblyStep::Mark(FoldedMark {
                    line,
                    name: name.text.clone(),
                    side: *side,
                    both_sides: step.both_sides,
                    span: step.span,
                }))
            }
        };
        out.steps.extend(what.map(|what| When { when, what }));
    }
    out
}

fn piece_slot(checker: &mut Checker<'_, '_>, name: &Name) -> Option<SlotId> {
    let id = checker.resolve(&name.text, name.span)?;
    let kind = checker.shape.slot(id)?.kind;
    if !kind.fits(Kind::Piece) {
        checker
            .diagnostics
            .push(super::expr::wrong_kind(name.span, kind, "a piece"));
        return None;
    }
    Some(id)
}

fn piece_edge(checker: &mut Checker<'_, '_>, edge: &(Name, Name)) -> Option<(SlotId, Arc<str>)> {
    let id = piece_slot(checker, &edge.0)?;
    let slot = checker.shape.slot(id)?;
    if slot.kind == Kind::Piece && !slot.parts.contains(&edge.1.text) {
        let diagnostic = unknown_part(&slot.name, &slot.parts, &edge.1);
        checker.diagnostics.push(diagnostic);
        return None;
    }
    Some((id, edge.1.text.clone()))
}

fn definition_reads(definition: &Definition) -> Vec<SlotId> {
    let mut nodes: Vec<&Node> = Vec::new();
    let mut direct: Vec<SlotId> = Vec::new();
    match definition {
        Definition::Parameter(default, range) => {
            nodes.push(default);
            nodes.extend(range.iter().flat_map(|(low, high)| [low, high]));
        }
        Definition::Value(node) => nodes.push(node),
        Definition::Cloth(role) => direct.extend(role.alias),
        Definition::Steps(steps) => steps.iter().for_each(|step| step_nodes(step, &mut nodes)),
        Definition::Outline(edges) => nodes.extend(edges.edges.iter().map(|(_, node)| node)),
        Definition::Piece(piece) => piece_nodes(piece, &mut nodes, &mut direct),
        Definition::Assembly(assembly) => {
            for step in &assembly.steps {
                nodes.extend(&step.when);
                match &step.what {
                    AssemblyStep::Lay(id, _) => direct.push(*id),
                    AssemblyStep::Sew { moved, to, .. } => direct.extend([moved.0, to.0]),
                    AssemblyStep::Fold(node, ..) | AssemblyStep::Finish(node) => nodes.push(node),
                    AssemblyStep::Pleat { lines, .. } => nodes.extend([&lines.0, &lines.1]),
                    AssemblyStep::Show(show) => {
                        nodes.push(&show.outline);
                        direct.push(show.cloth);
                    }
                    AssemblyStep::Mark(mark) => nodes.push(&mark.line),
                }
            }
        }
        Definition::Unknown => {}
    }
    let mut out = read_by(nodes);
    out.extend(direct);
    out.sort_unstable();
    out.dedup();
    out
}

fn step_nodes<'n>(step: &'n Step, nodes: &mut Vec<&'n Node>) {
    let target = match &step.what {
        StepKind::Start(target) | StepKind::Straight(target) => target,
        StepKind::Curve(target, a, b) => {
            nodes.extend([a, b]);
            target
        }
    };
    match target {
        Target::Station(a, b) | Target::Run(a, b) => nodes.extend([a, b]),
        Target::Point(a) | Target::By(a) => nodes.push(a),
    }
}

fn piece_nodes<'n>(piece: &'n Piece, nodes: &mut Vec<&'n Node>, direct: &mut Vec<SlotId>) {
    match &piece.source {
        Source::Pattern(id) => direct.push(*id),
        Source::Edges(edges) => nodes.extend(edges.edges.iter().map(|(_, node)| node)),
        Source::Outline(node) => nodes.push(node),
    }
    direct.extend(piece.cloth);
    let own = [&piece.when, &piece.quantity, &piece.grain, &piece.give];
    nodes.extend(own.into_iter().flatten());
    nodes.extend(piece.cuts.iter().flat_map(|cut| [&cut.line, &cut.keep]));
    nodes.extend(piece.cuts.iter().flat_map(|cut| &cut.when));
    nodes.extend(piece.allowances.iter().map(|a| &a.amount));
    nodes.extend(piece.allowances.iter().flat_map(|a| &a.when));
    for mark in &piece.marks {
        nodes.extend(&mark.when);
        match &mark.what {
            MarkKind::Sew(e) | MarkKind::Fold(e) | MarkKind::Place(e) | MarkKind::Drill(e) => {
                nodes.push(e)
            }
            MarkKind::Notch {
                at, depth, width, ..
            } => {
                nodes.extend([at, depth]);
                nodes.extend(width);
            }
            MarkKind::Text { words, at, turned } => {
                nodes.push(at);
                nodes.extend(turned);
                nodes.extend(words.parts.iter().filter_map(|part| match part {
                    MessagePart::Value(node) => Some(node),
                    MessagePart::Letters(_) => None,
                }));
            }
        }
    }
}
