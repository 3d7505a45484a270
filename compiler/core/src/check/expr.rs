//! Checks expressions: resolves names, computes kinds, reports every mismatch.

use std::sync::Arc;

use crate::diagnostic::{Code, Diagnostic};
use crate::draft::mirrored_from;
use crate::kind::{Dim, Kind};
use crate::names::nearest;
use crate::phrase::{CENTRE, CONSTANTS, FUNCTIONS, Form, Function, Gives, Place};
use crate::program::{Message, MessagePart, Node, Op, Shape, SlotId};
use crate::source::Span;
use crate::syntax::tree::{BinaryOp, Expr, ExprKind, Name, Template, TemplatePart};

/// Checks expressions in the scope of one shape.
pub struct Checker<'s, 'd> {
    /// The names that can be used.
    pub shape: &'s Shape,
    /// What was wrong so far.
    pub diagnostics: &'d mut Vec<Diagnostic>,
}

impl Checker<'_, '_> {
    /// An expression of any kind.
    pub fn node(&mut self, expr: &Expr) -> Node {
        let span = expr.span;
        let (op, kind) = match &expr.what {
            ExprKind::Number(value, dim) => (Op::Constant(*value), Kind::Quantity(*dim)),
            ExprKind::Name(name) => self.name(name, span),
            ExprKind::Part(name, part) => self.part(name, part),
            ExprKind::Negate(inner) => self.negate(inner),
            ExprKind::Not(inner) => (
                Op::Not(Box::new(self.wanted(inner, Kind::Truth))),
                Kind::Truth,
            ),
            ExprKind::Binary(op, left, right) => self.binary(*op, left, right, span),
            ExprKind::Call(name, arguments) => self.call(name, arguments, span),
            ExprKind::Pair(x, y) => {
                let x = self.wanted(x, Kind::LENGTH);
                let y = self.wanted(y, Kind::LENGTH);
                (Op::Pair(Box::new(x), Box::new(y)), Kind::Point)
            }
            ExprKind::If(condition, yes, no) => self.choice(condition, yes, no),
            ExprKind::Phrase(form, places) => self.phrase(form, places),
        };
        Node { op, kind, span }
    }

    /// An expression that must be of this kind.
    pub fn wanted(&mut self, expr: &Expr, kind: Kind) -> Node {
        let node = self.node(expr);
        let fits = node.kind.fits(kind) || (kind == Kind::Outline && node.kind == Kind::Piece);
        if !fits {
            self.diagnostics
                .push(wrong_kind(node.span, node.kind, &kind.to_string()));
        }
        node
    }

    /// The condition of a statement that has one.
    pub fn condition(&mut self, when: Option<&Expr>) -> Option<Node> {
        when.map(|when| self.wanted(when, Kind::Truth))
    }

    /// An expression that must be an endless line or a curve.
    pub fn line_or_curve(&mut self, expr: &Expr) -> Node {
        let node = self.node(expr);
        if !Place::LineOrCurve.takes(node.kind) {
            self.diagnostics.push(wrong_kind(
                node.span,
                node.kind,
                &Place::LineOrCurve.describe(),
            ));
        }
        node
    }

    /// A text with values.
    pub fn message(&mut self, template: &Template) -> Message {
        let parts = template
            .parts
            .iter()
            .map(|part| match part {
                TemplatePart::Letters(letters) => MessagePart::Letters(letters.clone()),
                TemplatePart::Value(expr) => {
                    let node = self.node(expr);
                    if !matches!(node.kind, Kind::Quantity(_) | Kind::Unknown) {
                        self.diagnostics.push(wrong_kind(
                            node.span,
                            node.kind,
                            "a number with or without a unit",
                        ));
                    }
                    MessagePart::Value(node)
                }
            })
            .collect();
        Message { parts }
    }

    /// The slot of a name, reporting an unknown one.
    pub fn resolve(&mut self, name: &str, span: Span) -> Option<SlotId> {
        let found = self.shape.find(name).map(|(id, _)| id);
        if found.is_none() {
            self.diagnostics.push(unknown_name(self.shape, name, span));
        }
        found
    }

    fn kind_of(&self, id: SlotId) -> Kind {
        self.shape.slot(id).map_or(Kind::Unknown, |slot| slot.kind)
    }

    fn name(&mut self, name: &Arc<str>, span: Span) -> (Op, Kind) {
        if &**name == CENTRE {
            return (Op::Centre, Kind::Line);
        }
        if let Some((_, value, dim, _)) =
            CONSTANTS.iter().find(|(constant, ..)| *constant == &**name)
        {
            return (Op::Constant(*value), Kind::Quantity(*dim));
        }
        match self.resolve(name, span) {
            Some(id) => (Op::Slot(id), self.kind_of(id)),
            None => (Op::Constant(0.0), Kind::Unknown),
        }
    }

