//! Checks cloths: those of the files, the roles of shapes, and roles set to cloths. Input: what the
//! lines say; output: checked lines, which are worked out later.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::expr::{Checker, listed, wrong_kind};
use super::shape::doc_of;
use crate::cloth::{BIAS, DIRECTION};
use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Kind;
use crate::names::nearest;
use crate::program::{Cloth, Definition, Node, Op, Setting, Shape, SlotId, Stated, StatedValue};
use crate::row::{Reading, Row};
use crate::source::Span;
use crate::syntax::tree;
use crate::syntax::tree::{AssemblyStepKind, ClothValue, ExprKind, Item, ItemKind, PieceItemKind};

/// The cloths of the files at hand.
#[derive(Debug, Default)]
pub struct Cloths {
    /// By name.
    pub known: BTreeMap<Arc<str>, Arc<Cloth>>,
    /// Whether every file could be had; a cloth may be declared in one that could not.
    pub complete: bool,
}

/// Checks a cloth of a file.
pub fn cloth(declared: &tree::Cloth, diagnostics: &mut Vec<Diagnostic>) -> Cloth {
    Cloth {
        name: declared.name.text.clone(),
        doc: doc_of(declared.doc.as_ref()),
        span: declared.name.span,
        stated: lines(&declared.lines, diagnostics),
    }
}

/// Checks the lines of a cloth or role.
pub fn lines(list: &[tree::ClothLine], diagnostics: &mut Vec<Diagnostic>) -> Vec<Stated> {
    let mut out: Vec<Stated> = Vec::with_capacity(list.len());
    let mut before: BTreeMap<&str, Span> = BTreeMap::new();
    for line in list {
        let word = match &line.value {
            ClothValue::Number(property, _) => property.row().word,
            ClothValue::Direction(_) => DIRECTION,
            ClothValue::Bias(_) => BIAS,
        };
        if let Some(first) = before.insert(word, line.span) {
            diagnostics.push(said_twice(word, "cloth", line.span, first));
            continue;
        }
        let value = match &line.value {
            ClothValue::Number(property, expr) => {
                match constant(expr, property.row(), "cloth", diagnostics) {
                    Some(node) => StatedValue::Number(*property, node),
                    None => continue,
                }
            }
            ClothValue::Direction(direction) => StatedValue::Direction(*direction),
            ClothValue::Bias(bias) => StatedValue::Bias(*bias),
        };
        out.push(Stated {
            value,
            span: line.span,
        });
    }
    out
}

/// A line said twice of one cloth or table, as `what` tells.
pub fn said_twice(word: &str, what: &str, span: Span, first: Span) -> Diagnostic {
    let message = format!("`{word}` is said twice of this {what}");
    Diagnostic::error(Code::SetTwice, span, message)
        .also(first, "first said here")
        .hint("keep one of them")
}

