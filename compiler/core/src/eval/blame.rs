//! Points what went wrong at the numbers the user can change: the settings that the failed value
//! hangs on and, where nothing was set, the parameters. Works nothing out itself.

use std::collections::BTreeSet;

use super::Evaluator;
use super::grade::Levels;
use super::value::Value;
use crate::diagnostic::{Code, Diagnostic, Label};
use crate::format::quantity;
use crate::program::{Definition, Driver, Setting, SlotId, Style};
use crate::source::Span;

/// The most settings pointed at, and the most parameters named; more would hide the message.
pub const MOST: usize = 4;

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

/// The settings that hold, in the order they are pointed at: those written, the nearest first, then
/// those that only follow from them.
pub fn in_order<'s>(levels: &'s Levels<'s>) -> Vec<&'s Setting> {
    let mut written = BTreeSet::new();
    let mut held = BTreeSet::new();
    let mut out = Vec::new();
    let mut graded = Vec::new();
    for level in levels.levels.iter().rev() {
        graded.extend(level.graded.iter().filter(|s| held.insert(s.slot)));
        // What follows another has a part in it still where it was written above.
        out.extend(level.own.iter().filter(|s| written.insert(s.slot)));
        held.extend(level.own.iter().map(|s| s.slot));
    }
    out.extend(graded);
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
    if !named.is_empty() {
        return named;
    }
    // What was changed is enough; what follows it need not be pointed at as well.
    found.into_iter().filter(|s| s.drivers.is_empty()).collect()
}

/// Points at a setting; of a graded one at what it follows, and at the line of the grade.
pub fn labels(evaluator: &Evaluator<'_>, setting: &Setting) -> Vec<Label> {
    let name = evaluator.name(setting.slot);
    let nearest = |driver: &&Driver| driver.at == setting.value.span;
    let text = match setting.drivers.iter().find(nearest) {
        None => format!("`{name}` is set here"),
        Some(driver) => {
            let graded = evaluator.name(driver.graded);
            format!("`{name}` follows `{graded}`, which this changes")
        }
    };
    let mut out = vec![Label {
        span: setting.value.span,
        text,
    }];
    out.extend(grade_lines(evaluator, setting));
    out
}

/// Points at the lines of the grades that a setting follows, if it does.
pub fn grade_lines(evaluator: &Evaluator<'_>, setting: &Setting) -> Vec<Label> {
    let name = evaluator.name(setting.slot);
    let line = |driver: &Driver| Label {
        span: driver.line,
        text: format!(
            "`{name}` follows `{}` by this",
            evaluator.name(driver.graded)
        ),
    };
    setting.drivers.iter().map(line).collect()
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
        .flat_map(|setting| labels(evaluator, setting))
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
    )
}