    fn part(&mut self, name: &Name, part: &Name) -> (Op, Kind) {
        if let Some((id, row)) = self.shape.find_property(&name.text, &part.text) {
            return (Op::Part(id, part.text.clone()), Kind::Quantity(row.dim));
        }
        let Some(id) = self.resolve(&name.text, name.span) else {
            return (Op::Constant(0.0), Kind::Unknown);
        };
        let Some(slot) = self.shape.slot(id) else {
            return (Op::Constant(0.0), Kind::Unknown);
        };
        if slot.kind == Kind::Unknown {
            return (Op::Constant(0.0), Kind::Unknown);
        }
        if !slot.parts.contains(&part.text) {
            let diagnostic =
                unknown_part(&slot.name, &slot.parts, part).also(slot.span, "declared here");
            self.diagnostics.push(diagnostic);
            return (Op::Constant(0.0), Kind::Unknown);
        }
        (Op::Part(id, part.text.clone()), Kind::Curve)
    }

    fn negate(&mut self, inner: &Expr) -> (Op, Kind) {
        let node = self.node(inner);
        let kind = node.kind;
        if !matches!(kind, Kind::Quantity(_) | Kind::Point | Kind::Unknown) {
            self.diagnostics.push(wrong_kind(
                node.span,
                kind,
                "a number, with or without a unit",
            ));
        }
        (Op::Negate(Box::new(node)), kind)
    }

    fn binary(&mut self, op: BinaryOp, left: &Expr, right: &Expr, span: Span) -> (Op, Kind) {
        use BinaryOp::{
            Add, And, AtLeast, AtMost, Divide, Equal, Greater, Less, Multiply, Or, Subtract,
        };
        let (a, b) = match op {
            And | Or => (
                self.wanted(left, Kind::Truth),
                self.wanted(right, Kind::Truth),
            ),
            _ => (self.node(left), self.node(right)),
        };
        let kind = match (op, a.kind, b.kind) {
            (_, Kind::Unknown, _) | (_, _, Kind::Unknown) => Some(unknown_result(op)),
            (And | Or, ..) => Some(Kind::Truth),
            (Add | Subtract, Kind::Quantity(x), Kind::Quantity(y)) if x == y => Some(a.kind),
            (Add | Subtract, Kind::Point, Kind::Point) => Some(Kind::Point),
            (Less | AtMost | Greater | AtLeast | Equal, Kind::Quantity(x), Kind::Quantity(y))
                if x == y =>
            {
                Some(Kind::Truth)
            }
            (Multiply, Kind::Quantity(x), Kind::Quantity(y)) => x.times(y).map(Kind::Quantity),
            (Multiply, Kind::Quantity(Dim::PLAIN), Kind::Point) => Some(Kind::Point),
            (Multiply | Divide, Kind::Point, Kind::Quantity(Dim::PLAIN)) => Some(Kind::Point),
            (Divide, Kind::Quantity(x), Kind::Quantity(y)) => x.over(y).map(Kind::Quantity),
            _ => None,
        };
        let kind = kind.unwrap_or_else(|| {
            self.diagnostics.push(mismatch(op, &a, &b, span));
            Kind::Unknown
        });
        (Op::Binary(op, Box::new(a), Box::new(b)), kind)
    }

    fn choice(&mut self, condition: &Expr, yes: &Expr, no: &Expr) -> (Op, Kind) {
        let condition = self.wanted(condition, Kind::Truth);
        let yes = self.node(yes);
        let no = self.wanted(no, yes.kind);
        let kind = yes.kind;
        (
            Op::If(Box::new(condition), Box::new(yes), Box::new(no)),
            kind,
        )
    }

