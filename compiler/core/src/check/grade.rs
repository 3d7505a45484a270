//! Checks grades: which parameters follow which, and by what share. What follows from that in a
//! size is worked out by the evaluator.

use super::expr::Checker;
use super::order;
use super::style::parameter;
use crate::diagnostic::{Code, Diagnostic};
use crate::kind::Kind;
use crate::program::{Follower, Grade, Node, Shape, SlotId};
use crate::source::Span;
use crate::syntax::tree::{Item, ItemKind, Name, Setting};

/// Adds the grades among `items` to a shape, each after those that its own parameter follows.
pub fn grades(shape: &mut Shape, items: &[Item], diagnostics: &mut Vec<Diagnostic>) {
    let mut found: Vec<Grade> = Vec::new();
    for item in items {
        let ItemKind::Grade { graded, followers } = &item.what else {
            continue;
        };
        let Some(grade) = checked(shape, graded, followers, diagnostics) else {
            continue;
        };
        match found.iter().find(|known| known.graded == grade.graded) {
            Some(first) => diagnostics.push(twice(
                Code::DeclaredTwice,
                (grade.span, first.span),
                format!("`{}` is graded twice", graded.text),
                "put all that follows it into one `grade`",
            )),
            None => found.push(grade),
        }
    }
    let sorted = order::sort(&follows(&found));
    for circle in &sorted.cycles {
        diagnostics.extend(circle_told(shape, &found, circle));
    }
    let mut found: Vec<Option<Grade>> = found.into_iter().map(Some).collect();
    let next = |index: usize| found.get_mut(index).and_then(Option::take);
    shape
        .grades
        .extend(sorted.order.into_iter().filter_map(next));
}

/// For each grade the other grades that its own parameter follows.
fn follows(grades: &[Grade]) -> Vec<Vec<usize>> {
    let of = |graded: SlotId| {
        let leads = |grade: &Grade| grade.followers.iter().any(|f| f.slot == graded);
        let leading = grades.iter().enumerate().filter(|(_, grade)| leads(grade));
        leading.map(|(index, _)| index).collect()
    };
    grades.iter().map(|grade| of(grade.graded)).collect()
}

fn checked(
    shape: &Shape,
    graded: &Name,
    followers: &[Setting],
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<Grade> {
    let known = gradable(shape, graded, diagnostics);
    let mut list: Vec<Follower> = Vec::new();
    for follower in followers {
        let name = &follower.name;
        let Some((slot, kind)) = gradable(shape, name, diagnostics) else {
            continue;
        };
        if let Some(first) = list.iter().find(|known| known.slot == slot) {
            diagnostics.push(twice(
                Code::SetTwice,
                (name.span, first.span),
                format!("`{}` follows `{}` twice", name.text, graded.text),
                "keep one of them",
            ));
            continue;
        }
        if known.is_some_and(|(graded, _)| graded == slot) {
            diagnostics.push(
                Diagnostic::error(
                    Code::Cycle,
                    name.span,
                    format!("`{}` cannot follow itself", name.text),
                )
                .hint("name the parameters that its extra goes to"),
            );
            continue;
        }
        let mut checker = Checker { shape, diagnostics };
        let share = checker.node(&follower.value);
        if let Some((_, graded_kind)) = known
            && !share.kind.fits(share_kind(kind, graded_kind))
        {
            let kinds = (graded_kind, kind);
            diagnostics.push(wrong_share(&share, graded, name, kinds));
        }
        list.push(Follower {
            slot,
            share,
            span: name.span,
        });
    }
    known.map(|(slot, _)| Grade {
        graded: slot,
        followers: list,
        span: graded.span,
    })
}

/// The kind of a share: what makes the follower's kind of the graded one's.
fn share_kind(follower: Kind, graded: Kind) -> Kind {
    match (follower, graded) {
        (Kind::Quantity(follower), Kind::Quantity(graded)) => {
            follower.over(graded).map_or(Kind::Unknown, Kind::Quantity)
        }
        _ => Kind::Unknown,
    }
}

/// Says what a share must be that is of another kind.
fn wrong_share(
    share: &Node,
    graded: &Name,
    follower: &Name,
    (graded_kind, kind): (Kind, Kind),
) -> Diagnostic {
    let (graded, follower) = (&graded.text, &follower.text);
    let wanted = if graded_kind == kind {
        "a share is a number, such as `25 %`".to_owned()
    } else {
        format!("`{follower}` is {kind} and `{graded}` {graded_kind}: divide one by the other")
    };
    let message = format!(
        "this is {}, which is no share of `{graded}` for `{follower}`",
        share.kind
    );
    Diagnostic::error(Code::WrongKind, share.span, message).hint(wanted)
}

/// A parameter that can be graded or follow one; says so where it is none.
fn gradable(
    shape: &Shape,
    name: &Name,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<(SlotId, Kind)> {
    match parameter(shape, name) {
        Ok(found) => Some(found),
        Err(mut diagnostic) => {
            if diagnostic.code == Code::NotAParameter {
                diagnostic.message = format!("`{}` is worked out and cannot be graded", name.text);
                diagnostic.hints = vec!["grade the parameters it is worked out from".to_owned()];
            }
            diagnostics.push(*diagnostic);
            None
        }
    }
}

fn twice(code: Code, (again, first): (Span, Span), message: String, hint: &str) -> Diagnostic {
    Diagnostic::error(code, again, message)
        .also(first, "the first time")
        .hint(hint)
}

/// How many of the parameters that follow each other are named.
const MOST_NAMED: usize = 8;

/// Describes parameters that follow each other in a circle.
fn circle_told(shape: &Shape, grades: &[Grade], circle: &[usize]) -> Option<Diagnostic> {
    let mut round: Vec<&Grade> = circle
        .iter()
        .filter_map(|index| grades.get(*index))
        .collect();
    // Told from the one declared first, wherever the circle was entered.
    let first = round.iter().map(|grade| grade.span.start).min();
    let at = round
        .iter()
        .position(|grade| Some(grade.span.start) == first);
    round.rotate_left(at.unwrap_or(0));
    let name = |grade: &&Grade| {
        let slot = shape.slot(grade.graded);
        format!("`{}`", slot.map_or("", |slot| &slot.name))
    };
    let start = round.first()?;
    let mut names: Vec<String> = round.iter().take(MOST_NAMED).map(name).collect();
    if round.len() > MOST_NAMED {
        names.push("…".to_owned());
    }
    names.push(name(start));
    let message = format!("these follow each other: {}", names.join(" follows "));
    let diagnostic = Diagnostic::error(Code::Cycle, start.span, message);
    let others = round.iter().skip(1).take(MOST_NAMED - 1);
    Some(
        others
            .fold(diagnostic, |told, grade| {
                told.also(grade.span, "part of the circle")
            })
            .hint("take one of them out of the other's `grade`"),
    )
}
