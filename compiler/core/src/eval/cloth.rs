//! Works out cloths: what the lines of a cloth state, what a role comes to under the settings, and
//! what a draft tells of the cloths it is cut from.

use std::sync::Arc;

use super::grade::Levels;
use super::value::{ClothValue, Value};
use super::{Evaluator, Fault, Result, fail};
use crate::cloth::{self, Properties, Property, property};
use crate::diagnostic::{Code, Diagnostic};
use crate::draft;
use crate::format::{decimal, quantity};
use crate::kind::Kind;
use crate::program::{Cloth, Role, Shape, Slot, SlotId, Stated, StatedValue};
use crate::row::{Reading, Row};
use crate::source::Span;

/// Cloths as their own lines say, whether or not anything is cut from them, and what is wrong with
/// their numbers.
pub fn cloths<'c>(
    declared: impl IntoIterator<Item = &'c Arc<Cloth>>,
) -> (Vec<cloth::Cloth>, Vec<Diagnostic>) {
    // The lines of a cloth read nothing that a shape declares.
    let nothing = Shape::default();
    let unset = Levels::default();
    let evaluator = Evaluator::new(&nothing, &unset);
    let mut wrong = Vec::new();
    let of = |declared: &Arc<Cloth>| {
        let (properties, found) = properties(&evaluator, &declared.stated);
        wrong.extend(found);
        cloth::Cloth {
            name: declared.name.clone(),
            doc: declared.doc.clone(),
            properties,
            span: declared.span,
        }
    };
    let out = declared.into_iter().map(of).collect();
    (out, wrong)
}

/// What lines state, and what is wrong with them.
fn properties(evaluator: &Evaluator<'_>, stated: &[Stated]) -> (Properties, Vec<Diagnostic>) {
    let mut out = Properties::default();
    let mut wrong = Vec::new();
    let mut usable = None;
    for line in stated {
        match &line.value {
            StatedValue::Direction(direction) => out.set_direction(*direction),
            StatedValue::Bias(bias) => out.set_bias(*bias),
            StatedValue::Number(property, node) => match evaluator.number(node) {
                Ok(value) => {
                    wrong.extend(out_of_range(property.row(), value, "cloth", node.span));
                    if *property == Property::UsableWidth {
                        usable = Some(node.span);
                    }
                    out.set(*property, value);
                }
                Err(Fault::Told(diagnostic)) => wrong.push(*diagnostic),
                Err(Fault::Silent) => {}
            },
        }
    }
    if let (Some(width), Some(inside), Some(span)) = (
        out.get(Property::Width),
        out.get(Property::UsableWidth),
        usable,
    ) && inside > width
    {
        let (wide, inside) = (
            quantity(width, Kind::LENGTH),
            quantity(inside, Kind::LENGTH),
        );
        let message = format!("of a cloth {wide} wide, {inside} cannot be used");
        wrong.push(
            Diagnostic::error(Code::OutOfRange, span, message).hint(
                "the selvedges are left out of the usable width: set it to the width or less",
            ),
        );
    }
    (out, wrong)
}

/// A number that nothing of the sort has, `what` being a cloth or a table.
pub fn out_of_range<P>(row: &Row<P>, value: f64, what: &str, span: Span) -> Option<Diagnostic> {
    let is_whole = row.reading != Reading::Whole || value.fract() == 0.0;
    if is_whole && (row.lowest..=row.highest).contains(&value) {
        return None;
    }
    let show = |value| match row.reading {
        Reading::Percent => format!("{} %", decimal(value * 100.0, 2)),
        Reading::Plain | Reading::Whole => quantity(value, row.kind()),
    };
    let message = format!("`{}` is {}, which no {what} has", row.word, show(value));
    let range = format!("from {} to {}", show(row.lowest), show(row.highest));
    let hint = match row.reading {
        Reading::Whole => format!("write a whole number {range}"),
        Reading::Plain | Reading::Percent => format!("keep it {range}"),
    };
    Some(Diagnostic::error(Code::OutOfRange, span, message).hint(hint))
}