    fn call(&mut self, name: &Name, arguments: &[Expr], span: Span) -> (Op, Kind) {
        let nodes: Vec<Node> = arguments.iter().map(|a| self.node(a)).collect();
        let Some((_, function, doc)) = FUNCTIONS.iter().find(|(known, ..)| *known == &*name.text)
        else {
            let mut diagnostic = Diagnostic::error(
                Code::UnknownFunction,
                name.span,
                format!("there is no function `{}`", name.text),
            );
            let other = OTHER_FUNCTIONS
                .iter()
                .find(|(other, _)| *other == &*name.text);
            let near = other
                .map(|(_, known)| *known)
                .or_else(|| nearest(&name.text, FUNCTIONS.iter().map(|f| f.0)));
            diagnostic = match near {
                Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
                None => diagnostic.hint(format!(
                    "the functions are {}",
                    listed(FUNCTIONS.iter().map(|f| f.0))
                )),
            };
            self.diagnostics.push(diagnostic);
            return (Op::Constant(0.0), Kind::Unknown);
        };
        let wanted = arity(*function);
        if !wanted.contains(&nodes.len()) {
            let count = match (*wanted.start(), *wanted.end()) {
                (least, usize::MAX) => format!("{least} value or more"),
                (1, _) => "1 value".to_owned(),
                (count, _) => format!("{count} values"),
            };
            self.diagnostics.push(
                Diagnostic::error(
                    Code::WrongCount,
                    span,
                    format!("`{}` takes {count}, not {}", name.text, nodes.len()),
                )
                .hint(format!("`{}`: {doc}", name.text)),
            );
            return (Op::Constant(0.0), Kind::Unknown);
        }
        let kind = self.call_kind(*function, &nodes);
        (Op::Call(*function, nodes), kind)
    }

    fn call_kind(&mut self, function: Function, nodes: &[Node]) -> Kind {
        use Function::{Abs, Acos, Asin, Atan, Clamp, Cos, Max, Min, Root, Round, Sin, Tan};
        let Some(first) = nodes.first() else {
            return Kind::Unknown;
        };
        match function {
            Sin | Cos | Tan => self.all_are(nodes, Kind::ANGLE, Kind::NUMBER),
            Asin | Acos | Atan => self.all_are(nodes, Kind::NUMBER, Kind::ANGLE),
            Root => match first.kind {
                Kind::Quantity(dim) => dim.root().map_or_else(
                    || {
                        self.diagnostics.push(wrong_kind(
                            first.span,
                            first.kind,
                            "a number or an area",
                        ));
                        Kind::Unknown
                    },
                    Kind::Quantity,
                ),
                other => self.not_a_number(first, other),
            },
            Abs | Min | Max | Clamp | Round => match first.kind {
                Kind::Quantity(_) => self.all_are(nodes, first.kind, first.kind),
                other => self.not_a_number(first, other),
            },
        }
    }

    fn not_a_number(&mut self, node: &Node, kind: Kind) -> Kind {
        if kind != Kind::Unknown {
            self.diagnostics.push(wrong_kind(
                node.span,
                kind,
                "a number, with or without a unit",
            ));
        }
        Kind::Unknown
    }

    fn all_are(&mut self, nodes: &[Node], wanted: Kind, gives: Kind) -> Kind {
        for node in nodes {
            if !node.kind.fits(wanted) {
                self.diagnostics
                    .push(wrong_kind(node.span, node.kind, &wanted.to_string()));
            }
        }
        gives
    }

    fn phrase(&mut self, form: &'static Form, places: &[Vec<Expr>]) -> (Op, Kind) {
        let mut nodes: Vec<Vec<Node>> = Vec::with_capacity(places.len());
        for ((_, place), values) in form.places.iter().zip(places) {
            let mut list = Vec::with_capacity(values.len());
            for value in values {
                let node = self.node(value);
                if !place.takes(node.kind) {
                    let diagnostic = wrong_kind(node.span, node.kind, &place.describe())
                        .hint(format!("`{}` gives {}", form.usage(), form.doc));
                    self.diagnostics.push(diagnostic);
                }
                list.push(node);
            }
            nodes.push(list);
        }
        let first = nodes
            .first()
            .and_then(|list| list.first())
            .map_or(Kind::Unknown, |node| node.kind);
        let kind = match form.gives {
            Gives::Kind(kind) => kind,
            Gives::SameAsFirst => first,
            Gives::PointOrCurve if matches!(first, Kind::Point | Kind::Unknown) => first,
            Gives::PointOrCurve => Kind::Curve,
        };
        (Op::Phrase(form, nodes), kind)
    }
}

/// Names other languages have for functions of this one.
static OTHER_FUNCTIONS: &[(&str, &str)] = &[
    ("sqrt", "root"),
    ("arcsin", "asin"),
    ("arccos", "acos"),
    ("arctan", "atan"),
];

/// How many names a hint lists at most.
const MOST_LISTED: usize = 10;

/// Names in a row, each once, without those of mirror images.
pub fn listed<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    let mut out: Vec<String> = Vec::new();
    for name in names {
        let quoted = format!("`{name}`");
        if mirrored_from(name).is_some() || out.contains(&quoted) {
            continue;
        }
        if out.len() == MOST_LISTED {
            out.push("…".to_owned());
            break;
        }
        out.push(quoted);
    }
    out.join(", ")
}

