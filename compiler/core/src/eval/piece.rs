//! Works out pieces: their outlines cut, allowed for and hung, and what is marked on them.

use std::borrow::Cow;
use std::sync::Arc;

use tiewright_geometry::{Net, Ring};

use super::mark::{inherited, place};
use super::outline::{RING_WORK, allowed, named, ring, ring_fault};
use super::value::{EdgeAllowance, PieceValue, RawMark, Value};
use super::work::ring_weight;
use super::{Evaluator, Fault, Result, fail};
use crate::cloth::Property;
use crate::diagnostic::Code;
use crate::draft::mirrored;
use crate::format::{self, quantity};
use crate::kind::Kind;
use crate::program::{Node, Piece, Slot, Source};
use crate::source::Span;

/// What allowances cost in pairs of segments, for each pair they look at.
const ALLOWANCE_WORK: u64 = 2;

/// Works out a piece or pattern.
pub fn work_out(evaluator: &Evaluator<'_>, piece: &Piece, slot: &Slot) -> Result<PieceValue> {
    let exists = evaluator.holds(piece.when.as_ref())?;
    let (whole, base) = outline(evaluator, piece)?;
    let base = base.as_deref();
    let mut left_out = base.map_or_else(Vec::new, |b| b.left_out.clone());
    let drawn = cut_off(evaluator, piece, whole, &mut left_out)?;
    let inherited = base.map_or_else(Vec::new, |b| b.allowances.clone());
    let allowances = allowances(evaluator, piece, inherited)?;
    if allowances.iter().any(|allowance| allowance.amount > 0.0) {
        let segments = ring_weight(&drawn);
        let work = 2 * ALLOWANCE_WORK * segments * segments;
        evaluator.work.pay(work, slot.span)?;
    }
    let give = match (&piece.give, base) {
        (Some(node), _) => net(evaluator, node)?,
        (None, Some(base)) => base.give,
        (None, None) => Net::SLACK,
    };
    // Allowances are measured on the table.
    let flat = match give.is_slack() {
        true => Cow::Borrowed(&drawn),
        false => Cow::Owned(drawn.transformed(give.relax())),
    };
    let net = allowed(&flat, &allowances, false, slot.span)?;
    let cut = allowed(&flat, &allowances, true, slot.span)?;
    let marks = marks(evaluator, piece, base, &drawn, &mut left_out)?;
    let quantity = match (&piece.quantity, base) {
        (Some(node), _) => whole_number(evaluator, node)?,
        (None, Some(base)) => base.quantity,
        (None, None) => 1,
    };
    let grain = match &piece.grain {
        Some(node) => Some(evaluator.number(node)?),
        None => base.and_then(|b| b.grain),
    };
    let cloth = match piece.cloth {
        Some(id) => Some(evaluator.role(id)?),
        None => base.and_then(|b| b.cloth.clone()),
    };
    drop(flat);
    Ok(PieceValue {
        exists,
        drawn,
        give,
        net,
        cut,
        allowances,
        marks,
        left_out,
        cloth,
        grain,
        quantity,
    })
}

/// What the cuts of a piece leave of its outline; those that are not made go to `left_out`.
fn cut_off(
    evaluator: &Evaluator<'_>,
    piece: &Piece,
    mut drawn: Ring,
    left_out: &mut Vec<Arc<str>>,
) -> Result<Ring> {
    for cut in &piece.cuts {
        if !evaluator.holds(cut.when.as_ref())? {
            left_out.push(cut.name.clone());
            continue;
        }
        let segments = ring_weight(&drawn);
        evaluator
            .work
            .pay(RING_WORK * segments * segments, cut.span)?;
        let (line, keep) = (evaluator.line(&cut.line)?, evaluator.point(&cut.keep)?);
        drawn = drawn
            .cut_along(&line, keep, cut.name.clone())
            .or_else(|e| ring_fault(&e, &named(&drawn, cut.span), cut.span))?;
    }
    Ok(drawn)
}