/// An expression made of numbers alone; none, which is reported, where it cannot be that. `what`
/// tells whether a cloth or a table states it.
pub fn constant<P>(
    expr: &tree::Expr,
    row: &Row<P>,
    what: &str,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Node> {
    let nothing = Shape::default();
    let mut found = Vec::new();
    let node = Checker {
        shape: &nothing,
        diagnostics: &mut found,
    }
    .wanted(expr, row.kind());
    let fine = found.is_empty();
    for mut diagnostic in found {
        if diagnostic.code == Code::WrongKind
            && row.kind() == Kind::NUMBER
            && diagnostic.hints.is_empty()
        {
            diagnostic = diagnostic.hint(match row.reading {
                Reading::Percent => format!("write a share, as in `{} 2 %`", row.word),
                Reading::Plain | Reading::Whole => "write a number without a unit".to_owned(),
            });
        }
        if diagnostic.code == Code::UnknownName {
            diagnostic.hints = vec![format!(
                "a {what} is what it is in every draft: reckon its lines from numbers alone"
            )];
        }
        diagnostics.push(diagnostic);
    }
    fine.then_some(node)
}

/// The roles that pieces and pictures speak of and nothing declares: each is declared by its first
/// use, and states nothing.
pub fn declared_by_use(shape: &Shape, items: &[Item]) -> Vec<Item> {
    let mut roles: BTreeMap<Arc<str>, Item> = BTreeMap::new();
    let mut used = |name: &tree::Name| {
        if shape.roles.contains_key(&name.text) {
            return;
        }
        let item = || Item {
            what: ItemKind::Cloth {
                name: name.clone(),
                alias: None,
                doc: None,
                lines: Vec::new(),
            },
            span: name.span,
        };
        roles.entry(name.text.clone()).or_insert_with(item);
    };
    for item in items {
        match &item.what {
            ItemKind::Piece(piece) => piece.items.iter().for_each(|item| {
                if let PieceItemKind::Cloth(name) = &item.what {
                    used(name);
                }
            }),
            ItemKind::Assembly { steps, .. } => steps.iter().for_each(|step| {
                if let AssemblyStepKind::Show(_, name, _) = &step.what {
                    used(name);
                }
            }),
            _ => {}
        }
    }
    let others = items.iter().filter(|item| !may_share(&item.what));
    for name in others.filter_map(|item| super::shape::item_name(&item.what)) {
        roles.remove(&name.text);
    }
    roles.into_values().collect()
}

/// Whether a declaration may be called like a cloth role: a piece may, since many a piece is known
/// by what it is cut from.
pub fn may_share(item: &ItemKind) -> bool {
    matches!(item, ItemKind::Piece(piece) if piece.cut)
}

/// The slot of a cloth role.
pub fn role(checker: &mut Checker<'_, '_>, name: &tree::Name) -> Option<SlotId> {
    if let Some(id) = checker.shape.roles.get(&name.text) {
        return Some(*id);
    }
    let id = checker.resolve(&name.text, name.span)?;
    let slot = checker.shape.slot(id)?;
    // Its kind may not be known yet; that it is no role is.
    let message = format!("`{}` is no cloth: something else is called so", name.text);
    let diagnostic = Diagnostic::error(Code::WrongKind, name.span, message)
        .also(slot.span, "declared here")
        .hint("only a piece may be called like a cloth: rename one of the two");
    checker.diagnostics.push(diagnostic);
    None
}

/// Checks a role set to a cloth.
pub fn setting(
    slot: SlotId,
    setting: &tree::Setting,
    cloths: &Cloths,
    checker: &mut Checker<'_, '_>,
) -> Option<Setting> {
    let span = setting.value.span;
    let ExprKind::Name(name) = &setting.value.what else {
        let node = checker.node(&setting.value);
        let diagnostic = wrong_kind(span, node.kind, "the name of a cloth");
        checker
            .diagnostics
            .push(diagnostic.hint("declare it as in `cloth NAME { … }`, and write its name here"));
        return None;
    };
    let Some(cloth) = cloths.known.get(name) else {
        if cloths.complete {
            let role = &setting.name.text;
            checker
                .diagnostics
                .push(unknown_cloth(checker.shape, cloths, name, role, span));
        }
        return None;
    };
    let node = Node {
        op: Op::Cloth(cloth.clone()),
        kind: Kind::Cloth,
        span,
    };
    // Where the cloth is silent, what the role it is cut from says holds.
    let alias = match checker.shape.slot(slot).map(|slot| &slot.definition) {
        Some(Definition::Cloth(role)) => role.alias,
        _ => None,
    };
    Some(Setting {
        slot,
        reads: alias.into_iter().collect(),
        value: Arc::new(node),
        span: setting.name.span,
        drivers: Vec::new(),
    })
}

fn unknown_cloth(shape: &Shape, cloths: &Cloths, name: &str, role: &str, span: Span) -> Diagnostic {
    let message = format!("there is no cloth called `{name}`");
    let diagnostic = Diagnostic::error(Code::UnknownCloth, span, message);
    let known = || cloths.known.keys().map(|known| &**known);
    if let Some(near) = nearest(name, known()) {
        return diagnostic.hint(format!("did you mean `{near}`?"));
    }
    if let Some((_, slot)) = shape.find(name) {
        return diagnostic
            .also(slot.span, format!("this is {} of the shape", slot.kind))
            .hint(format!(
                "`{role}` is set to a cloth of the file, declared as in `cloth NAME {{ … }}`"
            ));
    }
    let list = listed(known());
    diagnostic.hint(if list.is_empty() {
        format!(
            "declare it here or in a file named by `use`, as in `cloth {name} {{ width 140 cm }}`"
        )
    } else {
        format!("the cloths are {list}")
    })
}