/// How many arguments a function takes.
fn arity(function: Function) -> std::ops::RangeInclusive<usize> {
    match function {
        Function::Min | Function::Max => 1..=usize::MAX,
        Function::Clamp => 3..=3,
        Function::Round => 2..=2,
        _ => 1..=1,
    }
}

fn unknown_result(op: BinaryOp) -> Kind {
    use BinaryOp::{And, AtLeast, AtMost, Equal, Greater, Less, Or};
    match op {
        Less | AtMost | Greater | AtLeast | Equal | And | Or => Kind::Truth,
        _ => Kind::Unknown,
    }
}

/// The value found is of another kind than wanted.
pub fn wrong_kind(span: Span, found: Kind, wanted: &str) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Code::WrongKind,
        span,
        format!("this is {found}, where {wanted} is needed"),
    );
    match (found, wanted) {
        (Kind::NUMBER, "a length") => diagnostic.hint("add a unit: `in`, `cm` or `mm`"),
        (Kind::NUMBER, "an angle") => diagnostic.hint("add the unit `deg`"),
        (Kind::ANGLE, "a length") => diagnostic.hint("write a length in `in`, `cm` or `mm`"),
        (Kind::LENGTH, "an angle") => diagnostic.hint("write an angle in `deg`"),
        (Kind::Quantity(_), "a yes or no") => {
            diagnostic.hint("compare it with something, as in `overlap > 0 mm`")
        }
        _ => diagnostic,
    }
}

fn mismatch(op: BinaryOp, a: &Node, b: &Node, span: Span) -> Diagnostic {
    use BinaryOp::{Add, Divide, Multiply, Subtract};
    let message = match op {
        Add => format!("{} and {} cannot be added", a.kind, b.kind),
        Subtract => format!("{} cannot be taken from {}", b.kind, a.kind),
        Multiply => format!("{} and {} cannot be multiplied", a.kind, b.kind),
        Divide => format!("{} cannot be divided by {}", a.kind, b.kind),
        _ => format!("{} and {} cannot be compared", a.kind, b.kind),
    };
    let mut diagnostic = Diagnostic::error(Code::WrongKind, span, message)
        .also(a.span, format!("this is {}", a.kind))
        .also(b.span, format!("this is {}", b.kind));
    if (a.kind == Kind::NUMBER) != (b.kind == Kind::NUMBER) {
        diagnostic = diagnostic.hint(
            "a number without a unit is no length and no angle: add `in`, `cm`, `mm` or `deg`",
        );
    } else if !matches!(op, Multiply | Divide) {
        diagnostic = diagnostic.hint("both sides must be of one kind");
    }
    diagnostic
}

/// A name that is declared nowhere.
pub fn unknown_name(shape: &Shape, name: &str, span: Span) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Code::UnknownName,
        span,
        format!("nothing is called `{name}` here"),
    );
    let known = || {
        shape
            .slots
            .iter()
            .map(|slot| &*slot.name)
            .chain(CONSTANTS.iter().map(|c| c.0))
            .chain([CENTRE])
    };
    // `a-b` written without blanks around the minus.
    let split = name.match_indices('-').find(|(at, _)| {
        let whole = |part: &str| known().any(|k| k == part);
        whole(&name[..*at])
            && (whole(&name[at + 1..]) || name[at + 1..].starts_with(|c: char| c.is_ascii_digit()))
    });
    if let Some((at, _)) = split {
        return diagnostic.hint(format!(
            "to subtract, put blanks around the minus: `{} - {}`",
            &name[..at],
            &name[at + 1..]
        ));
    }
    match nearest(name, known()) {
        Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
        None => diagnostic.hint(format!(
            "check the spelling; in a shape, a new name is declared as in `{name} = 1 in`"
        )),
    }
}

/// A part that its owner does not have.
pub fn unknown_part(owner: &str, parts: &[Arc<str>], part: &Name) -> Diagnostic {
    let diagnostic = Diagnostic::error(
        Code::UnknownPart,
        part.span,
        format!("`{owner}` has no part called `{}`", part.text),
    );
    match nearest(&part.text, parts.iter().map(|p| &**p)) {
        Some(near) => diagnostic.hint(format!("did you mean `{near}`?")),
        None if parts.is_empty() => diagnostic.hint(format!("no part of `{owner}` has a name")),
        None => {
            let list = listed(parts.iter().map(|p| &**p));
            diagnostic.hint(format!("its parts are {list}"))
        }
    }
}
