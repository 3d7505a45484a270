//! Points what went wrong at the numbers the user can change: the settings that the failed value
//! hangs on and, where nothing was set, the parameters. Works nothing out itself.

use std::collections::BTreeSet;

use super::Evaluator;
use super::value::Value;
use crate::diagnostic::{Code, Diagnostic, Label};
use crate::format::quantity;
use crate::program::{Definition, Setting, SlotId, Style};
use crate::source::Span;

/// The most settings pointed at, and the most parameters named; more would hide the message.
const MOST: usize = 4;

/// Something wrong, and the slots it came up in.
#[derive(Debug)]
pub struct Trouble {
    /// What is wrong.
    pub diagnostic: Diagnostic,
    /// The slots; none where no number has a part in it.
    pub slots: Vec<SlotId>,
}

impl From<Diagnostic> for Trouble {
    fn from(diagnostic: Diagnostic) -> Self {
        Trouble {
            diagnostic,
            slots: Vec::new(),
        }
    }
}

/// The settings that hold, in the order they are pointed at: those of the size first.
pub fn in_order<'s>(style: &'s [Setting], size: &'s [Setting]) -> Vec<&'s Setting> {
    let mut seen = BTreeSet::new();
    // Of several of one parameter the last stands.
    let mut standing = |list: &'s [Setting]| {
        let last_first = list.iter().rev().filter(|s| seen.insert(s.slot));
        let mut list: Vec<&Setting> = last_first.collect();
        list.reverse();
        list
    };
    let mut out = standing(size);
    out.extend(standing(style));
    out
}

/// The settings among `all` that `slots` hang on; where the advice names some of them, only those.
pub fn involved<'s>(
    evaluator: &Evaluator<'_>,
    slots: &[SlotId],
    all: &[&'s Setting],
    advice: &[String],
) -> Vec<&'s Setting> {
    let reached = evaluator.reach(slots);
    let found: Vec<&Setting> = all
        .iter()
        .copied()
        .filter(|setting| reached.contains(&setting.slot))
        .collect();
    let named = |setting: &&Setting| {
        let quoted = format!("`{}`", evaluator.name(setting.slot));
        advice.iter().any(|text| text.contains(&quoted))
    };
    let named: Vec<&Setting> = found.iter().copied().filter(|s| named(s)).collect();
    if named.is_empty() { found } else { named }
}

/// Points `trouble` at what the user set, or names the parameters it hangs on. An error in the
/// text of a shape the user did not write is shown at the user's own words first.
pub fn pointed(
    evaluator: &Evaluator<'_>,
    trouble: Trouble,
    style: &Style,
    settings: &[&Setting],
) -> Diagnostic {
    let Trouble {
        mut diagnostic,
        slots,
    } = trouble;
    let Some(primary) = diagnostic.primary.clone() else {
        return diagnostic;
    };
    let all = involved(evaluator, &slots, settings, &diagnostic.hints);
    let shown: Vec<Span> = std::iter::once(primary.span)
        .chain(diagnostic.secondary.iter().map(|label| label.span))
        .collect();
    let new = |setting: &&&Setting| !shown.iter().any(|span| overlap(*span, setting.value.span));
    let mut labels: Vec<Label> = all
        .iter()
        .filter(new)
        .take(MOST)
        .map(|setting| Label {
            span: setting.value.span,
            text: format!("`{}` is set here", evaluator.name(setting.slot)),
        })
        .collect();
    let shape = style.shape.span.file;
    let foreign = primary.span.file == shape && style.span.file != shape;
    if foreign {
        let text = if primary.text.is_empty() {
            "it comes up here, in the shape".to_owned()
        } else {
            primary.text
        };
        let arises = Label {
            span: primary.span,
            text,
        };
        diagnostic.secondary.insert(0, arises);
        diagnostic.primary = Some(if labels.is_empty() {
            Label {
                span: style.span,
                text: "while this is drafted".to_owned(),
            }
        } else {
            labels.remove(0)
        });
    } else if all.is_empty() {
        diagnostic.hints.extend(made_from(evaluator, &slots));
    }
    diagnostic.secondary.extend(labels);
    diagnostic
}

fn overlap(a: Span, b: Span) -> bool {
    a.file == b.file && a.start < b.end && b.start < a.end
}

/// The parameters that `slots` hang on with their values, if there are few.
fn made_from(evaluator: &Evaluator<'_>, slots: &[SlotId]) -> Option<String> {
    let mut named = Vec::new();
    for id in evaluator.reach(slots) {
        let slot = evaluator.shape().slot(id)?;
        if let Definition::Parameter(..) = slot.definition {
            let Ok(Value::Number(value)) = evaluator.value(id) else {
                return None;
            };
            named.push(format!("`{}`, {}", slot.name, quantity(*value, slot.kind)));
        }
    }
    (1..=MOST)
        .contains(&named.len())
        .then(|| format!("it hangs on {}", named.join("; ")))
}

/// Whether another number could put an error of this kind right.
pub fn hangs_on_numbers(code: Code) -> bool {
    !matches!(
        code,
        Code::Cycle
            | Code::NoCloth
            | Code::NotStated
            | Code::NotAName
            | Code::NotStraight
            | Code::EndlessLine
            | Code::NoFinish
            | Code::NotSewn
            | Code::NotchesUnpaired
            | Code::CornerInCrease
    )
}