/// The allowances of a piece, each in the place of what it has `inherited` for the edge.
fn allowances(
    evaluator: &Evaluator<'_>,
    piece: &Piece,
    inherited: Vec<EdgeAllowance>,
) -> Result<Vec<EdgeAllowance>> {
    let mut allowances = inherited;
    for allowance in &piece.allowances {
        if !evaluator.holds(allowance.when.as_ref())? {
            continue;
        }
        let amount = evaluator.number(&allowance.amount)?;
        if amount < 0.0 {
            return fail(
                Code::NegativeAllowance,
                allowance.amount.span,
                format!("this allowance is {}", quantity(amount, Kind::LENGTH)),
                "make it zero or more",
            );
        }
        for edge in &allowance.edges {
            allowances.retain(|a| a.edge != *edge);
            allowances.push(EdgeAllowance {
                edge: edge.clone(),
                amount,
                join: allowance.join,
                span: allowance.amount.span,
            });
        }
    }
    Ok(allowances)
}

/// The marks on a piece, those of its pattern first; those that are not made go to `left_out`.
fn marks(
    evaluator: &Evaluator<'_>,
    piece: &Piece,
    base: Option<&PieceValue>,
    drawn: &Ring,
    left_out: &mut Vec<Arc<str>>,
) -> Result<Vec<RawMark>> {
    let mut marks = base.map_or_else(Vec::new, |base| inherited(base, drawn));
    for mark in &piece.marks {
        if evaluator.holds(mark.when.as_ref())? {
            place(evaluator, mark, drawn, left_out, &mut marks)?;
        } else if let Some(name) = &mark.name {
            left_out.push(name.clone());
            left_out.push(mirrored(name));
        }
    }
    Ok(marks)
}

/// How cloth gives that lengthens by this share.
fn net(evaluator: &Evaluator<'_>, node: &Node) -> Result<Net> {
    let share = evaluator.number(node)?;
    let range = Property::Give.row();
    let within = (range.lowest..=range.highest).contains(&share);
    if let (true, Some(net)) = (within, Net::lengthened(share)) {
        return Ok(net);
    }
    let percent = |share: f64| format!("{} %", format::decimal(share * 100.0, 2));
    fail(
        Code::OutOfRange,
        node.span,
        format!("a piece cannot give by {}", percent(share)),
        format!(
            "keep it from {} to {}",
            percent(range.lowest),
            percent(range.highest)
        ),
    )
}

fn outline(evaluator: &Evaluator<'_>, piece: &Piece) -> Result<(Ring, Option<Arc<PieceValue>>)> {
    match &piece.source {
        Source::Pattern(id) => match evaluator.value(*id)? {
            Value::Piece(base) => Ok((base.drawn.clone(), Some(base.clone()))),
            _ => Err(Fault::Silent),
        },
        Source::Edges(edges) => ring(evaluator, edges).map(|ring| (ring, None)),
        Source::Outline(node) => evaluator.outline(node).map(|ring| ((*ring).clone(), None)),
    }
}

/// How many pieces are cut.
fn whole_number(evaluator: &Evaluator<'_>, node: &Node) -> Result<u32> {
    let value = evaluator.number(node)?;
    if (1.0..=1000.0).contains(&value) && value.fract() == 0.0 {
        // In range and whole, so the conversion is exact.
        return Ok(value as u32);
    }
    fail(
        Code::BadQuantity,
        node.span,
        format!("{} pieces cannot be cut", format::decimal(value, 4)),
        "write a whole number from 1 to 1000",
    )
}

/// Says why a piece has nothing called `part`.
pub fn missing_part<T>(piece: &PieceValue, owner: &str, part: &str, span: Span) -> Result<T> {
    if piece.left_out.iter().any(|name| &**name == part) {
        return fail(
            Code::NoPart,
            span,
            format!("`{part}` is left out of `{owner}`, because its condition does not hold"),
            "speak of it only under the same condition, with `when` or `if`",
        );
    }
    fail(
        Code::NoPart,
        span,
        format!("nothing is left of `{part}` in `{owner}`"),
        "a cut took it away, or it does not lie on the piece in one stretch",
    )
}