/// A cloth of a file, as no role's yet.
pub fn named(evaluator: &Evaluator<'_>, cloth: &Cloth) -> Result<Value> {
    let (properties, wrong) = properties(evaluator, &cloth.stated);
    if let Some(diagnostic) = wrong.into_iter().next() {
        return Err(Fault::Told(Box::new(diagnostic)));
    }
    Ok(Value::Cloth(Arc::new(ClothValue {
        role: Arc::from(""),
        name: Some(cloth.name.clone()),
        doc: cloth.doc.clone(),
        properties,
        defaults: Properties::default(),
        span: cloth.span,
    })))
}

/// What a role comes to: the cloth it is set to, with its own lines where that is silent; unless it
/// is set, the cloth of the role it is cut from, or its own lines alone.
pub fn role(
    evaluator: &Evaluator<'_>,
    slot: &Slot,
    role: &Role,
    set: Option<Value>,
) -> (Result<Value>, Vec<Diagnostic>) {
    let (own, wrong) = properties(evaluator, &role.stated);
    let alias = match role.alias.map(|id| evaluator.value(id)) {
        Some(Ok(Value::Cloth(alias))) => Some(alias),
        Some(_) => return (Err(Fault::Silent), wrong),
        None => None,
    };
    let value = match (set, alias) {
        (Some(Value::Cloth(set)), alias) => {
            let defaults = alias.map_or(own, |alias| alias.defaults.clone());
            ClothValue {
                role: slot.name.clone(),
                properties: set.properties.or(&defaults),
                defaults,
                ..(*set).clone()
            }
        }
        (_, Some(alias)) => (**alias).clone(),
        (_, None) => ClothValue {
            role: slot.name.clone(),
            name: None,
            doc: slot.doc.clone(),
            properties: own.clone(),
            defaults: own,
            span: slot.span,
        },
    };
    if wrong.is_empty() {
        (Ok(Value::Cloth(Arc::new(value))), wrong)
    } else {
        (Err(Fault::Silent), wrong)
    }
}

/// The property of a cloth written as `word`, read at `span`.
pub fn part(cloth: &ClothValue, word: &str, span: Span) -> Result<Value> {
    let Some(row) = property(word) else {
        return Err(Fault::Silent);
    };
    if let Some(value) = cloth.properties.get(row.property) {
        return Ok(Value::Number(value));
    }
    let role = &cloth.role;
    let (who, hint) = match &cloth.name {
        Some(name) => (
            format!("cloth `{name}`, which is `{role}` here, does not state its `{word}`"),
            format!("add a line `{word} …` to `cloth {name}`"),
        ),
        None => (
            format!("nothing states the `{word}` of `{role}`"),
            format!(
                "set `{role}` to a cloth that states it, or write `cloth {role} {{ {word} … }}` in the shape"
            ),
        ),
    };
    let told = fail(Code::NotStated, span, who, hint);
    match told {
        Err(Fault::Told(diagnostic)) if cloth.name.is_some() => Err(Fault::Told(Box::new(
            diagnostic.also(cloth.span, "the cloth"),
        ))),
        told => told,
    }
}

/// The cloths that `pieces` are cut from, in the order their roles are declared.
pub fn in_use(evaluator: &Evaluator<'_>, pieces: &[draft::Piece]) -> Vec<draft::Cloth> {
    let used = |name: &Arc<str>| pieces.iter().any(|piece| piece.cloth == *name);
    let mut roles: Vec<SlotId> = evaluator.shape().roles.values().copied().collect();
    roles.sort_unstable();
    let cloth = |id: SlotId| match evaluator.value(id) {
        // A role that is cut from another's cloth is told of there.
        Ok(Value::Cloth(cloth)) if *cloth.role == *evaluator.name(id) && used(&cloth.role) => {
            Some(draft::Cloth {
                role: cloth.role.clone(),
                name: cloth.name.clone(),
                doc: cloth.doc.clone(),
                properties: cloth.properties.clone(),
                span: cloth.span,
            })
        }
        _ => None,
    };
    roles.into_iter().filter_map(cloth).collect()
}
